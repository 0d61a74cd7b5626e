"""A recorded flight flown again, as it was or with a changed airframe.

Pilots that are programs fly again themselves, from the release. A person's sticks are replayed,
which tells the truth for some seconds only, since nobody answers to what the change does: a late
finding is therefore flown again from the recorded state a little before it. Gusts that were under
way at that moment are not in a record: from there on the air is the field's steady wind, with
gusts drawn afresh.
"""

from __future__ import annotations

import json
from functools import lru_cache
from math import radians
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError, find, fingerprint, load_airframe
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.describe.restore import checked, restored
from firstthrow.sim.flight.flight import READINGS, Flight, fly
from firstthrow.sim.flight.named_pilot import named
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.flight.pilot import Pilot
from firstthrow.sim.flight.record import Record, Rows, limits
from firstthrow.sim.kernels.layout import (
    ATTITUDE,
    CHARGE,
    POSITION,
    RATE,
    ROTOR,
    SIZE,
    SURFACE,
    VELOCITY,
)
from firstthrow.sim.units import from_mah, from_rpm

AHEAD = 2.5  # how long before a late finding its flight is taken up [s]
AFTER = 1.0  # flown on past its end [s]
EARLY = 6.0  # findings that begin before are flown again from the release [s]
LONGEST = 120.0  # [s]


class NoSource(Exception):
    """The record cannot be flown again; says why."""


class Source(NamedTuple):
    """What a record was flown with."""

    airframe: Airframe
    field: Field


def source(record: Record) -> Source:
    """The airframe and the field of a record. Raises NoSource with a sentence."""
    meta = record.meta
    if not meta.get("fingerprint"):
        raise NoSource("the record's sidecar is missing: it does not say what was flown")
    if "airframe_si" in meta:
        airframe = _kept(meta)
    else:
        found, why = _file(meta)
        if found is None or why:
            raise NoSource(f"the record does not hold its airframe. {why}")
        airframe = found
    return Source(airframe, _field(meta))


def remarks(record: Record) -> list[str]:
    """Where what was flown differs from the file of today, and from what its sidecar says of it.
    Raises NoSource with a sentence."""
    meta = record.meta
    if "airframe_si" not in meta:
        return []
    said = [why] if (why := _file(meta)[1]) else []
    if fingerprint(_kept(meta)) != meta["fingerprint"]:
        said.append(
            "The description in the sidecar does not give its own fingerprint: it was edited, "
            "or written by another version of this program."
        )
    return said


def described(record: Record) -> Airframe:
    """What the one who flew it thought he flew: without the fault card of the flight. Raises
    NoSource with a sentence."""
    if "described_si" in record.meta:
        return _kept(record.meta, "described_si")
    return source(record).airframe


def _kept(meta: dict, key: str = "airframe_si") -> Airframe:
    try:
        return _restored(json.dumps(meta[key]))
    except (TypeError, ValueError) as error:
        raise NoSource(f"the airframe in the sidecar cannot be read: {error}") from error


@lru_cache(maxsize=8)
def _restored(described: str) -> Airframe:
    """From the sidecar's words, which are asked for several times of one record."""
    return checked(restored(Airframe, json.loads(described)))


def _file(meta: dict) -> tuple[Airframe | None, str]:
    """The airframe as its file is today, and how that differs from what was flown."""
    name = meta.get("airframe_file") or meta.get("airframe", "")
    try:
        airframe = load_airframe(find("airframes", name), meta.get("overrides", ()))
    except ConfigError:
        return None, f"No usable airframe file '{name}' was found: taken as the record has it."
    if meta.get("fault") or fingerprint(airframe) == meta["fingerprint"]:
        return airframe, ""
    return airframe, (
        f"The file of '{name}' has changed since this flight: taken as it was flown, not as the "
        "file is now."
    )


def _field(meta: dict) -> Field:
    if "field_si" in meta:
        try:
            return restored(Field, meta["field_si"])
        except (TypeError, ValueError) as error:
            raise NoSource(f"the field in the sidecar cannot be read: {error}") from error
    from firstthrow.sim.describe.config import load_field

    try:
        return load_field(find("fields", meta.get("field", "")))
    except ConfigError:
        return STANDARD


def is_person(record: Record) -> bool:
    """Whether the sticks were moved by what cannot be asked again: thumbs or a timeline."""
    who = record.meta.get("pilot", "")
    return who not in ("hands-off", "steady") and who.partition(":")[0] != "human"


def start_of(record: Record, first: float) -> float:
    """Where to take up the flight for a finding that begins at `first` [s]; 0 is the release."""
    return max(0.0, first - AHEAD) if is_person(record) and first > EARLY else 0.0


def refly(
    record: Record, airframe: Airframe, field: Field, start: float = 0.0, end: float | None = None
) -> Record:
    """The same flight with this airframe, from `start` to `end` seconds after the release.

    Same field, launch, seed and pilot, or the recorded sticks. Its rows begin at `start`.
    """
    last = float(record.column("time_s")[-1])
    until = min(LONGEST, last if end is None else end)
    meta = record.meta
    how = (airframe, field, meta.get("launch") or None, int(meta.get("seed", 0)))
    rows = Rows()
    if start > 0.0:
        flight = Flight(*how)
        _fly_from(record, flight, start, until, rows)
    else:
        pilot = _pilot(record, airframe, field)
        flight = fly(how[0], how[1], pilot, until, how[2], how[3], record=rows)
    told = flight.outcome._asdict() if flight.outcome else None
    changed = {**meta, "limits": limits(airframe), "outcome": told}
    return rows.record(flight.columns, changed)


def _pilot(record: Record, airframe: Airframe, field: Field) -> Pilot:
    if is_person(record):
        return replay(record)
    meta = record.meta
    launch, seed = meta.get("launch") or None, int(meta.get("seed", 0))
    return named(meta["pilot"], airframe, field, launch, seed)


def replay(record: Record, start: float = 0.0) -> Pilot:
    """The recorded sticks, for a flight whose clock began `start` seconds after the release.

    The sticks of a row are those that brought the flight there, so the next row's come next.
    """
    times = record.column("time_s")
    names = ("stick_roll", "stick_pitch", "stick_yaw", "throttle", "low_rates")
    sticks = np.column_stack([record.column(name) for name in names])

    def pilot(reading) -> Sticks:
        at = int(np.searchsorted(times, start + reading.time_s + 1e-4, side="right"))
        roll, pitch, yaw, throttle, low = sticks[min(at, len(times) - 1)].tolist()
        return Sticks(roll, pitch, yaw, throttle, low >= 0.5)

    return pilot


def _fly_from(record: Record, flight: Flight, start: float, end: float, rows: Rows) -> None:
    times = record.column("time_s")
    at = int(np.searchsorted(times, start))
    begun = float(times[at])
    pilot = replay(record, begun)
    names = ("stick_roll", "stick_pitch", "stick_yaw", "throttle")
    roll, pitch, yaw, throttle = (float(record.column(name)[at]) for name in names)
    sticks = Sticks(roll, pitch, yaw, throttle)
    flight.start_at(state_at(record, at, flight.airframe), sticks)
    while flight.outcome is None:
        reading = flight.reading()
        rows.write([begun + reading.time_s, *reading[1:]])
        if begun + reading.time_s >= end - 1e-9:
            flight.finish(Ending.TIME_UP, f"Flown again up to {end:.1f} s.")
            break
        flight.advance(1.0 / READINGS, pilot(reading))


def state_at(record: Record, row: int, airframe: Airframe) -> np.ndarray:
    """(SIZE,) the flight's state at a row of a record; surfaces with their slop taken up."""

    def value(name: str) -> float:
        return float(record.column(name)[row])

    state = np.zeros(SIZE)
    state[POSITION : POSITION + 3] = value("north_m"), value("east_m"), -value("height_m")
    state[ATTITUDE : ATTITUDE + 4] = [value(f"attitude_{axis}") for axis in "wxyz"]
    state[VELOCITY : VELOCITY + 3] = [value(f"{axis}_m_s") for axis in "uvw"]
    state[RATE : RATE + 3] = [radians(value(f"{axis}_deg_s")) for axis in "pqr"]
    for slot, name in enumerate(airframe.motors):
        state[ROTOR + slot] = from_rpm(value(f"motor_{name}_rpm"))
    for slot, name in enumerate(record.meta.get("surfaces", ())):
        state[SURFACE + slot] = radians(value(f"surface_{name}_deg"))
    state[CHARGE] = from_mah(value("pack_used_mAh"))
    return state
