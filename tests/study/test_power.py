"""The drive in equilibrium: worked examples, momentum bounds, margins, explanations, sizes."""

from __future__ import annotations

import json
from functools import lru_cache

import numpy as np
import pytest
from bodies import shipped, shipped_model, shipped_subject
from checks import compare, named

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.drive_at_rest import (
    equilibrium,
    ideal_power,
    refitted,
    unlimited,
)
from firstthrow.sim.flight.drive_measured import seen
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.proof import motor
from firstthrow.sim.proof.bodies import constant_table
from firstthrow.sim.proof.motor import bench
from firstthrow.sim.study import power, ratings
from firstthrow.sim.study.power import doubts, run_times
from firstthrow.sim.study.propulsion import causes, sizes
from firstthrow.sim.study.propulsion.causes import chi_square, explanations, verdict
from firstthrow.sim.study.propulsion.sizes import best_choice, choices
from firstthrow.sim.study.ratings import amperes
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import INCH, rpm


@lru_cache
def level():
    return power.level_flight(shipped_subject())


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "pantry-swept", "allotment"])
def test_more_power_than_ideal(name):
    """At every throttle and speed the shaft puts in more than momentum theory needs; standing
    still the figure of merit is that of small propellers."""
    model, blade = shipped_model(name), next(iter(shipped(name).motors.values())).propeller
    density = model.record.density
    for throttle in (0.4, 1.0):
        for speed in (0.0, 5.0, 12.0):
            found = equilibrium(model, throttle, speed)
            ideal = ideal_power(found.thrust, blade.size[0], speed, density)
            assert found.shaft_power > ideal
            if speed == 0.0:
                merit = ideal / found.shaft_power
                print(f"{name} at {100 * throttle:.0f} %: figure of merit {merit:.2f}")
                row = named(motor)["R16"]
                gap = row.allowed[0]
                assert row.outside[0] - gap - 0.05 < merit < row.outside[0] + gap


def test_shop_sizes_are_plausible():
    """Every size in the list within the momentum bound, and a little either side of R16."""
    airframe = shipped()
    for size in sizes.near_sizes(airframe):
        model = refitted(shipped_model(), sizes.with_size(airframe, size))
        found = equilibrium(model, 0.5)
        merit = ideal_power(found.thrust, size[0], 0.0, model.record.density) / found.shaft_power
        assert 0.3 < merit < 0.8, sizes.size_name(size)


def test_equilibrium_is_the_flight_s_own():
    """Held in the hand at a throttle, the flight's motor comes to the same speed and current."""
    flight = Flight(shipped(), STANDARD, model=shipped_model())
    flight.advance(2.0, Sticks(throttle=0.6))
    reading = flight.reading()
    found = equilibrium(shipped_model(), 0.6)
    compare(
        "held: rpm, N, A, V",
        [rpm(found.rotor), found.thrust, found.motor_current, found.pack_voltage],
        [
            reading.motor_motor_rpm,
            reading.motor_motor_thrust_N,
            reading.motor_motor_A,
            reading.pack_V,
        ],
        relative=0.01,
    )


def test_two_motors_share_the_pack():
    """Two motors draw twice one's current, and sag the pack further."""
    body = bench(11.1, np.concatenate([constant_table(0.1286, 0.0524)] * 2), pack_ohm=0.02)
    one = equilibrium(body, 1.0)
    m = body.record.copy()
    m.n_motors = 2
    for field in (
        "motor_axis",
        "motor_radius",
        "motor_sense",
        "motor_drive",
        "motor_kt",
        "motor_resistance",
        "motor_no_load",
        "rotor_inertia",
        "stream_swirl",
    ):
        m[field][1] = m[field][0]
    m.motor_table[1] = 1
    both = equilibrium(body.with_body(m), 1.0)
    assert both.pack_current == pytest.approx(2.0 * both.motor_current, rel=1e-4)
    assert 0.8 * one.motor_current < both.motor_current < one.motor_current
    assert both.pack_voltage == pytest.approx(11.1 - 0.02 * both.pack_current, rel=1e-9)


def test_flat_pack_gives_less():
    full, half = (equilibrium(shipped_model(), 1.0, charge=c) for c in (1.0, 0.3))
    assert half.thrust < 0.9 * full.thrust
    assert half.pack_voltage < full.pack_voltage


@pytest.mark.parametrize(
    ("value", "word"), [(7.9, "ok"), (8.1, "tight"), (10.0, "tight"), (10.1, "over")]
)
def test_margin_words(value, word):
    assert amperes("motor", value, 10.0).verdict == word


def test_unlimited_shows_what_would_flow():
    """A controller that limits keeps its current limit, and any its cut-off, by lowering the
    duty; the margins have to be told from what would flow and sag without."""
    airframe, free = shipped(), equilibrium(shipped_model(), 1.0)
    tight = refitted(shipped_model(), with_controller(airframe, limit=5.0, limits_current=True))
    assert free.motor_current > 1.5 * 5.0
    kept = equilibrium(tight, 1.0)
    assert kept.motor_current == pytest.approx(5.0, rel=1e-6)
    assert kept.rotor < 0.9 * free.rotor
    assert equilibrium(unlimited(tight), 1.0) == free
    limp = refitted(shipped_model(), with_controller(airframe, cutoff=4.16))  # 12.48 V of three
    assert free.pack_voltage < 3.0 * 4.16 - 0.05
    kept = equilibrium(limp, 1.0)
    # Throttled back to somewhere in the band below the cut-off.
    assert free.pack_voltage < kept.pack_voltage < 3.0 * 4.16
    assert kept.motor_current < free.motor_current - 0.2
    assert equilibrium(unlimited(limp), 1.0) == free


def with_controller(airframe, **changes):
    controller = airframe.controller.model_copy(update=changes)
    return airframe.model_copy(update={"controller": controller})


def test_an_overloaded_controller_is_told():
    """By how much and for how long: 10 s at its burst current by the rule (common practice)."""
    airframe, rated = shipped(), equilibrium(shipped_model(), 1.0).motor_current / 1.2
    told = ratings.overload(with_controller(airframe, limit=rated).controller, 1.2 * rated)
    assert told.over_percent == pytest.approx(20.0)
    assert told.lasts_s == pytest.approx(10.0 * (1.25**2 - 1.0) / (1.2**2 - 1.0))
    assert "20 % over its rating" in told.words
    assert "about 13 s, then burns or cuts out" in told.words
    limiting = with_controller(airframe, limit=rated, limits_current=True).controller
    assert ratings.overload(limiting, 1.2 * rated).lasts_s is None
    assert ratings.overload(limiting, rated) is None


def test_run_times():
    """Charge less what stays in the pack, over the current; the mixed one lies between."""
    airframe, full = shipped(), equilibrium(shipped_model(), 1.0)
    found = run_times(airframe, full, level())
    usable = 0.8 * airframe.pack.capacity
    assert found.full == pytest.approx(usable / full.pack_current, rel=1e-9)
    assert found.level == pytest.approx(usable / level().current, rel=1e-9)
    assert found.full < found.mixed < found.level
    assert run_times(airframe, full, None).level is None


def test_level_flight():
    """Thrust balances drag at the fastest speed, which is beyond that of least current."""
    found = level()
    assert not isinstance(found, str), found
    assert found.fastest > found.speed
    full = equilibrium(shipped_model(), 1.0, found.fastest)
    assert full.thrust == pytest.approx(found.thrust_needed(found.fastest), rel=1e-3)
    assert found.thrust_needed(found.speed) < equilibrium(shipped_model(), 1.0, found.speed).thrust


def test_doubts_are_called_common_practice():
    airframe, full = shipped(), equilibrium(shipped_model(), 1.0)
    heavy = doubts(airframe, full, 10.0 * full.thrust, 30.0)
    assert any("thrust/weight 0.10" in text for text in heavy)
    assert any("pitch speed" in text for text in heavy)
    assert all(text.endswith("(common practice)") for text in heavy)
    weak = airframe.model_copy(
        update={"pack": airframe.pack.model_copy(update={"resistance": 0.2})}
    )
    assert any("measure it" in text for text in doubts(weak, full, full.thrust / 0.7, 5.0))


def cases(airframe):
    """What is wrong, and the words the explanation must start with."""
    size = (9 * INCH, 6 * INCH)
    return {
        "backwards": (
            sizes.with_propeller(airframe, backwards=True),
            "the propeller is on backwards",
        ),
        "size": (sizes.with_size(airframe, size), "the propeller is another one, 9x6 in"),
        "pack": (
            sizes.with_pack(airframe, resistance=4.0 * airframe.pack.resistance),
            "the pack gives too little: not full, some",
        ),
        "kv": (
            sizes.with_motor(airframe, kv=0.75 * airframe.motors["motor"].kv),
            "the motor has another kV: 638, not 850",
        ),
        "nothing": (airframe, causes.AS_DESCRIBED),
    }


@pytest.mark.parametrize("wrong", ["backwards", "size", "pack", "kv", "nothing"])
def test_explanation_is_found(wrong):
    """Current, thrust and rotor speed at 70 % throttle of a drive that differs, current and
    thrust 2 % off; at full throttle for the pack, which shows by the current drawn from it."""
    airframe, throttle = shipped(), 1.0 if wrong == "pack" else 0.7
    changed, words = cases(airframe)[wrong]
    measured = seen(equilibrium(refitted(shipped_model(), changed), throttle))
    del measured["voltage"]
    measured["current"] *= 1.02
    measured["thrust"] *= 0.98
    ranked = explanations(shipped_subject(), measured, throttle)
    print(wrong, [(e.text, round(e.rank, 1)) for e in ranked[:3]])
    near = [e for e in ranked if e.rank <= ranked[0].rank + causes.CLOSE]
    assert any(e.text.startswith(words[:28]) for e in near[:2])
    if wrong == "nothing":
        assert "agrees with the description" in verdict(measured, ranked)[0]
    elif wrong in ("backwards", "size"):
        assert ranked[0].text == words


def test_the_voltage_at_rest_tells_a_weak_pack_from_one_that_is_not_full():
    """Under load both show the same in all four readings, and are one cause; by Ohm's law the one
    stands at its full voltage before the motor runs, the other does not."""
    airframe = shipped()
    weak = sizes.with_pack(airframe, resistance=6.0 * airframe.pack.resistance)
    measured = seen(equilibrium(refitted(shipped_model(), weak), 1.0))
    low = sizes.with_pack(airframe, charge=0.4)
    ranked = explanations(shipped_subject(), measured)
    assert ranked[0].text.startswith("the pack gives too little: not full, some ")
    assert "12.6 V if weak" in ranked[0].text
    assert ranked[0].chi_square < 0.1
    assert "weak" not in ranked[1].text.split(";")[0]
    told = explanations(shipped_subject(), measured | {"rest": 12.6})
    assert told[0].text == "the pack is weak: 54 mohm a cell, not 9"
    measured = seen(equilibrium(refitted(shipped_model(), low), 1.0))
    told = explanations(shipped_subject(), measured | {"rest": 11.4})
    assert told[0].text.startswith("the pack is not full: ")


def test_swapped_leads_push_backwards(capsys):
    """With the sign of the thrust they are not taken for a propeller on backwards."""
    swapped = sizes.with_motor(shipped(), leads_swapped=True)
    read = seen(equilibrium(refitted(shipped_model(), swapped), 1.0))
    assert read["thrust"] < 0.0
    line = f"current={read['current']:.1f} A,thrust={read['thrust']:.2f} N"
    line += f",rpm={rpm(read['rpm']):.0f} rpm,voltage={read['voltage']:.1f} V"
    assert main(["power", "pantry", "--measured", line]) == 0
    assert "Best explanation: two motor leads are swapped" in capsys.readouterr().out


def test_two_causes_at_once_are_named():
    """Another propeller on a pack that is half empty; each alone fits worse."""
    airframe = shipped()
    other = sizes.with_size(airframe, (10 * INCH, 5 * INCH))
    wrong = sizes.with_pack(other, charge=0.2)
    measured = seen(equilibrium(refitted(shipped_model(), wrong), 1.0))
    first = explanations(shipped_subject(), measured)[0]
    assert first.text.startswith("the propeller is another one, 10x5 in; and the pack gives")
    assert first.adjusted == 2


def test_backwards_is_about_half_the_thrust():
    """Trade rule, from memory; the motor turns faster and draws less."""
    airframe = shipped()
    right = equilibrium(shipped_model(), 0.5)
    model = refitted(shipped_model(), sizes.with_propeller(airframe, backwards=True))
    wrong = equilibrium(model, 0.5)
    print(f"backwards: {100 * wrong.thrust / right.thrust:.0f} % of the thrust")
    assert 0.4 < wrong.thrust / right.thrust < 0.75
    assert wrong.rotor > right.rotor
    assert wrong.pack_current < right.pack_current


def test_less_current_than_computed_is_no_faster_motor():
    """A controller over its rating passes the current; at a limiter's own value a faster motor
    would take less from the pack, and explain a small current that a slower one explains."""
    airframe = with_controller(shipped(), limit=6.0)
    subject = Subject(airframe)
    computed = equilibrium(subject.model, 1.0)
    assert computed.motor_current > 1.2 * airframe.controller.limit
    ranked = explanations(subject, {"current": 0.8 * computed.pack_current})
    told = next(e.text for e in ranked if e.text.startswith("the motor has another kV"))
    found = float(told.split(": ")[1].split(",")[0])
    assert 0.6 * 850.0 < found < 0.95 * 850.0


def test_what_fits_nothing_is_said():
    measured = {"current": 4.0, "thrust": 60.0, "rpm": 20.0}
    ranked = explanations(shipped_subject(), measured)
    assert verdict(measured, ranked)[0].startswith("Nothing here explains it well")


def test_chi_square():
    """Two tolerances off in one value is 4."""
    share = 1.0 + 2.0 * causes.TOLERANCE["current"]
    assert chi_square({"current": 10.0}, {"current": 10.0 * share, "thrust": 3.0}) == (
        pytest.approx(4.0)
    )


def test_best_size():
    """Of the sizes within the limits that do what is wanted, the one of least current; none for
    the impossible."""
    found = choices(shipped_subject(), level())
    assert any(not c.fits for c in found), "the limit bites nowhere"
    wanted = 1.05 * min(c.static.thrust for c in found if c.fits)
    best = best_choice(found, thrust=wanted)
    assert best.fits
    assert best.static.thrust >= wanted
    for other in found:
        if other.fits and other.static.thrust >= wanted:
            assert best.static.pack_current <= other.static.pack_current
    fast = best_choice(found, speed=15.0)
    assert fast.fastest >= 15.0
    assert best_choice(found, thrust=1e3) is None


def test_command_prints_tables_and_json(capsys, tmp_path):
    plot = tmp_path / "drive.png"
    # What the drive with its propeller on backwards gives, rounded (see the test above).
    line = ["power", "pantry", "--measured", "current=4.9 A,thrust=318 gf,rpm=10040 rpm"]
    assert main([*line, "--want-speed", "15 m/s", "--plot", str(plot)]) == 0
    text = capsys.readouterr().out
    assert "Best explanation: the propeller is on backwards." in text
    assert "propeller for 15 m/s level:" in text
    assert "thrust/weight" in text
    assert plot.read_bytes()[:4] == b"\x89PNG"
    assert main([*line, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out, parse_constant=pytest.fail)
    assert answer["measured"]["measured"]["rpm"] == pytest.approx(10040.0)
    assert answer["static"][-1]["throttle"] == 1.0
    assert {m["verdict"] for m in answer["margins"]} <= {"ok", "tight", "over"}
    for row in answer["against_airspeed"][1:-1]:
        towing = row["thrust_N"] * row["airspeed_m_s"]
        assert row["propulsive_efficiency"] == pytest.approx(towing / row["shaft_power_W"])


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (["--measured", "current=16"], "--measured current: '16': say a unit, such as '16 A'"),
        (["--measured", "thrust=620"], "grams of thrust are gf, '620 gf'"),
        (["--measured", "amps=3 A"], "wanted current, thrust, rpm, voltage, rest=value"),
        (["--measured", "current=0 A"], "wanted more than 0"),
        (["--want-thrust", "heavy"], "--want-thrust: 'heavy': write a number and a unit"),
    ],
)
def test_command_refuses(capsys, line, words):
    assert main(["power", "pantry", *line]) == 2
    assert words in capsys.readouterr().err
