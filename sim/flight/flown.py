"""The flown part of a record: from the release on, where it is in the air, and runs of trouble."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.speeds import SLOW, STALLED

AIRBORNE = 0.3  # m between the ground and the lowest foot


class Run(NamedTuple):
    """A stretch of a flight in which something was wrong, and where it was worst."""

    where: slice
    worst: int
    start: float  # [s]
    end: float  # [s]
    alike: int  # stretches like it in the whole flight, itself among them

    def __str__(self) -> str:
        return f"At {self.start:.1f} s, for {max(self.end - self.start, 0.1):.1f} s:"

    @property
    def times(self) -> str:
        return "" if self.alike == 1 else f" ({self.alike} times in all; this is the worst)"


class Flown(NamedTuple):
    """The rows of a record from the release (or the start of a ground roll) on.

    Each column of the record is an attribute, too: `height_m`, an array with one value a row.
    """

    record: Record
    keep: np.ndarray  # rows of the record
    time: np.ndarray  # [s]
    airborne: np.ndarray

    def column(self, name: str) -> np.ndarray:
        return self.record.column(name)[self.keep]

    def __getattr__(self, name: str) -> np.ndarray:
        if name.startswith("_") or name not in self.record.columns:
            raise AttributeError(f"no column {name!r}; there are {', '.join(self.record.columns)}")
        return self.column(name)

    def __repr__(self) -> str:
        """Such as Flown(Pantry: landed, 40.5 s, 301 m, highest 16.4 m; 2430 rows of 46 columns)."""
        meta, told = self.record.meta, summary(self.record)
        size = f"{self.time.size} rows of {len(self.record.columns)} columns"
        return (
            f"Flown({meta.get('airframe', 'an airframe')}: "
            f"{self.outcome.word if self.outcome else 'not ended'}, {told.flight_time_s:.1f} s, "
            f"{told.distance_m:.0f} m, highest {told.max_height_m:.1f} m; {size})"
        )

    @property
    def outcome(self) -> Outcome | None:
        """How it ended; None for a record that nobody closed."""
        return self.record.outcome

    def limit(self, name: str, otherwise):
        """One of the sidecar's limits (`record.limits`)."""
        return self.record.meta.get("limits", {}).get(name, otherwise)

    @property
    def over_stall(self) -> np.ndarray:
        """Airspeed in stall speeds."""
        return self.column("airspeed_m_s") / np.maximum(self.column("stall_speed_m_s"), 0.1)

    @property
    def attached(self) -> np.ndarray:
        return self.column("separated_fraction") <= STALLED

    @property
    def stalled(self) -> np.ndarray:
        return ~self.attached & self.airborne

    @property
    def slow(self) -> np.ndarray:
        return (self.over_stall < SLOW) & self.airborne

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


@frozen
class Summary(Answer):
    """A flight in numbers, from the release (or the start of a ground roll) on; zeros for one that
    never left the hand.

    Metres of track are over the ground, the height is the centre of gravity's greatest, airspeed
    and load factor are the slowest and the largest in the air.
    """

    flight_time_s: float = 0.0
    distance_m: float = 0.0
    max_height_m: float = 0.0
    min_airspeed_m_s: float = 0.0
    max_load_factor: float = 0.0
    pack_used_mAh: float = 0.0

    def words(self, u: Units = METRIC) -> tuple[str, ...]:
        """For people."""
        return (
            f"{self.flight_time_s:.1f} s of flight",
            f"{u.distance(self.distance_m)} of track",
            f"{u.distance(self.max_height_m, 1)} highest",
            f"{u.speed(self.min_airspeed_m_s)} slowest",
            f"{self.max_load_factor:.1f} times its weight most",
            f"{self.pack_used_mAh:.0f} mAh used",
        )


def summary(record: Record) -> Summary:
    flight = flown(record)
    if flight.time.size == 0:
        return Summary()
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
    return Summary(*(round(float(value), 3) for value in values))
