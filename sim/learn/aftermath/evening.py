"""The flights of one evening on one page: what improved, what keeps happening, what to do next.

What improved is the later half of the flights against the earlier one, told only where luck alone
would do it less than one time in five (Fisher's exact test of a count; a rank-sum test, Mann and
Whitney's, of a figure). What keeps happening was in two flights at least, and in a quarter.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple, TypeVar

import scipy

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.problems import plainly
from firstthrow.sim.flight.flown import flown
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.flight.record import Record, RecordError, load
from firstthrow.sim.learn.causes import SOUND
from firstthrow.sim.learn.compare import NUMBERS, numbers, show
from firstthrow.sim.learn.debrief import findings
from firstthrow.sim.learn.diagnose import Diagnosis
from firstthrow.sim.learn.finding import Kind
from firstthrow.sim.learn.school.lessons import BY_NAME, LESSONS, after
from firstthrow.sim.learn.sentence import often, verdict
from firstthrow.sim.learn.why import lines
from firstthrow.sim.study.faults import FAULTS
from firstthrow.sim.study.verdict import BalanceVerdict

LUCK = 0.2  # chance below which a change is told
SHARE = 0.25  # of the flights: what keeps happening
LEAST = 4  # flights, for a trend
MOST, MANY = 4096, 128  # flights of which what was taken is kept; words that they may share
THROWS = {
    "slow-throw": "thrown too slowly",
    "steep-throw": "thrown too steeply, or nose down",
    "rolled-throw": "thrown with a bank",
    "low-throttle": "too little throttle at the throw",
    "high-throttle": "more throttle than planned at the throw",
    "up-held": "the stick held back at the throw",
    "gust-at-release": "a gust at the release",
}
TROUBLES = {
    Kind.STALLED: "it stalled",
    Kind.SLOW: "it flew close to the stall",
    Kind.RAN_OUT: "a surface ran out of travel",
    Kind.FULL_STICK: "the stick was at its end",
    Kind.HELD_OVER: "the roll or yaw stick was held at its end",
    Kind.PITCHED_UP: "it raised its nose by itself",
    Kind.HEIGHT_LOST: "it sank at the throw",
    Kind.STEEP: "it banked steeply",
    Kind.BLOWN_BACK: "a surface lagged behind",
    Kind.SAGGED: "a voltage sagged",
    Kind.OVER_CURRENT: "a current went over its rating",
    Kind.BENT: "the board came near its strength",
    Kind.CUT_OUT: "a controller cut out",
}
FIGURES = ("height_lost_m", "least_stall_margin_percent", "most_bank_deg", "bank_wander_deg")


Value = TypeVar("Value")


class Kept(NamedTuple):
    """What an evening takes from a record, which is not kept itself: `troubles` of TROUBLES,
    `figures` in the order of FIGURES, empty where nothing was flown."""

    path: Path
    when: datetime
    airframe: str
    units: Units
    outcome: Ending | None
    seconds: float
    verdict: str
    troubles: frozenset[Kind]
    figures: tuple[float, ...]

    @property
    def survived(self) -> bool:
        return self.outcome is not None and self.outcome.survived


def taken(path: Path, record: Record) -> Kept:
    """Raises KeyError, TypeError or ValueError where no sidecar says when."""
    outcome, found = record.outcome, numbers(record)
    return Kept(
        path,
        datetime.fromisoformat(record.meta["created"]),
        _alike(str(record.meta.get("airframe", ""))),
        _alike(record.units),
        outcome.word if outcome else None,
        float(flown(record).time[-1]),
        _alike(verdict(record)),
        _alike(frozenset(f.kind for f in findings(record) if f.is_trouble and f.kind in TROUBLES)),
        tuple(float(getattr(found, key)) for key in FIGURES) if found is not None else (),
    )


@lru_cache(maxsize=MANY)
def _alike(value: Value) -> Value:
    """The same object for all that are equal: of hundreds of flights many have the same."""
    return value


@frozen
class FlightTold(Answer):
    """`cause`: in one sentence, empty where it was not looked for or the record does not tell."""

    record: str
    when: str
    airframe: str
    outcome: Ending | None
    survived: bool
    flight_time_s: float
    verdict: str
    cause: str
    cause_name: str


@frozen
class Often(Answer):
    """What keeps happening, in how many flights."""

    what: str
    flights: int


@frozen
class Evening(Answer):
    """`improved`, `worse`: sentences; `next`: the next exercise, and why. `remarks`: what could
    not be read, and what was left out."""

    day: str
    flights: tuple[FlightTold, ...]
    survived: int
    causes: tuple[Often, ...]
    keeps: tuple[Often, ...]
    improved: tuple[str, ...]
    worse: tuple[str, ...]
    next: str
    hands: tuple[str, ...]
    remarks: tuple[str, ...]


def kept_in(folder: Path, day: date | None = None) -> tuple[list[Kept], date | None, list[str]]:
    """Records of a day in a folder, in order of time; without a day, of the last on which something
    was flown. What cannot be read is told."""
    found, remarks = [], []
    for path in sorted(folder.glob("*.csv")):
        try:
            one = _read(str(path), hash((_stamp(path), _stamp(path.with_suffix(".json")))))
        except (RecordError, KeyError, TypeError, ValueError) as error:
            why = str(error) if isinstance(error, RecordError) else "no sidecar says when"
            said = f"{path.name} is left out: {why.removeprefix(plainly(f'{path}: '))}."
            remarks.append(plainly(said))
            continue
        if one is not None:
            found.append((one.when.replace(tzinfo=None), path.name, one))
    ordered = [one for *_, one in sorted(found, key=lambda entry: entry[:2])]
    if day is None and ordered:
        day = ordered[-1].when.date()
    return [one for one in ordered if one.when.date() == day], day, remarks


@lru_cache(maxsize=MOST)
def _read(path: str, _state: int) -> Kept | None:
    """Once for each state of the files; None where nothing was flown."""
    record = load(path)
    if flown(record).time.size > 1:
        return taken(Path(path), record)
    datetime.fromisoformat(record.meta["created"])
    return None


def _stamp(path: Path) -> tuple[int, int]:
    """Another one once the file is written to; none for one that is not there."""
    try:
        told = path.stat()
    except OSError:
        return 0, 0
    return told.st_mtime_ns, told.st_size


def evening(
    kept: Sequence[Kept],
    day: date | None,
    causes: Mapping[Path, Diagnosis | None],
    hands: Sequence[str] = (),
    passed: Sequence[str] = (),
    remarks: Sequence[str] = (),
) -> Evening:
    """`causes`: of the records that were diagnosed; `hands`: what was measured of the person's;
    `passed`: lessons passed so far."""
    told = [_told(one, causes.get(one.path)) for one in kept]
    found = Counter(one.cause_name for one in told if one.cause_name not in ("", SOUND))
    keeps = _keeps(kept)
    better, worse = _changed(kept)
    return Evening(
        day=day.isoformat() if day else "",
        flights=tuple(told),
        survived=sum(one.survived for one in told),
        causes=tuple(Often(words(name), count) for name, count in found.most_common()),
        keeps=tuple(keeps),
        improved=tuple(better),
        worse=tuple(worse),
        next=_next(told, found, kept, passed),
        hands=tuple(hands),
        remarks=tuple(remarks),
    )


def words(name: str) -> str:
    """A cause, as one of several that are counted."""
    if name in THROWS:
        return THROWS[name]
    if name in FAULTS:
        return FAULTS[name].cause
    return BALANCE if name == "balance" else name.replace("-", " ")


BALANCE = "the balance of the file itself"


def _told(one: Kept, found: Diagnosis | None) -> FlightTold:
    name, cause = "", ""
    if found is not None:
        name = found.first.name
        if name == SOUND and found.balance is not BalanceVerdict.OK:
            name = "balance"
        cause = lines(found, one.units)[0].removeprefix("Why: ")
        cause = cause[0].upper() + cause[1:]
    return FlightTold(
        record=str(one.path),
        when=f"{one.when:%H:%M}",
        airframe=one.airframe,
        outcome=one.outcome,
        survived=one.survived,
        flight_time_s=one.seconds,
        verdict=one.verdict,
        cause=cause,
        cause_name=name,
    )


def _keeps(kept: Sequence[Kept]) -> list[Often]:
    """Troubles by how many flights had them, the most frequent first."""
    counts = Counter(kind for one in kept for kind in one.troubles)
    least = max(2.0, SHARE * len(kept))
    return [Often(TROUBLES[k], count) for k, count in counts.most_common() if count >= least]


def _changed(kept: Sequence[Kept]) -> tuple[list[str], list[str]]:
    """What is better, and what is worse, in the later half of the flights."""
    better: list[str] = []
    worse: list[str] = []
    if len(kept) < LEAST:
        return better, worse
    half = len(kept) // 2
    first, last = kept[:half], kept[half:]
    alive = [sum(one.survived for one in part) for part in (first, last)]
    table = [[alive[0], len(first) - alive[0]], [alive[1], len(last) - alive[1]]]
    if scipy.stats.fisher_exact(table).pvalue < LUCK:
        text = f"In one piece: {alive[0]} of the first {len(first)}, {alive[1]} of the last"
        (better if alive[1] * len(first) > alive[0] * len(last) else worse).append(
            f"{text} {len(last)}."
        )
    units = kept[-1].units
    for number in NUMBERS:
        if number.key not in FIGURES:
            continue
        at = FIGURES.index(number.key)
        sides = [[one.figures[at] for one in part if one.figures] for part in (first, last)]
        if min(map(len, sides)) < 2 or len({*sides[0], *sides[1]}) < 2:
            continue
        if scipy.stats.mannwhitneyu(*sides).pvalue >= LUCK:
            continue
        was, now = (sorted(side)[len(side) // 2] for side in sides)
        if was == now:
            continue
        (better if (now - was) * number.better > 0 else worse).append(
            f"{number.words[0].upper()}{number.words[1:]}: {show(number, was, units)} in the first "
            f"half, {show(number, now, units)} in the last."
        )
    return better, worse


def _next(
    told: Sequence[FlightTold], found: Counter, kept: Sequence[Kept], passed: Sequence[str]
) -> str:
    """One thing to do: what is wrong with the airframe first, then the throw, then what the hands
    can learn."""
    if not told:
        return f"Fly: {BY_NAME[LESSONS[0].name].aim}"
    lost = Counter(one.cause_name for one in told if not one.survived and one.cause_name)
    for name, count in [*lost.most_common(), *found.most_common()]:
        if name == "balance":
            return "Balance it first: firstthrow check says where, and what moves it there."
        if name in FAULTS and name not in THROWS:
            where = f"on the ground ({often(count)} that day)"
            return f"Before the next throw, {where}: {FAULTS[name].found}."
        if name in THROWS:
            return f"The launch drill (F6): five throws, {THROWS[name]} {often(count)}."
    alive = sum(one.survived for one in told)
    stalled = sum(not one.troubles.isdisjoint((Kind.STALLED, Kind.SLOW)) for one in kept)
    if alive < 0.7 * len(told):
        lesson = LESSONS[0]
    elif stalled >= max(2.0, SHARE * len(told)):
        lesson = BY_NAME["straight"]
    else:
        done = [one.name for one in LESSONS if one.name in passed]
        lesson = after(done[-1]) if done else LESSONS[0]
    return f"Lesson (F10), {lesson.title[0].lower()}{lesson.title[1:]}: {lesson.aim}"


def text(found: Evening) -> list[str]:
    """The same for people, a line each; also where there is little or nothing to tell."""
    if not found.flights:
        day = f" on {found.day}" if found.day else ""
        return [f"Nothing was flown{day}.", *found.remarks]
    count = len(found.flights)
    flights = "1 flight" if count == 1 else f"{count} flights"
    told = [f"{found.day}: {flights}, {found.survived} in one piece.", ""]
    for one in found.flights:
        told.append(f"{one.when}  {one.airframe}, {one.flight_time_s:.0f} s: {one.verdict}")
        if one.cause:
            told.append(f"       {one.cause}")
    for title, sentences in sections(found):
        told += ["", title, *(f"   {sentence}" for sentence in sentences)]
    return told


def sections(found: Evening) -> list[tuple[str, list[str]]]:
    """Titles with their sentences."""
    few = len(found.flights) < LEAST
    none = (
        f"Too few flights to tell: {LEAST} at the least." if few else "Nothing that luck cannot do."
    )
    keeps = [f"{one.what}: {_flights(one.flights)}" for one in found.causes if one.flights > 1]
    keeps += [f"{one.what}: {_flights(one.flights)}" for one in found.keeps]
    keeps = [f"{line[0].upper()}{line[1:]}." for line in keeps]
    parts = [
        ("What improved", list(found.improved) or [none]),
        ("What got worse", list(found.worse)),
        ("What keeps happening", keeps or ["Nothing more than once."]),
        ("Your hands", list(found.hands)),
        ("Next", [found.next]),
        ("Left out", list(found.remarks)),
    ]
    return [(title, sentences) for title, sentences in parts if sentences]


def _flights(count: int) -> str:
    return "1 flight" if count == 1 else f"{count} flights"
