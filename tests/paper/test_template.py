"""The cutting template, measured back out of its files."""

from __future__ import annotations

import re

import ezdxf
import numpy as np
import pytest
from pypdf import PdfReader

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.shape import corners
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.drawing import dxf, svg
from firstthrow.sim.describe.drawing.outline import read
from firstthrow.sim.describe.drawing.strokes import area
from firstthrow.sim.paper.template.files import clip, grid
from firstthrow.sim.paper.template.plan import Balance, plan

PANTRY = load_airframe(find("airframes", "pantry"))
SWEPT = load_airframe(find("airframes", "pantry-swept"))
BALANCE = Balance(0.083, 0.111, 0.071, 0.095)
POINT = 72.0 / 25.4  # of PDF, a millimetre
LINE = re.compile(r"\[([\d. ]*)\] 0 d\nn ([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l\sS")
JOINT = "5.669291 4.251969"  # how the joints are dashed, 2 and 1.5 mm


def written(tmp_path, name: str, suffix: str):
    path = tmp_path / f"plan{suffix}"
    assert main(["plan", name, "--out", str(path), "--set", 'items.pack.aft="-35 mm"']) == 0
    return path


@pytest.mark.parametrize(("suffix", "reader"), [(".dxf", dxf.read), (".svg", svg.read)])
def test_a_drawing_measured_back(tmp_path, suffix, reader):
    """The slab in one piece and the fin, in millimetres; the hinge; the balance mark."""
    drawing = reader(written(tmp_path, "pantry-swept", suffix), 0.01)
    to_mm = 1000.0 * drawing.unit
    loops = [s.points * to_mm for s in drawing.strokes if "outline" in s.marks and s.is_closed]
    slab, fin = (1e6 * abs(area(corners(SWEPT.sheets[name]))) for name in ("slab", "fin"))
    assert sorted(abs(area(loop)) for loop in loops) == pytest.approx(
        sorted([2.0 * slab, fin]), rel=1e-4
    )
    elevon = SWEPT.sheets["slab"].surfaces["elevon"]
    hinges = [s.points * to_mm for s in drawing.strokes if "hinge" in s.marks]
    lengths = [float(np.linalg.norm(hinge[-1] - hinge[0])) for hinge in hinges]
    assert lengths == pytest.approx([1000.0 * (elevon.outer - elevon.inner)] * 2, abs=0.02)


def test_a_template_comes_in_again_as_an_outline(tmp_path):
    """Without marks and parts, which are other lines."""
    path = written(tmp_path, "pantry", ".dxf")
    document = ezdxf.readfile(path)
    space = document.modelspace()
    for entity in list(space):
        if entity.dxf.layer not in ("outline", "hinge"):
            space.delete_entity(entity)
    document.saveas(path)
    found = read(path)
    assert found.drawn == "whole"
    assert found.corners.max(axis=0) == pytest.approx((0.35, 0.35), abs=1e-4)
    assert found.hinges[0].chord == pytest.approx(0.06, abs=1e-4)


def test_pages_laid_together_are_the_plan(tmp_path):
    """Every line of every page, put back where its page lies: as long and as far apart as it is;
    and the line to measure the print by is 100 mm long on each."""
    path = written(tmp_path, "pantry", ".pdf")
    drawn = plan(PANTRY, BALANCE)
    columns, rows = grid(drawn, "a4")
    reader = PdfReader(path)
    corner = []
    for page in reader.pages:
        where = re.search(r"page ([A-Z])([0-9]+) of", page.extract_text())
        column, row = columns[ord(where[1]) - 65], rows[int(where[2]) - 1]
        drawn_lines = LINE.findall(page.get_contents().get_data().decode())
        lines = [ends for dash, *ends in drawn_lines if not dash.startswith(JOINT)]
        ends = np.array(lines, dtype=float).reshape(-1, 2, 2) / POINT
        lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
        assert np.isclose(lengths, 100.0, atol=1e-3).any()
        inside = ends[(ends[:, :, 1] > 24.01).all(axis=1)]
        corner.append(inside.reshape(-1, 2) + np.array([column[0] - 12.0, row[0] - 24.0]))
    (left, low), (right, high) = drawn.box
    points = np.vstack(corner)
    for place in ((-350.0, 0.0), (350.0, 0.0), (-350.0, -350.0), (350.0, -350.0)):
        assert np.abs(points - place).sum(axis=1).min() < 0.01
    assert points.max(axis=0) == pytest.approx((right, high), abs=0.01)
    assert points.min(axis=0) == pytest.approx((left, low), abs=0.01)


def test_a_line_is_clipped_to_its_page():
    tile = ((0.0, 0.0), (10.0, 10.0))
    assert clip((-5.0, 5.0), (15.0, 5.0), tile) == ((0.0, 5.0), (10.0, 5.0))
    assert clip((2.0, 3.0), (4.0, 5.0), tile) == ((2.0, 3.0), (4.0, 5.0))
    assert clip((-5.0, 8.0), (5.0, 18.0), tile) is None
    assert clip((-1.0, 2.0), (-1.0, 8.0), tile) is None


def test_the_balance_stands_where_it_was_found():
    marks = [s.points for s in plan(PANTRY, BALANCE).strokes if s.layer == "balance"]
    assert [points[0][1] for points in marks] == pytest.approx([-83.0, -111.0, -71.0, -95.0])


def test_a_name_that_is_no_drawing_is_refused(capsys):
    assert main(["plan", "pantry", "--out", "plan.gif"]) == 2
    assert "wanted a name that ends in .dxf, .svg or .pdf" in capsys.readouterr().err
