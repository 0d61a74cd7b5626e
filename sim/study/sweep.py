"""Any value of an airframe file against any result, point by point and in parallel.

Each point loads the file anew with its values, as `--set` would, and works out what was asked
for only. A point that cannot be worked out keeps a sentence, never a number that is none.
"""

from __future__ import annotations

import csv
import multiprocessing
import os
import re
import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from itertools import product
from math import degrees, isfinite
from pathlib import Path
from typing import Any, NamedTuple, TextIO

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.model import VARIANT
from firstthrow.sim.describe.builder_units import Scale, Units
from firstthrow.sim.describe.config import ConfigError, load_airframe
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.modes import Mode
from firstthrow.sim.flight.trims import Trim, Untrimmed
from firstthrow.sim.numerals import DIGITS
from firstthrow.sim.study.band.band import band
from firstthrow.sim.study.band.limits import limits
from firstthrow.sim.study.loads import load_limits
from firstthrow.sim.study.odds.steady import steady_pilot
from firstthrow.sim.study.subject import Subject

FLOWN = 15.0  # longest launch flown [s]
COUNT = 9
MOST = 2000  # points
ALONE = 4  # points that are not worth another process

Value = float | str | None

_RANGE = re.compile(
    rf"\s*({DIGITS})\s*([^\s.:0-9]*[^.:]*?)\s*\.\.\s*({DIGITS})\s*([^:]*?)"
    r"\s*(?::\s*([0-9]+))?\s*"
)

# What is varied most often, as a builder says it.
_NAMES = {
    "launch.hand.speed": "throw speed",
    "launch.hand.pitch": "nose up at the throw",
    "launch.hand.throttle": "throttle at the throw",
    "launch.hand.height": "height of the throw",
    "launch.hand.bank": "bank at the throw",
    "mixing.reflex": "reflex",
    "mixing.high.pitch": "pitch throw",
    "mixing.high.roll": "roll throw",
    "mixing.expo.pitch": "pitch expo",
    "mixing.expo.roll": "roll expo",
    "items.pack.aft": "place of the pack",
    "items.ballast.mass": "ballast",
}


class Vary(NamedTuple):
    """One config value and what it takes, as texts that the file could hold."""

    key: str
    values: tuple[str, ...]
    unit: str

    @property
    def words(self) -> str:
        """As a builder says it; a key that is seldom varied by its last two parts."""
        rest = " ".join(self.key.split(".")[-2:]).replace("_", " ")
        return _NAMES.get(self.key, rest)

    @property
    def label(self) -> str:
        """With its unit, for an axis."""
        return f"{self.words} [{self.unit}]" if self.unit else self.words

    @property
    def numbers(self) -> tuple[float, ...] | None:
        """The values as numbers in their unit, None when they are words."""
        try:
            return tuple(float(v.removesuffix(self.unit).strip()) for v in self.values)
        except ValueError:
            return None


_UNITS = {  # how a result's name ends, and the unit it stands for
    "_percent_mac": "% of mean chord",
    "_percent": "%",
    "_ratio": "",
    "_m_s": "m/s",
    "_kg": "kg",
    "_deg": "deg",
    "_m": "m",
    "_s": "s",
    "_A": "A",
    "_N": "N",
}


def result_scale(name: str, u: Units) -> Scale:
    """How a result is written for a person; without a unit for a ratio or a word."""
    tail = next((tail for tail in _UNITS if name.endswith(tail)), "")
    return u.scale(_UNITS.get(tail, ""))


def result_words(name: str, u: Units) -> str:
    """A result as a builder says it, with its unit: 'stall speed [m/s]'."""
    unit = result_scale(name, u).unit
    tail = next((tail for tail, si in _UNITS.items() if si and name.endswith(tail)), "")
    words = name.removesuffix(tail).replace("_", " ")
    return f"{words} [{unit}]" if unit else words


class Row(NamedTuple):
    """One point: its values, its results by name, and a sentence where one is missing."""

    values: tuple[str, ...]
    results: dict[str, Value]
    problem: str


@frozen
class Swept(Answer):
    """All points, in order."""

    airframe: str
    varied: tuple[Vary, ...]
    results: tuple[str, ...]
    rows: tuple[Row, ...]

    def as_json(self) -> dict[str, Any]:
        keys = [one.key for one in self.varied]
        return {
            "airframe": self.airframe,
            "varied": keys,
            "results": list(self.results),
            "rows": [
                {
                    "values": dict(zip(keys, row.values, strict=True)),
                    **row.results,
                    "problem": row.problem,
                }
                for row in self.rows
            ],
        }

    @property
    def has_any(self) -> bool:
        """Whether any point has a result."""
        return any(value is not None for row in self.rows for value in row.results.values())


def vary(text: str) -> Vary:
    """'items.pack.aft=60..140mm:9' or 'edge=square,rounded'. Raises ValueError with a sentence.

    A range has one unit, after its second number (or after both, the same).
    """
    key, equals, rest = text.partition("=")
    key = key.strip()
    wanted = "wanted KEY=LOW..HIGH UNIT[:COUNT], such as items.pack.aft=60..140mm:9"
    if not key or not equals or not rest.strip():
        raise ValueError(f"{text}: {wanted}")
    found = _RANGE.fullmatch(rest)
    if found is None:
        if ".." in rest:
            raise ValueError(f"{text}: {wanted}")
        values = tuple(part.strip() for part in rest.split(","))
        if not all(values):
            raise ValueError(f"{text}: a value is missing beside a comma")
        return Vary(key, values, "")
    low, first, high, unit, count = found.groups()
    if first and first != unit:
        raise ValueError(f"{text}: '{first}' and '{unit}': give both ends in one unit")
    number = int(count) if count else COUNT
    if number < 2:
        raise ValueError(f"{text}: {number}: wanted 2 points or more")
    whole = not unit and all(re.fullmatch(r"[+-]?[0-9]+", end) for end in (low, high))
    start, end = float(low), float(high)
    steps = [start + (end - start) * k / (number - 1) for k in range(number)]
    if whole and not count:
        way = 1 if end >= start else -1
        steps = list(range(int(low), int(high) + way, way))
    values = tuple(f"{_plain(step)} {unit}".strip() for step in steps)
    return Vary(key, values, unit)


def _plain(value: float) -> str:
    return f"{value:.6g}"


def points(varied: Sequence[Vary]) -> list[tuple[str, ...]]:
    """Every combination, the last value running fastest. Raises ValueError for too many."""
    found = list(product(*(one.values for one in varied)))
    if len(found) > MOST:
        raise ValueError(f"{len(found)} points: wanted {MOST} or fewer")
    return found


class _NoResult(Exception):
    pass


def _glide(subject: Subject) -> Trim:
    glide = subject.glide
    if isinstance(glide, Untrimmed):
        raise _NoResult(glide.words(subject.airframe.units))
    return glide


def _modes(subject: Subject) -> list[Mode]:
    _glide(subject)
    return subject.glide_modes


def _damping(subject: Subject, name: str) -> float | None:
    found = next((mode for mode in _modes(subject) if mode.name == name), None)
    if found is None or found.damping_ratio is None:
        raise _NoResult(f"it has no {name} that swings")
    return found.damping_ratio


def _growth(subject: Subject) -> float:
    """Growth rate of the fastest growing mode, 0 when none grows [1/s]."""
    return max(0.0, *(mode.eigenvalue.real for mode in _modes(subject)))


def _strength(subject: Subject, name: str) -> float | None:
    limits = load_limits(subject)
    return None if limits is None else getattr(limits, name)


def _front_limit(subject: Subject) -> float | None:
    """Of the band in which launches survive, as `weigh` says it [m]."""
    found = band(subject)
    if found.front is None:
        raise _NoResult(found.front_why)
    return found.front.aft_m


def _launch_outcome(subject: Subject) -> str:
    """How the steady pilot's launch into still air ends."""
    flight = fly(subject.airframe, subject.field, steady_pilot(subject), FLOWN, model=subject.model)
    return flight.end.word


RESULTS: dict[str, Callable[[Subject], Value]] = {
    "static_margin_percent": lambda s: 100.0 * s.margin,
    "trim_elevator_deg": lambda s: degrees(_glide(s).elevator),
    "stall_speed_m_s": lambda s: s.stall_speed,
    "sink_m_s": lambda s: _glide(s).sink,
    "trim_speed_m_s": lambda s: _glide(s).airspeed_m_s,
    "trim_alpha_deg": lambda s: degrees(_glide(s).alpha),
    "mass_kg": lambda s: s.mass,
    "cg_m": lambda s: s.cg,
    "cg_percent_mac": lambda s: s.percent(s.cg),
    "neutral_point_m": lambda s: s.neutral_point,
    "neutral_point_percent_mac": lambda s: s.percent(s.neutral_point),
    "cg_front_limit_m": _front_limit,
    "cg_rear_limit_m": lambda s: band(s).rear.aft_m,
    "steady_front_limit_m": lambda s: limits(s).front.aft,
    "steady_rear_limit_m": lambda s: limits(s).rear.aft,
    "limit_load_factor": lambda s: _strength(s, "limit_load_factor"),
    "full_elevator_speed_m_s": lambda s: _strength(s, "full_elevator_speed_m_s"),
    "short_period_damping_ratio": lambda s: _damping(s, "short period"),
    "phugoid_damping_ratio": lambda s: _damping(s, "phugoid"),
    "dutch_roll_damping_ratio": lambda s: _damping(s, "Dutch roll"),
    "fastest_growth_per_s": _growth,
    "launch_outcome": _launch_outcome,
}
USUAL = ("static_margin_percent", "trim_elevator_deg", "stall_speed_m_s", "sink_m_s")


def work_out(
    path: str,
    overrides: Sequence[str],
    keys: Sequence[str],
    values: Sequence[str],
    results: Sequence[str],
) -> Row:
    """One point. Problems of the file or the physics become the row's sentence."""
    own = [f"{key}={value}" for key, value in zip(keys, values, strict=True)]
    try:
        subject = Subject(load_airframe(path, [*overrides, *own]), kept_as=VARIANT)
    except ConfigError as error:
        return Row(tuple(values), dict.fromkeys(results), error.problems[0])
    found: dict[str, Value] = {}
    problems: list[str] = []
    for name in results:
        try:
            value = RESULTS[name](subject)
        except (_NoResult, ValueError) as error:
            value = None
            problems.append(str(error))
        if isinstance(value, float) and not isfinite(value):
            value = None
            problems.append(f"{name} has no value here")
        found[name] = value
    return Row(tuple(values), found, "; ".join(dict.fromkeys(problems)))


def sweep(
    path: Path | str,
    varied: Sequence[Vary],
    results: Sequence[str] = USUAL,
    overrides: Sequence[str] = (),
    workers: int | None = None,
) -> Iterator[tuple[int, Row]]:
    """Rows with their place in the order of `points`, as they get ready.

    More than a few points go to `workers` processes, as many as there are cores.
    """
    keys = [one.key for one in varied]
    every = points(varied)
    tasks = [(str(path), tuple(overrides), keys, values, tuple(results)) for values in every]
    workers = min(
        workers or len(os.sched_getaffinity(0))
        if hasattr(os, "sched_getaffinity")
        else workers or os.cpu_count() or 1,
        len(tasks),
    )
    if workers <= 1 or len(tasks) <= ALONE:
        for at, task in enumerate(tasks):
            yield at, work_out(*task)
        return
    # Fresh processes: forking one that holds threads may hang.
    # Ctrl-C is for this one to see: workers are ended from here.
    pool = ProcessPoolExecutor(
        workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=signal.signal,
        initargs=(signal.SIGINT, signal.SIG_IGN),
    )
    try:
        waiting = {pool.submit(work_out, *task): at for at, task in enumerate(tasks)}
        for done in as_completed(waiting):
            yield waiting[done], done.result()
    except BaseException:
        # A second Ctrl-C would leave the pool waiting for workers for ever.
        before = signal.signal(signal.SIGINT, signal.SIG_IGN)
        for worker in list((pool._processes or {}).values()):
            worker.kill()
        pool.shutdown(wait=True, cancel_futures=True)
        signal.signal(signal.SIGINT, before)
        raise
    pool.shutdown()


def write_csv(
    file: TextIO, varied: Sequence[Vary], results: Sequence[str], rows: Iterable[Row]
) -> None:
    """Numbers with the unit in the heading; what is missing stays empty, with its sentence."""
    table = csv.writer(file, lineterminator="\n")
    heads = [f"{one.key} [{one.unit}]" if one.unit else one.key for one in varied]
    table.writerow([*heads, *results, "problem"])
    for row in rows:
        texts = [
            value.removesuffix(one.unit).strip() if one.unit else value
            for one, value in zip(varied, row.values, strict=True)
        ]
        cells = ["" if row.results[name] is None else _cell(row.results[name]) for name in results]
        table.writerow([*texts, *cells, row.problem])


def _cell(value: Value) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)
