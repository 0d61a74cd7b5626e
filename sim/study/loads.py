"""Where flight breaks the slab: load factor, speed of full elevator, bank of a turn.

All of it through the derivative that flies the airframe, so that the limits here and the
'wing folded' of a flight are the same thing. The load is the quasi-steady one of a steady
pull-up: a jerk of the stick overshoots it a little, gusts come on top.
"""

from __future__ import annotations

from functools import partial
from math import degrees

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import main_name
from firstthrow.sim.build.span_loading import weakest
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.strength import bearing, members
from firstthrow.sim.build.strips import fine
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.describe.sheets import Sheet
from firstthrow.sim.flight.evaluate import rates_of
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
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject

HIGHEST_SPEED = 40.0  # looked at [m/s]
LOAD_SPEED = 2.0  # times the stall speed, where the load per g is taken
LOAD_ALPHA = np.radians(4.0)  # where the load per g is taken: attached, little vortex lift
HIGH_UP = -100.0  # down [m]: clear of the ground


@frozen
class Strength(Answer):
    """Positive, wings up. None where there is no such limit."""

    root_bending_N_m: float  # that the root bears, at the centreline
    breaks_first: str  # member that reaches its strength: "foam", or a spar's name
    breaks_at_m: float  # station that breaks first, from the centreline
    material: str  # what that member is made of
    material_source: str
    limit_load_factor: float | None
    full_elevator_speed_m_s: float | None
    full_elevator_load_factor: float  # at HIGHEST_SPEED or where it breaks
    turn_bank_deg: float | None  # of a level turn


def main_sheet(airframe: Airframe) -> Sheet | None:
    """The flat sheet that carries the airframe."""
    name = main_name(airframe)
    return None if name is None else airframe.sheets[name]


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


def _full_elevator(subject: Subject) -> tuple[float | None, float]:
    """Speed at which the stick pulled right back breaks the root, and the load factor there."""
    model, surfaces = subject.model, subject.mixer.command(Sticks(pitch=1.0))[:MAX_SURFACES]
    at_most, share = _pull_up(model, surfaces, HIGHEST_SPEED)
    if share < 1.0:
        return None, at_most
    low, high = 2.0, HIGHEST_SPEED
    for _ in range(10):
        middle = 0.5 * (low + high)
        n, share = _pull_up(model, surfaces, middle)
        low, high = (middle, high) if share < 1.0 else (low, middle)
    return 0.5 * (low + high), n


@once_for(16)
def load_limits(subject: Subject) -> Strength | None:
    """None for an airframe without a flat mirrored sheet: then nothing is known to fold."""
    sheet = main_sheet(subject.airframe)
    if sheet is None:
        return None
    root = bearing(members(sheet))
    at, _ = weakest(fine(subject.airframe), list(subject.airframe.sheets.values()), sheet)
    per_g = _share_per_g(subject)
    factor = 1.0 / per_g if per_g > 1e-6 else None
    pull, reached = _full_elevator(subject)
    bank = None
    if factor is not None:
        bank = degrees(np.arccos(1.0 / factor)) if factor > 1.0 else 0.0
    first = bearing(members(sheet, at)).weakest
    material = sheet.spars[first].material if first in sheet.spars else sheet.material
    return Strength(
        root_bending_N_m=root.strength,
        breaks_first=first,
        breaks_at_m=at,
        material=material,
        material_source=MATERIALS[material].source,
        limit_load_factor=factor,
        full_elevator_speed_m_s=pull,
        full_elevator_load_factor=reached,
        turn_bank_deg=bank,
    )


def _share_per_g(subject: Subject) -> float:
    """The share of strength, where it breaks first, that one g takes: air load less the weight of
    the halves."""
    model, speed = subject.model, LOAD_SPEED * subject.stall_speed
    neutral = subject.mixer.command(Sticks())[:MAX_SURFACES]
    _, low = _steady(model, neutral, speed, -LOAD_ALPHA)
    _, high = _steady(model, neutral, speed, LOAD_ALPHA)
    gained = load_factor(model, high) - load_factor(model, low)
    # Both are taken by size, so that the one with the load downwards counts against.
    signed = high[BENDING] * np.sign(load_factor(model, high)) - low[BENDING] * np.sign(
        load_factor(model, low)
    )
    return float(signed / gained)
