"""Logs of real flights as plain tracks: GPX, IGC, NMEA, and telemetry CSV with a column map.

Times count from the first fix, places from it too, on the tangent plane of the WGS 84 ellipsoid.
Source of its radii: NIMA TR8350.2, World Geodetic System 1984.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from datetime import datetime, timedelta
from datetime import time as clock
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.notes import Column, Log
from firstthrow.sim.numerals import shown
from firstthrow.sim.units import HOUR, KINDS, MINUTE, TEMPERATURE, from_unit

EQUATOR, FLATTENING = 6378137.0, 1.0 / 298.257223563  # of WGS 84 [m], [-]
MOST = 1e12  # beyond any figure of a log, the seconds of a clock among them
TICK = 1e-6  # [s] fixes that are no further apart have the same time
USUAL_UNITS = {
    "latitude": "deg",
    "longitude": "deg",
    "height": "m",
    "airspeed": "m/s",
    "current": "A",
    "throttle": "%",
    "time": "s",
    **dict.fromkeys(("roll", "pitch", "heading"), "deg"),
    **dict.fromkeys(("roll_rate", "pitch_rate", "yaw_rate"), "deg/s"),
    **dict.fromkeys(("stick_roll", "stick_pitch", "stick_yaw"), "%"),
    "rpm": "rpm",
}
PLACES = ("time", "latitude", "longitude", "height", "airspeed", "current", "throttle")


class Track(NamedTuple):
    """(n,) each: seconds and metres north and east from the first fix, height [m]; airspeed [m/s],
    current [A], throttle [0..1]. NaN where a log does not say. `also`: of a telemetry log attitude
    and rates [rad, rad/s], sticks [-1..1] and rotor speed [rad/s], as far as it has them.
    `unsure`: of the time since the fix before, where some are left out [s]; `remarks`: of those."""

    time: np.ndarray
    north: np.ndarray
    east: np.ndarray
    height: np.ndarray
    airspeed: np.ndarray
    current: np.ndarray
    throttle: np.ndarray
    unsure: np.ndarray
    remarks: tuple[str, ...] = ()
    also: Mapping[str, np.ndarray] = MappingProxyType({})


def read(path: Path | str, log: Log = Log()) -> Track:  # noqa: B008, a frozen description
    """A log by its suffix: .gpx, .igc, .nmea (.nma, .txt) or .csv. Raises ConfigError."""
    path = Path(path)
    readers = {".gpx": _gpx, ".igc": _igc, ".nmea": _nmea, ".nma": _nmea, ".txt": _nmea}
    suffix = path.suffix.lower()
    if suffix not in readers and suffix != ".csv":
        raise ConfigError([f"{path}: wanted a log that ends in .gpx, .igc, .nmea or .csv"])
    try:
        text = path.read_text(encoding="utf-8-sig", errors="replace")
    except OSError as error:
        raise ConfigError([f"{path}: cannot be read: {error.strerror}"]) from None
    if suffix == ".csv":
        return _csv(path, text, log)
    try:
        fixes = readers[suffix](text)
    except (ValueError, KeyError, TypeError) as error:
        raise ConfigError([f"{path}: not a readable {suffix[1:].upper()} log: {error}"]) from None
    return _track(path, fixes)


def _gpx(text: str) -> list[tuple]:
    import gpxpy
    from gpxpy.gpx import GPXException

    try:
        found = gpxpy.parse(text)
    except GPXException as error:
        raise ValueError(error) from None
    points = [p for t in found.tracks for s in t.segments for p in s.points]
    timed = [(p.time, p) for p in points if p.time is not None]
    return [
        (
            (time - timed[0][0]).total_seconds(),
            p.latitude,
            p.longitude,
            math.nan if p.elevation is None else p.elevation,
        )
        for time, p in timed
    ]


def _igc(text: str) -> list[tuple]:
    from aerofiles.igc import Reader

    _, fixes = Reader().read(io.StringIO(text))["fix_records"][:2]
    fixes = [fix for group in fixes for fix in (group if isinstance(group, list) else [group])]
    if not fixes:
        raise ValueError("it has no fix")
    # Of its dates: the reader takes every time before the last one for the next day's.
    return [
        (since, fix["lat"], fix["lon"], float(fix["gps_alt"] or fix["pressure_alt"] or 0.0))
        for since, fix in zip(
            _past_midnight([_of_day(f["time"]) for f in fixes]), fixes, strict=True
        )
    ]


def _nmea(text: str) -> list[tuple]:
    """Position sentences; a torn or foreign line is passed over, as loggers write them."""
    import pynmea2

    heights, fixes = [], []
    for line in text.splitlines():
        try:
            sentence = pynmea2.parse(line.strip(), check=True)
            kind = getattr(sentence, "sentence_type", "")
            if kind not in ("GGA", "RMC") or not isinstance(sentence.timestamp, clock):
                continue  # a torn time stays a text
            fix = sentence.timestamp, sentence.latitude, sentence.longitude
            if kind == "GGA" and int(sentence.gps_qual or 0) > 0:
                altitude = sentence.altitude
                heights.append((*fix, math.nan if altitude is None else float(altitude)))
            elif kind == "RMC" and sentence.status == "A":
                fixes.append((*fix, math.nan))
        except (pynmea2.ParseError, ValueError):
            continue
    rows = heights or fixes
    if not rows:
        raise ValueError("it has no valid GGA or RMC sentence")
    seconds = _past_midnight([_of_day(time) for time, *_ in rows])
    return [(since, *row[1:]) for since, row in zip(seconds, rows, strict=True)]


def _of_day(time: clock) -> float:
    """[s]"""
    return HOUR * time.hour + MINUTE * time.minute + time.second + 1e-6 * time.microsecond


def _past_midnight(seconds: list[float]) -> list[float]:
    """Times of day that go on rising over midnight, from the first on."""
    found, days = [], 0
    for before, now in zip([seconds[0], *seconds], seconds, strict=False):
        days += (now < before - 12.0 * HOUR) - (now > before + 12.0 * HOUR and days > 0)
        found.append(now + 24.0 * HOUR * days - seconds[0])
    return found


def _csv(path: Path, text: str, log: Log) -> Track:
    if len(log.separator) != 1:
        raise ConfigError([f"log.separator: {shown(log.separator)}: wanted one sign"])
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=log.separator))
    except csv.Error as error:
        raise ConfigError([f"{path}: not a readable CSV log: {error}"]) from None
    head = [name.strip() for name in rows[0]] if rows else []
    problems = [
        f"{path}: no column '{column.name}' for the {what}; it has {shown(', '.join(head))[1:-1]}"
        for what, column in log.columns.items()
        if column.name not in head
    ]
    if "time" not in log.columns:
        problems.append(
            f"{path}: the notes do not say which column is the time, such as "
            '[log.columns.time] name = "Time"'
        )
    if problems:
        raise ConfigError(problems)
    found = {
        what: np.array([_cell(path, head, row, what, column) for row in rows[1:] if row])
        for what, column in log.columns.items()
    }
    if log.columns["time"].unit == "clock" and found["time"].size:
        found["time"] = np.array(_past_midnight(found["time"].tolist()))
    blank = np.full(found["time"].size, math.nan)
    fixes = list(
        zip(
            found["time"] - (found["time"][0] if found["time"].size else 0.0),
            np.degrees(found.get("latitude", blank)),
            np.degrees(found.get("longitude", blank)),
            found.get("height", blank),
            strict=True,
        )
    )
    more = (found.get(name, blank) for name in ("airspeed", "current", "throttle"))
    track = _track(path, fixes, *more)
    keep = _later(found["time"])
    return track._replace(also={n: found[n][keep] for n in found if n not in PLACES})


def _cell(path: Path, head: list[str], row: list[str], what: str, column: Column) -> float:
    """One value in SI; an empty cell is NaN, but not the time's."""
    at = head.index(column.name)
    text = row[at].strip() if at < len(row) else ""
    if not text and what != "time":
        return math.nan
    try:
        if column.unit == "clock":
            return _clock(text)
        unit = column.unit or USUAL_UNITS[what]
        known = any(unit in kind.units for kind in KINDS if kind is not TEMPERATURE)
        if not known:
            raise ConfigError([f"log.columns.{what}.unit: '{unit}' is no unit"])
        value = from_unit(float(text), unit)
        if not abs(value) < MOST:
            raise ValueError(text)
        return value
    except ValueError:
        problem = f"{path}: column '{column.name}': {shown(text)} is no number"
        raise ConfigError([problem]) from None


def _clock(text: str) -> float:
    for form in ("%H:%M:%S.%f", "%H:%M:%S"):
        try:
            time = datetime.strptime(text, form)
        except ValueError:
            continue
        return (time - datetime(1900, 1, 1)) / timedelta(seconds=1)
    raise ValueError(text)


def _track(path: Path, fixes: list[tuple], *more: np.ndarray) -> Track:
    """`more`: airspeed, current and throttle, of a log that may have them."""
    if len(fixes) < 2:
        raise ConfigError([f"{path}: fewer than two fixes with a time"])
    time, latitude, longitude, height = np.array(fixes, dtype=float).T
    for name, values, most in (
        ("latitude", latitude, 90.0),
        ("longitude", longitude, 360.0),
        ("height", height, MOST),
    ):
        wrong = np.flatnonzero(np.abs(values) > most)
        if wrong.size:
            number, value = wrong[0] + 1, values[wrong[0]]
            raise ConfigError(
                [f"{path}: fix {number} has a {name} of {value:g}: no place has that"]
            )
    keep = _later(time)
    north, east = local(latitude, longitude)
    airspeed, current, throttle = more or 3 * (np.full(time.size, math.nan),)
    return Track(
        time[keep],
        north[keep],
        east[keep],
        height[keep],
        airspeed[keep],
        current[keep],
        throttle[keep],
        *_left_out(time, keep),
    )


def _later(time: np.ndarray) -> np.ndarray:
    """(n,) whether a fix is later than all before it: what is kept, the first of each time."""
    return np.concatenate([[True], time[1:] > np.maximum.accumulate(time)[:-1] + TICK])


def _left_out(time: np.ndarray, keep: np.ndarray) -> tuple[np.ndarray, tuple[str, ...]]:
    """`unsure` and `remarks` of a track. Fixes that share a time are taken to come evenly: each
    lies anywhere in its part of the step to the next time, and the time between two is unsure by
    the spread of the difference, a part by the root of 6. After a step back: by all of that."""
    before = np.cumsum(keep) - 1  # the kept fix at or before each
    back = np.maximum.accumulate(time) - time
    again, backward = ~keep & (back <= TICK), ~keep & (back > TICK)
    steps = np.zeros(keep.sum())
    np.maximum.at(steps, before, back * backward)
    shared = 1 + np.bincount(before[again], minlength=steps.size)
    apart = np.diff(time[keep]) / shared[:-1] / math.sqrt(6.0)
    apart[shared[:-1] == 1] = 0.0
    unsure = np.concatenate([[0.0], np.hypot(apart, steps[:-1])])
    remarks = []
    if again.any():
        remarks.append(
            f"{again.sum()} of its {time.size} fixes repeat the time of the one before: the first "
            "of each time was taken"
        )
    if backward.any():
        remarks.append(
            f"{backward.sum()} of its {time.size} fixes run backwards in time, by up to "
            f"{back.max():.3g} s: they were left out"
        )
    return unsure, tuple(remarks)


def local(latitude: np.ndarray, longitude: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Metres north and east of the first place given; latitude, longitude in degrees."""
    known = np.flatnonzero(~np.isnan(latitude))
    if not known.size:
        return latitude, longitude
    first = np.radians(latitude[known[0]])
    squared = FLATTENING * (2.0 - FLATTENING)
    bent = 1.0 - squared * np.sin(first) ** 2
    meridian = EQUATOR * (1.0 - squared) / bent**1.5
    across = EQUATOR / np.sqrt(bent) * np.cos(first)
    return (
        meridian * np.radians(latitude - latitude[known[0]]),
        across * np.radians(longitude - longitude[known[0]]),
    )
