"""A recorded flight in place of one that is flown: the window shows it just the same.

`Replay` is `flying.Flying` as a rehearsal is; its time may be moved at will.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from pathlib import Path

import numpy as np

from firstthrow.scenes.flight.clock import FRAME, Clock
from firstthrow.scenes.flight.track import track_of
from firstthrow.scenes.world.camera import blend
from firstthrow.sim.build.controller import Burden
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.straight import Straight
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError, find, fingerprint, load_airframe, load_field
from firstthrow.sim.describe.field import Field
from firstthrow.sim.describe.restore import checked, restored
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.record import Record, RecordError, columns, reading_type
from firstthrow.sim.study.faults import FAULTS, apply

ROUND = ("roll_deg", "heading_deg", "alpha_deg", "sideslip_deg")  # go round at 360 degrees
FIELD = "water-meadow"  # where a record does not say
ATTITUDE = ("attitude_w", "attitude_x", "attitude_y", "attitude_z")


class Rows:
    """The readings of a record at any time between its first and last. RecordError when there
    are none to show."""

    def __init__(self, record: Record):
        rows = record.rows[np.isfinite(record.rows).all(axis=1)]
        if len(rows):
            rows = rows[np.concatenate(([True], np.diff(rows[:, 0]) > 0.0))]
        if len(rows) < 2:
            raise RecordError("the record holds no flight: it has fewer than two readings")
        self.rows, self.times = rows, rows[:, 0]
        self.kind = reading_type(record.columns)
        self.round = [record.columns.index(name) for name in ROUND]
        self.attitude = [record.columns.index(name) for name in ATTITUDE]

    def at(self, time: float):
        """The reading at a time [s], mixed of the two rows about it, held within the record."""
        after = int(np.clip(np.searchsorted(self.times, time, "right"), 1, len(self.times) - 1))
        first, second = self.rows[after - 1], self.rows[after]
        share = (time - first[0]) / (second[0] - first[0])
        share = min(1.0, max(0.0, share))
        mixed = first + share * (second - first)
        turns = (second[self.round] - first[self.round] + 180.0) % 360.0 - 180.0
        mixed[self.round] = first[self.round] + share * turns
        mixed[self.attitude] = blend(first[self.attitude], second[self.attitude], share)
        return self.kind(*mixed.tolist())


class Shown:
    """The flight as far as it is shown: the window reads time, outcome and whether it is held."""

    burdens: tuple[Burden, ...] = ()  # no row of a record tells

    def __init__(self, time: float):
        self.time = time
        self.outcome: Outcome | None = None

    @property
    def held(self) -> bool:
        return self.time < 0.0


class Replay:
    """Plays `record` of an `airframe` over a `field`; it starts when its record does."""

    recorded = True
    seconds: float | None = None  # no limit: the person leaves
    scripted = True
    thrower: Callable | None = None
    straight: Straight | None = None

    def __init__(self, record: Record, airframe, field):
        self.record, self.airframe, self.field = record, airframe, field
        self.rows = Rows(record)
        self.track = track_of(record)
        self.ending = record.outcome or Outcome(Ending.STOPPED, "The record ends here.")
        self.launch = record.meta.get("launch") or None
        self.seed = record.meta.get("seed", 0)
        self.start, self.end = float(self.rows.times[0]), float(self.rows.times[-1])
        self.clock = Clock(FRAME / 4.0)
        self.finished: list = []
        self.flight = Shown(self.start)
        self.seek(self.start)

    @cached_property
    def model(self):
        return build(self.airframe, self.field)

    def pilot(self, reading) -> Sticks:
        """Whoever flew it: the sticks are in the readings."""
        sticks = (reading.stick_roll, reading.stick_pitch, reading.stick_yaw, reading.throttle)
        return Sticks(*sticks, reading.low_rates >= 0.5)

    @property
    def sticks(self) -> Sticks:
        return self.pilot(self.reading)

    @property
    def time(self) -> float:
        return self.flight.time

    @property
    def held(self) -> bool:
        return self.flight.held and self.launch != "ground"

    @property
    def standing(self) -> bool:
        return False

    @property
    def over(self) -> bool:
        return self.flight.outcome is not None

    @property
    def flown(self) -> bool:
        return self.flight.time > 0.0

    @property
    def top(self) -> float:
        """Highest up to now [m]."""
        shown = self.rows.times <= self.flight.time
        shown[0] = True
        return float(self.rows.rows[shown, self.record.columns.index("height_m")].max())

    def seek(self, time: float) -> None:
        """Shows the flight as it was at a time [s]; at its end, with its outcome."""
        time = min(self.end, max(self.start, time))
        self.flight.time = time
        self.flight.outcome = self.ending if time >= self.end - 1e-9 else None
        self.reading = self.before = self.rows.at(time)

    def step(self, rows: int) -> None:
        """So many rows of the record on, or back."""
        near = int(np.argmin(np.abs(self.rows.times - self.flight.time)))
        self.seek(float(self.rows.times[min(len(self.rows.times) - 1, max(0, near + rows))]))

    def frame(self, wall_seconds: float, sticks: Sticks) -> None:
        if not self.over:
            due = self.clock.steps(wall_seconds)
            if due:
                self.seek(self.flight.time + due * self.clock.step)

    def again(self) -> None:
        """From the start, playing."""
        self.clock.restart()
        self.seek(self.start)

    def release(self) -> None:
        """A recorded throw comes when it came."""

    def stop(self) -> None:
        """There is nothing to end."""

    def hand_over(self) -> None:
        """Whoever flew it keeps the sticks."""

    def change(self, airframe, field, model, /, **told) -> None:
        """A flight that was flown stays as it was."""

    def refit(self, airframe, field, model, /, **told) -> None:
        """A flight that was flown stays as it was."""


def described(record: Record, path: Path, airframe: str | None = None, field: str | None = None):
    """The airframe and field of a record, and a sentence when they are not quite those flown.

    By the name given, else as the sidecar keeps them, else, for older records, by what it names.
    Raises RecordError where nothing names the airframe or another has other columns, ConfigError
    for files that are wrong.
    """
    meta = record.meta
    if not airframe and "airframe_si" in meta:
        found = _kept(path, Airframe, meta["airframe_si"])
        there = _field(path, meta, field)
        return _with_columns(record, path, found), there, ""
    name = airframe or _named(meta, "airframe_file", "airframe")
    if not name:
        raise RecordError(f"{path}: no sidecar says what was flown; name it with --airframe")
    try:
        found = load_airframe(find("airframes", name), meta.get("overrides", ()))
    except ConfigError as error:
        if airframe:
            raise
        raise RecordError(
            f"{path}: flown with '{name}', which is not to be had here; name the file with "
            f"--airframe ({error.problems[0]})"
        ) from None
    found, there, note = _with_fault(meta, found, _field(path, meta, field))
    _with_columns(record, path, found)
    if not note and meta.get("fingerprint") not in (None, fingerprint(found)):
        note = f"{name} has changed since this flight: the picture shows it as it is now."
    return found, there, note


def _kept(path: Path, model, tree):
    try:
        found = restored(model, tree)
        return checked(found) if isinstance(found, Airframe) else found
    except (TypeError, ValueError) as error:
        raise RecordError(f"{path}: its sidecar cannot be read: {error}") from None


def _field(path: Path, meta: dict, name: str | None):
    if not name and "field_si" in meta:
        return _kept(path, Field, meta["field_si"])
    return load_field(find("fields", name or _named(meta, "field_file", "field") or FIELD))


def _with_columns(record: Record, path: Path, airframe):
    """The airframe, if it has the record's motors and surfaces. Raises RecordError."""
    try:
        same = columns(airframe) == record.columns
    except (TypeError, AttributeError) as error:
        raise RecordError(f"{path}: its sidecar cannot be read: {error}") from None
    if not same:
        raise RecordError(f"{path}: {airframe.name} has other motors or surfaces than the record")
    return airframe


def _named(meta: dict, file: str, name: str) -> str:
    """The file, if it is still there, else the name."""
    path = meta.get(file) or ""
    return path if path and Path(path).is_file() else meta.get(name) or path


def _with_fault(meta: dict, airframe, field) -> tuple:
    fault = meta.get("fault")
    if not fault or fault not in FAULTS:
        return airframe, field, ""
    try:
        return *apply(fault, airframe, field), ""
    except ConfigError:
        return airframe, field, f"The fault card of this flight, {fault}, does not fit any more."
