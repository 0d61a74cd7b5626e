"""The flown part of a record: from the release on, where it is in the air, and runs of trouble."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from firstthrow.sim.flight.record import Record

NOTHING = {
    "flight_time_s": 0.0,
    "distance_m": 0.0,
    "max_height_m": 0.0,
    "min_airspeed_m_s": 0.0,
    "max_load_factor": 0.0,
    "pack_used_mAh": 0.0,
}  # the summary of a flight that never left the hand
AIRBORNE = 0.3  # m between the ground and the lowest foot


class Run(NamedTuple):
    """A stretch of a flight in which something was wrong, and where it was worst."""

    where: slice
    worst: int
    start: float  # [s]
    end: float  # [s]
    count: int  # stretches like it in the whole flight

    def __str__(self) -> str:
        return f"At {self.start:.1f} s, for {max(self.end - self.start, 0.1):.1f} s:"

    @property
    def times(self) -> str:
        return "" if self.count == 1 else f" ({self.count} times in all; this is the worst)"


class Flown(NamedTuple):
    """The rows of a record from the release (or the start of a ground roll) on."""

    record: Record
    keep: np.ndarray  # rows of the record
    time: np.ndarray  # [s]
    airborne: np.ndarray

    def column(self, name: str) -> np.ndarray:
        return self.record.column(name)[self.keep]

    def limit(self, name: str, otherwise):
        """One of the sidecar's limits (`record.limits`)."""
        return self.record.meta.get("limits", {}).get(name, otherwise)

    def worst(self, mask: np.ndarray, value: np.ndarray, shortest: float = 0.1) -> Run | None:
        """The stretch of `mask`, at least `shortest` seconds long, where `value` is largest."""
        runs = list(spans(self.time, mask, shortest))
        if not runs:
            return None
        run = max(runs, key=lambda run: value[run].max())
        at = run.start + int(np.argmax(value[run]))
        return Run(run, at, float(self.time[run.start]), float(self.time[run.stop - 1]), len(runs))

    def ends_low(self, run: Run) -> bool:
        """True for the last stretch before the ground: where a slab may mush and stall."""
        low = self.column("height_m")[run.where.start] < 2.0
        return bool(low and not self.airborne[run.where.stop :].any())


def flown(record: Record) -> Flown:
    keep = record.column("time_s") > 0.0  # up to 0 it is in the hand, or stands on its wheels
    foot = record.meta.get("limits", {}).get("ground_height_m", 0.0)
    height = record.column("height_m")[keep]
    return Flown(record, keep, record.column("time_s")[keep], height > foot + AIRBORNE)


def spans(time: np.ndarray, mask: np.ndarray, shortest: float = 0.0) -> Iterator[slice]:
    """Runs of a mask that last at least `shortest` seconds, as slices."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    for first, past in zip(edges[::2], edges[1::2], strict=True):
        if time[past - 1] - time[first] >= shortest:
            yield slice(first, past)


def summary(record: Record) -> dict:
    """The flight in numbers, from the release (or the start of a ground roll) on.

    Seconds, metres of track over the ground, greatest height of the centre of gravity, slowest
    airspeed and largest load factor in the air. Zeros when nothing was flight.
    """
    flight = flown(record)
    if flight.time.size == 0:
        return dict(NOTHING)
    steps = np.hypot(np.diff(flight.column("north_m")), np.diff(flight.column("east_m")))
    air = flight.airborne if flight.airborne.any() else np.ones_like(flight.airborne)
    values = (
        flight.time[-1],
        steps.sum(),
        flight.column("height_m").max(),
        flight.column("airspeed_m_s")[air].min(),
        flight.column("load_factor")[air].max(),
        flight.column("pack_used_mAh")[-1],
    )
    return {name: round(float(value), 3) for name, value in zip(NOTHING, values, strict=True)}
