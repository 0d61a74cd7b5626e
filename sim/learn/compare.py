"""Flights side by side: the same numbers of each, what changed between two, a course over many."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.flight.flown import Flown, flown, summary
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.speeds import SLOW, margin_percent
from firstthrow.sim.learn.finding import Kind
from firstthrow.sim.learn.measures import (
    MEASURES,
    full_stick,
    height_lost,
    lasted,
    stall_margin,
    travel_used,
)
from firstthrow.sim.units import to_unit


@frozen
class Numbers(Answer):
    """What two flights are held against each other by."""

    flight_time_s: float
    distance_m: float
    max_height_m: float
    height_lost_m: float
    nose_rise_deg: float
    least_stall_margin_percent: float
    slow_s: float
    stalled_s: float
    full_pitch_stick_s: float
    travel_used_percent: float
    most_bank_deg: float
    bank_wander_deg: float
    stick_work_per_s: float
    max_load_factor: float
    bending_percent: float
    touchdown_sink_m_s: float
    pack_used_mAh: float


class Number(NamedTuple):
    """key: a field of `Numbers`; better: +1 when more is, -1 when less is, 0 when neither;
    notable: a change worth saying."""

    key: str
    words: str
    unit: str
    digits: int
    better: int
    notable: float
    of: Callable[[Flown], float]

    def among(self, found: Numbers) -> float:
        return getattr(found, self.key)


def _summary(key: str) -> Callable[[Flown], float]:
    return lambda flight: float(getattr(summary(flight.record), key))


def stalled_for(flight: Flown) -> float:
    return lasted(flight.time, flight.stalled)


def slow_for(flight: Flown) -> float:
    return lasted(flight.time, flight.slow)


def touchdown(flight: Flown) -> float:
    """Fastest sink in the half second in which it last came down to the ground [m/s]."""
    down = np.flatnonzero(np.diff(flight.airborne.astype(int)) < 0)
    if not down.size:
        return 0.0
    near = np.abs(flight.time - flight.time[down[-1]]) < 0.25
    return float(max(0.0, -flight.column("climb_m_s")[near].min()))


def stick_work(flight: Flown) -> float:
    """Mean travel of the pitch and roll sticks together, in full throws a second."""
    moved = sum(np.abs(np.diff(flight.column(f"stick_{name}"))).sum() for name in ("pitch", "roll"))
    return float(moved / max(flight.time[-1] - flight.time[0], 0.1))


def bank_wander(flight: Flown) -> float:
    """Root mean square of the bank in the air [deg]."""
    bank = flight.column("roll_deg")[flight.airborne]
    return float(np.sqrt(np.mean(bank**2))) if bank.size else 0.0


NUMBERS = (
    Number("flight_time_s", "flight time", "s", 1, 0, 2.0, _summary("flight_time_s")),
    Number("distance_m", "track", "m", 0, 0, 20.0, _summary("distance_m")),
    Number("max_height_m", "highest", "m", 1, 0, 2.0, _summary("max_height_m")),
    Number("height_lost_m", "sank after the release", "m", 1, -1, 0.2, height_lost),
    Number("nose_rise_deg", "nose rose after it", "deg", 0, -1, 5.0, MEASURES[Kind.PITCHED_UP].of),
    Number("least_stall_margin_percent", "least stall margin", "%", 0, 1, 5.0, stall_margin),
    Number("slow_s", f"under {margin_percent(SLOW):.0f} % margin", "s", 1, -1, 0.3, slow_for),
    Number("stalled_s", "stalled", "s", 1, -1, 0.2, stalled_for),
    Number("full_pitch_stick_s", "pitch stick at its stop", "s", 1, -1, 0.3, full_stick),
    Number("travel_used_percent", "most travel asked", "%", 0, 0, 10.0, travel_used),
    Number("most_bank_deg", "most bank", "deg", 0, -1, 10.0, MEASURES[Kind.STEEP].of),
    Number("bank_wander_deg", "bank, rms", "deg", 1, -1, 3.0, bank_wander),
    Number("stick_work_per_s", "stick work, throws a second", "", 2, 0, 0.15, stick_work),
    Number("max_load_factor", "most load, in weights", "", 1, -1, 0.3, _summary("max_load_factor")),
    Number("bending_percent", "root bending", "%", 0, -1, 10.0, MEASURES[Kind.BENT].of),
    Number("touchdown_sink_m_s", "sink at the touch-down", "m/s", 1, -1, 0.3, touchdown),
    Number("pack_used_mAh", "pack used", "mAh", 0, 0, 20.0, _summary("pack_used_mAh")),
)


def numbers(record: Record) -> Numbers | None:
    """Every number of a flight; None when nothing was flown."""
    flight = flown(record)
    if flight.time.size < 2:
        return None
    return Numbers(**{number.key: round(float(number.of(flight)), 4) for number in NUMBERS})


def show(number: Number, value: float, units: Units) -> str:
    unit = _unit(number, units)
    return f"{_figure(number, value, units)} {unit}".strip()


def _unit(number: Number, units: Units) -> str:
    return {"m/s": units.speeds, "m": units.distances}.get(number.unit, number.unit)


def _figure(number: Number, value: float, units: Units) -> str:
    shown = to_unit(value, _unit(number, units)) if number.unit in ("m/s", "m") else value
    return f"{shown:.{number.digits}f}"


def word(record: Record) -> str:
    """How it ended."""
    return record.outcome.word.plain if record.outcome else "cut off"


def differences(first: Record, second: Record) -> list[str]:
    """What is notably different in the second flight, improvements first, in sentences."""
    a, b = numbers(first), numbers(second)
    if a is None or b is None:
        return ["One of them was not flown: there is nothing to compare."]
    u = second.units
    said: dict[int, list[str]] = {1: [], -1: [], 0: []}
    for number in NUMBERS:
        was, now = number.among(a), number.among(b)
        change = now - was
        if abs(change) < number.notable:
            continue
        way = int(np.sign(change)) * number.better
        said[way].append(f"{number.words} {show(number, now, u)}, was {show(number, was, u)}")
    lines = []
    if word(first) != word(second):
        lines.append(f"It ended otherwise: {word(second)}, was {word(first)}.")
    for way, head in ((1, "Better"), (-1, "Worse"), (0, "Different")):
        if said[way]:
            lines.append(f"{head}: {'; '.join(said[way])}.")
    set_up = _set_up(first.meta, second.meta)
    if set_up:
        lines.append(set_up)
    return lines or ["No notable difference."]


def _set_up(first: dict, second: dict) -> str:
    """What was flown differently, as far as the sidecars tell."""
    told = []
    for key, words in (
        ("airframe", "airframe"),
        ("overrides", "set"),
        ("fault", "fault"),
        ("field", "field"),
        ("launch", "launch"),
        ("pilot", "pilot"),
        ("seed", "seed"),
    ):
        was, now = first.get(key), second.get(key)
        if was != now:
            told.append(f"{words} {_plain(now)}, was {_plain(was)}")
    same = first.get("fingerprint") == second.get("fingerprint")
    if not told and not same:
        told.append("the airframe's description")
    return f"Flown differently: {'; '.join(told)}." if told else ""


def _plain(value) -> str:
    if isinstance(value, list):
        return " ".join(map(str, value)) or "nothing"
    return "none" if value in (None, "") else str(value)


def course(records: Sequence[Record]) -> list[str]:
    """An evening in sentences: how it ended how often, and what changed from early to late."""
    found = [(record, numbers(record)) for record in records]
    have = [(record, known) for record, known in found if known is not None]
    if len(have) < 2:
        return ["Fewer than two of them were flown: there is no course to tell."]
    good = [record for record, _ in have if record.outcome and record.outcome.word.survived]
    lines = [f"{len(good)} of {len(have)} flights ended in one piece."]
    if len(have) >= 4:
        half, u = len(have) // 2, have[-1][0].units
        told = []
        for number in NUMBERS:
            values = [number.among(known) for _, known in have]
            early, late = float(np.mean(values[:half])), float(np.mean(values[-half:]))
            if number.better and abs(late - early) >= number.notable:
                way = "better" if (late - early) * number.better > 0 else "worse"
                told.append(
                    f"{number.words} {show(number, late, u)} on average, "
                    f"before {show(number, early, u)}: {way}"
                )
        ends = f"The last {half} against the first {half}"
        lines.append(f"{ends}: {'; '.join(told)}." if told else f"{ends}: no notable change.")
    return lines


def table(records: Sequence[Record], names: Sequence[str]) -> list[list[str]]:
    """Rows of text, the names first; a dash where nothing was flown."""
    found, u = [numbers(record) for record in records], records[0].units
    rows = [["", *names], ["ended", *(word(record) for record in records)]]
    for number in NUMBERS:
        cells = ["-" if one is None else _figure(number, number.among(one), u) for one in found]
        unit = _unit(number, u)
        label = f"{number.words}, {unit}" if unit else number.words
        rows.append([label, *cells])
    return rows


def names_of(paths: Sequence[Path]) -> list[str]:
    """Short names of flights: the stems of their files, without what all of them share."""
    stems = [path.stem for path in paths]
    if len(set(stems)) < len(stems):
        return [f"{number}" for number in range(1, len(stems) + 1)]
    return stems if max(map(len, stems)) <= 16 else _short(stems)


def _short(stems: list[str]) -> list[str]:
    """Without the words at the start that all share."""
    parts = [stem.split("-") for stem in stems]
    shared = 0
    while all(len(p) > shared + 1 and p[shared] == parts[0][shared] for p in parts):
        shared += 1
    return ["-".join(p[shared:]) for p in parts]
