"""What to try next: the same flight flown again with changes of balance, reflex, throws, launch.

Nothing here is a rule of thumb: a change is named only with the figure that its re-fly gave.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import degrees, radians
from typing import NamedTuple

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.edit import get, put
from firstthrow.sim.flight.flown import flown
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import AFTER, Source, is_person, refly, start_of
from firstthrow.sim.flight.trims import balanced_at
from firstthrow.sim.learn.debrief import findings
from firstthrow.sim.learn.finding import Finding, Kind, Severity, worst_first
from firstthrow.sim.learn.measures import MEASURES, Measure
from firstthrow.sim.study.advice.answer import Standing, before_and_after
from firstthrow.sim.study.advice.search import is_worse, tried
from firstthrow.sim.study.subject import Subject, subject_of

TOLD = 4  # changes for a finding that the pre-flight is asked about
LOOKED_AT = 3  # findings, worst first
HELPS = 0.1  # of the limit, or of how far past it: a smaller gain is none
REACH = 3  # steps a change may go


class Change(NamedTuple):
    """One thing a builder can alter; `apply` gives None where it would go out of bounds."""

    name: str
    step: float  # an easy change, SI; our assumption
    apply: Callable[[Airframe, float], Airframe | None]
    words: Callable[[Airframe, float], str]


@frozen
class Tried(Answer):
    """A re-fly with a change; figure is the finding's measure; `spoilt` says what else it did;
    `stands`: the pre-flight without the change and with it, where it was asked."""

    name: str
    words: str
    amount: float  # SI
    figure: float
    gone: bool
    spoilt: str
    stands: tuple[Standing, Standing] | None = None


@dataclass(frozen=True)
class Advice:
    """For one finding: its figure when flown again unchanged, and what changes did to it.

    `again` is False when it does not come back unchanged: then nothing can be told.
    """

    finding: Finding
    again: bool
    figure: float
    tried: tuple[Tried, ...]  # best first: gone with the smallest step, then the largest gain

    @property
    def measure(self) -> Measure:
        return MEASURES[self.finding.kind]

    @property
    def best(self) -> Tried | None:
        first = self.tried[0] if self.tried else None
        return first if first and (first.gone or self.helps(first)) else None

    def gain(self, one: Tried) -> float:
        """How much nearer to the limit, in limits."""
        return self.measure.excess(self.figure) - self.measure.excess(one.figure)

    def helps(self, one: Tried) -> bool:
        return self.gain(one) > HELPS * max(1.0, self.measure.excess(self.figure))


def advise(
    record: Record, origin: Source, progress: Callable[[str], None] = lambda words: None
) -> list[Advice]:
    """Advice on the worst findings that balance, reflex, throws or launch can bear on."""
    found = curable(record)
    flights = _Flights(record, origin, progress)
    changes = _changes(origin.airframe, record)
    first_of = {finding.kind: finding for finding in reversed(found)}
    looked_at = [finding for finding in found if first_of[finding.kind] is finding][:LOOKED_AT]
    return [_about(flights, changes, finding) for finding in looked_at]


def curable(record: Record) -> list[Finding]:
    """The troubles that have a measure, worst first."""
    return worst_first(f for f in findings(record)[1:] if f.kind in MEASURES and f.is_trouble)


class _Flights:
    """Flights of one record again, each change only once."""

    def __init__(self, record: Record, origin: Source, progress) -> None:
        self.record, self.origin, self.progress = record, origin, progress
        self._flown: dict[tuple, Record] = {}
        self.subject = subject_of(origin.airframe)
        self._before: Standing | None = None
        self._stands: dict[tuple[str, float], Standing] = {}

    def again(self, finding: Finding) -> Record:
        return self._flight(finding, self.origin.airframe)

    def changed(self, finding: Finding, change: Change, amount: float) -> Record | None:
        """None where the change goes out of bounds."""
        airframe = change.apply(self.origin.airframe, amount)
        if airframe is None:
            return None
        return self._flight(finding, airframe, change, amount)

    def checked(self, one: Tried, changes: list[Change]) -> Tried:
        """With the pre-flight of the airframe so changed beside that of the airframe as it was."""
        change = next(change for change in changes if change.name == one.name)
        after = change.apply(self.origin.airframe, one.amount)
        if after is None:  # cannot be: it was flown
            return one
        key = (one.name, one.amount)
        if key not in self._stands:
            self._stands[key] = tried(self.subject.changed(after))
        if self._before is None:
            self._before = tried(self.subject)
        stands = self._before, self._stands[key]
        spoilt = one.spoilt
        if is_worse(*stands):
            spoilt = "; ".join(filter(None, (spoilt, "a pre-flight finds it worse")))
        return replace(one, stands=stands, spoilt=spoilt)

    def _flight(
        self, finding: Finding, airframe: Airframe, by: Change | None = None, amount: float = 0.0
    ) -> Record:
        start = start_of(self.record, finding.start_s)
        end = finding.end_s + AFTER if is_person(self.record) else None
        key = (by.name if by else "", amount, start, end)
        if key not in self._flown:
            if by:
                self.progress(by.words(self.origin.airframe, amount))
            self._flown[key] = refly(self.record, airframe, self.origin.field, start, end)
        return self._flown[key]


def _about(flights: _Flights, changes: list[Change], finding: Finding) -> Advice:
    base = flights.again(finding)
    figure = MEASURES[finding.kind].of(flown(base))
    if not _has(base, finding.kind):
        return Advice(finding, False, figure, ())
    advice = Advice(finding, True, figure, ())
    flown_ones: list[Tried] = []
    for change in changes:
        for way in (1.0, -1.0):
            flown_ones += _further(flights, advice, change, way, base)
    flown_ones.sort(
        key=lambda one: (
            bool(one.spoilt),
            not one.gone,
            abs(one.amount) / _step(changes, one.name) if one.gone else -advice.gain(one),
            -advice.gain(one),
        )
    )
    helpful = [one for one in flown_ones if one.gone or advice.helps(one)][:TOLD]
    checked = [flights.checked(one, changes) for one in helpful]
    checked.sort(key=lambda one: bool(one.spoilt))  # the others stay in their order
    rest = (one for one in flown_ones if one not in helpful)
    return replace(advice, tried=(*checked, *rest))


def _step(changes: list[Change], name: str) -> float:
    return next(change.step for change in changes if change.name == name)


def _further(
    flights: _Flights, advice: Advice, change: Change, way: float, base: Record
) -> list[Tried]:
    """Steps one way, as long as they help and the finding is still there; the last one."""
    last: list[Tried] = []
    for number in range(1, REACH + 1):
        amount = way * number * change.step
        record = flights.changed(advice.finding, change, amount)
        if record is None or record.rows.shape[0] < 3:
            break
        figure = advice.measure.of(flown(record))
        gone = not _has(record, advice.finding.kind)
        words = change.words(flights.origin.airframe, amount)
        now = Tried(change.name, words, amount, figure, gone, _spoilt(base, record))
        if last and advice.gain(now) <= advice.gain(last[0]) and not gone:
            break
        last = [now]
        if gone or not advice.helps(now):
            break
    return last


def _has(record: Record, kind: Kind) -> bool:
    return any(finding.kind is kind and finding.is_trouble for finding in findings(record))


def _spoilt(before: Record, after: Record) -> str:
    """What is worse with the change: another end, or a danger that was not there."""
    was, now = before.outcome, after.outcome
    if now and not now.word.survived and now.word != (was.word if was else Ending.TIME_UP):
        return now.text.rstrip(".").lower()
    dangers = [
        {f.kind for f in findings(record)[1:] if f.severity is Severity.DANGER}
        for record in (before, after)
    ]
    new = sorted(dangers[1] - dangers[0])
    return f"but then {', '.join(_PLAIN.get(kind, kind) for kind in new)}" if new else ""


_PLAIN = {
    Kind.STALLED: "it stalls",
    Kind.PITCHED_UP: "it raises its nose by itself",
    Kind.HEIGHT_LOST: "it sinks after the release",
    Kind.STEEP: "it rolls over",
    Kind.SAGGED: "a voltage sags",
    Kind.OVER_CURRENT: "a current is over its rating",
    Kind.CUT_OUT: "a controller burns or cuts out",
    Kind.BENT: "the root is over its strength",
}


def _changes(airframe: Airframe, record: Record) -> list[Change]:
    """What can be altered on this airframe and bears on this record."""
    found = [
        _mixing("reflex", radians(1.0), lambda a: a.mixing.reflex, _reflex_to, -5.0, 15.0),
        _throw("pitch", record),
        _throw("roll", record),
    ]
    if sum(item.mass for item in airframe.items.values()) > 0.0:
        found.insert(0, _balance(airframe))
    if airframe.launch.hand is not None and record.meta.get("launch") == "hand":
        found.append(_launch_speed())
        if not is_person(record):
            found.append(_launch_throttle())
    return [change for change in found if change is not None]


def _balance(airframe: Airframe) -> Change:
    step = 0.02 * Subject(airframe).chord

    def apply(now: Airframe, amount: float) -> Airframe:
        return balanced_at(now, float(balance(parts(now)).place[0]) + amount)

    def words(now: Airframe, amount: float) -> str:
        way = "back" if amount > 0.0 else "forward"
        return f"CG {now.units.length(abs(amount))} further {way}"

    return Change("CG", step, apply, words)


def _mixing(name: str, step: float, read, turn, low: float, high: float) -> Change:
    def apply(now: Airframe, amount: float) -> Airframe | None:
        value = read(now) + amount
        inside = radians(low) - 1e-9 <= value <= radians(high) + 1e-9
        return turn(now, value) if inside else None

    def words(now: Airframe, amount: float) -> str:
        return f"{name} {degrees(read(now) + amount):.1f} deg instead of {degrees(read(now)):.1f}"

    return Change(name, step, apply, words)


def _reflex_to(now: Airframe, value: float) -> Airframe:
    return put(now, ("mixing", "reflex"), value)


def _throw(axis: str, record: Record) -> Change:
    """The rate that was flown with: low where most of the flight was on low rates."""
    which = "low" if record.column("low_rates").mean() > 0.5 else "high"
    path = ("mixing", which, axis)

    def read(now: Airframe) -> float:
        return get(now, path)

    def turn(now: Airframe, value: float) -> Airframe:
        return put(now, path, value)

    return _mixing(f"{axis} throw", radians(3.0), read, turn, 1.0, 40.0)


SPEED, THROTTLE = ("launch", "hand", "speed"), ("launch", "hand", "throttle")


def _launch_speed() -> Change:
    def apply(now: Airframe, amount: float) -> Airframe | None:
        speed = now.launch.by_hand.speed + amount
        return put(now, SPEED, speed) if 3.0 <= speed <= 14.0 else None

    def words(now: Airframe, amount: float) -> str:
        speed = now.launch.by_hand.speed
        return (
            f"thrown at {now.units.speed(speed + amount, 0)} instead of {now.units.speed(speed, 0)}"
        )

    return Change("throw speed", 1.0, apply, words)


def _launch_throttle() -> Change:
    def apply(now: Airframe, amount: float) -> Airframe | None:
        throttle = now.launch.by_hand.throttle + amount
        return put(now, THROTTLE, throttle) if 0.0 <= throttle <= 1.0 + 1e-9 else None

    def words(now: Airframe, amount: float) -> str:
        throttle = 100.0 * now.launch.by_hand.throttle
        return f"launched with {throttle + 100.0 * amount:.0f} % throttle instead of {throttle:.0f}"

    return Change("launch throttle", 0.1, apply, words)


def told(advice: list[Advice], record: Record) -> list[str]:
    """Sentences for a person: the finding, the change that removes it with its figure, others;
    none that spoils anything else."""
    lines, u = [], record.units
    for one in advice:
        measure = one.measure
        lines.append(one.finding.text)
        if not one.again:
            lines.append(
                f"   Flown again unchanged it does not come back ({measure.told(one.figure, u)}): "
                "nothing can be said."
            )
            continue
        lines.append(f"   As flown: {measure.told(one.figure, u)}.")
        helpful = [t for t in one.tried if t.gone or one.helps(t)]
        shown = [(t, t.stands) for t in helpful if t.stands is not None and not t.spoilt]
        for each, (before, after) in shown:
            ends = "gone" if each.gone else "less, still there"
            words = each.words[:1].upper() + each.words[1:]
            lines.append(f"   {words}: {measure.told(each.figure, u)}, {ends}.")
            lines.append(f"      Checked: {before_and_after(before, after, True)}.")
        if not shown and helpful:
            lines.append("   What was tried and helps makes something else worse.")
        elif not shown:
            lines.append("   No change of balance, reflex, throws or launch that was tried helps.")
    if advice and is_person(record):
        lines.append(
            "   Your sticks were replayed as they were: nobody answered to the change, so trust "
            "the first seconds."
        )
    return lines
