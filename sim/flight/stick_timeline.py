"""A pilot that is a file: sticks over time from a CSV."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.problems import plainly
from firstthrow.sim.flight.pilot import Pilot

TIMELINE_COLUMNS = ("time_s", "roll", "pitch", "yaw", "throttle")


class TimelineError(Exception):
    """Every problem of a stick timeline at once, one a line: file:line: found, wanted."""

    def __init__(self, problems: list[str]):
        self.problems = [plainly(problem) for problem in problems]
        super().__init__("\n".join(self.problems))


def timeline(path: Path | str) -> Pilot:
    """Sticks from a CSV file: time_s,roll,pitch,yaw,throttle[,low_rates], straight lines between.

    Time counts from the release; before the first row and after the last its values hold.
    low_rates (0 or 1) holds from its row to the next. Raises TimelineError.
    """
    names, rows = _read_timeline(Path(path))
    times, values = rows[:, 0], rows[:, 1:]

    def pilot(reading) -> Sticks:
        now = reading.time_s
        roll, pitch, yaw, throttle = (
            float(np.interp(now, times, values[:, at])) for at in range(4)
        )
        last = max(0, int(np.searchsorted(times, now, side="right")) - 1)
        low = len(names) > 5 and values[last, 4] >= 0.5
        return Sticks(roll, pitch, yaw, throttle, bool(low))

    return pilot


def _read_timeline(path: Path) -> tuple[tuple[str, ...], np.ndarray]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            lines = [(number, row) for number, row in enumerate(csv.reader(file), 1) if row]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        reason = error.strerror if isinstance(error, OSError) else "not a text file of numbers"
        raise TimelineError([f"{path}: cannot be read: {reason}"]) from error
    wanted = (TIMELINE_COLUMNS, (*TIMELINE_COLUMNS, "low_rates"))
    names = tuple(name.strip() for name in lines[0][1]) if lines else ()
    if names not in wanted:
        raise TimelineError(
            [f"{path}:1: '{','.join(names)}': wanted time_s,roll,pitch,yaw,throttle[,low_rates]"]
        )
    if len(lines) == 1:
        raise TimelineError([f"{path}: no rows: wanted at least one time with its sticks"])
    rows, problems, before = [], [], -math.inf
    for number, texts in lines[1:]:
        row, wrong = _timeline_row(names, texts)
        if not wrong and row[0] <= before:
            wrong = [f"time_s: '{texts[0].strip()}': wanted later than the row before"]
        problems += [f"{path}:{number}: {problem}" for problem in wrong]
        if not wrong:
            rows.append(row)
            before = row[0]
    if problems:
        raise TimelineError(problems)
    return names, np.array(rows)


def _timeline_row(names: tuple[str, ...], texts: list[str]) -> tuple[list[float], list[str]]:
    """The numbers of one row, and what is wrong with it."""
    if len(texts) != len(names):
        return [], [f"{len(texts)} values, wanted {len(names)}"]
    row, problems = [], []
    for name, text in zip(names, texts, strict=True):
        low, high = (-math.inf, math.inf) if name == "time_s" else (-1.0, 1.0)
        if name in ("throttle", "low_rates"):
            low = 0.0
        try:
            value = float(text)
        except ValueError:
            problems.append(f"{name}: '{text.strip()}': wanted a number")
            continue
        if not (low <= value <= high and math.isfinite(value)):
            span = "a finite time" if name == "time_s" else f"{low:g} to {high:g}"
            problems.append(f"{name}: '{text.strip()}': wanted {span}")
        row.append(value)
    return row, problems
