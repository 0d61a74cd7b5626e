"""A moment in still flight in which all that is quick has settled: slop and servo current at
every look; rotors and surfaces where they no longer move, when asked.
"""

from math import sqrt
from typing import NamedTuple

import numpy as np

from firstthrow.sim.kernels.compiled import called, woven
from firstthrow.sim.kernels.derivative import derivative_of
from firstthrow.sim.kernels.layout import (
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
    surfaces = body.record[0].n_surfaces
    report, before = at.report, at.scratch[0].before
    for n in range(REPORT_SIZE):
        report[n] = 0.0
    for _ in range(PASSES):
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


@woven
def rest_rotor(body, at, k):
    """Rotor k at its steady speed: the one that a motor slowing down comes to.

    A windmilling propeller may have two, turning and stopped by the motor's friction.
    """
    m, slot = body.record[0], ROTOR + k
    u, v, w = at.state[VELOCITY], at.state[VELOCITY + 1], at.state[VELOCITY + 2]
    top = 1.1 * m.rest_voltage[m.rest_voltage.shape[0] - 1] / m.motor_kt[k]
    top = max(top, FASTEST * sqrt(u * u + v * v + w * w) / m.motor_radius[k])
    driven = m.motor_drive[k] < 0.0 and at.command[COMMAND_THROTTLE + k] > 0.0
    way = -1.0 if driven else 1.0
    what = (body, at, slot)
    high, last = top, way * own_rate(way * top, what)
    for rung in range(1, RUNGS + 2):
        share = (RUNGS - rung) / RUNGS
        low = top * share * share if rung <= RUNGS else PUSHED
        first = way * own_rate(way * low, what)
        if first > 0.0 >= last:
            first, last, low, high = way * first, way * last, way * low, way * high
            at.state[slot] = root(own_rate, what, low, high, first, last, 1e-9, SURE)
            return
        high, last = low, first
    at.state[slot] = 0.0


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
