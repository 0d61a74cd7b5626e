"""Outlines out of drawings: against areas and places known in closed form."""

from __future__ import annotations

import math

import ezdxf
import numpy as np
import pytest

from firstthrow.sim.describe.drawing.outline import read, told
from firstthrow.sim.describe.drawing.strokes import DrawingError, area
from firstthrow.sim.units import INCH

R = 4.0  # of the rounded tip corners of the slab below [in]


def slab(path, units=1, extra=()):
    """36 x 18 in with all corners rounded, a round hole of 2 in across on each side, elevons of
    3 in from 2 to 14 in out; lines and arcs one by one, in no order."""
    document = ezdxf.new(setup=True)
    document.header["$INSUNITS"] = units
    space = document.modelspace()
    document.layers.add("Hinge-line", color=1)
    lines = [((-14, 0), (14, 0)), ((18, -4), (18, -14)), ((14, -18), (-14, -18))]
    lines += [((-18, -14), (-18, -4))]
    for start, end in (lines[2], lines[0], lines[3], lines[1]):
        space.add_line(start, end)
    for centre, first in (((14, -4), 0), ((-14, -4), 90), ((-14, -14), 180), ((14, -14), 270)):
        space.add_arc(centre, R, first, first + 90)
    for side in (-1, 1):
        space.add_circle((side * 8, -6), 1.0)
        hinge = ((side * 2, -15), (side * 14, -15))
        space.add_line(*hinge, dxfattribs={"layer": "Hinge-line"})
    space.add_text("18 in")
    document.saveas(path)
    return path


def test_a_whole_outline_of_lines_and_arcs(tmp_path):
    """In inches, with a hole and a hinge line on each side; area of a rounded rectangle."""
    found = read(slab(tmp_path / "slab.dxf"))
    assert found.drawn == "whole"
    assert found.span == pytest.approx(36 * INCH, abs=1e-6)
    assert found.chord == pytest.approx(18 * INCH, abs=1e-6)
    exact = (36 * 18 - (4 - math.pi) * R**2) * INCH**2
    assert found.area == pytest.approx(exact, rel=1e-3)
    assert found.corners[0] == pytest.approx((0.0, 0.0), abs=1e-6)
    assert found.corners[:, 1].min() == 0.0
    (hinge,) = found.hinges
    assert (hinge.inner, hinge.outer) == pytest.approx((2 * INCH, 14 * INCH), abs=1e-6)
    assert hinge.chord == pytest.approx(3 * INCH, rel=1e-3)
    assert found.holes == pytest.approx([math.pi * INCH**2 / 2] * 2, rel=1e-2)
    assert "2 holes" in told(found)


@pytest.mark.parametrize("tolerance", [2e-4, 2e-3])
def test_no_corner_is_farther_from_the_arc_than_it_says(tmp_path, tolerance):
    found = read(slab(tmp_path / "slab.dxf"), tolerance=tolerance)
    tip = found.corners[found.corners[:, 1] > 14.01 * INCH]
    front = tip[tip[:, 0] < 3.99 * INCH]
    gaps = np.hypot(front[:, 0] - 4 * INCH, front[:, 1] - 14 * INCH) - R * INCH
    # Corners lie on it, but for what a cubic differs from a quarter circle: 2.7e-4 of the radius.
    assert np.abs(gaps).max() < 3e-4 * R * INCH
    steps = np.linalg.norm(np.diff(found.corners, axis=0), axis=1)
    arcs = steps[steps < R * INCH]
    sag = R * INCH - np.sqrt((R * INCH) ** 2 - (arcs / 2) ** 2)
    assert sag.max() < 2.0 * tolerance
    assert len(found.corners) < 40


SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
<g transform="translate(20 10)">
  <path id="wing" d="M 0 0 L 0 200 L 240 200 C 240 200 300 200 300 150 C 300 120 290 100 240 80 Z"
        fill="none" stroke="black"/>
  <line x1="20" y1="160" x2="240" y2="160" stroke="#f00"/>
</g></svg>"""


def test_a_half_in_svg_with_a_hinge_by_its_colour(tmp_path):
    """Millimetres through a transformation and a view box; two cubic curves at the tip."""
    path = tmp_path / "half.svg"
    path.write_text(SVG)
    found = read(path, hinge="red", tolerance=5e-5)
    assert found.drawn == "right"
    assert found.span == pytest.approx(0.6, abs=1e-4)
    assert found.chord == pytest.approx(0.2, abs=1e-6)
    share = np.linspace(0.0, 1.0, 20001)[:, None]
    fine = [np.array([[0.0, 0.0], [0.0, 200.0]])]
    for points in (
        ((240, 200), (240, 200), (300, 200), (300, 150)),
        ((300, 150), (300, 120), (290, 100), (240, 80)),
    ):
        a, b, c, d = (np.array(p, dtype=float) for p in points)
        rest = 1 - share
        fine.append(rest**3 * a + 3 * rest**2 * share * b + 3 * rest * share**2 * c + share**3 * d)
    exact = abs(area(np.vstack(fine))) * 1e-6
    assert found.area == pytest.approx(2.0 * exact, rel=1e-3)
    (hinge,) = found.hinges
    assert hinge.chord == pytest.approx(0.04, rel=1e-3)
    left = read(path, drawn="left", hinge="red")
    assert left.span == pytest.approx(found.span, abs=1e-4)


def test_the_nose_may_point_anywhere(tmp_path):
    """The same half turned by a quarter on the page."""
    path, turned = tmp_path / "half.svg", tmp_path / "turned.svg"
    path.write_text(SVG)
    turned.write_text(SVG.replace("translate(20 10)", "translate(250 20) rotate(90)"))
    one, other = read(path, hinge="red"), read(turned, forward="right", hinge="red")
    assert other.area == pytest.approx(one.area, rel=1e-4)
    assert other.hinges[0] == pytest.approx(one.hinges[0], abs=1e-4)


def test_a_drawing_without_a_unit_is_scaled_by_a_measured_span(tmp_path):
    path = slab(tmp_path / "slab.dxf", units=0)
    with pytest.raises(DrawingError, match="does not say its unit"):
        read(path)
    assert read(path, span=0.72).chord == pytest.approx(0.36, abs=1e-6)
    assert read(path, unit=0.01).span == pytest.approx(0.36, abs=1e-6)


def test_what_is_no_outline_is_said(tmp_path):
    open_ended = tmp_path / "open.svg"
    open_ended.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M 0 0 L 5 5"/>'
        "</svg>"
    )
    with pytest.raises(DrawingError, match="holds no closed line"):
        read(open_ended)
    for name, text in (("x.dxf", "nonsense"), ("x.svg", "<svg"), ("x.png", "")):
        (tmp_path / name).write_text(text)
        with pytest.raises(DrawingError):
            read(tmp_path / name)
