"""Which further note would tell most: each is worked out by the model, before anyone flies it.

The information of a note is J^T inv(R) J, with R the noise of its figures and of the airspeed it
is flown at; added to what is known it gives the spreads that would be left (linear, Gaussian).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.notes import Notes, Static, Steady
from firstthrow.sim.learn.believed import SCALES, WORDS, with_ballast
from firstthrow.sim.learn.expected import Expectation, What
from firstthrow.sim.learn.reconcile import STEP, Reconciled

# Figures whose spread stands by itself; that of the others is a share of their size.
ABSOLUTE = (What.UP_TRIM, What.RIGHT_TRIM, What.SINK, What.THROTTLE)


class Worth(NamedTuple):
    """A note worth taking, the quantity it would settle, its spread now and then, SI."""

    words: str
    quantity: str
    now: float
    then: float

    @property
    def told(self) -> str:
        words, unit = WORDS[self.quantity]
        now, then = (value / SCALES[unit] for value in (self.now, self.then))
        return (
            f"Worth noting next: {self.words}. It would bring the {words} from "
            f"±{now:.1f} to ±{then:.1f} {unit}."
        )


def candidates(airframe: Airframe, usual: float) -> dict[str, Notes]:
    """Notes a builder can take in an afternoon, by what they are; `usual` airspeed [m/s]."""
    found = {}
    for share, word in ((0.85, "slow"), (1.35, "fast")):
        speed = share * usual
        one = Steady.model_construct(
            kind="glide", speed=speed, up_trim=0.0, sink=1.0, speed_spread=0.03
        )
        words = f"trim and sink of a {word} glide, at {airframe.units.speed(speed, 0)}"
        found[words] = Notes.model_construct(steady={"next": one})
    if airframe.motors:
        level = Steady.model_construct(
            kind="level",
            speed=usual,
            up_trim=0.0,
            right_trim=0.0,
            throttle=0.5,
            current=1.0,
            speed_spread=0.03,
        )
        climb = Steady.model_construct(
            kind="climb",
            speed=usual,
            up_trim=0.0,
            right_trim=0.0,
            sink=-2.0,
            speed_spread=0.03,
        )
        words = "trims, throttle and current of level flight"
        at = airframe.units.speed(usual, 0)
        found[f"{words}, at {at}"] = Notes.model_construct(steady={"next": level})
        words = f"trims and climb at full throttle, at {at}"
        found[words] = Notes.model_construct(steady={"next": climb})
        bench = Static.model_construct(current=1.0, thrust=1.0)
        words = "static current and thrust on the bench"
        found[words] = Notes.model_construct(static={"next": bench})
    return found


def most_telling(airframe: Airframe, notes: Notes, found: Reconciled, usual: float) -> Worth | None:
    """The note that narrows most what is still widest against its prior; None if none does."""
    widest = max(range(len(found.fitted)), key=lambda k: _left(found, k))
    spreads = np.array([one.before for one in found.fitted])
    known = np.linalg.inv(found.covariance / np.outer(spreads, spreads))
    best = None
    for words, more in candidates(airframe, usual).items():
        try:
            gain = _information(with_ballast(airframe, notes), more, found.offsets, spreads)
        except (ValueError, FloatingPointError):  # it cannot fly so
            continue
        then = float(np.sqrt(np.linalg.inv(known + gain)[widest, widest])) * spreads[widest]
        if best is None or then < best.then:
            one = found.fitted[widest]
            best = Worth(words, one.name, one.after, then)
    return best if best and best.then < 0.9 * best.now else None


def _left(found: Reconciled, k: int) -> float:
    return found.fitted[k].after / found.fitted[k].before


def _information(
    airframe: Airframe, more: Notes, off: Mapping[str, float], spreads: np.ndarray
) -> np.ndarray:
    expectation = Expectation(airframe, more)
    speeds = {name: told[0] for name, told in expectation.speeds.items()}
    base = expectation.expect(off, speeds)
    # What its figures would be sets the noise of those that are told in percent.
    size = np.array(
        [
            s.spread if s.what in ABSOLUTE else 0.05 * abs(v)
            for s, v in zip(expectation.seen, base, strict=True)
        ]
    )
    columns = []
    for k, name in enumerate(off):
        moved = {**off, name: off[name] + STEP * spreads[k]}
        columns.append((expectation.expect(moved, speeds) - base) / (STEP * size))
    slopes = np.column_stack(columns)
    noise = np.eye(len(size))
    for name, (speed, spread) in expectation.speeds.items():
        other = expectation.expect(off, {**speeds, name: speed + STEP * spread})
        along = (other - base) / (STEP * size)
        noise += np.outer(along, along)
    return slopes.T @ np.linalg.solve(noise, slopes)
