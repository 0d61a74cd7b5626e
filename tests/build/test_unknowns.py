"""One table of what is not known: nothing else holds a spread, measured is surer than guessed, and
an airframe that is off by so much is the airframe built so."""

import ast
import re
from pathlib import Path

import numpy as np
import pytest

from firstthrow.sim.build import section
from firstthrow.sim.build.deviated import all_deviated, common, deviated, each_deviated, room
from firstthrow.sim.build.model import build
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.sheltered import SPEED_LEFT
from firstthrow.sim.build.unknown_kinds import OPEN_GAP, RULES, What, guessed, measured
from firstthrow.sim.build.unknowns import Known, spread_of, unknowns
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.notes import Notes
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.batch import change
from firstthrow.sim.kernels.layout import SEPARATED, SHARE
from firstthrow.sim.kernels.parameters import RECORD
from firstthrow.sim.learn.believed import quantities
from firstthrow.sim.study.odds.scatter import SCATTERED, Scatter

ROOT = Path(__file__).parents[2]
AIRFRAMES = ("pantry", "pantry-swept", "glasshouse", "allotment")
CHORD = 0.35


def shipped(name="pantry", *overrides):
    return load_airframe(find("airframes", name), overrides)


def test_no_other_file_holds_a_spread():
    """A number with such a name stands in the table alone; what a builder's meters and words leave
    open is told with the notes that hold them."""
    found = []
    for path in sorted((ROOT / "sim").rglob("*.py")):
        if path.name in ("unknown_kinds.py", "notes.py"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.AnnAssign) and node.value is not None:
                names, value = [node.target], node.value
            elif isinstance(node, ast.Assign):
                names, value = node.targets, node.value
            else:
                continue
            words = [n.id for n in names if isinstance(n, ast.Name)]
            numbers = [
                n for n in ast.walk(value) if isinstance(n, ast.Constant) and type(n.value) is float
            ]
            if numbers and any(re.search(r"SPREAD|SCATTER|UNSURE", w) for w in words):
                found.append(f"{path.relative_to(ROOT)}:{node.lineno}: {words}")
    assert found == []


def test_the_same_word_has_the_same_number():
    usual = Scatter()
    for word, what in {
        "speed": What.THROW_SPEED,
        "pitch": What.THROW_PITCH,
        "bank": What.THROW_BANK,
        "slip": What.THROW_SLIP,
        "height": What.THROW_HEIGHT,
        "roll_rate": What.THROW_ROLL,
        "throttle": What.THROTTLE,
        "build": What.NEUTRAL,
    }.items():
        assert getattr(usual, word) == guessed(what), word
    fitted = {one.name: one.spread for one in quantities(shipped(), Notes())}
    rows = unknowns(shipped(), CHORD)
    assert fitted["bow"] == spread_of(rows, What.BOW, "slab")
    assert fitted["thrust_down"] == spread_of(rows, What.THRUST_DOWN, "motor")
    assert fitted["propeller"] == spread_of(rows, What.THRUST)
    assert fitted["effect"] * 0.82 == pytest.approx(spread_of(rows, What.EFFECT, "taped hinges"))
    assert fitted["reflex"] == pytest.approx(guessed(What.NEUTRAL) / np.sqrt(2.0))
    assert fitted["cg"] > spread_of(rows, What.NEUTRAL_POINT)


def test_every_kind_is_drawn_or_is_of_the_throw():
    """What the table knows is in the odds, or is said not to be."""
    drawn = {what for kinds in SCATTERED.values() for what in kinds}
    thrown = {what for what in What if what.startswith("thro")} | {What.NEUTRAL}
    assert set(RULES) == set(What)
    assert set(What) == drawn | thrown


@pytest.mark.parametrize("what", What)
def test_measured_is_surer_than_guessed(what):
    rule = RULES[what]
    assert rule.how
    assert rule.source
    if rule.measured is None:
        with pytest.raises(ValueError, match="flights"):
            measured(what, 1.0)
    else:
        assert measured(what, CHORD) < guessed(what, CHORD)


@pytest.mark.parametrize(
    ("change", "key", "kinds"),
    [
        ("sheets.slab.bow=0 mm", "slab", (What.BOW,)),
        ("sheets.slab.twist=0 deg", "slab", (What.TWIST_LEFT, What.TWIST_RIGHT)),
        ("corrections.effect=100 %", "taped hinges", (What.EFFECT,)),
        ("corrections.drag=100 %", "", (What.SHEET_DRAG, What.PART_DRAG)),
        ("corrections.propeller_thrust=100 %", "", (What.THRUST,)),
        ("sheets.slab.surfaces.elevon.known=measured", "elevon_right", (What.NEUTRAL,)),
        ("items.receiver.known=measured", "receiver", (What.MASS, What.AFT, What.RIGHT, What.UP)),
    ],
)
def test_what_the_file_says_was_measured_is_surer(change, key, kinds):
    before = unknowns(shipped("pantry", "items.receiver.known=guessed"), CHORD)
    after = unknowns(shipped("pantry", "items.receiver.known=guessed", change), CHORD)
    for what in kinds:
        assert spread_of(after, what, key) < 0.6 * spread_of(before, what, key), what
        (row,) = [one for one in after if one.key == (what, key)]
        assert row.known is Known.MEASURED
        assert row.spread == row.least
    same = [one for one in before if one.what not in kinds]
    assert [one for one in after if one.what not in kinds] == same


def test_an_open_gap_is_less_sure_and_so_is_eps():
    open_ = unknowns(shipped("pantry", "sheets.slab.surfaces.elevon.gap=open"), CHORD)
    taped = guessed(What.EFFECT)
    assert spread_of(open_, What.EFFECT, "open hinges") == pytest.approx(OPEN_GAP * taped)
    eps = unknowns(shipped("pantry", "sheets.slab.material=EPS"), CHORD)
    # A factor of two between two standards is half of it either way.
    assert spread_of(eps, What.STRENGTH, "slab") == pytest.approx(0.5 * np.log(2.0), abs=0.01)
    assert spread_of(unknowns(shipped(), CHORD), What.STRENGTH, "slab") == 0.25


def _same(one, other, names=RECORD.names, **near):
    for name in names:
        a, b = one.record[name], other.record[name]
        if name.endswith("_place"):  # rows that are not used move along
            a, b = a[b.any(axis=-1)], b[b.any(axis=-1)]
        assert np.allclose(a, b, **near), name


def test_an_airframe_that_is_off_is_the_one_built_so():
    """Masses, places, bow, twist, effect, thrust and torque: the very record, the very tables."""
    airframe = shipped()
    off = {
        (What.MASS, "pack"): 0.010,
        (What.AFT, "pack"): 0.004,
        (What.RIGHT, "pack"): 0.003,
        (What.UP, "pack"): -0.002,
        (What.BOW, "slab"): 0.002,
        (What.TWIST_LEFT, "slab"): 0.01,
        (What.EFFECT, "taped hinges"): -0.082,
        (What.THRUST, ""): 0.05,
        (What.TORQUE, ""): -0.07,
    }
    pack = airframe.items["pack"]
    real: Airframe = airframe
    for path, value in {
        ("items", "pack", "mass"): pack.mass + 0.010,
        ("items", "pack", "aft"): pack.aft + 0.004,
        ("items", "pack", "right"): pack.right + 0.003,
        ("items", "pack", "up"): pack.up - 0.002,
        ("sheets", "slab", "bow"): 0.002,
        ("sheets", "slab", "twist_left"): 0.01,
        ("corrections", "effect"): 0.9,
        ("corrections", "propeller_thrust"): 1.05,
        ("corrections", "propeller_torque"): 0.93,
    }.items():
        real = put(real, path, value)
    one, other = deviated(build(airframe, STANDARD), airframe, off), build(real, STANDARD)
    # A part's drag stays where it was, contacts keep the damping of the mass they were set for.
    apart = ("fitting_drag", "fitting_place", "fitting_grown", "contact_damping")
    names = [name for name in RECORD.names if name not in apart]
    _same(one, other, names, rtol=1e-9, atol=1e-12)
    thrust = slice(0, 4)
    assert np.allclose(one.body.propellers[..., thrust], other.body.propellers[..., thrust])
    assert one.balance.place == pytest.approx(other.balance.place)


def test_a_neutral_point_further_aft_is_a_balance_further_ahead():
    airframe = shipped()
    model = build(airframe, STANDARD)
    moved = deviated(model, airframe, {(What.NEUTRAL_POINT, ""): 0.005})
    assert model.balance.place[0] - moved.balance.place[0] == pytest.approx(0.005)
    # From wherever the model is balanced, though the file says otherwise.
    at = model.balance
    other = rebalanced(model, at._replace(place=at.place + np.array([0.02, 0.0, 0.0])))
    again = deviated(other, airframe, {(What.NEUTRAL_POINT, ""): 0.005})
    assert again.balance.place[0] - at.place[0] == pytest.approx(0.015)


def test_a_propeller_of_another_pitch_is_near_the_one_built_so():
    """Taken to change evenly: within a hundredth of the largest at a spread."""
    airframe = shipped()
    spread = guessed(What.PROPELLER_PITCH)
    off = {(What.PROPELLER_PITCH, ""): spread}
    one = deviated(build(airframe, STANDARD), airframe, off).body.propellers
    real = put(airframe, ("corrections", "propeller_pitch"), 1.0 + spread)
    other = build(real, STANDARD).body.propellers
    for column in (0, 1):
        gap = np.abs(one[..., column] - other[..., column]).max() / np.abs(other[..., column]).max()
        print(f"column {column}: {100 * gap:.2f} %")
        assert gap < 0.01


def stalled(model, deflection=0.0) -> tuple[np.ndarray, float]:
    """Of `pantry` at 24 degrees of incidence and 10 m/s: load of the air, separated share."""
    a = np.radians(24.0)
    air = -10.0 * np.array([np.cos(a), 0.0, np.sin(a)])
    load, report = air_load(model, air, surfaces=(deflection, deflection))
    return load, report[SEPARATED]


def test_a_stall_that_comes_later_or_less_sure():
    """Later by so much is the same share at an incidence further on; a stalled sheet's surfaces do
    more or less; the fin's air behind it moves; lags are longer."""
    airframe = shipped()
    model = build(airframe, STANDARD)

    def off(what, by):
        return deviated(model, airframe, {(what, ""): by})

    usual = stalled(model)[1]
    assert 0.3 < usual < 1.0
    shares = [stalled(off(What.STALL, np.radians(by)))[1] for by in (-1.5, -0.7, 0.7, 1.5)]
    assert shares[0] > shares[1] + 0.01 > usual + 0.02 > shares[2] + 0.03 > shares[3] + 0.04
    plate = model.plates[0]
    later = section.table(*plate, np.radians(1.5))[..., SHARE]
    assert np.array_equal(off(What.STALL, np.radians(1.5)).body.plates[0, ..., SHARE], later)

    down = np.radians(14.0)
    moments = [stalled(off(What.STALLED_SURFACES, by), down)[0][4] for by in (-0.2, 0.0, 0.2)]
    assert moments[0] > moments[1] > moments[2]
    ends = [off(What.STALLED_SURFACES, by).body.plates[0] for by in (-0.9, 0.9)]
    for found, more in zip(ends, (-1.0, 1.0), strict=True):  # no further than the bounds
        apart = (found - section.table(*plate, more=more))[:, 6:11]  # surfaces within 15 degrees
        assert np.abs(apart).max() < 0.05
    assert off(What.WAKE, 0.1).record.wake_left == pytest.approx(SPEED_LEFT + 0.1)
    assert off(What.WAKE, -0.9).record.wake_left == 0.0
    assert off(What.STALL_LAG, 0.5).record.lag_angle == pytest.approx(1.5 * section.LAG_ANGLE)
    assert off(What.SHARE_LAG, -2.0).record.lag_share > 0.0


def test_many_that_are_off_are_each_as_one_alone():
    """Bit by bit, so that a case does not depend on those that are flown with it."""
    airframe = shipped("allotment")
    model, count = build(airframe, STANDARD), 3
    rows, random = unknowns(airframe, CHORD), np.random.default_rng(3)
    offs = {row.key: row.spread * random.standard_normal(count) for row in rows}
    many = all_deviated(model, airframe, offs, count)
    for k in range(count):
        one = deviated(model, airframe, {key: float(off[k]) for key, off in offs.items()})
        assert many.records[k].tobytes() == one.record.tobytes()
        body = room(model.body)
        change(common(model, airframe), many.changes[k], body)
        for own, alone in zip(body[1:], one.body[1:], strict=True):
            assert np.array_equal(own, alone)
        assert many.balances.place[k] == pytest.approx(one.balance.place, abs=1e-12)


def test_each_of_many_off_by_something_else_is_as_one_alone():
    airframe = shipped("allotment")
    model = build(airframe, STANDARD)
    offs = [{row.key: row.spread} for row in unknowns(airframe, CHORD)]
    many = list(each_deviated(model, airframe, offs))
    assert len(many) == len(offs)
    for off, one in zip(offs, many, strict=True):
        _same(one, deviated(model, airframe, off), rtol=1e-12, atol=1e-15)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_nothing_off_is_the_same(name):
    airframe = shipped(name)
    model = build(airframe, STANDARD)
    rows = unknowns(airframe, CHORD)
    assert len({row.key for row in rows}) == len(rows)
    same = deviated(model, airframe, {row.key: 0.0 for row in rows})
    _same(same, model, rtol=1e-12, atol=1e-15)


def test_a_narrow_sheet_feels_what_its_surfaces_do_more_in_full():
    """A long narrow tailplane, whose lower bound is near: as its own table has it, within 0.01."""
    chord = "sheets.tailplane.outline.chord"
    airframe = shipped("allotment", f"{chord}=800 mm")
    model = build(airframe, STANDARD)
    found = deviated(model, airframe, {(What.STALLED_SURFACES, ""): 0.2}).body.plates
    narrow = [k for k, plate in enumerate(model.plates) if plate.slope < 0.2 * 2.0 * np.pi]
    assert any(model.plates[k].flap > 0.0 for k in narrow)
    for k in narrow:
        wanted = section.table(*model.plates[k], more=0.2)
        assert np.abs(found[k] - wanted)[:, 6:11].max() < 0.01
