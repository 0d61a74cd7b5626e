"""Steady flight: a point, what holds it, and the search for it (see `kernels.steady`)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.moved import calmed
from firstthrow.sim.build.sticks import Mixer, Sticks
from firstthrow.sim.flight.polar import reference
from firstthrow.sim.kernels import steady as kernels
from firstthrow.sim.kernels.settled import moment

CLOSE = kernels.CLOSE


class Point(NamedTuple):
    """A steady flight as the solver sees it; angles [rad], turn [rad/s], sticks after expo.

    In the order of the slots of `kernels.steady`.
    """

    speed: float
    alpha: float = 0.1
    sideslip: float = 0.0
    bank: float = 0.0
    pitch: float = 0.0  # attitude
    turn: float = 0.0
    back: float = 0.0
    roll: float = 0.0
    yaw: float = 0.0
    throttle: float = 0.0
    rotors: tuple[float, ...] = ()
    droop: tuple[float, ...] = ()  # of each surface from the angle asked


def _slots(at: Point) -> np.ndarray:
    """(kernels.POINT,)"""
    slots = np.zeros(kernels.POINT)
    slots[: kernels.ROTORS] = at[: kernels.ROTORS]
    slots[kernels.ROTORS : kernels.ROTORS + len(at.rotors)] = at.rotors
    slots[kernels.DROOP : kernels.DROOP + len(at.droop)] = at.droop
    return slots


def sticks_of(at: Point) -> Sticks:
    """Sticks after expo: what the linear part of the mixing takes."""
    return Sticks(at.roll, at.back, at.yaw, at.throttle)


def place(mixer: Mixer, at: Point) -> tuple[np.ndarray, np.ndarray]:
    """State (SIZE,) and command (COMMAND_SIZE,) of a point; `mixer` without expo."""
    found = moment()
    kernels.place(mixer.tables, _slots(at), found)
    return found.state, found.command


def steady(
    model: Model, mixer: Mixer, start: Point, free: tuple[str, ...], path: float | None
) -> tuple[Point, float]:
    """The steady point near `start` with the `free` unknowns in still air, and what is left of
    the accelerations, in g. path: wanted climb angle [rad], None where it is free."""
    motors, surfaces = int(model.record.n_motors), int(model.record.n_surfaces)
    whole = np.zeros(1, kernels.SEARCH)
    own = whole[0]
    own.point, own.arm = _slots(start), reference(model)[1]
    own.path = np.nan if path is None else path
    unknown = [Point._fields.index(name) for name in free]
    unknown += range(kernels.ROTORS, kernels.ROTORS + motors)
    left = kernels.steady(calmed(model).body, mixer.tables, np.array(unknown), moment(), whole)
    slots = own.point.tolist()
    rotors = slots[kernels.ROTORS : kernels.ROTORS + motors]
    droop = slots[kernels.DROOP : kernels.DROOP + surfaces]
    at = Point._make([*slots[: kernels.ROTORS], tuple(rotors), tuple(droop)])
    return at, float(left)
