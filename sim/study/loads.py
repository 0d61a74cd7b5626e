"""Where flight breaks the slab: load factor, speed of full elevator, bank of a turn.

All of it through the derivative that flies the airframe, so that the limits here and the
'slab folded' of a flight are the same thing. The load is the quasi-steady one of a steady
pull-up: a jerk of the stick overshoots it a little, gusts come on top.
"""

from __future__ import annotations

from functools import partial
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import corners, is_mirrored
from firstthrow.sim.build.span_loading import weakest
from firstthrow.sim.build.sticks import Sticks, command
from firstthrow.sim.build.strength import bearing, members
from firstthrow.sim.build.strips import fine
from firstthrow.sim.describe.airframe import Airframe, Sheet
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.speeds import stall_speed
from firstthrow.sim.kernels.layout import (
    ATTITUDE,
    BENDING,
    COMMAND_SIZE,
    COMMAND_SURFACE,
    MAX_SURFACES,
    POSITION,
    RATE,
    SIZE,
    SPECIFIC_FORCE,
    SURFACE,
    VELOCITY,
)

HIGHEST_SPEED = 40.0  # looked at [m/s]
LOAD_ALPHA = np.radians(4.0)  # where the load per g is taken: attached, little vortex lift
HIGH_UP = -100.0  # down [m]: clear of the ground


class LoadLimits(NamedTuple):
    """Positive, wings up. None where there is no such limit."""

    root_strength: float  # at the centreline [N m]
    breaks_first: str  # member that reaches its strength: "foam", or a spar's name
    material: str  # what it is made of
    load_factor: float | None
    weakest_out: float  # station that breaks first, from the centreline [m]
    full_elevator_speed: float | None  # [m/s]
    turn_bank: float | None  # of a level turn [rad]
    full_elevator_load_factor: float  # at HIGHEST_SPEED or where it breaks


def main_sheet(airframe: Airframe) -> Sheet | None:
    """The flat mirrored sheet with the largest area, whose root carries the airframe."""
    flat = [s for s in airframe.sheets.values() if s.stance == "flat" and is_mirrored(s)]
    return max(flat, key=_size, default=None)


def _size(sheet: Sheet) -> float:
    x, y = corners(sheet).T
    return 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def _flown(model: Model, surfaces, speed: float, alpha: float, pitch_rate: float):
    """Rates and report at the bottom of a pull-up: path level, wings level, motor stopped."""
    state, asked = np.zeros(SIZE), np.zeros(COMMAND_SIZE)
    state[POSITION + 2] = HIGH_UP
    state[ATTITUDE], state[ATTITUDE + 2] = np.cos(0.5 * alpha), np.sin(0.5 * alpha)
    state[VELOCITY], state[VELOCITY + 2] = speed * np.cos(alpha), speed * np.sin(alpha)
    state[RATE + 1] = pitch_rate
    state[SURFACE : SURFACE + len(surfaces)] = surfaces
    asked[COMMAND_SURFACE : COMMAND_SURFACE + len(surfaces)] = surfaces
    return rates_of(model, state, asked)


def _steady(model: Model, surfaces, speed: float, alpha: float):
    """Rates and report at the pitch rate at which the angle of attack stays."""

    def heave(pitch_rate):
        rates, report = _flown(model, surfaces, speed, alpha, pitch_rate)
        # d(alpha)/dt times speed
        return rates[VELOCITY + 2] * np.cos(alpha) - rates[VELOCITY] * np.sin(alpha), rates, report

    before, now = 0.0, 1.0
    was = heave(before)[0]
    for _ in range(4):  # nearly a straight line: the second step lands
        value, rates, report = heave(now)
        if abs(value) < 1e-6 or value == was:
            break
        before, now, was = now, now - value * (now - before) / (value - was), value
    return rates, report


def load_factor(model: Model, report: np.ndarray) -> float:
    return float(-report[SPECIFIC_FORCE + 2] / model.record.gravity)


def _pull_up(model: Model, surfaces, speed: float) -> tuple[float, float]:
    """Load factor and share of the root strength in a steady pull-up at a speed.

    At the least angle of attack, from below, at which the nose no longer rises.
    """
    pitch_up = partial(_steady, model, surfaces, speed)
    low, (rates, report) = np.radians(-10.0), pitch_up(np.radians(-10.0))
    if rates[RATE + 1] <= 0.0:
        return load_factor(model, report), float(report[BENDING])
    for alpha in np.radians(np.arange(-8.0, 41.0, 2.0)):
        rates, report = pitch_up(alpha)
        if rates[RATE + 1] <= 0.0:
            break
        low = alpha
    else:
        return load_factor(model, report), float(report[BENDING])
    high = alpha
    for _ in range(9):
        middle = 0.5 * (low + high)
        rates, report = pitch_up(middle)
        low, high = (middle, high) if rates[RATE + 1] > 0.0 else (low, middle)
    return load_factor(model, report), float(report[BENDING])


def _full_elevator(airframe: Airframe, model: Model) -> tuple[float | None, float]:
    """Speed at which the stick pulled right back breaks the root, and the load factor there."""
    surfaces = command(airframe, Sticks(pitch=1.0))[:MAX_SURFACES]
    at_most, share = _pull_up(model, surfaces, HIGHEST_SPEED)
    if share < 1.0:
        return None, at_most
    low, high = 2.0, HIGHEST_SPEED
    for _ in range(10):
        middle = 0.5 * (low + high)
        n, share = _pull_up(model, surfaces, middle)
        low, high = (middle, high) if share < 1.0 else (low, middle)
    return 0.5 * (low + high), n


def load_limits(airframe: Airframe, model: Model) -> LoadLimits | None:
    """None for an airframe without a flat mirrored sheet: then nothing is known to fold."""
    sheet = main_sheet(airframe)
    if sheet is None:
        return None
    root = bearing(members(sheet))
    at, _ = weakest(fine(airframe), list(airframe.sheets.values()), sheet)
    neutral = command(airframe, Sticks())[:MAX_SURFACES]
    speed = 2.0 * stall_speed(model, airframe)
    # The share of strength, where it breaks first, that one g takes: air load less the weight
    # of the halves.
    _, low = _steady(model, neutral, speed, -LOAD_ALPHA)
    _, high = _steady(model, neutral, speed, LOAD_ALPHA)
    gained = load_factor(model, high) - load_factor(model, low)
    # Both are taken by size, so that the one with the load downwards counts against.
    signed = high[BENDING] * np.sign(load_factor(model, high)) - low[BENDING] * np.sign(
        load_factor(model, low)
    )
    per_g = float(signed / gained)
    factor = 1.0 / per_g if per_g > 1e-6 else None
    pull, reached = _full_elevator(airframe, model)
    bank = None
    if factor is not None:
        bank = float(np.arccos(1.0 / factor)) if factor > 1.0 else 0.0
    first = bearing(members(sheet, at)).weakest
    material = sheet.spars[first].material if first in sheet.spars else sheet.material
    return LoadLimits(root.strength, first, material, factor, at, pull, bank, reached)
