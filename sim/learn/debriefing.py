"""Everything said about flights: verdicts, findings, what to try next, and the comparison."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.advice import Advice, Tried, told
from firstthrow.sim.learn.compare import Numbers, course, differences, numbers
from firstthrow.sim.learn.cure import Cured
from firstthrow.sim.learn.debrief import findings
from firstthrow.sim.learn.diagnose import Diagnosis
from firstthrow.sim.learn.finding import Finding, Kind
from firstthrow.sim.learn.school.marking import Mark, of_record
from firstthrow.sim.learn.sentence import verdict


@frozen
class FlightSaid(Answer):
    """No outcome where the program was cut off, no numbers where nothing was flown, no lesson where
    the flight was none."""

    left_out_when_none = frozenset({"lesson"})

    record: str
    name: str
    verdict: str
    outcome: Outcome | None
    numbers: Numbers | None
    findings: tuple[Finding, ...]
    lesson: Mark | None = None


@frozen
class NextTry(Answer):
    """A finding flown again with changes: `figure` is its measure unchanged, in `unit`."""

    kind: Kind
    start_s: float
    comes_again: bool
    measure: str
    unit: str
    figure: float
    tried: tuple[Tried, ...]


@frozen
class DebriefSaid(Answer):
    """`causes`: why each flight went as it did, None where a record does not tell; `cure`: the
    likeliest of one flight put right and flown."""

    flights: tuple[FlightSaid, ...]
    causes: tuple[Diagnosis | None, ...]
    cure: Cured | None
    differences: tuple[str, ...]
    next: tuple[NextTry, ...]
    remarks: tuple[str, ...]


class Debrief(NamedTuple):
    """One flight, and the flights it is held against (itself first)."""

    record: Record
    records: Sequence[Record]
    names: Sequence[str]
    advice: Sequence[Advice]
    remarks: Sequence[str]
    causes: Sequence[Diagnosis | None] = ()  # of the records, in their order
    cure: Cured | None = None

    @property
    def side_by_side(self) -> list[str]:
        """Sentences of the comparison; none for a flight on its own."""
        if len(self.records) < 2:
            return []
        if len(self.records) == 2:
            return differences(self.records[1], self.records[0])
        return course(self.records)

    @property
    def next(self) -> list[str]:
        """What to try next, with what has to be known about the re-flies."""
        return [*told(list(self.advice), self.record), *self.remarks]

    def answer(self, paths: Sequence[Path]) -> DebriefSaid:
        """The same for a program; `paths` of the records."""
        return DebriefSaid(
            flights=tuple(
                FlightSaid(
                    record=str(path),
                    name=name,
                    verdict=verdict(record),
                    outcome=record.outcome,
                    numbers=numbers(record),
                    findings=tuple(findings(record)),
                    lesson=of_record(record),
                )
                for path, name, record in zip(paths, self.names, self.records, strict=True)
            ),
            causes=tuple(self.causes),
            cure=self.cure,
            differences=tuple(self.side_by_side),
            next=tuple(
                NextTry(
                    kind=one.finding.kind,
                    start_s=one.finding.start_s,
                    comes_again=one.again,
                    measure=one.measure.words,
                    unit=one.measure.unit,
                    figure=one.figure,
                    tried=one.tried,
                )
                for one in self.advice
            ),
            remarks=tuple(self.remarks),
        )


def circumstances(record: Record) -> list[str]:
    """Field, launch, pilot and day, as far as the record tells."""
    meta = record.meta
    told = (
        meta.get("field"),
        meta.get("launch") and f"{meta['launch']} launch",
        meta.get("pilot") and f"pilot: {meta['pilot']}",
        meta.get("created", "")[:16].replace("T", " "),
    )
    return [str(words) for words in told if words]
