"""What a speed controller bears over its rating, and for how long."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from firstthrow.sim.describe.drive import Controller

NO_LIMIT = 1e6  # more than any motor takes [A]
BURST_LASTS = 10.0  # what a burst current is quoted for [s], common practice
USUAL_BURST = 1.25  # times the rating, where none is given, common practice, no source


class Burden(NamedTuple):
    """A motor's controller in flight."""

    motor: str
    current: float  # [A]
    rating: float  # [A]
    lasts: float  # at this current, until it gives up [s]; inf within its rating
    dead: bool  # it has burnt or cut out


def burdens(
    motors: tuple[str, ...], controller: Controller, currents, overloads, dead
) -> tuple[Burden, ...]:
    """currents [A], overloads so far [s] and whether it is dead, of each motor's."""
    borne, found = overload_borne(controller), []
    for k, motor in enumerate(motors):
        current = float(currents[k])
        over = (current / controller.limit) ** 2 - 1.0
        free = controller.limits_current or over <= 0.0
        lasts = inf if free else max(0.0, borne - float(overloads[k])) / over
        found.append(Burden(motor, current, controller.limit, lasts, bool(dead[k])))
    return tuple(found)


def overload_borne(controller: Controller) -> float:
    """How much overload it takes before it burns or cuts out, as I^2 t above its rating [s]: that
    of the burst current held for BURST_LASTS. Common practice, no source."""
    burst = controller.burst or USUAL_BURST * controller.limit
    return BURST_LASTS * ((burst / controller.limit) ** 2 - 1.0)


def bears_for(controller: Controller, current: float) -> float:
    """How long a cool controller bears a motor's current [s]; inf when that is within its rating
    or kept there."""
    over = (current / controller.limit) ** 2 - 1.0
    if controller.limits_current or over <= 0.0:
        return inf
    return overload_borne(controller) / over


def fill_controller(record, controller: Controller) -> None:
    record.controller_limit = controller.limit if controller.limits_current else NO_LIMIT
    record.controller_rating = controller.limit
    record.controller_bears = overload_borne(controller)
