"""Servos and linkages: speed, stall, play, and the supply they share."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped, shipped_model
from checks import compare
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels import servo
from firstthrow.sim.kernels.layout import (
    AIR,
    CHARGE,
    COMMAND_ASLEEP,
    COMMAND_NEXT,
    COMMAND_SIZE,
    COMMAND_TICKS,
    DEFLECTION,
    HINGE,
    REPORT_SIZE,
    SIZE,
    SUPPLY_VOLTAGE,
    SURFACE,
)


def test_sleeping_servos_only_idle():
    record = shipped_model().record
    command, report = np.zeros(COMMAND_SIZE), np.zeros(REPORT_SIZE)
    report[HINGE : HINGE + 2] = 0.8 * record.servo_torque[:2]
    awake = servo.current(record, command, report)
    command[COMMAND_ASLEEP] = 1.0
    asleep = servo.current(record, command, report)
    assert asleep == pytest.approx(float(record.servo_idle[:2].sum()))
    assert awake > 10.0 * asleep
    assert report[SUPPLY_VOLTAGE] == record.supply_voltage


STEADY = ("servos.elevon.dead_band=0 deg", "servos.elevon.idle_current=0 mA")


def moved(model, angle: float, asked: float, speed: float = 0.0):
    """Rates and report in level flight with both elevons at an angle and asked to another."""
    state, command = np.zeros(SIZE), np.zeros(COMMAND_SIZE)
    state[2], state[3], state[7] = -50.0, 1.0, speed
    state[SURFACE : SURFACE + 2], command[:2] = angle, asked
    return rates_of(model, state, command)


def test_the_play_of_a_surface_is_as_wide_as_its_slop():
    """4 degrees at the arm, 12 mm of arm on a horn of 0.63 in: 3 degrees from end to end."""
    model = shipped_model("pantry", "servos.elevon.slop=4 deg")
    ends = []
    for side in (1.0, -1.0):
        angle = side * np.radians(15.0)
        ends.append(moved(model, angle, angle, 20.0)[1][DEFLECTION] - angle)
    compare("deg", 4.0 * 12.0 / 16.002, np.degrees(ends[1] - ends[0]), relative=0.02)
    assert ends[0] < 0.0 < ends[1]  # the air pushes it back towards neutral


def test_a_servo_runs_at_its_rated_speed():
    """60 degrees in 0.12 s at the arm, without load, and whichever way."""
    for side in (1.0, -1.0):
        rate = moved(shipped_model("pantry", *STEADY), 0.0, side * 0.4)[0][SURFACE]
        compare("deg/s", side * 60.0 / 0.12 * 12.0 / 16.002, np.degrees(rate), relative=1e-6)


def test_a_sagging_supply_slows_and_weakens_every_servo():
    """Asked for twice what it gives it has half its voltage: a direct-current motor then runs
    half as fast and holds half its torque (V = I R + kt omega, as in `drive`)."""
    free = ("servos.elevon.dead_band=0 deg", "servos.elevon.idle_current=400 mA")
    strong = shipped_model("pantry", *free)
    weak = shipped_model("pantry", *free, "controller.supply_limit=0.4 A")
    assert moved(weak, 0.0, 0.4)[1][SUPPLY_VOLTAGE] == pytest.approx(2.5)
    whole, half = (moved(model, 0.0, 0.4)[0][SURFACE] for model in (strong, weak))
    compare("speed", 0.5 * whole, half, relative=1e-9)
    # 1.5 kg cm by 16 mm of horn on 12 mm of arm; at 0.7 of it the strong one still holds.
    held = 1.5 * 0.0980665 * 16.002 / 12.0
    angle = np.radians(25.0)
    speed = brentq(lambda v: moved(strong, angle, angle, v)[1][HINGE] - 0.7 * held, 5.0, 60.0)
    assert moved(strong, angle, 0.5, speed)[0][SURFACE] > 0.0
    assert moved(weak, angle, 0.5, speed)[0][SURFACE] < 0.0


def test_a_surface_stops_at_its_travel():
    """30 degrees and no further, either way, and back from there."""
    model, end = shipped_model("pantry", *STEADY), np.radians(30.0)
    for side in (1.0, -1.0):
        assert moved(model, side * end, side * 0.8)[0][SURFACE] == 0.0
        assert side * moved(model, side * end, 0.0)[0][SURFACE] < 0.0


def test_a_stalled_servo_draws_its_stall_current():
    """Two of 700 mA, whatever they idle at, pushed back by a gale: 7 W from 12.6 V."""
    model = shipped_model("pantry", "servos.elevon.idle_current=200 mA")
    angle = np.radians(25.0)
    rates, report = moved(model, angle, 0.5, 60.0)
    assert report[HINGE] > 1.5 * model.record.servo_torque[0]
    compare("A of the pack", 2.0 * 0.7 * 5.0 / 12.6, rates[CHARGE], relative=0.01)


def flown(name: str, *overrides: str):
    """The states of a second of flight from the throw, with every reading's."""
    flight = Flight(shipped(name, *overrides), STANDARD)
    flight.release()
    states = []
    for _ in range(60):
        flight.advance(1.0 / 60.0, Sticks(pitch=1.0, roll=0.5, throttle=1.0))
        states.append(flight.state.copy())
    return flight, np.array(states)


@pytest.mark.parametrize(
    "values",
    [
        ("torque=0.01 kgcm",),
        ("torque=0.01 kgcm", "speed=0.01 s"),
        ("speed=0.01 s", "torque=2000 kgcm"),
    ],
)
def test_a_servo_quicker_than_the_step(values):
    """Driven back at once by the air, or at its angle at once: its angle does not swing up."""
    flight, states = flown("pantry", *(f"servos.elevon.{value}" for value in values))
    angles = states[:, SURFACE : SURFACE + 2]
    assert np.isfinite(states).all()
    assert np.abs(angles).max() < 1.05 * flight.model.record.surface_travel[:2].max()
    # Settled, and not to and fro by degrees from frame to frame.
    assert np.degrees(np.abs(np.diff(angles[20:40], axis=0))).max() < 3.0


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "pantry-swept", "allotment"])
def test_servos_as_built_are_slower_than_the_step(name):
    """Nothing is taken off their speed up to 25 m/s."""
    record = shipped_model(name).record
    n = record.n_surfaces
    wind = 0.5 * record.density * 25.0**2
    held = 1.0 / servo.EASE + wind * record.surface_press[:n] / record.servo_torque[:n]
    assert (record.servo_speed[:n] * held < servo.QUICKEST).all()


def test_a_surface_goes_where_its_rate_takes_it():
    """From anywhere, to anywhere, pushed or asleep, through dead band, kinks and ends of travel:
    the same as scipy's solver makes of the rate, with a command that changes on the way."""
    record = shipped_model("pantry", "servos.elevon.dead_band=1 deg").record.copy()
    record.n_surfaces = 1
    random, h, worst, mean_worst = np.random.default_rng(3), 1.0 / 240.0, 0.0, 0.0
    for _ in range(200):
        command, report = np.zeros(COMMAND_SIZE), np.zeros(REPORT_SIZE)
        report[SUPPLY_VOLTAGE] = random.uniform(0.5, 1.0) * record.supply_voltage
        report[HINGE] = random.choice([0.0, random.normal(0.0, 1.0)]) * record.servo_torque[0]
        command[0], command[COMMAND_NEXT] = random.uniform(-0.6, 0.6, 2)
        command[COMMAND_TICKS] = random.integers(0, 5)
        command[COMMAND_ASLEEP] = random.random() < 0.1
        # Some so quick, or so blown upon, that they are slowed.
        record.servo_speed[0] = random.choice([6.0, 100.0])
        report[AIR] = random.uniform(0.0, 60.0)
        angles, means = random.uniform(-0.5, 0.5, 8), np.zeros(8)
        begun, power = angles[0], report[SUPPLY_VOLTAGE] / record.supply_voltage
        wind = servo.pressure(record, report)

        def rate(angle, asked, on=(command, report, power, wind)):
            command, report, power, wind = on
            return servo.turn(record, 0, float(angle), asked, power, wind, command, report)

        angle, total, changes = begun, 0.0, command[COMMAND_TICKS]
        for tick in range(4):
            asked = command[COMMAND_NEXT] if 0.0 < changes <= tick else command[0]
            how = {"rtol": 1e-10, "atol": 1e-12, "max_step": h / 20.0}
            found = solve_ivp(
                lambda _, y, asked=asked: [rate(y[0], asked), y[0]], (0.0, h), [angle, total], **how
            )
            angle, total = found.y[:, -1]
        servo.go(record, command, 0, 4, h, report, angles, means)
        worst = max(worst, abs(angles[0] - angle))
        mean_worst = max(mean_worst, abs(means[0] - total / (4.0 * h)))
    print(f"{np.degrees(worst):.1e} deg off at most, {np.degrees(mean_worst):.1e} in the mean")
    assert worst < np.radians(1e-5)
    assert mean_worst < np.radians(1e-5)
