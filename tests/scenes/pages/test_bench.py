"""The bench without a window: rows, values, set-ups, what is written to the file."""

from __future__ import annotations

import shutil
from datetime import date
from math import radians
from types import SimpleNamespace

import pytest
from bodies import shipped_subject

from firstthrow.scenes.pages import bench_file, bench_page
from firstthrow.scenes.pages.bench import Bench
from firstthrow.scenes.pages.bench_figures import edges, figures, level
from firstthrow.scenes.pages.bench_rows import (
    NEW,
    PART,
    Setup,
    changed,
    rows,
    said,
    stepped,
    value,
)
from firstthrow.sim.build.model import build
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.speeds import CRUISE
from firstthrow.sim.paper.page import Words
from firstthrow.sim.study.subject import Subject

AIRFRAMES = ("pantry", "pantry-swept", "glasshouse", "allotment")


def setup_of(name: str, field="water-meadow") -> Setup:
    return Setup(load_airframe(find("airframes", name)), load_field(find("fields", field)))


def row(setup: Setup, name: str, part="pack"):
    return next(r for r in rows(setup, part) if r.name == name)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_every_row_can_be_changed_and_stays_in_its_bounds(name):
    setup = setup_of(name)
    for one in rows(setup, "pack"):
        if one == PART:
            continue
        up, down = (stepped(setup, one, "pack", s) for s in (1, -1))
        assert value(up, one) != value(setup, one) or value(down, one) != value(setup, one), one
        for far, to in ((10_000, one.most), (-10_000, one.least)):
            at = value(stepped(setup, one, "pack", far), one)
            assert one.least - 0.1 <= at <= one.most + 0.1
            if not one.round_ and one.name != "cg":
                assert at == pytest.approx(to)


def test_rows_follow_what_the_airframe_has():
    slab = {r.name for r in rows(setup_of("pantry"), "pack")}
    plane = {r.name for r in rows(setup_of("allotment"), "pack")}
    assert slab >= {
        "reflex",
        "roll_trim",
        "high_pitch",
        "low_roll",
        "expo_roll",
        "differential",
        "wind",
        "wind_from",
        "throw_speed",
        "throw_throttle",
    }
    assert "yaw_trim" in plane - slab
    assert "roll_to_yaw" in plane
    assert "differential" not in plane
    assert "ground_throttle" in {r.name for r in rows(setup_of("glasshouse"), "pack")}


def test_steps_go_to_whole_steps():
    setup = setup_of("pantry")
    reflex = row(setup, "reflex")
    odd = changed(setup, reflex, "pack", 4.27)
    assert value(stepped(odd, reflex, "pack", 1), reflex) == pytest.approx(4.4)
    assert odd.airframe.mixing.reflex == pytest.approx(radians(4.27))
    assert said(reflex, 4.4) == "4.4°"
    assert said(row(setup, "place"), -25.0) == "-25 mm"
    bearing = row(setup, "wind_from")
    north = changed(setup, bearing, "pack", 0.0)
    assert value(stepped(north, bearing, "pack", -1), bearing) == pytest.approx(355.0)


def test_the_balance_row_moves_the_part_by_the_law_of_levers():
    setup = setup_of("pantry")
    cg, place = row(setup, "cg"), row(setup, "place")
    moved = changed(setup, cg, "pack", value(setup, cg) + 3.0)
    airframe = setup.airframe
    mass = build(*setup).balance.mass
    shift = 3.0 * mass / airframe.items["pack"].mass
    assert value(moved, place) - value(setup, place) == pytest.approx(shift, abs=0.06)
    assert value(moved, cg) - value(setup, cg) == pytest.approx(3.0, abs=0.03)


def test_a_heavy_part_can_be_made_heavier_or_lighter():
    setup = setup_of("glasshouse")
    mass = row(setup, "mass")
    assert value(setup, mass) == pytest.approx(705.0)
    assert value(stepped(setup, mass, "pack", 1), mass) == pytest.approx(706.0)
    full = changed(setup, mass, "pack", mass.most)
    assert row(full, "mass").most > mass.most


def test_two_set_ups_are_swapped_and_copied():
    bench = Bench(setup_of("pantry"))
    bench.row = [r.name for r in bench.rows].index("reflex")
    bench.swap()
    assert bench.letter == "B"
    bench.step(10)
    assert value(bench.now, bench.chosen) == pytest.approx(6.0)
    assert bench.is_changed(bench.chosen)
    bench.swap()
    assert value(bench.now, bench.chosen) == pytest.approx(5.0)
    bench.swap()
    bench.copy()
    bench.swap()
    assert value(bench.now, bench.chosen) == pytest.approx(6.0)
    bench.back()
    assert bench.now == bench.first


def test_ballast_can_be_added_where_there_was_none():
    bench = Bench(setup_of("allotment"))
    bench.row = 0
    for _ in bench.now.airframe.items:
        if bench.part != NEW:
            bench.step(1)
    assert bench.part == NEW
    assert bench.edits() == []  # it weighs nothing yet
    before = value(bench.now, row(bench.now, "cg", NEW))
    bench.row = 2
    bench.step(25)
    assert said(bench.chosen, bench.value(bench.chosen)) == "25 g"
    assert value(bench.now, row(bench.now, "cg", NEW)) < before - 3.0
    assert {e.path for e in bench.edits()} == {("items", NEW, "mass"), ("items", NEW, "aft")}


def test_figures_of_the_slab():
    setup = setup_of("pantry")
    found = figures(Subject(*setup))
    of = found.subject
    assert of.margin == pytest.approx((of.neutral_point - of.cg) / 0.35, rel=1e-6)
    told = dict(edges(of, False))
    # 60 mm chord: 60 sin(4 deg) = 4.2 mm, less the trim of one side; 60 sin(4 + 14 deg)
    assert told["   sticks let go"].endswith("up")
    assert float(told["   sticks let go"].split()[0]) == pytest.approx(4.2, abs=0.7)
    assert float(told["   full back"].split()[0]) == pytest.approx(18.5, abs=0.8)
    title, words = level(of)
    assert title.startswith(f"level, {CRUISE * of.stall_speed:.1f} m/s")
    assert title.endswith(" %")
    assert words.endswith("° up")


def test_the_chosen_row_is_always_among_those_shown():
    bench = Bench(setup_of("glasshouse"))
    for tall in (200.0, 300.0, 560.0, 900.0):
        for k in range(len(bench.rows)):
            bench.row = k
            lines = bench_page.shown(bench.rows, k, tall)
            assert k in [line.row for line in lines]
            assert all(line.y >= bench_page.FOOT - 0.1 for line in lines)
    assert len(bench_page.shown(bench.rows, 0, 900.0)) == len(bench.rows) + 5


def words(page) -> list[str]:
    return [part.text for part in page.parts if isinstance(part, Words)]


def test_the_pages_say_the_values():
    bench = Bench(setup_of("pantry"))
    told = words(bench_page.rows_page(bench, 560.0))
    assert {"reflex", "5.0°", "roll trim", "0.55°", "pack, aft", "-25 mm"} <= set(told)
    found = figures(Subject(*bench.now))
    right = words(bench_page.figures_page(bench.now, "pack", found, (), 560.0))
    assert f"CG {1000.0 * found.subject.cg:.0f}" in right
    assert f"neutral point {1000.0 * found.subject.neutral_point:.0f}" in right
    judged = bench_page.figures_page(bench.now, "pack", found, (), 560.0, "Do not fly: it folds.")
    assert "Do not fly: it folds." in words(judged)
    aft = changed(bench.now, row(bench.now, "place"), "pack", 150.0)
    worse = figures(Subject(*aft))
    assert worse.subject.margin < 0.0
    assert "UNSTABLE: CG aft" in words(bench_page.figures_page(aft, "pack", worse, (), 560.0))


def test_a_reason_is_short_enough_to_stand_beside_its_title():
    title, told = level(shipped_subject("glasshouse", "items.pack.mass=7 kg"))
    assert title.startswith("level, ")
    assert told == "not enough thrust"


def test_the_file_keeps_comments_and_units_and_a_backup(tmp_path):
    path = tmp_path / "my.toml"
    shutil.copy(find("airframes", "pantry"), path)
    was = path.read_text(encoding="utf-8")
    bench = Bench(Setup(load_airframe(path), setup_of("pantry").field))
    names = [r.name for r in bench.rows]
    for name, steps in (("place", -5), ("reflex", 5), ("high_pitch", 2), ("wind", 4)):
        bench.row = names.index(name)
        bench.step(steps)
    before, after = bench_file.proposal(path, bench, date(2026, 5, 1))
    assert before == was
    note = bench_file.keep(path, after)
    assert path.with_name("my.toml.bak").read_text(encoding="utf-8") == was
    assert "my.toml.bak" in note
    text = path.read_text(encoding="utf-8")
    assert 'aft = "-30 mm"  # was -25 mm' in text
    assert 'reflex = "5.5 deg"  # both elevons up at neutral; was 5 deg' in text
    assert 'high = { pitch = "15 deg", roll = "16 deg" }' in text
    assert "0.37 oz" in text  # other units stay as they were
    assert [c for c in was.split("\n") if c.startswith("#")] == [
        c for c in text.split("\n") if c.startswith("#")
    ][:-2]  # but for the history
    read = load_airframe(path)
    assert read.items["pack"].aft == pytest.approx(-0.030)
    assert read == bench.now.airframe
    bench.keep()
    assert bench.edits() == []


def test_an_item_in_ounces_stays_in_ounces(tmp_path):
    path = tmp_path / "my.toml"
    shutil.copy(find("airframes", "pantry"), path)
    bench = Bench(Setup(load_airframe(path), setup_of("pantry").field))
    bench.choose_part("servo_right")
    bench.row = 2
    bench.set(12.0)
    _, after = bench_file.proposal(path, bench, date(2026, 5, 1))
    path.write_text(after, encoding="utf-8")
    assert 'mass = "0.4233 oz"' in after
    assert load_airframe(path).items["servo_right"].mass == pytest.approx(0.012, rel=1e-3)


def test_nothing_changed_writes_nothing(tmp_path):
    path = tmp_path / "my.toml"
    shutil.copy(find("airframes", "pantry"), path)
    bench = Bench(Setup(load_airframe(path), setup_of("pantry").field))
    before, after = bench_file.proposal(path, bench, date(2026, 5, 1))
    assert before == after


def test_the_programs_own_files_are_not_written_over(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shipped = find("airframes", "pantry")
    was = shipped.read_bytes()
    note = bench_file.keep(shipped, shipped.read_text(encoding="utf-8") + "# mine\n")
    own = tmp_path / "configs" / "airframes" / "pantry.toml"
    assert own.read_text(encoding="utf-8").endswith("# mine\n")
    assert shipped.read_bytes() == was
    assert "own copy" in note


def test_every_button_of_the_panel_has_a_place_of_its_own():
    bench = SimpleNamespace(other="B")
    places = [rect for rect, _, _ in bench_page.buttons(bench)]
    for k, one in enumerate(places):
        assert one.x >= 0.0
        assert one.x + one.width <= bench_page.WIDE
        assert not any(one.overlaps(other) for other in places[k + 1 :])
