"""Spread, limits and ballast of the balance: by hand, by Monte Carlo, by the airframe rebuilt."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks, command
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import ConfigError, find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight import polar
from firstthrow.sim.study.alternatives import alternatives, move_pack
from firstthrow.sim.study.balance import (
    FLARE,
    band,
    cg_spread,
    front_limits,
    guesses,
    imbalance,
    neutral_spread,
    weigh_first,
)
from firstthrow.sim.study.ballast import (
    NoBallast,
    NoSuchPlace,
    along_edge,
    at_place,
    lump,
    weighed,
    with_item,
)
from firstthrow.sim.study.weigh import weigh

AIRFRAMES = ("pantry", "pantry-swept", "glasshouse", "allotment")


def shipped(name, *overrides):
    return load_airframe(find("airframes", name), overrides)


def told(capsys, *words):
    try:
        code = main(words)
    except SystemExit as leaving:
        code = leaving.code
    said = capsys.readouterr()
    return code, said.out, said.err


@pytest.mark.parametrize("name", ["pantry", "glasshouse"])
def test_spread_of_the_cg_agrees_with_monte_carlo(name):
    airframe = shipped(name)
    chance, found = np.random.default_rng(3), parts(airframe)
    by_name = {guess.name: guess for guess in guesses(airframe)}
    mass = np.array([p.mass for p in found])
    place = np.array([p.place for p in found])
    one = np.array([by_name[p.name].mass_spread if p.name in by_name else 0.0 for p in found])
    two = np.array([by_name[p.name].place_spread if p.name in by_name else 0.0 for p in found])
    draws = 40000
    masses = mass + one * chance.standard_normal((draws, len(mass)))
    places = place + two[:, None] * chance.standard_normal((draws, *place.shape))
    cg = np.einsum("dp,dpi->di", masses, places) / masses.sum(axis=1)[:, None]
    # First order leaves out mass spread times place spread: 4 % for 30 % of a mass.
    for got, wanted in zip(cg_spread(airframe), cg.std(axis=0), strict=True):
        assert got == pytest.approx(wanted, rel=0.05)


def test_spread_by_hand():
    """Wiring of pantry: 12 g, 30 % and 25 mm: 12 x 25 / 415 = 0.72 mm by place alone."""
    (wiring,) = [g for g in guesses(shipped("pantry")) if g.name == "wiring"]
    assert wiring.by_place == pytest.approx(0.012 * 0.025 / 0.41498, rel=1e-3)
    assert wiring.mass_spread == pytest.approx(0.3 * 0.012)
    assert wiring.by_mass == pytest.approx(0.0036 * abs(0.050 - 0.04396) / 0.41498, rel=1e-2)


def test_what_the_file_does_not_say_is_ten_per_cent_and_five_millimetres():
    (rods,) = [g for g in guesses(shipped("pantry")) if g.name == "pushrods"]
    assert rods.mass_spread == pytest.approx(0.2 * 0.008)  # said
    assert rods.place_spread == pytest.approx(0.005)  # not said
    airframe = shipped("pantry", "items.pack.known=guessed")
    (pack,) = [g for g in guesses(airframe) if g.name == "pack"]
    assert pack.mass_spread == pytest.approx(0.0118)
    assert pack.place_spread == pytest.approx(0.005)


def test_what_to_weigh_first():
    heavy = shipped("pantry", "items.pack.known=guessed", "items.pack.mass_spread=25 %")
    ranked = guesses(heavy)
    assert [g.moves for g in ranked] == sorted((g.moves for g in ranked), reverse=True)
    assert weigh_first(ranked) == "Weigh the pack first: it moves the balance 5.8 mm."
    assert weigh_first(guesses(shipped("pantry"))) == (
        "Measure where the wiring sits first: it moves the balance 0.7 mm."
    )
    assert weigh_first([]) == "Every part has been weighed: nothing is guessed."


def test_imbalance_is_undone_by_that_mass_at_the_tip():
    lopsided = shipped("pantry", "items.pack.right=10 mm")
    grams = imbalance(lopsided)
    assert grams == pytest.approx(0.118 * 0.010 / 0.35, rel=1e-6)
    mended = with_item(lopsided, "tip", lump(grams, (0.1, -0.35, 0.0)))
    assert balance(parts(mended)).place[1] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_neutral_point_says_how_sure_it_is(name):
    airframe = shipped(name)
    model = build(airframe, STANDARD)
    chord = polar.reference(model)[1]
    spread = neutral_spread(airframe, chord)
    print(f"{name}: {[round(1e3 * x, 2) for x in spread]} mm, {1e3 * spread.total:.1f} in all")
    assert spread.lattice < 0.02 * chord
    assert spread.total == pytest.approx(math.sqrt(sum(x * x for x in spread)))
    # One flat sheet: its slope cannot move it. A tail: a tenth of its lift, far behind.
    assert (spread.slope > 0.01 * chord) is (name == "allotment")


@pytest.mark.parametrize("name", AIRFRAMES)
def test_front_limit_is_where_the_elevator_runs_out(name):
    """The airframe rebuilt with its CG there: 80 % of up elevator, at the lift of the flare,
    leaves no pitching moment."""
    airframe = shipped(name)
    model = build(airframe, STANDARD)
    flare = front_limits(airframe, model)[0]
    at = model.balance
    place = (2.0 * flare.aft - at.place[0], at.place[1], at.place[2])
    moved = build(with_item(airframe, "moved", lump(at.mass, place)), STANDARD)
    assert moved.balance.place[0] == pytest.approx(flare.aft, abs=1e-9)
    neutral, back = (command(airframe, Sticks(pitch=p))[:8] for p in (0.0, 1.0))
    held = neutral + 0.8 * (back - neutral)
    found = polar.polar(moved, np.radians(np.arange(0.0, 30.0, 0.5)), held)
    top = int(np.argmax(np.diff(found.lift) < 0.0))
    alpha = np.interp(found.lift[top] / FLARE**2, found.lift[: top + 1], found.alpha[: top + 1])
    moment = np.interp(alpha, found.alpha, found.moment)
    assert abs(moment / np.interp(alpha, found.alpha, found.normal)) < 0.006  # of the chord


def test_rear_limit_is_the_least_margin():
    airframe = shipped("pantry")
    front, rear = band(airframe, build(airframe, STANDARD), 0.075, 0.35)
    assert rear.aft == pytest.approx(0.075 - 0.05 * 0.35)
    assert front.aft < rear.aft
    wide = shipped("pantry", "least_margin=3 %")
    assert band(wide, build(wide, STANDARD), 0.075, 0.35)[1].aft == pytest.approx(0.0645)


def test_more_throw_moves_the_front_limit_forward():
    one, other = (
        front_limits(a, build(a, STANDARD))[0].aft
        for a in (shipped("pantry"), shipped("pantry", "mixing.high.pitch=20 deg"))
    )
    assert other < one - 0.005


@pytest.mark.parametrize(
    ("name", "margin", "at"),
    [("pantry", 0.12, "ballast"), ("glasshouse", 0.08, "nose_box"), ("allotment", 0.15, "nose")],
)
def test_ballast_gives_the_margin_on_the_airframe_rebuilt(name, margin, at):
    airframe = shipped(name)
    now = weighed(airframe)
    found = at_place(airframe, margin, at, now)
    loaded = with_item(airframe, "lead", lump(found.mass, found.place))
    assert weighed(loaded).margin == pytest.approx(margin, abs=1e-4)
    # The lever rule by hand.
    target = found.after.neutral - margin * now.chord
    by_hand = now.mass * (now.cg - target) / (target - found.place[0])
    assert found.mass == pytest.approx(by_hand, rel=0.01)
    heavier = math.sqrt(found.after.mass / now.mass)
    assert found.after.stall_speed == pytest.approx(now.stall_speed * heavier, rel=2e-3)


def test_ballast_along_an_edge_has_the_length_of_its_mass():
    airframe = shipped("pantry-swept")
    now = weighed(airframe)
    found = along_edge(airframe, 0.10, "leading", now, per_length=0.099)
    assert found.length == pytest.approx(found.mass / 0.099)
    assert found.layers == 1
    assert found.after.margin == pytest.approx(0.10, abs=1e-4)
    # Cut back 150 in 350 mm: the middle of a rod that long lies where the edge has come to.
    edge = math.hypot(0.15, 0.35) / 0.35
    assert found.place[0] == pytest.approx(0.25 * found.length / edge * 0.15 / 0.35, rel=1e-3)


def test_ballast_that_cannot_be():
    airframe = shipped("pantry")
    now = weighed(airframe)
    with pytest.raises(NoBallast) as error:
        at_place(airframe, 0.12, "tail", now)
    assert str(error.value) == (
        "the tail is on the wrong side: ballast there makes the margin smaller, and it is "
        f"{100 * now.margin:.1f} % already"
    )
    with pytest.raises(NoSuchPlace, match="'wing': no such place; choose from ballast, "):
        at_place(airframe, 0.12, "wing", now)
    lighter = at_place(airframe, 0.08, "ballast", now)
    assert -0.020 < lighter.mass < 0.0  # some of the 20 g there comes off


@pytest.mark.parametrize(("name", "margin"), [("pantry", 0.12), ("glasshouse", 0.08)])
def test_alternatives_reach_the_margin(name, margin):
    airframe = shipped(name)
    now = weighed(airframe)
    found = {way.name: way for way in alternatives(airframe, margin, "nose", now)}
    assert list(found) == ["move_pack", "lighter_surfaces", "longer_nose", "cut_leading_edge"]
    for way in found.values():
        print(f"{name}: {way.words}: {1e3 * way.mass_change:+.0f} g, {way.after.stall_speed:.1f}")
        assert way.reaches
        assert way.after.margin == pytest.approx(margin, abs=2e-4)
        assert way.mass_change == pytest.approx(way.after.mass - now.mass, abs=1e-9)
    ballast = at_place(airframe, margin, "nose", now)
    assert found["move_pack"].mass_change < ballast.mass
    assert found["lighter_surfaces"].mass_change < ballast.mass
    cut = found["cut_leading_edge"]
    assert cut.mass_change < 0.0
    assert cut.after.neutral > now.neutral
    assert cut.after.stall_speed > now.stall_speed  # less area


def test_moved_pack_by_hand():
    airframe = shipped("pantry-swept")
    now = weighed(airframe)
    way = move_pack(airframe, 0.09, now, STANDARD)
    by_hand = (now.margin - 0.09) * now.chord * now.mass / airframe.items["pack"].mass
    assert way.amount == pytest.approx(by_hand, rel=1e-3)
    assert way.words == f"move the pack {abs(1e3 * by_hand):.0f} mm forward"
    assert way.after.mass == pytest.approx(now.mass)


def test_weigh_tells_all_of_it_and_nothing_is_no_number():
    for name in AIRFRAMES:
        weighed_ = weigh(shipped(name))
        json.dumps(weighed_, allow_nan=False)
        assert weighed_["verdict"] == ("behind-neutral-point" if name == "glasshouse" else "ok")
        assert weighed_["cg_front_limit_m"] < weighed_["cg_rear_limit_m"]


def test_tail_heavy_is_told_and_answered(capsys):
    code, out, _ = told(capsys, "weigh", "glasshouse")
    assert code == 3
    assert "NO-GO: behind the neutral point, do not fly it like this" in out
    code, out, _ = told(capsys, "weigh", "glasshouse", "--margin", "8%", "--at", "nose", "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["ballast"]["static_margin_percent"] == pytest.approx(8.0, abs=0.01)
    assert len(answer["alternatives"]) == 4


def test_margin_that_nothing_reaches_is_no_go(capsys):
    words = ("weigh", "glasshouse", "--margin", "45%", "--at", "tail")
    code, out, err = told(capsys, *words)
    assert code == 3
    assert err.startswith("glasshouse: the tail is on the wrong side: ")
    assert "% only" in out


def without_elevons(tmp_path):
    text = find("airframes", "pantry").read_text()
    start = text.index("[sheets.slab.surfaces.elevon]")
    path = tmp_path / "bare.toml"
    path.write_text(text[:start] + text[text.index("[sheets.fin]") :], encoding="utf-8")
    return path


def test_no_elevon_is_no_go(tmp_path, capsys):
    code, out, err = told(capsys, "weigh", str(without_elevons(tmp_path)))
    assert code == 3
    assert err == "pantry: no elevator or elevon: nothing holds the nose up; no-go\n"
    assert "NO-GO: nothing holds the nose up" in out
    assert "nan" not in out.lower()


@pytest.mark.parametrize(
    ("override", "text"),
    [
        ("sheets.slab.mass=0 g", "--set sheets.slab.mass: '0 g': must be more than 0\n"),
        (
            "sheets.slab.thickness=0 mm",
            "--set sheets.slab.thickness: '0 mm': must be more than 0\n",
        ),
        ("pack.cells=0", "--set pack.cells: 0: wanted 1 or more\n"),
    ],
)
def test_no_mass_no_thickness_no_cells(capsys, override, text):
    assert told(capsys, "weigh", "pantry", "--set", override) == (2, "", text)


def test_a_battery_that_is_not_there(tmp_path, capsys):
    text = find("airframes", "pantry").read_text()
    path = tmp_path / "dead.toml"
    gone = text[: text.index("[pack]")] + text[text.index("[controller]") :]
    path.write_text(gone, encoding="utf-8")
    assert told(capsys, "weigh", str(path)) == (
        2,
        "",
        f"{path}:1: pack: missing: wanted a table [pack]\n",
    )
    unweighed = text[: text.index("[items.pack]")] + text[text.index("[items.ballast]") :]
    path.write_text(unweighed, encoding="utf-8")
    code, out, _ = told(capsys, "weigh", str(path))
    assert code == 3  # without it the slab is tail-heavy
    assert out.endswith("  No part is called pack or battery: is the battery weighed?\n")


@pytest.mark.parametrize(
    ("name", "overrides", "text"),
    [
        (
            "allotment",
            ("sheets.tailplane.aft=150 mm", "sheets.tailplane.up=2 mm"),
            "sheets.tailplane: lies in the sheet 'wing', over 105 x 30 mm: move it, or give it "
            "another height",
        ),
        (
            "glasshouse",
            ("sheets.fin.right=3 mm",),
            "sheets.fin: lies in its own mirror image, over 300 x 250 mm: move it, or give it "
            "another height",
        ),
    ],
)
def test_overlapping_sheets(name, overrides, text):
    with pytest.raises(ConfigError) as error:
        shipped(name, *overrides)
    (problem,) = error.value.problems
    assert problem.split(": ", 1)[1] == text


def test_sheets_that_touch_or_cross_are_fine():
    touch = shipped("allotment", "sheets.tailplane.aft=180 mm", "sheets.tailplane.up=0 mm")
    assert touch.sheets["tailplane"].aft == pytest.approx(0.18)  # edge to edge
    let_in = shipped("pantry", "sheets.fin.up=-20 mm")
    assert let_in.sheets["fin"].up == pytest.approx(-0.02)


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (("--margin", "8"), "--margin: '8': say a unit, such as '8 %'\n"),
        (("--margin", "80%"), "--margin 80%: wanted between -20 % and 50 %\n"),
        (("--at", "nose"), "--at: goes with --margin, such as --margin 8%\n"),
        (
            ("--margin", "8%", "--strip", "9 g/m"),
            "--strip: goes with --along leading or --along trailing\n",
        ),
        (("--plot", "a.txt"), "--plot a.txt: wanted a name that ends in .png, .pdf or .svg\n"),
    ],
)
def test_wrong_options(capsys, words, text):
    assert told(capsys, "weigh", "pantry", *words) == (2, "", text)


def test_place_that_is_not_there(capsys):
    code, out, err = told(capsys, "weigh", "pantry", "--margin", "9%", "--at", "wing")
    assert (code, out) == (2, "")
    assert err.startswith("--at 'wing': no such place; choose from ballast, controller, motor, ")


def test_drawing(tmp_path, capsys):
    plot = tmp_path / "out" / "top.png"
    code, _, err = told(capsys, "weigh", "allotment", "--plot", str(plot))
    assert (code, err) == (0, f"Drawing: {plot}\n")
    from matplotlib.image import imread

    picture = imread(plot)[..., :3]
    assert picture.shape[1] > 1000
    assert 0.005 < (picture.min(axis=2) < 0.3).mean() < 0.2  # ink
    assert (picture > 0.99).all(axis=2).mean() > 0.6  # on white paper
    assert np.ptp(picture, axis=2).max() < 0.02  # and no colours
    for suffix in (".pdf", ".svg"):
        other = Path(tmp_path / f"top{suffix}")
        assert told(capsys, "weigh", "pantry", "--plot", str(other))[0] == 0
        assert other.stat().st_size > 5000
