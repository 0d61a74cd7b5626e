"""Spread, limits and ballast of the balance: by hand, by Monte Carlo, by the airframe rebuilt."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from bodies import copied

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.build.unknowns import part_spreads
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import ConfigError, find, load_airframe
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.speeds import SLOWEST_SAFE
from firstthrow.sim.flight.trims import Kind, elevator, trims
from firstthrow.sim.study.alternatives import alternatives, move_pack
from firstthrow.sim.study.ballast import (
    NoBallast,
    NoSuchPlace,
    along_edge,
    at_place,
    lump,
    with_item,
)
from firstthrow.sim.study.band.band import band
from firstthrow.sim.study.band.flare import flare
from firstthrow.sim.study.band.limits import limits, rear_limit
from firstthrow.sim.study.odds.survival import by_hands
from firstthrow.sim.study.spreads import cg_spread, guesses, neutral_spread, weigh_first
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.unsure.margin_spread import margin_spreads
from firstthrow.sim.study.weigh import imbalance, weigh

AIRFRAMES = ("pantry", "pantry-swept", "glasshouse", "allotment")


def shipped(name, *overrides):
    return load_airframe(find("airframes", name), overrides)


def subject(name, *overrides):
    return Subject(shipped(name, *overrides))


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
    mass = np.array([p.mass for p in found])
    place = np.array([p.place for p in found])
    one, two = np.array([part_spreads(airframe, p) for p in found]).T
    draws = 40000
    masses = mass + one * chance.standard_normal((draws, len(mass)))
    places = place + two[:, None] * chance.standard_normal((draws, *place.shape))
    cg = np.einsum("dp,dpi->di", masses, places) / masses.sum(axis=1)[:, None]
    # First order leaves out mass spread times place spread: 4 % for 30 % of a mass.
    for got, wanted in zip(cg_spread(Subject(airframe)), cg.std(axis=0), strict=True):
        assert got == pytest.approx(wanted, rel=0.05)


def test_spread_by_hand():
    """Wiring of pantry: 12 g, 30 % and 25 mm: 12 x 25 / 415 = 0.72 mm by place alone."""
    (wiring,) = [g for g in guesses(subject("pantry")) if g.name == "wiring"]
    assert wiring.by_place == pytest.approx(0.012 * 0.025 / 0.41498, rel=1e-3)
    assert wiring.mass_spread == pytest.approx(0.3 * 0.012)
    assert wiring.by_mass == pytest.approx(0.0036 * abs(0.050 - 0.04680) / 0.41498, rel=1e-2)


def test_what_the_file_does_not_say_is_ten_per_cent_and_five_millimetres():
    (rods,) = [g for g in guesses(subject("pantry")) if g.name == "pushrods"]
    assert rods.mass_spread == pytest.approx(0.2 * 0.008)  # said
    assert rods.place_spread == pytest.approx(0.005)  # not said
    airframe = shipped("pantry", "items.pack.known=guessed")
    (pack,) = [g for g in guesses(Subject(airframe)) if g.name == "pack"]
    assert pack.mass_spread == pytest.approx(0.0118)
    assert pack.place_spread == pytest.approx(0.005)


def test_what_to_weigh_first():
    heavy = shipped("pantry", "items.pack.known=guessed", "items.pack.mass_spread=25 %")
    ranked = guesses(Subject(heavy))
    assert [g.moves for g in ranked] == sorted((g.moves for g in ranked), reverse=True)
    assert weigh_first(ranked) == "Weigh the pack first: it moves the balance 5.3 mm."
    assert weigh_first(guesses(subject("pantry"))) == (
        "Measure where the wiring sits first: it moves the balance 0.7 mm."
    )
    assert weigh_first([]) == "Every part has been weighed: nothing is guessed."


def test_imbalance_is_undone_by_that_mass_at_the_tip():
    lopsided = shipped("pantry", "items.pack.right=10 mm")
    grams = imbalance(Subject(lopsided))
    assert grams == pytest.approx(0.118 * 0.010 / 0.35, rel=1e-6)
    mended = with_item(lopsided, "tip", lump(grams, (0.1, -0.35, 0.0)))
    assert balance(parts(mended)).place[1] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_neutral_point_says_how_sure_it_is(name):
    of = subject(name)
    spread, chord = neutral_spread(of), of.chord
    print(f"{name}: {[round(1e3 * x, 2) for x in spread]} mm, {1e3 * spread.total:.1f} in all")
    assert spread.lattice < 0.02 * chord
    assert spread.total == pytest.approx(math.sqrt(sum(x * x for x in spread)))
    # One flat sheet: its slope cannot move it. A tail: a tenth of its lift, far behind.
    assert (spread.slope > 0.01 * chord) is (name == "allotment")


@pytest.mark.parametrize("name", AIRFRAMES)
def test_front_limit_is_where_the_elevator_runs_out(name):
    """Trimmed anew with its balance there and with surfaces one standard deviation weaker, of the
    stick's way back a fifth is left in one of the two flights, and no less in the other. Held at
    1.2 times the stall speed level and 1.3 times in the glide, with the margin it is built for."""
    as_built = subject(name)
    airframe = as_built.airframe
    found = limits(as_built)
    meant = as_built.balanced_at(as_built.at_margin(airframe.margin)).stall_speed
    at = as_built.balance
    place = [found.front.aft, *at.place[1:]]
    weak = as_built.model.with_body(as_built.model.record.copy())
    weak.record.surface_effect[:] *= 0.76 / 0.82  # taped hinges
    shifted = rebalanced(weak, at._replace(place=np.array(place)))
    neutral, back = (elevator(mixer(airframe), Sticks(pitch=p)) for p in (0.0, 1.0))
    shares = []
    for kind, times in ((Kind.LEVEL, 1.2), (Kind.GLIDE, 1.3)):
        (trim,) = trims(shifted, airframe, [times * meant], (kind,))
        shares.append((trim.elevator - neutral) / (back - neutral))
    print(f"{name}: {1e3 * found.front.aft:.0f} mm, {np.round(shares, 3)}")
    assert max(shares) == pytest.approx(0.8, abs=0.01)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_rear_limit_keeps_the_least_margin_where_it_is_thrown(name):
    """At the launch's level trim the margin exceeds the least one by the neutral point's spread,
    and at no incidence it is not less than that spread; one of the two decides."""
    as_built = subject(name)
    airframe = as_built.airframe
    rear, fast = rear_limit(as_built).aft, neutral_spread(as_built).total
    launch = airframe.launch.hand.speed if airframe.launch.kind == "hand" else 0.0
    meant = as_built.balanced_at(as_built.at_margin(airframe.margin))
    place = np.array([rear, *as_built.balance.place[1:]])
    shifted = rebalanced(as_built.model, as_built.balance._replace(place=place))
    speed = max(launch, SLOWEST_SAFE * meant.stall_speed)
    (trim,) = trims(shifted, airframe, [speed], (Kind.LEVEL,))
    margin = polar.neutral_point_about(shifted, trim.state, trim.command) - rear
    there = Subject(airframe, as_built.field, shifted)
    unsure = margin_spreads(there, [trim], 0.0)[0] * as_built.chord
    spare = margin - airframe.least_margin * as_built.chord - unsure
    dive = as_built.neutral_point - rear - fast
    print(f"{name}: {1e3 * rear:.0f} mm, to spare {1e3 * spare:.1f} and {1e3 * dive:.1f} mm")
    assert min(spare, dive) == pytest.approx(0.0, abs=1e-3)


def test_the_ends_of_the_band_survive_as_they_say():
    """Flown anew at each end with the launches that the end says: as many survive, and enough."""
    pantry = subject("pantry")
    found = band(pantry)
    assert found.closed_by == ""
    for end in (found.front, found.rear):
        again = by_hands(pantry.balanced_at(end.aft_m), end.odds.flown)
        assert again == end.odds
        assert again.survived >= 0.95 * again.flown
    assert found.front.aft_m < found.rear.aft_m < pantry.neutral_point
    # Further forward than the front end trims, but is lost before the hands have it.
    assert limits(pantry).front.aft < found.front.aft_m
    assert "launches survive" in found.front.why


def test_more_throw_moves_the_front_limit_forward():
    one, other = (
        limits(a).front.aft
        for a in (subject("pantry"), subject("pantry", "mixing.high.pitch=20 deg"))
    )
    assert other < one - 0.005


def test_a_flare_that_runs_out_of_elevator_is_a_remark():
    """Further forward it touches down faster; the band does not know of it."""
    pantry = subject("pantry")
    slow = [flare(pantry.balanced_at(at)).speed for at in (0.05, 0.03, 0.01)]
    assert slow == sorted(slow)
    assert slow[0] < slow[2]
    assert flare(pantry).speed > 0.95 * pantry.stall_speed


@pytest.mark.parametrize("name", AIRFRAMES)
def test_a_changed_balance_is_as_if_built_anew(name):
    """With another mass, mixing and margin the shape's tables serve again, to the last digits."""
    as_it_is = subject(name)
    assert as_it_is.model is not None
    sheet = next(n for n, s in as_it_is.airframe.sheets.items() if s.surfaces)
    surface = next(iter(as_it_is.airframe.sheets[sheet].surfaces))
    edits = (
        f"sheets.{sheet}.surfaces.{surface}.mass=3 g",
        "mixing.high.pitch=20 deg",
        "margin=7 %",
    )
    airframe = with_item(shipped(name, *edits), "lead", lump(0.05, (-0.05, 0.01, 0.0)))
    moved, anew = as_it_is.changed(airframe), Subject(airframe)
    assert moved.model.body.response is as_it_is.model.body.response
    assert anew.model.body.response is not as_it_is.model.body.response
    for field in moved.model.record.dtype.names:
        if field in ("contact_damping", "roll_cuts"):  # set for the mass that it stood on
            continue
        one, other = (np.asarray(m.model.record[field]) for m in (moved, anew))
        used = other != 0.0  # what is beyond the last strip, motor or contact is not
        np.testing.assert_allclose(one[used], other[used], rtol=1e-9, atol=1e-12, err_msg=field)
    assert moved.stall_speed == pytest.approx(anew.stall_speed, rel=1e-9)
    assert limits(moved).rear.aft == pytest.approx(limits(anew).rear.aft, abs=1e-6)


@pytest.mark.parametrize(
    ("name", "margin", "at"),
    [("pantry", 0.12, "ballast"), ("glasshouse", 0.08, "nose_box"), ("allotment", 0.15, "nose")],
)
def test_ballast_gives_the_margin_on_the_airframe_rebuilt(name, margin, at):
    now = subject(name)
    found = at_place(now, margin, at)
    loaded = with_item(now.airframe, "lead", lump(found.mass, found.place))
    assert Subject(loaded).margin == pytest.approx(margin, abs=1e-4)
    # The lever rule by hand.
    target = found.after.neutral_point - margin * now.chord
    by_hand = now.mass * (now.cg - target) / (target - found.place[0])
    assert found.mass == pytest.approx(by_hand, rel=0.01)
    heavier = math.sqrt(found.after.mass / now.mass)
    neutral = now.neutral_stall_speed * heavier
    assert found.after.neutral_stall_speed == pytest.approx(neutral, rel=2e-3)
    # Held, it asks for more up elevator as well, which takes lift away.
    assert found.after.stall_speed > now.stall_speed * heavier * 0.998


def test_ballast_along_an_edge_has_the_length_of_its_mass():
    found = along_edge(subject("pantry-swept"), 0.10, "leading", per_length=0.099)
    assert found.length == pytest.approx(found.mass / 0.099)
    assert found.layers == 1
    assert found.after.margin == pytest.approx(0.10, abs=1e-4)
    # Cut back 150 in 350 mm: the middle of a rod that long lies where the edge has come to.
    edge = math.hypot(0.15, 0.35) / 0.35
    assert found.place[0] == pytest.approx(0.25 * found.length / edge * 0.15 / 0.35, rel=1e-3)


def test_ballast_that_cannot_be():
    now = subject("pantry")
    with pytest.raises(NoBallast) as error:
        at_place(now, 0.12, "tail")
    assert str(error.value) == (
        "the tail is on the wrong side: ballast there makes the margin smaller, and it is "
        f"{100 * now.margin:.1f} % already"
    )
    with pytest.raises(NoSuchPlace, match="'wing': no such place; choose from ballast, "):
        at_place(now, 0.12, "wing")
    lighter = at_place(now, 0.07, "ballast")
    assert -0.020 < lighter.mass < 0.0  # some of the 20 g there comes off


@pytest.mark.parametrize(("name", "margin"), [("pantry", 0.12), ("glasshouse", 0.08)])
def test_alternatives_reach_the_margin(name, margin):
    now = subject(name)
    found = {way.name: way for way in alternatives(now, margin, "nose")}
    assert list(found) == ["move_pack", "lighter_surfaces", "longer_nose", "cut_leading_edge"]
    for way in found.values():
        print(f"{name}: {way.words}: {1e3 * way.mass_change:+.0f} g, {way.after.stall_speed:.1f}")
        assert way.reaches
        assert way.after.margin == pytest.approx(margin, abs=2e-4)
        assert way.mass_change == pytest.approx(way.after.mass - now.mass, abs=1e-9)
    ballast = at_place(now, margin, "nose")
    assert found["move_pack"].mass_change < ballast.mass
    assert found["lighter_surfaces"].mass_change < ballast.mass
    cut = found["cut_leading_edge"]
    assert cut.mass_change < 0.0
    assert cut.after.neutral_point > now.neutral_point
    assert cut.after.stall_speed > now.stall_speed  # less area


def test_moved_pack_by_hand():
    now = subject("pantry-swept")
    way = move_pack(now, 0.09)
    by_hand = (now.margin - 0.09) * now.chord * now.mass / now.airframe.items["pack"].mass
    assert way.amount == pytest.approx(by_hand, rel=1e-3)
    assert way.words == f"move the pack {abs(1e3 * by_hand):.0f} mm forward"
    assert way.after.mass == pytest.approx(now.mass)


def test_weigh_tells_all_of_it_and_nothing_is_no_number():
    for name in AIRFRAMES:
        found = weigh(subject(name), 0)
        json.dumps(found.as_json(), allow_nan=False)
        assert found.verdict == ("behind-neutral-point" if name == "glasshouse" else "ok")
        assert found.cg_front_limit_m < found.cg_rear_limit_m


def test_tail_heavy_is_told_and_answered(capsys, brief, tmp_path):
    heavy = copied("glasshouse", tmp_path)
    code, out, _ = told(capsys, "weigh", heavy)
    assert code == 3
    assert "NO-GO: the CG lies behind the neutral point: it cannot fly by itself" in out
    code, out, _ = told(capsys, "weigh", heavy, "--margin", "8%", "--at", "nose", "--json")
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
    assert "NO-GO: no elevator or elevon: nothing holds the nose up" in out
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


def test_a_pack_ahead_of_a_pusher_can_move_to_the_nose():
    pusher = shipped("pantry", "motors.motor.aft=380 mm", "items.pack.aft=150 mm")
    change = move_pack(Subject(pusher), 0.08)
    assert change is not None
    assert change.amount < 0.0
    assert "propeller" not in change.words


def test_wing_loading_is_told_by_both_wings_of_a_biplane_and_by_no_tail():
    """Common practice, no source: weight over the area of the wings. 600 x 600 mm and twice it;
    1000 x 180 mm."""
    plain = load_airframe(find("airframes", "pantry"))
    slab = plain.sheets["slab"]
    fins = {name: sheet for name, sheet in plain.sheets.items() if name != "slab"}
    upper = slab.model_copy(update={"up": slab.up + 0.3, "surfaces": {}})
    two = plain.model_copy(update={"sheets": {"slab": slab, "upper": upper, **fins}})
    one, both = Subject(plain), Subject(two)
    assert both.lifting_area == pytest.approx(2.0 * one.lifting_area, rel=1e-6)
    found = weigh(both, 0)
    assert found.wing_area_m2 == pytest.approx(one.wing_area, rel=1e-6)
    assert found.wing_loading_kg_m2 == pytest.approx(both.mass / (2.0 * one.wing_area), rel=1e-6)
    tailed = Subject(load_airframe(find("airframes", "allotment")))
    assert tailed.lifting_area == pytest.approx(tailed.wing_area, rel=1e-9)
    assert tailed.lifting_area == pytest.approx(1.0 * 0.18, rel=0.02)
