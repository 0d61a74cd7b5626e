"""Launches kept in a file, a row each as they come down: gone on with, and merged with others.

Results are written so that they read back as they were. A file that a kill has cut short loses
the row that was being written.
"""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from math import degrees, inf, nextafter, radians
from os import SEEK_END
from pathlib import Path
from typing import NamedTuple

import numpy as np

from firstthrow.sim.flight.standing import on_its_feet
from firstthrow.sim.kernels.batch import RESULT
from firstthrow.sim.kernels.integrate import FLYING, LANDED
from firstthrow.sim.study.odds.launches import (
    CAUSES,
    KNIFE_EDGE,
    OUT_OF_CONTROL,
    STAYED,
    Odds,
    Plan,
    Setup,
)
from firstthrow.sim.study.odds.scatter import Drawn

NONE = 1e8  # larger results stand for none
BLOCK = 4096  # of a file, in which the end of its last whole row is looked for [bytes]
# Of a result: its column, its field, into the file and back.
RESULTS = (
    ("time_s", "time", float, float),
    ("height_lost_m", "height_lost", float, float),
    ("stall_margin", "stall_margin", float, float),
    ("load_factor", "load", float, float),
    ("most_bank_deg", "most_bank", degrees, radians),
    ("end_height_m", "end_height", float, float),
)
HEADING = (
    "launch",
    "outcome",
    *(column for column, _, _, _ in RESULTS),
    "throw_speed_m_s",
    "throw_pitch_deg",
    "throw_bank_deg",
    "throttle",
    "setup",
)
OUTCOMES = {FLYING: "flying", LANDED: "landed", **CAUSES}
WORDS = {text: code for code, text in OUTCOMES.items()}


class Kept(NamedTuple):
    odds: Odds
    setup: str  # `name_of` what was flown


def name_of(ready: Setup, plan: Plan) -> str:
    """The same for launches that may stand together: airframe, field, scatter, pilot, length and
    seed as they were."""
    told = (
        ready.subject.airframe.model_dump_json(),
        ready.subject.field.model_dump_json(),
        plan.scatter.model_dump_json(),
        repr((plan.pilot, plan.seconds, plan.seed)),
        *([repr(plan.mine)] if plan.mine else []),
    )
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:12]


def rows(ready: Setup, plan: Plan, first: int, results: np.ndarray) -> list[list]:
    """A row for each of the cases from `first` on: how it went and how it was thrown."""
    drawn = Drawn(
        ready.subject.airframe,
        plan.scatter,
        ready.hands,
        plan.pilot == "human",
        plan.seed,
        first,
        len(results),
        stands=on_its_feet(ready.subject.model),
    )
    numbers, setup = np.arange(first, first + len(results)), name_of(ready, plan)
    found = []
    for number, word, result, case in zip(
        numbers, Odds(results, numbers).words, results, drawn.case, strict=True
    ):
        went = ((float(result[field]), into) for _, field, into, _ in RESULTS)
        thrown = (case.speed, degrees(case.pitch_up), degrees(case.bank), case.throttle)
        found.append(
            [
                number,
                OUTCOMES[int(word)],
                *("" if value > NONE else repr(into(value)) for value, into in went),
                *(f"{value:.5g}" for value in thrown),
                setup,
            ]
        )
    return found


def _whole_lines(path: Path) -> Iterator[str]:
    """The lines of a file but for one that has no end."""
    with path.open(encoding="utf-8") as file:
        for line in file:
            if line.endswith("\n"):
                yield line


def drop_cut_row(path: Path) -> None:
    """Take off a last row that a kill has cut short; what stands before it is not written anew."""
    with path.open("rb+") as file:
        end = file.seek(0, SEEK_END)
        while end > 0:
            start = max(0, end - BLOCK)
            file.seek(start)
            last = file.read(end - start).rfind(b"\n")
            if last >= 0:
                end = start + last + 1
                break
            end = start
        file.truncate(end)


def read(path: Path) -> Kept:
    """Launches of a file, row by row: a million take no more room than their results. Raises
    ValueError, with the line, where it holds something else."""
    count = max(0, sum(1 for _ in _whole_lines(path)) - 1)
    results, cases, setups = np.zeros(count, RESULT), np.zeros(count, dtype=int), set()
    flown = 0
    # No more than were counted: a run may be writing to it.
    for row in islice(csv.DictReader(_whole_lines(path)), count):
        try:
            cases[flown] = int(row["launch"])
            results[flown] = _result(row)
            setups.add(row["setup"])
        except (KeyError, TypeError, ValueError):
            raise ValueError(f"{path}:{flown + 2}: is no launch that odds has written") from None
        flown += 1
    if len(setups) > 1:
        raise ValueError(f"{path}: holds launches of different set-ups")
    return Kept(Odds(results[:flown], cases[:flown]), setups.pop() if setups else "")


def _result(row: dict[str, str]) -> np.void:
    result, word = np.zeros(1, RESULT)[0], WORDS[row["outcome"]]
    for column, field, _, back in RESULTS:
        result[field] = back(float(row[column])) if row[column] else 10.0 * NONE
    if word == OUT_OF_CONTROL:  # still flying, but rolled over
        word = FLYING
        result["most_bank"] = max(float(result["most_bank"]), nextafter(KNIFE_EDGE, inf))
    if word == STAYED:
        word, result["stayed"] = FLYING, True
    result["word"] = word
    return result


def merged(parts: Iterable[Odds]) -> Odds:
    """All launches in the order of their numbers, each once."""
    every = list(parts)
    cases = np.concatenate([one.cases for one in every])
    results = np.concatenate([one.results for one in every])
    numbers, first = np.unique(cases, return_index=True)
    return Odds(results[first], numbers)


def together(paths: Sequence[Path]) -> Kept:
    """Launches of several files. Raises ValueError where they may not stand together."""
    kept = [read(path) for path in paths]
    setups = {one.setup for one in kept if one.setup}
    if len(setups) > 1:
        raise ValueError("the files hold launches of different set-ups, fields, hands or seeds")
    return Kept(merged(one.odds for one in kept), next(iter(setups), ""))
