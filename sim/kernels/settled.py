"""A moment in still flight in which all that is quick has settled: slop and servo current at
every look; rotors and surfaces where they no longer move, when asked.
"""

from math import sqrt
from typing import NamedTuple

import numpy as np

from firstthrow.sim.kernels import drive, servo
from firstthrow.sim.kernels.compiled import called, kernel, woven
from firstthrow.sim.kernels.derivative import derivative_of
from firstthrow.sim.kernels.layout import (
    AIR,
    COMMAND_SIZE,
    COMMAND_THROTTLE,
    GUST_SIZE,
    HINGE,
    REPORT_SIZE,
    ROTOR,
    SIZE,
    SUPPLY_VOLTAGE,
    SURFACE,
    VELOCITY,
)
from firstthrow.sim.kernels.moving import scratch
from firstthrow.sim.kernels.root import root

PASSES = 6  # at most; slop and servo current take the hinge moments of the pass before
AGREE = 1e-14  # what these may change by in the last [N m], [V]
YIELD = 0.4  # how far a servo may let its surface go [rad]
RUNGS = 40  # of rotor speed between which a balance is looked for, from the fastest down
PUSHED = -10.0  # how fast a rotor may be turned the wrong way [rad/s]
FASTEST = 5.0  # speed of a windmilling propeller's tips over the airspeed, at most
STILL = 1e-6  # a rotor that a search left so is at rest [rad/s2]
SURE = 1e-12  # rates below it are none [rad/s2], [rad/s]


class Moment(NamedTuple):
    """Plain arrays, and not the fields of one record: those would be another type to kernels."""

    state: np.ndarray  # (SIZE,)
    command: np.ndarray  # (COMMAND_SIZE,)
    still: np.ndarray  # (GUST_SIZE,) no gusts: zeros
    rates: np.ndarray  # (SIZE,)
    report: np.ndarray  # (REPORT_SIZE,)
    scratch: np.ndarray  # (1,) SCRATCH


def moment() -> Moment:
    return Moment(
        np.zeros(SIZE),
        np.zeros(COMMAND_SIZE),
        np.zeros(GUST_SIZE),
        np.zeros(SIZE),
        np.zeros(REPORT_SIZE),
        scratch(),
    )


@called
def settle(body, at):
    """Rates and report of a moment by its state and command."""
    for n in range(REPORT_SIZE):
        at.report[n] = 0.0
    settle_on(body, at, PASSES)


@called
def settle_on(body, at, passes):
    """The same from the report of a moment close by, in so many passes at most."""
    surfaces = body.record[0].n_surfaces
    report, before = at.report, at.scratch[0].before
    for _ in range(passes):
        supply, changed = report[SUPPLY_VOLTAGE], 0.0
        for k in range(surfaces):
            before[k] = report[HINGE + k]
        derivative_of(body, at.state, at.command, at.still, at.rates, report, at.scratch)
        for k in range(surfaces):
            changed = max(changed, abs(report[HINGE + k] - before[k]))
        if max(changed, abs(report[SUPPLY_VOLTAGE] - supply)) <= AGREE:
            break


@called
def own_rate(value, what):
    """Rate of the slot `what[2]` of a moment's state when it has a value. what: body,
    moment, slot."""
    body, at, slot = what
    at.state[slot] = value
    settle(body, at)
    return at.rates[slot]


@woven
def rest_between(body, at, slot, low, high, close):
    """Leave a slot of the state where its own rate is nothing between two values, and say so;
    as it was where the rate has one sign at both."""
    what, before = (body, at, slot), at.state[slot]
    first, last = own_rate(low, what), own_rate(high, what)
    if not first * last < 0.0:
        at.state[slot] = before
        return False
    at.state[slot] = root(own_rate, what, low, high, first, last, close, SURE)
    return True


@kernel
def drive_rate(value, what):
    """Rate of a rotor when it turns at a speed, all that is not the drive as the report of a
    moment close by has it. what: body, moment, rotor, current of the servos."""
    body, at, k, servo_current = what
    at.state[ROTOR + k] = value
    drive.electric(body.record[0], at.state, at.command, servo_current, at.report)
    return drive.spin_up(body, k, at.state, at.report[AIR : AIR + 3], at.report)


@woven
def slowed(rate, what, way, top):
    """Between which speeds a rotor that slows down from the top comes to rest, and its rates
    there; both speeds are none where it does not. way: 1, or -1 turning the wrong way."""
    high, last = top, way * rate(way * top, what)
    for rung in range(1, RUNGS + 2):
        share = (RUNGS - rung) / RUNGS
        low = top * share * share if rung <= RUNGS else PUSHED
        first = way * rate(way * low, what)
        if first > 0.0 >= last:
            return way * low, way * high, way * first, way * last
        high, last = low, first
    return 0.0, 0.0, 0.0, 0.0


@woven
def rest_rotor(body, at, k):
    """Rotor k at its steady speed: the one that a motor slowing down comes to.

    A windmilling propeller may have two, turning and stopped by the motor's friction. Between
    which speeds it lies is asked of the drive alone, which is a hundredth of the work, and asked
    of the whole only where the whole does not agree.
    """
    m, slot = body.record[0], ROTOR + k
    u, v, w = at.state[VELOCITY], at.state[VELOCITY + 1], at.state[VELOCITY + 2]
    top = 1.1 * m.rest_voltage[m.rest_voltage.shape[0] - 1] / m.motor_kt[k]
    top = max(top, FASTEST * sqrt(u * u + v * v + w * w) / m.motor_radius[k])
    driven = m.motor_drive[k] < 0.0 and at.command[COMMAND_THROTTLE + k] > 0.0
    way = -1.0 if driven else 1.0
    before, what = at.state[slot], (body, at, slot)
    still = abs(own_rate(before, what)) <= STILL
    alone = body, at, k, servo.current(m, at.command, at.report)
    low, high, first, last = slowed(drive_rate, alone, way, top)
    if still and min(low, high) < before < max(low, high):
        at.state[slot] = before
        return
    if low != high:
        first, last = own_rate(low, what), own_rate(high, what)
    if not way * first > 0.0 >= way * last:
        low, high, first, last = slowed(own_rate, what, way, top)
    at.state[slot] = 0.0
    if low != high:
        at.state[slot] = root(own_rate, what, low, high, first, last, 1e-9, SURE)


@called
def rest_rotors(body, at, rounds):
    """Every rotor at its steady speed, in turn and over again: they may share a pack."""
    for _ in range(rounds):
        for k in range(body.record[0].n_motors):
            rest_rotor(body, at, k)


@called
def rest_surfaces(body, at):
    """Every surface where its servo holds it under its load; where it is, if it is not held."""
    m = body.record[0]
    for k in range(m.n_surfaces):
        stop, asked = m.surface_travel[k], at.command[k]
        low, high = max(-stop, asked - YIELD), min(stop, asked + YIELD)
        rest_between(body, at, SURFACE + k, low, high, 1e-11)
