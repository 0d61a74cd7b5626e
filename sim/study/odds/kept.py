"""Launches kept in a file, a row each as they come down: gone on with, and merged with others.

Results are written so that they read back as they were. A file that a kill has cut short loses
the row that was being written.
"""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterator, Sequence
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
    Plan,
    Setup,
    words,
)
from firstthrow.sim.study.odds.scatter import Drawn
from firstthrow.sim.study.odds.tally import NONE, Tally
from firstthrow.sim.study.odds.there import There

BLOCK = 4096  # of a file, in which the end of its last whole row is looked for [bytes]
LOT = 1024  # launches that are read at once
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
    """What files hold."""

    there: There  # launches by number
    setup: str  # `name_of` what was flown, empty where nothing was


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
        numbers, words(results), results, drawn.case, strict=True
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
    """The lines of a file up to one that has no end: a kill has cut it, or a run is writing it."""
    with path.open(encoding="utf-8") as file:
        for line in file:
            if not line.endswith("\n"):
                return
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


def _lots(path: Path) -> Iterator[tuple[np.ndarray, np.ndarray, set[str]]]:
    """Launches as they stand in a file, some at a time: their numbers, RESULT, set-ups."""
    rows, line, count = csv.DictReader(_whole_lines(path)), 1, LOT
    while count == LOT:
        cases, results, setups = np.zeros(LOT, np.int64), np.zeros(LOT, RESULT), set()
        count = 0
        for row in islice(rows, LOT):
            line += 1
            try:
                cases[count] = int(row["launch"])
                _fill(results[count], row)
                setups.add(row["setup"])
            except (KeyError, OverflowError, TypeError, ValueError):
                raise ValueError(f"{path}:{line}: is no launch that odds has written") from None
            count += 1
        yield cases[:count], results[:count], setups


def read(paths: Sequence[Path], tally: Tally, among: range | None = None) -> Kept:
    """Add the launches of files to a tally, each once, the first of them where they differ; of
    those `among` these only. Raises ValueError, with the line, where a file holds something else,
    and where launches may not stand together."""
    there, every = There(), set[str]()
    for path in paths:
        own = set[str]()
        for cases, results, setups in _lots(path):
            own |= setups
            wanted = there.take(cases)
            if among is not None:
                wanted &= (cases >= among.start) & (cases < among.stop)
            tally.add(results[wanted])
        if len(own) > 1:
            raise ValueError(f"{path}: holds launches of different set-ups")
        every |= own - {""}
    if len(every) > 1:
        raise ValueError("the files hold launches of different set-ups, fields, hands or seeds")
    return Kept(there, next(iter(every), ""))


def _fill(result: np.void, row: dict[str, str]) -> None:
    word = WORDS[row["outcome"]]
    for column, field, _, back in RESULTS:
        result[field] = back(float(row[column])) if row[column] else 10.0 * NONE
    if word == OUT_OF_CONTROL:  # still flying, but rolled over
        word = FLYING
        result["most_bank"] = max(float(result["most_bank"]), nextafter(KNIFE_EDGE, inf))
    if word == STAYED:
        word, result["stayed"] = FLYING, True
    result["word"] = word
