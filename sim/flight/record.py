"""The flight record: one row a reading, named columns with their units; save and load.

A record is a CSV file, one row a reading, written while the flight goes, and beside it a JSON
file (the sidecar) that says what was flown: the whole airframe and field in SI with their
fingerprints, overrides, seed, limits, outcome. The sidecar is there from the first moment, its
outcome null until the flight ends, so that a killed program leaves a readable record behind.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import re
import time
from collections import namedtuple
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from importlib import metadata
from pathlib import Path

import numpy as np

from firstthrow.sim.build.controller import overload_borne
from firstthrow.sim.build.shape import surface_names, surface_spans
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.describe.config import fingerprint
from firstthrow.sim.describe.problems import plainly
from firstthrow.sim.describe.replace import replace, to_write
from firstthrow.sim.describe.restore import restored
from firstthrow.sim.describe.sheets import Surface
from firstthrow.sim.flight.flown_by import physics
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.sidecar import read_sidecar
from firstthrow.sim.numerals import shown

MOST = 1e9  # beyond any figure of a flight
MOST_ROWS = 250_000  # an hour of flight, and what was before it
FLUSH_EVERY = 0.15  # seconds, of the flight or of the clock: what a killed program may lose

PLAIN_COLUMNS = (
    "time_s",
    "north_m",
    "east_m",
    "height_m",
    "attitude_w",
    "attitude_x",
    "attitude_y",
    "attitude_z",
    "roll_deg",
    "pitch_deg",
    "heading_deg",
    "u_m_s",
    "v_m_s",
    "w_m_s",
    "p_deg_s",
    "q_deg_s",
    "r_deg_s",
    "airspeed_m_s",
    "alpha_deg",
    "sideslip_deg",
    "climb_m_s",
    "load_factor",
    "stick_roll",
    "stick_pitch",
    "stick_yaw",
    "throttle",
    "low_rates",
    "pack_V",
    "pack_A",
    "pack_used_mAh",
    "supply_V",
    "separated_fraction",
    "bending_fraction",
    "stall_speed_m_s",
    "wind_north_m_s",
    "wind_east_m_s",
    "wind_down_m_s",
)


class RecordError(Exception):
    """The file is not a record, or not one that can be read; says where and why."""

    def __init__(self, text: str) -> None:
        super().__init__(plainly(text))


def columns(airframe) -> tuple[str, ...]:
    """Names of the columns of a record of this airframe, in order, units in the names."""
    return PLAIN_COLUMNS + own_columns(airframe.motors, surface_names(airframe))


def own_columns(motors: Iterable[str], surfaces: Iterable[str]) -> tuple[str, ...]:
    """Those that go by the motors and surfaces of an airframe."""
    names: list[str] = []
    for motor in motors:
        names += [f"motor_{motor}_rpm", f"motor_{motor}_thrust_N", f"motor_{motor}_A"]
    for surface in surfaces:
        names += [f"surface_{surface}_deg", f"surface_{surface}_asked_deg", f"servo_{surface}_load"]
    return tuple(names)


@lru_cache
def reading_type(columns: tuple[str, ...]) -> type:
    """The named tuple of floats, one for each column, that a flight hands to pilot and record."""
    return namedtuple("Reading", columns)


def flight_meta(field, *, overrides=(), seed=0, launch="", pilot="") -> dict:
    """What the one who starts a flight knows about it, as it stands in the sidecar."""
    return {
        "overrides": list(overrides),
        "seed": seed,
        **field_meta(field),
        "launch": launch,
        "pilot": pilot,
    }


def field_meta(field) -> dict:
    return {
        "field": field.name,
        "field_fingerprint": fingerprint(field),
        "field_si": field.model_dump(mode="json"),
    }


def sidecar(airframe, about: dict, outcome: tuple[str, str] | None = None) -> dict:
    """The whole sidecar: `about` from the one who starts the flight, the outcome (word, text)."""
    return {
        "program": "firstthrow",
        "version": _version(),
        "physics": physics(),
        "created": datetime.now().astimezone().isoformat(timespec="seconds"),
        "airframe": airframe.name,
        "fingerprint": fingerprint(airframe),
        "airframe_si": airframe.model_dump(mode="json"),  # all that flying it again needs
        "motors": list(airframe.motors),
        "surfaces": list(surface_names(airframe)),
        "limits": limits(airframe),
        **about,
        "outcome": _told(outcome),
    }


def _told(outcome: tuple[str, str] | None) -> dict | None:
    return None if outcome is None else dict(zip(("word", "text"), outcome, strict=True))


def limits(airframe) -> dict:
    """Limits a debrief holds a flight against: angles in degrees, currents in A, voltages in V."""
    pack, controller = airframe.pack, airframe.controller
    mixing = airframe.mixing
    return {
        "travel_deg": {n: math.degrees(surface.travel) for n, surface in _surfaces(airframe)},
        "roles": {name: surface.role for name, surface in _surfaces(airframe)},
        "rates_deg": {
            axis: math.degrees(getattr(mixing.high, axis)) for axis in ("pitch", "roll", "yaw")
        },
        "reflex_deg": math.degrees(mixing.reflex),
        "pack_A": pack.limit,
        "controller_A": controller.limit,
        "controller_limits": controller.limits_current,
        "controller_bears_s": overload_borne(controller),
        "motor_A": {name: motor.limit for name, motor in airframe.motors.items()},
        "cutoff_V": controller.cutoff * pack.cells,
        "supply_V": controller.supply,
        "ground_height_m": _ground_height(airframe),
    }


def _surfaces(airframe: Airframe) -> Iterable[tuple[str, Surface]]:
    """Each surface's name, in the order of the state, with its description."""
    for span in surface_spans(airframe):
        yield span.name, airframe.sheets[span.sheet].surfaces[span.surface]


def _ground_height(airframe) -> float:
    """How far the lowest wheel or skid hangs below the datum line [m]: 0 with neither."""
    feet = [*airframe.wheels.values(), *airframe.skids.values()]
    return max([0.0, *(-foot.up for foot in feet)])


def default_path(name: str, folder: Path = Path("flights"), now: datetime | None = None) -> Path:
    """flights/<airframe>-<date>-<time>.csv, numbered when two flights start in one second."""
    now = now or datetime.now()
    return unused(folder / f"{slug(name)}-{now:%Y%m%d-%H%M%S}.csv")


def slug(name: str) -> str:
    """A name as part of a file's."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "flight"


def companions(path: Path) -> tuple[Path, Path, Path]:
    """The files that go by the name of a record: itself, its sidecar, its page."""
    return path, path.with_suffix(".json"), path.with_suffix(".png")


def unused(path: Path) -> Path:
    """The path itself, or with -2, -3, ... before its suffix when one of `companions` is taken."""
    number, free = 2, path
    while any(os.path.lexists(one) for one in companions(free)):
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
        number += 1
    return free


def is_sound(reading: Sequence[float]) -> bool:
    """Whether the numbers of a moment have not broken down."""
    return all(abs(value) < MOST for value in reading)


class Recorder:
    """Writes a flight to `path` (CSV) and `path.with_suffix(".json")` as it goes.

    What is there already is written over only with `over`. Raises OSError when the place cannot
    be written, FileExistsError among them, RecordError when the path is the sidecar's.
    """

    def __init__(self, path: Path | str, airframe, meta: dict, over: bool = False):
        self.path = Path(path)
        self.sidecar = self.path.with_suffix(".json")
        if self.sidecar == self.path:
            raise RecordError(f"{path}: a record is a CSV file; .json is kept for its sidecar")
        self.columns = columns(airframe)
        self.meta = sidecar(airframe, meta)
        self.path.parent.mkdir(parents=True, exist_ok=True)
        # Opened so that of two programs that take the same name one is told.
        self._file = to_write(self.path, "w" if over else "x", "ascii", "\n")
        self._file.write(",".join(self.columns) + "\n")
        self._file.flush()
        self._rows = 0
        self._flushed_at = (-math.inf, -math.inf)
        self._write_sidecar()

    def write(self, reading: Sequence[float]) -> None:
        """One row: the values of `columns`, in their order. Nothing once the record is closed, nor
        of a moment in which the numbers have broken down."""
        if self._file.closed or not is_sound(reading):
            return
        self._rows += 1
        # One write for the whole row: an interrupt falls between rows, not inside one.
        self._file.write(",".join([f"{value:.7g}" for value in reading]) + "\n")
        now = (float(reading[0]), time.monotonic())
        before = self._flushed_at
        if max(now[0] - before[0], now[1] - before[1]) >= FLUSH_EVERY:
            self._file.flush()
            self._flushed_at = now

    def close(self, outcome: Outcome | None) -> None:
        """Ends the record with an outcome, or None when there is none to tell."""
        if self._file.closed:
            return
        self._file.close()
        if outcome is not None:
            self.meta["outcome"] = _told(outcome)
            self.meta["rows"] = self._rows
        # A reader that never lets go of the sidecar leaves it as it was, without an outcome.
        with contextlib.suppress(PermissionError):
            self._write_sidecar()

    def _write_sidecar(self) -> None:
        replace(self.sidecar, json.dumps(self.meta, indent=1, allow_nan=False) + "\n")


def _version() -> str:
    try:
        return metadata.version("firstthrow")
    except metadata.PackageNotFoundError:  # run from its folder, without being installed
        return "not installed"


@dataclass(frozen=True)
class Record:
    """A flight read back: `rows` (readings, columns), `meta` from the sidecar ({} without one)."""

    columns: tuple[str, ...]
    rows: np.ndarray
    meta: dict

    @property
    def outcome(self) -> Outcome | None:
        """How the flight ended; None when the program was cut off before."""
        told = self.meta.get("outcome")
        return Outcome(Ending(told["word"]), told["text"]) if told else None

    @property
    def units(self) -> Units:
        """The builder's, as the airframe's file had them."""
        described = self.meta.get("airframe_si", {})
        try:
            return restored(Units, described.get("units", {}))
        except (TypeError, ValueError):
            return METRIC

    @property
    def lost(self) -> int:
        """How many of its rows are not there any more."""
        return max(0, self.meta.get("rows", 0) - len(self.rows))

    def column(self, name: str) -> np.ndarray:
        """One column [unit in its name], one value a row; KeyError when there is no such column."""
        if name not in self.columns:
            raise KeyError(f"no column {name!r} in this record")
        return self.rows[:, self.columns.index(name)]


class Rows:
    """Keeps what a flight reads out, where no file is wanted."""

    def __init__(self) -> None:
        self.kept: list[list[float]] = []

    def write(self, reading: Sequence[float]) -> None:
        self.kept.append(list(reading))

    def record(self, columns: tuple[str, ...], meta: dict) -> Record:
        return Record(columns, np.array(self.kept, dtype=float).reshape(-1, len(columns)), meta)


def load(path: Path | str) -> Record:
    """Reads a record back, without a last row that was torn when the program died.

    Raises RecordError when the file is missing, is no record, or holds a bad row before the end.
    """
    path = Path(path)
    if not path.name:
        raise RecordError(f"{path}: is a folder, wanted a record's file")
    meta = _load_sidecar(path)
    try:
        text = path.read_text(encoding="ascii")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "not a text file of numbers"
        raise RecordError(f"{path}: cannot be read: {reason}") from error
    lines = text.split("\n")
    names, whole = tuple(lines[0].split(",")), lines[1:-1]  # what follows the last newline is torn
    if names[: len(PLAIN_COLUMNS)] != PLAIN_COLUMNS:
        raise RecordError(f"{path}: not a flight record: its first line should name the columns")
    _check_columns(path, names, meta)
    if len(whole) > MOST_ROWS:
        raise RecordError(f"{path}: {len(whole)} rows: wanted {MOST_ROWS} or fewer, an hour's")
    table, before = np.empty((len(whole), len(names))), -math.inf
    for number, line in enumerate(whole):
        table[number] = _row(path, number + 2, line, len(names))
        if table[number, 0] < before:
            raise RecordError(f"{path}:{number + 2}: its time is before that of the row above")
        before = table[number, 0]
    return Record(names, table, meta)


def _check_columns(path: Path, names: tuple[str, ...], meta: dict) -> None:
    """Raises RecordError where columns stand twice, or are not those of the sidecar's airframe."""
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise RecordError(f"{path}:1: the column {shown(twice[0])} stands twice")
    limits = meta.get("limits", {})
    motors = (*meta.get("motors", ()), *limits.get("motor_A", ()))
    surfaces = (*meta.get("surfaces", ()), *limits.get("travel_deg", ()), *limits.get("roles", ()))
    wanted = own_columns(motors, surfaces)
    missing = [name for name in wanted if name not in names]
    if missing:
        raise RecordError(f"{path}:1: no column {shown(missing[0])}, which its sidecar speaks of")


def _row(path: Path, number: int, line: str, count: int) -> list[float]:
    try:
        row = [float(value) for value in line.split(",")]
    except ValueError as error:
        raise RecordError(f"{path}:{number}: {str(error)[:100]}") from error
    if len(row) != count:
        raise RecordError(f"{path}:{number}: {len(row)} values, {count} wanted")
    if not all(abs(value) < MOST for value in row):
        wrong = next(value for value in row if not abs(value) < MOST)
        raise RecordError(f"{path}:{number}: {wrong:g}: not a figure of a flight")
    return row


def _load_sidecar(path: Path) -> dict:
    sidecar = path.with_suffix(".json")
    if not sidecar.exists():
        return {}
    try:
        return read_sidecar(sidecar.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise RecordError(f"{sidecar}: cannot be read: {error}") from None
