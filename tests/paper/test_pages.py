"""Pages as plain data: what is written to files, and one drawing of the airframe everywhere."""

from __future__ import annotations

import subprocess
import sys
from functools import lru_cache
from math import hypot
from pathlib import Path

import numpy as np
import pytest
from bodies import shipped
from printed import pages

from firstthrow.scenes.pages.bench_figures import figures
from firstthrow.scenes.pages.bench_page import figures_page
from firstthrow.scenes.pages.bench_rows import Setup
from firstthrow.sim.build.shape import pieces
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.paper import directions as directions_page
from firstthrow.sim.paper import plan_view
from firstthrow.sim.paper.airframe_drawing import FLAP, Plan, from_above, from_behind, propeller
from firstthrow.sim.paper.letters import width
from firstthrow.sim.paper.page import (
    Area,
    Line,
    Page,
    Words,
    apart,
    box,
    dashes,
    hatched,
)
from firstthrow.sim.paper.printing import write, write_pdf
from firstthrow.sim.study import directions
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.weigh import Weighing, weigh

NAMES = ("pantry", "glasshouse", "pantry-swept", "allotment")
TWIN = str(Path(__file__).parents[1] / "airframes" / "twin-48in.toml")
SIGNS = Page(
    (
        box(20.0, 20.0, 40.0, 30.0, 0.6, 0.0),
        box(100.0, 20.0, 40.0, 30.0, None, 1.0),
        Line(((20.0, 100.0), (120.0, 100.0)), 2.0, 0.5),
        Line(((20.0, 120.0), (120.0, 120.0)), 2.0, 0.0, (10.0, 10.0)),
        Words(200.0, 150.0, "Łódź ± 4°", 10.0, False, "center"),
    )
)


@lru_cache
def weighed(name: str) -> Weighing:
    """Few launches at the ends of the band: it is the pages that are looked at."""
    return weigh(Subject(shipped(name)), 4)


def test_a_pdf_holds_words_and_lines_at_their_places(tmp_path):
    write_pdf([SIGNS, SIGNS], tmp_path / "signs.pdf")
    found = pages(tmp_path / "signs.pdf")
    assert len(found) == 2
    for page in found:
        assert (page.width, page.height) == pytest.approx((297.0, 210.0), abs=0.01)
        (word,) = page.words
        assert word.text == "Łódź ± 4°"  # not only the letters of western Europe
        assert word.y == pytest.approx(60.0, abs=0.01)
        assert word.x + 0.5 * word.wide == pytest.approx(200.0, abs=0.01)
        assert word.wide == pytest.approx(width("Łódź ± 4°", 10.0), rel=1e-6)
        assert any(line == pytest.approx((20.0, 110.0, 120.0, 110.0)) for line in page.lines)


def test_a_picture_has_the_greys_the_dashes_and_what_is_see_through(tmp_path):
    import matplotlib.image

    write(SIGNS, tmp_path / "signs.png")
    picture = matplotlib.image.imread(tmp_path / "signs.png")[..., 0]

    def grey(x: float, y: float) -> float:
        tall = picture.shape[0]
        return float(picture[round(tall * (1.0 - y / 210.0)), round(x / 297.0 * picture.shape[1])])

    assert grey(40.0, 35.0) == pytest.approx(0.6, abs=0.02)
    assert grey(120.0, 35.0) == 1.0
    assert grey(100.0, 35.0) == 0.0
    assert grey(70.0, 100.0) == pytest.approx(0.5, abs=0.02)
    assert [grey(20.0 + 10.0 * k + 5.0, 120.0) for k in range(6)] == [0.0, 1.0] * 3


def test_the_same_page_makes_the_same_files(tmp_path):
    for suffix in ("pdf", "svg", "png"):
        one, two = tmp_path / f"one.{suffix}", tmp_path / f"two.{suffix}"
        write(SIGNS, one)
        write(SIGNS, two)
        assert one.read_bytes() == two.read_bytes(), suffix
    with pytest.raises(ValueError, match="wanted a name that ends in"):
        write(SIGNS, tmp_path / "one.gif")


def test_strokes_of_a_dashed_line_go_on_round_a_corner():
    line = Line(((0.0, 0.0), (5.0, 0.0), (5.0, 10.0)), 0.3, 0.0, (4.0, 2.0))
    drawn = dashes(line)
    sizes = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in drawn]
    assert sizes == pytest.approx([4.0, 4.0, 3.0])  # 15 mm: 4, gap of 2, 4, gap of 2, 3
    assert drawn[1] == (pytest.approx((5.0, 1.0)), pytest.approx((5.0, 5.0)))
    assert len(dashes(line._replace(dash=()))) == 2


def test_hatching_stays_in_its_box():
    for wide, tall in ((40.0, 3.0), (3.0, 40.0)):
        lines = hatched(10.0, 20.0, wide, tall, 2.0, 0.2)
        assert len(lines) == pytest.approx((wide + tall) / 2.0, abs=1.5)
        ends = np.array([point for line in lines for point in line.points])
        assert (ends >= np.array([10.0, 20.0]) - 1e-9).all()
        assert (ends <= np.array([10.0 + wide, 20.0 + tall]) + 1e-9).all()


def test_labels_are_moved_no_more_than_they_must():
    assert apart([0.0, 10.0, 11.0], 3.0) == pytest.approx([0.0, 9.0, 12.0])
    assert apart([], 3.0) == []


def flaps(parts) -> np.ndarray:
    """(n, 4, 2) control surfaces of a drawing from above, in shares of their common width."""
    found = np.array([p.points for p in parts if isinstance(p, Area) and p.grey == FLAP])
    corners = found.reshape(-1, 2)
    low, wide = corners.min(axis=0), np.ptp(corners[:, 0])
    return (found - low) / wide


@pytest.mark.parametrize("name", NAMES)
def test_every_page_shows_the_same_airframe_from_above(name):
    airframe = shipped(name)
    own = flaps(from_above(airframe, Plan(0.0, 0.0, 1.0)))
    flat = [p for p in pieces(airframe) if p.surface >= 0 and abs(p.normal[2]) > 0.5]
    assert len(own) == len(flat) > 0
    printed = plan_view.page(airframe, weighed(name))
    part = next(iter(airframe.items))
    shown = figures_page(Setup(airframe, STANDARD), part, figures(Subject(airframe)), (), 560.0)
    assert flaps(printed.parts) == pytest.approx(own, abs=1e-9)
    assert flaps(shown.parts) == pytest.approx(own, abs=1e-9)


@pytest.mark.parametrize("name", [*NAMES, TWIN])
def test_words_of_plan_and_direction_page_stay_clear_of_each_other(name, tmp_path):
    airframe = shipped(name)
    found = directions.study(Subject(airframe))
    for page in (plan_view.page(airframe, weighed(name)), directions_page.page(airframe, found)):
        write(page, tmp_path / "page.pdf")
        (printed,) = pages(tmp_path / "page.pdf")
        assert printed.off(4.0) == []
        assert printed.crossed() == []
        assert out_of_their_boxes(page) == []


def out_of_their_boxes(page: Page) -> list[str]:
    """Words that begin in a box and do not end in it."""
    boxes = [part for part in page.parts if isinstance(part, Area) and len(part.points) == 4]
    found = []
    for one in page.parts:
        if not isinstance(one, Words) or one.anchor != "left":
            continue
        for area in boxes:
            (left, low), (right, top) = area.points[0], area.points[2]
            end = one.x + width(one.text, one.size, one.bold)
            if left < one.x < right < end and low < one.y < top:
                found.append(one.text)
            if left < one.x < right and one.y < low < one.y + one.size:
                found.append(one.text)
    return found


def test_words_stay_clear_of_each_other_on_a_plank_of_6_m(tmp_path):
    outline, flap = "sheets.slab.outline", "sheets.slab.surfaces.elevon"
    sizes = f"{outline}.chord=100 mm", f"{outline}.span=6000 mm", f"{flap}.chord=25 mm"
    write(plan_view.page(shipped("pantry", *sizes), weighed("pantry")), tmp_path / "page.pdf")
    (printed,) = pages(tmp_path / "page.pdf")
    assert printed.off(4.0) == []
    assert printed.crossed() == []


def test_the_plan_says_what_was_weighed(tmp_path):
    for name in ("pantry", "glasshouse"):
        found, told = weighed(name), plan_view.page(shipped(name), weighed(name)).parts
        words = [part.text for part in told if isinstance(part, Words)]
        assert f"{found.static_margin_percent:.1f} %" in words
        assert any(text.startswith(f"CG  {1e3 * found.cg_m[0]:.0f} mm ±") for text in words)
        assert any("pack" in text and " g" in text for text in words)
        assert any(text.startswith("NO-GO: the CG lies behind") for text in words) == (
            name == "glasshouse"
        )


def test_a_surface_drawn_from_behind_goes_where_it_says():
    airframe = shipped("pantry")
    drawn = {}
    for way, angle in (("up", 0.4), ("down", -0.4)):
        moves = {"elevon_right": way}
        parts = from_behind(
            airframe, {"elevon_right": angle}, moves, (10.0, 10.0), (100.0, 60.0)
        ).parts
        head = [p for p in parts if isinstance(p, Area) and p.grey == 0.0]
        assert len(head) == 1
        assert head[0].points[0][0] > 60.0  # on the right half
        heights = [y for _, y in head[0].points]
        drawn[way] = heights[0] - np.mean(heights[1:])
        corners = np.array([c for p in parts if isinstance(p, Area) and p.edge for c in p.points])
        assert corners.min() >= 10.0 - 1e-9
        assert (corners <= np.array([110.0, 70.0]) + 1e-9).all()
    assert drawn["up"] > 0.0 > drawn["down"]


def test_the_propellers_arrow_goes_round_as_it_turns():
    for turns, sense in (("clockwise", -1.0), ("anticlockwise", 1.0)):
        *_, ring, _, head = propeller((0.0, 0.0), 10.0, turns)
        (ax, ay), (bx, by) = ring.points[0], ring.points[5]
        assert np.sign(ax * by - ay * bx) == sense
        tip, neck = head.points[0], np.mean(head.points[1:], axis=0)
        assert np.sign(neck[0] * tip[1] - neck[1] * tip[0]) == sense


def test_nobodys_help_is_written_as_pages_are_loaded():
    """What can be drawn has its properties put into words as it is loaded: not for a page. Who
    asks the library itself for them afterwards is told."""
    code = (
        "from firstthrow.sim.paper.drawn import plt\n"
        "from matplotlib import artist\n"
        "from matplotlib.lines import Line2D\n"
        "print('linestyle' in Line2D.set.__doc__, 'linestyle' in artist.kwdoc(Line2D))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False True\n"
