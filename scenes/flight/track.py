"""Where an airframe has been: kept while it flies, or taken from a record. Pure."""

from __future__ import annotations

import math
from bisect import bisect_right
from typing import NamedTuple

import numpy as np

from firstthrow.scenes.world.camera import Pose, blend, rotation
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.record import Record, reading_type


class Track:
    """Times [s] since the release, and how the airframe stood at each."""

    def __init__(self, surfaces: tuple[str, ...], motors: tuple[str, ...]):
        self.surfaces, self.motors = surfaces, motors
        self.times: list[float] = []
        self.readings: list = []
        self.marks: dict[tuple[float, int], tuple[np.ndarray, np.ndarray]] = {}  # see `recent`

    def __len__(self) -> int:
        return len(self.times)

    @property
    def end(self) -> float:
        return self.times[-1] if self.times else 0.0

    def add(self, time: float, reading) -> None:
        """The next reading; one that is not later than the last is left out."""
        if not self.times or time > self.times[-1]:
            self.times.append(time)
            self.readings.append(reading)

    def at(self, time: float) -> Pose:
        """How it stood at a time, held within the track. IndexError for an empty one."""
        after = min(max(1, bisect_right(self.times, time)), len(self.times) - 1)
        first, second = self.readings[max(0, after - 1)], self.readings[after]
        start, stop = self.times[max(0, after - 1)], self.times[after]
        share = min(1.0, max(0.0, (time - start) / (stop - start))) if stop > start else 0.0
        place = place_of(first) + share * (place_of(second) - place_of(first))
        attitude = blend(attitude_of(first), attitude_of(second), share)
        angles = tuple(math.radians(getattr(second, f"surface_{n}_deg")) for n in self.surfaces)
        rpm = tuple(getattr(second, f"motor_{n}_rpm") for n in self.motors)
        turns = tuple(0.0 for _ in self.motors)
        wind = (second.wind_north_m_s, second.wind_east_m_s)
        return Pose(place, attitude, angles, turns, rpm, wind, time)

    def recent(self, time: float, seconds: float, count: int) -> tuple[np.ndarray, np.ndarray]:
        """(n, 3) places and (n, 3) directions of the right wing over the last `seconds` up to a
        time, at most `count` + 1 evenly spread, the latest last; empty before the release."""
        first = max(0.0, self.times[0] if self.times else 0.0, time - seconds)
        last = min(time, self.end)
        if not self.times or last <= first:
            return np.zeros((0, 3)), np.zeros((0, 3))
        # the same instants every time, so that the streamer lies still in the air
        step = seconds / count
        whole = range(math.ceil(first / step), math.floor(last / step) + 1)[-count:]
        for number in whole:
            if (step, number) not in self.marks:
                self.marks[step, number] = self._mark(number * step)
        marks = [*(self.marks[step, number] for number in whole), self._mark(last)]
        places, rights = zip(*marks, strict=True)
        return np.array(places), np.array(rights)

    def _mark(self, time: float) -> tuple[np.ndarray, np.ndarray]:
        """Place, and the direction of the right wing."""
        pose = self.at(time)
        return pose.place, rotation(tuple(pose.attitude))[:, 1]


def track_of(record: Record) -> Track:
    """The flight in a record, from the release on."""
    columns = record.columns
    surfaces = tuple(c[8:-10] for c in columns if c.startswith("surface_") and "_asked_" in c)
    motors = tuple(c[6:-4] for c in columns if c.startswith("motor_") and c.endswith("_rpm"))
    track = Track(surfaces, motors)
    kind = reading_type(columns)
    for row in record.rows[np.isfinite(record.rows).all(axis=1)]:
        if row[0] >= 0.0:
            track.add(float(row[0]), kind(*row.tolist()))
    return track


class Earlier(NamedTuple):
    """A flight to compare with."""

    track: Track
    airframe: Airframe
    words: str


def earlier(record: Record, airframe: Airframe, words: str) -> Earlier:
    """From a loaded record and the airframe that it was flown with."""
    return Earlier(track_of(record), airframe, words)


def place_of(reading) -> np.ndarray:
    return np.array([reading.north_m, reading.east_m, -reading.height_m])


def attitude_of(reading) -> np.ndarray:
    return np.array(
        [reading.attitude_w, reading.attitude_x, reading.attitude_y, reading.attitude_z]
    )
