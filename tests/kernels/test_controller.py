"""A speed controller over its rating: it passes the current, and burns or cuts out in the end."""

from __future__ import annotations

from itertools import pairwise
from math import inf

import numpy as np
import pytest
from bodies import shipped
from checks import compare

from firstthrow.sim.build.controller import bears_for, overload_borne
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels.gusts import NOISE_SIZE
from firstthrow.sim.kernels.integrate import STEP, advance
from firstthrow.sim.kernels.layout import COMMAND_HELD, COMMAND_THROTTLE, MOTOR_CURRENT, THRUST


def run_up(*overrides: str, seconds: float = 6.0) -> tuple[np.ndarray, np.ndarray, Flight]:
    """Held in the hand at full throttle, tick by tick: times, motor currents, and the flight."""
    airframe = shipped("pantry", *overrides)
    flight = Flight(airframe, STANDARD, model=build(airframe, STANDARD))
    flight._command[COMMAND_THROTTLE], flight._command[COMMAND_HELD] = 1.0, 1.0
    flight._evaluate()
    times, amps = np.arange(round(seconds / STEP) + 1) * STEP, [flight.report[MOTOR_CURRENT]]
    for _ in times[1:]:
        advance(
            flight.model.body, flight._moving, np.zeros((1, NOISE_SIZE)), STEP, 0.0, flight._scratch
        )
        amps.append(flight.report[MOTOR_CURRENT])
    return times, np.array(amps), flight


def test_it_passes_what_the_motor_takes():
    free, tight, limiting = (
        equilibrium(build(shipped("pantry", *said), STANDARD), 1.0)
        for said in (
            (),
            ("controller.limit=5 A",),
            ("controller.limit=5 A", "controller.limits_current=true"),
        )
    )
    assert free.motor_current > 7.0
    assert tight == free
    assert limiting.motor_current == pytest.approx(5.0, rel=1e-6)


@pytest.mark.parametrize("burst", [None, 8.0])
def test_it_gives_up_after_its_overload(burst):
    """The overload above the rating is I^2 t, spinning up included: as much as the burst current
    (a quarter over the rating when not said) held for 10 s."""
    said = ["controller.limit=6 A", *([] if burst is None else [f"controller.burst={burst} A"])]
    times, amps, flight = run_up(*said, seconds=9.0)
    wanted = 10.0 * (((burst or 7.5) / 6.0) ** 2 - 1.0)
    last = times[amps > 0.0].max()
    taken = np.trapezoid((amps[times <= last] / 6.0) ** 2 - 1.0, dx=STEP)
    compare("s of overload until it gives up", wanted, taken, relative=0.02)
    assert last < bears_for(flight.airframe.controller, float(np.median(amps[amps > 6.0])))
    assert np.all(amps[times > last] == 0.0)
    assert abs(flight.report[THRUST]) < 0.02  # and so it stays
    held = Flight(flight.airframe, STANDARD, model=flight.model)
    held.advance(last - 0.1, Sticks(throttle=1.0))
    assert held.report[MOTOR_CURRENT] > 6.0
    held.advance(0.2, Sticks(throttle=1.0))  # by steps of a sixtieth it gives up as soon
    assert held.report[MOTOR_CURRENT] == 0.0


def test_how_long_it_bears_that_is_known_in_flight():
    """What is said at one second comes true."""
    airframe = shipped("pantry", "controller.limit=6 A")
    flight = Flight(airframe, STANDARD, model=build(airframe, STANDARD))
    flight.advance(1.0, Sticks(throttle=1.0))
    (early,) = flight.burdens
    assert early.current > early.rating == 6.0
    assert not early.dead
    flight.advance(early.lasts - 0.1, Sticks(throttle=1.0))
    assert not flight.burdens[0].dead
    flight.advance(0.3, Sticks(throttle=1.0))
    assert flight.burdens[0].dead
    assert flight.burdens[0].lasts == inf
    airframe = shipped("pantry", "controller.limit=6 A", "controller.limits_current=true")
    flight = Flight(airframe, STANDARD, model=build(airframe, STANDARD))
    flight.advance(0.5, Sticks(throttle=1.0))
    assert flight.burdens[0].lasts == inf


def test_rest_cools_it():
    """The same overload in pieces, with pauses at least as long, is borne."""
    airframe = shipped("pantry", "controller.limit=6 A")
    flight = Flight(airframe, STANDARD, model=build(airframe, STANDARD))
    borne = bears_for(airframe.controller, equilibrium(flight.model, 1.0).motor_current)
    for _ in range(4):
        flight.advance(0.4 * borne, Sticks(throttle=1.0))
        assert flight.report[MOTOR_CURRENT] > 6.0
        flight.advance(overload_borne(airframe.controller), Sticks(throttle=0.0))
    flight.advance(1.1 * borne, Sticks(throttle=1.0))
    assert flight.report[MOTOR_CURRENT] == 0.0


def test_one_that_limits_lasts():
    times, amps, _ = run_up("controller.limit=6 A", "controller.limits_current=true", seconds=9.0)
    assert np.all(amps[times > 0.5] == pytest.approx(6.0, rel=1e-6))


def test_how_long_it_bears():
    """At its burst current 10 s, the longer the less it is over; within its rating for ever."""
    controller = shipped("pantry", "controller.limit=20 A", "controller.burst=30 A").controller
    assert bears_for(controller, 30.0) == pytest.approx(10.0)
    lasts = [bears_for(controller, amps) for amps in (40.0, 30.0, 25.0, 21.0)]
    assert all(one < other for one, other in pairwise(lasts))
    assert bears_for(controller, 20.0) == inf
    limiting = controller.model_copy(update={"limits_current": True})
    assert bears_for(limiting, 40.0) == inf
    assert overload_borne(controller) == pytest.approx(12.5)


def test_a_burst_below_the_rating_is_refused():
    with pytest.raises(ConfigError, match=r"burst: 20 A: wanted more than limit, 25 A"):
        shipped("pantry", 'controller.burst="20 A"')
