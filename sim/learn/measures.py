"""How far a flight went towards each kind of finding, as one number that also tells of a near miss.

A finding is there or not; a measure moves smoothly, so that two flights can be held against each
other.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.flight.flown import Flown
from firstthrow.sim.flight.speeds import SLOW, STALLED, margin_percent
from firstthrow.sim.learn.debrief import BENDING, BLOWN_BACK, JUST_RELEASED, PITCH_UP, STEEP_BANK
from firstthrow.sim.learn.finding import Kind


class Measure(NamedTuple):
    """of: value of a flight in `unit`, larger is worse when `worse` is +1; told as
    'words value unit'."""

    words: str
    unit: str
    limit: float
    worse: int
    of: Callable[[Flown], float]

    def told(self, value: float, units: Units = METRIC) -> str:
        if self.unit == "m":
            return f"{self.words} {units.distance(value, 1)}"
        return f"{self.words} {value:.{0 if abs(value) >= 20.0 else 1}f} {self.unit}"

    def excess(self, value: float) -> float:
        """How far past the limit, in limits; negative short of it."""
        return self.worse * (value - self.limit) / max(abs(self.limit), 1e-9)


def _worst(name: str, scale: float = 1.0) -> Callable[[Flown], float]:
    def of(flown: Flown) -> float:
        values = np.abs(flown.column(name))[flown.airborne]
        return scale * float(values.max(initial=0.0))

    return of


def stall_margin(flown: Flown) -> float:
    """Least airspeed over the stall speed less one while attached [%]; 100 when never in the air.

    Below 2 m, where a slab may mush onto the grass, it does not count.
    """
    used = flown.airborne & flown.attached
    used &= (flown.column("height_m") >= 2.0) | (flown.time <= JUST_RELEASED)
    if not used.any():
        return 100.0
    return 100.0 * float(flown.over_stall[used].min() - 1.0)


def height_lost(flown: Flown) -> float:
    """Below the hand in the first seconds [m]."""
    height = flown.column("height_m")[flown.time <= JUST_RELEASED]
    return float(height[0] - height.min()) if height.size else 0.0


def nose_rise(flown: Flown) -> float:
    """Greatest rise of the nose in the seconds after the release [deg]."""
    early = (flown.time <= JUST_RELEASED) & flown.airborne
    pitch = flown.column("pitch_deg")[early]
    return float(pitch.max() - pitch[0]) if pitch.size else 0.0


def travel_used(flown: Flown) -> float:
    """Largest share of a surface's travel that was asked for [%]."""
    shares = [0.0]
    for name, travel in flown.limit("travel_deg", {}).items():
        asked = np.abs(flown.column(f"surface_{name}_asked_deg"))[flown.airborne]
        shares.append(100.0 * float(asked.max(initial=0.0)) / travel)
    return max(shares)


def full_stick(flown: Flown) -> float:
    """Seconds with the pitch stick at a stop."""
    held = (np.abs(flown.column("stick_pitch")) > 0.99) & flown.airborne
    return lasted(flown.time, held)


def blown_back(flown: Flown) -> float:
    gaps = [0.0]
    for name in flown.limit("travel_deg", {}):
        asked = flown.column(f"surface_{name}_asked_deg")
        gaps.append(float(np.abs(asked - flown.column(f"surface_{name}_deg")).max(initial=0.0)))
    return max(gaps)


def stalled(flown: Flown) -> float:
    """Largest share of the wing that was separated above the grass [%]."""
    high = flown.airborne & ((flown.column("height_m") >= 2.0) | (flown.time <= JUST_RELEASED))
    return 100.0 * float(flown.column("separated_fraction")[high].max(initial=0.0))


def lasted(time: np.ndarray, mask: np.ndarray) -> float:
    """Seconds for which a mask holds."""
    if time.size < 2:
        return 0.0
    return float(np.sum(np.diff(time) * mask[1:]))


MEASURES = {
    Kind.HEIGHT_LOST: Measure("height lost", "m", 0.3, 1, height_lost),
    Kind.PITCHED_UP: Measure("nose up by", "deg", PITCH_UP, 1, nose_rise),
    Kind.STALLED: Measure("separated", "% of the wing", 100.0 * STALLED, 1, stalled),
    Kind.SLOW: Measure("least stall margin", "%", margin_percent(SLOW), -1, stall_margin),
    Kind.RAN_OUT: Measure("travel asked", "%", 99.0, 1, travel_used),
    Kind.FULL_STICK: Measure("pitch stick at its stop for", "s", 0.5, 1, full_stick),
    Kind.BLOWN_BACK: Measure("surface short by", "deg", BLOWN_BACK, 1, blown_back),
    Kind.STEEP: Measure("bank", "deg", STEEP_BANK, 1, _worst("roll_deg")),
    Kind.BENT: Measure("root bending", "%", 100.0 * BENDING, 1, _worst("bending_fraction", 100.0)),
}
