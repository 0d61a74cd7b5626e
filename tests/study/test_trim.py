"""Trims: found or explained at every speed, true in flight, told on the command line."""

from __future__ import annotations

import json

import numpy as np
import pytest
from bodies import still

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.model import build
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.modes import coordinates, modes_about, moved, sizes, system_matrix
from firstthrow.sim.flight.speeds import STALLED, held_stall_speed
from firstthrow.sim.flight.trims import (
    KINDS,
    NO_THRUST,
    Trim,
    Untrimmed,
    balanced_at,
    hands_off,
    speeds,
    trims,
)
from firstthrow.sim.kernels.layout import (
    DEFLECTION,
    POSITION,
    RATE,
    ROTOR,
    SEPARATED,
    SURFACE,
    VELOCITY,
)
from firstthrow.sim.study.trim import glide_ratio

BALANCED = ("items.pack.aft=-130 mm", "items.nose_box.mass=340 g")
AIRFRAMES = [
    ("pantry", ()),
    ("pantry-swept", ()),
    ("glasshouse", ()),
    ("glasshouse", BALANCED),
    ("allotment", ()),
]
each = pytest.mark.parametrize(("name", "overrides"), AIRFRAMES)


@each
def test_every_speed_has_a_trim_or_a_reason(name, overrides):
    airframe, model = still(name, overrides)
    wanted = speeds(model)[::3]
    found = trims(model, airframe, wanted)
    assert [(t.kind, t.airspeed_m_s) for t in found] == [(k, v) for k in KINDS for v in wanted]
    m, stall, vague = model.record, held_stall_speed(model, airframe), 0
    for t in found:
        if isinstance(t, Untrimmed):
            assert t.words(METRIC).endswith(f" at {t.airspeed_m_s:.1f} m/s")
            # All have thrust to spare, but for the fastest level flight of the small drive.
            fast = t.kind == "level" and t.airspeed_m_s > 2.5 * stall
            assert t.airspeed_m_s < 1.1 * stall or (fast and NO_THRUST in t.why)
            vague += "no steady flight" in t.why
            continue
        rates, report = rates_of(model, t.state, t.command)
        assert np.abs(rates[VELOCITY:RATE]).max() < 1e-4
        assert np.abs(rates[RATE:ROTOR]).max() < 1e-3
        assert np.abs(rates[ROTOR : ROTOR + m.n_motors]).max() < 0.01
        assert np.abs(rates[SURFACE : SURFACE + m.n_surfaces]).max() < 1e-3
        assert report[SEPARATED] <= STALLED
        assert rates[POSITION + 2] == pytest.approx(t.sink, abs=1e-9)
        if t.kind == "glide":
            assert (t.throttle, t.sink > 0.0) == (0.0, True)
        elif t.kind == "level":
            assert abs(t.sink) < 1e-6
            assert 0.0 < t.throttle < 1.0
        else:
            assert t.sink >= -0.5001 * t.airspeed_m_s  # no steeper than 30 degrees
            # Where full throttle holds no height, it sinks.
            assert t.sink < 0.0 or t.airspeed_m_s > 2.5 * stall
    assert vague == 0
    assert any(isinstance(t, Untrimmed) for t in found)


@each
def test_slower_asks_for_more_incidence_and_more_up(name, overrides):
    airframe, model = still(name, overrides)
    found = [t for t in trims(model, airframe, (8.0, 10.0, 13.0, 16.0), ("glide",))]
    alphas = [t.alpha for t in found]
    assert alphas == sorted(alphas, reverse=True)
    if polar.neutral_point(model) > model.balance.place[0]:
        downs = [t.elevator for t in found]
        assert downs == sorted(downs)
    assert found[-1].sink > found[1].sink


def test_a_speed_by_itself_is_trimmed_as_among_others():
    """A slender wing is stalled at the incidence that a stubby one would need."""
    airframe, model = still("allotment")
    _, chord, _ = polar.reference(model)
    airframe = balanced_at(airframe, polar.neutral_point(model) - 0.1 * chord)
    model = build(airframe, STANDARD)
    among = {(t.kind, t.airspeed_m_s): t for t in trims(model, airframe, np.arange(7.5, 13.0, 0.5))}
    for kind in KINDS:
        (alone,) = trims(model, airframe, [7.5], (kind,))
        assert isinstance(alone, Trim), alone
        assert alone.alpha == pytest.approx(among[kind, 7.5].alpha, abs=1e-6)


def test_weak_motor_and_small_throw_are_given_as_reasons():
    airframe, model = still("pantry", ("motors.motor.kv=380 rpm/V",))
    found = {t.kind: t for t in trims(model, airframe, [15.0])}
    assert found["level"].words(METRIC) == "not enough thrust to hold height at 15.0 m/s"
    assert isinstance(found["glide"], Trim)
    airframe, model = still("pantry", ("mixing.high.pitch=1 deg",))
    (slow, fast) = trims(model, airframe, [7.5, 16.0], ("glide",))
    assert slow.words(METRIC) == "not enough elevon to hold the nose up at 7.5 m/s"
    assert fast.words(Units(lengths="in")).endswith("hold the nose down at 35.8 mph")


def test_no_surface_that_takes_pitch():
    airframe = load_airframe(find("airframes", "allotment"))
    tail = airframe.sheets["tailplane"].model_copy(update={"surfaces": {}})
    fixed = airframe.model_copy(update={"sheets": {**airframe.sheets, "tailplane": tail}})
    model = build(fixed, STANDARD)
    (glide,) = trims(model, fixed, [12.0], ("glide",))
    assert glide.words(METRIC) == (
        "no surface takes pitch: it keeps its own speed and cannot be held at 12.0 m/s"
    )
    free = hands_off(model, fixed, 0.0)
    assert free is not None
    assert 5.0 < free.airspeed_m_s < 12.0


def flown(airframe, model, start, sticks, seconds):
    """Coordinates 20 times a second, and the flight."""
    flight, rows = Flight(airframe, STANDARD, model=model), []
    flight.start_at(start, sticks)
    for _ in range(round(20 * seconds)):
        rows.append(coordinates(model, flight.state))
        flight.advance(0.05, sticks)
    rows.append(coordinates(model, flight.state))
    return np.array(rows), flight


@each
@pytest.mark.parametrize("held", ["hands off", "glide", "level"])
def test_flight_started_at_a_trim_stays_there(name, overrides, held):
    """Thirty seconds in still air within 1 % of the speed, or away as the worst mode grows."""
    airframe, model = still(name, overrides)
    if held == "hands off":
        trim = hands_off(model, airframe, 0.0)
    else:  # at 9 m/s two modes of the tail-heavy slab fall together, and growth has no one rate
        (trim,) = trims(model, airframe, [10.0], (held,))
    assert isinstance(trim, Trim)
    worst = max(modes_about(model, trim.state, trim.command), key=lambda m: m.eigenvalue.real)
    if worst.eigenvalue.real < 0.0:
        rows, flight = flown(airframe, model, trim.state, trim.sticks, 30.0)
        assert flight.outcome is None
        speed = np.linalg.norm(rows[:, [0, 1, 4]], axis=1)
        off = np.abs(speed / trim.airspeed_m_s - 1.0).max()
        print(f"{name} {held} {trim.airspeed_m_s:.2f} m/s: off by {100 * off:.3f} %")
        assert off < 0.01
        return
    rate = growth(airframe, model, trim, worst)
    print(f"{name} {held}: {worst.name} grows at {worst.eigenvalue.real:.4f}, flown {rate:.4f}")
    # What doubles in six minutes or more is as good as neutral.
    assert rate == pytest.approx(worst.eigenvalue.real, rel=0.1, abs=2e-3)


def growth(airframe, model, trim, mode) -> float:
    """Rate [1/s] at which a small start along an unstable mode grows in flight.

    Seen through the left eigenvector, which takes the other modes out, against a flight
    started without it.
    """
    values, vectors = np.linalg.eig(system_matrix(model, trim.state, trim.command))
    k = int(np.argmin(np.abs(values - mode.eigenvalue)))
    left = np.linalg.inv(vectors)[k]
    shape = np.real(vectors[:, k])
    shape *= 1e-3 / np.abs(shape / sizes(model, trim.state)).max()
    seconds = min(2.0 / mode.eigenvalue.real, 12.0)
    start, _ = flown(airframe, model, trim.state, trim.sticks, seconds)
    away, _ = flown(airframe, model, moved(trim.state, shape), trim.sticks, seconds)
    size = np.abs((away - start) @ left)
    return float(np.polyfit(0.05 * np.arange(len(size)), np.log(size), 1)[0])


@each
def test_glide_ratio_in_flight(name, overrides):
    airframe, model = still(name, overrides)
    (trim,) = trims(model, airframe, [9.5], ("glide",))
    # A tail-heavy slab leaves its trim: measured before that shows.
    _, flight = flown(airframe, model, trim.state, trim.sticks, 3.0)
    north, east, down = flight.state[POSITION : POSITION + 3] - trim.state[POSITION : POSITION + 3]
    ratio = np.hypot(north, east) / down
    print(f"{name}: glide ratio {glide_ratio(trim):.3f}, flown {ratio:.3f}")
    assert ratio == pytest.approx(glide_ratio(trim), rel=0.01)


@pytest.mark.parametrize("name", ["pantry", "pantry-swept", "glasshouse", "allotment"])
def test_neutral_point_found_by_trimming(name):
    """Where the elevator for more incidence comes to nothing, from three places of the CG.

    Without the propeller, whose side force ahead of the CG moves the neutral point and is no
    part of the lattice; at small incidence, before side-edge lift sets in.
    """
    airframe = load_airframe(find("airframes", name))
    airframe = airframe.model_copy(update={"motors": {}})
    model = build(airframe, STANDARD)
    _, chord, lead = polar.reference(model)
    wanted = (polar.neutral_point(model) - lead) / chord
    places, slopes = wanted + np.array([-0.12, -0.08, -0.04]), []
    for place in places:
        shifted = balanced_at(airframe, lead + place * chord)
        there = build(shifted, STANDARD)
        rows = []
        for t in trims(there, shifted, (11.0, 13.0, 15.0, 18.0), ("glide",)):
            assert isinstance(t, Trim)
            report = rates_of(there, t.state, t.command)[1]
            rows.append((t.alpha, report[DEFLECTION]))  # with what the servo and slop give way
        slopes.append(np.polyfit(*np.array(rows).T, 2)[1])  # at no incidence
    roots = np.roots(np.polyfit(places, slopes, 2))
    found = float(np.real(roots[np.argmin(np.abs(roots - wanted))]))
    print(f"{name}: neutral point {100 * wanted:.2f} %, by trimming {100 * found:.2f} %")
    assert found == pytest.approx(wanted, abs=0.01)


def test_mass_moved_to_a_balance():
    airframe, model = still("pantry")
    moved_there = balanced_at(airframe, 0.060)
    there = balance(parts(moved_there))
    assert there.place[0] == pytest.approx(0.060, abs=1e-9)
    assert there.mass == pytest.approx(model.balance.mass)
    bare = airframe.model_copy(update={"items": {}})
    with pytest.raises(ValueError, match="no item whose mass could be moved"):
        balanced_at(bare, 0.06)


def told(capsys, *words: str) -> tuple[int, str, str]:
    code = main(["trim", *words])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_command_as_json(capsys):
    code, out, err = told(capsys, "pantry", "--speed", "9 m/s", "--json")
    assert (code, err) == (0, "")
    answer = json.loads(out)
    assert {t["kind"] for t in answer["trims"]} == set(KINDS)
    for row in answer["trims"]:
        assert list(row) == [
            "kind",
            "airspeed_m_s",
            "alpha_deg",
            "elevator_deg",
            "throttle",
            "sink_m_s",
            "current_A",
        ]
    keys = {"name", "eigenvalue_re_per_s", "eigenvalue_im_per_s", "period_s", "damping_ratio"}
    for row in answer["modes"]:
        assert set(row) - keys in ({"time_to_double_s"}, {"time_to_half_s"})
    assert {"short period", "phugoid", "Dutch roll", "roll", "spiral"} <= {
        m["name"] for m in answer["modes"]
    }
    assert 6.0 < answer["stall_speed_m_s"] < 8.0
    assert 6.0 < answer["static_margin_percent"] < 11.0
    assert answer["no_go"] == []


def test_command_as_text(capsys):
    code, out, err = told(capsys, "pantry", "--speed", "9")
    assert (code, err) == (0, "")
    for words in ("stall", "margin", "mm at the trailing edge", "pitches back in", "Dutch roll"):
        assert words in out
    assert "nan" not in out.lower().split()


def test_command_behind_the_neutral_point_is_no_go(capsys):
    code, out, err = told(capsys, "pantry", "--speed", "9 m/s", "--cg", "30%")
    assert code == 3
    assert "margin -8" in out
    assert "behind the neutral point" in err
    assert "the pitch is unstable" in err


def test_command_without_any_trim_is_no_go(capsys):
    code, out, err = told(capsys, "pantry", "--speed", "3 m/s", "--json")
    assert code == 3
    answer = json.loads(out)
    assert (answer["trims"], answer["modes"]) == ([], [])
    assert len(answer["no_trims"]) == 3
    assert "cannot be trimmed" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--speed", "fast"), "--speed: "),
        (("--speed", "300 mm"), "--speed: "),
        (("--speed", "0 m/s"), "--speed: say a speed between 1 and 60 m/s"),
        (("--cg", "400 %"), "--cg: say a place between -100 and 200 %"),
        (("--cg", "12 mm"), "--cg: "),
    ],
)
def test_command_refuses_wrong_words(capsys, words, said):
    code, out, err = told(capsys, "pantry", *words)
    assert (code, out) == (2, "")
    assert err.startswith(said)
    assert err.count("\n") == 1
