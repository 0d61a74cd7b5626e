"""What puts the cause of a flight right: in the airframe as described, its fault, its throw.

The balance of the file itself is put right by moving the pack or by ballast, by as little as it
takes; everything else is put back to what the file says.
"""

from __future__ import annotations

from dataclasses import dataclass

from firstthrow.sim.answer import Answer
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.learn.causes import SOUND
from firstthrow.sim.learn.cure import OF_THE_THROW, SURE
from firstthrow.sim.learn.diagnose import Diagnosis
from firstthrow.sim.study.advice.changes import ballasted
from firstthrow.sim.study.band.band import limits_verdict
from firstthrow.sim.study.band.limits import limits
from firstthrow.sim.study.faults import FAULTS
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

SPARE = 0.01  # of the chord ahead of the rear limit
BALANCED = (BalanceVerdict.TOO_FAR_AFT, BalanceVerdict.BEHIND_NEUTRAL_POINT)


@dataclass(frozen=True)
class Remedy(Answer):
    """`airframe`: to fly, as described but for the change; `faults`: cards of which each is taken
    off; `as_planned`: what of the throw goes back to the plan. `words`: what is done, after
    'throw it again'; empty where there is nothing to put right."""

    words: str
    airframe: Airframe
    faults: tuple[str, ...] = ()
    as_planned: tuple[str, ...] = ()

    def changes(self, airframe: Airframe) -> bool:
        """Whether the airframe's file would say something else."""
        return self.airframe != airframe


def remedy(found: Diagnosis | None, subject: Subject) -> Remedy:
    """`subject`: as described."""
    airframe = subject.airframe
    if found is None:
        return Remedy("", airframe)
    first, name = found.first, found.first.name
    if name != SOUND and first.chance >= SURE:
        if name in OF_THE_THROW:
            return Remedy("as planned", airframe, (name,), (OF_THE_THROW[name],))
        if name in FAULTS:
            return Remedy("put right", airframe, (name, *first.alike))
    if found.balance in BALANCED:
        return _balanced(subject)
    return Remedy("", airframe)


def _balanced(subject: Subject) -> Remedy:
    """As little as brings the balance within the limits of steady flight, by moving the pack where
    that is enough, else by ballast; where that is not to be had, the margin that was wanted."""
    rear = (subject.neutral_point - limits(subject).rear.aft) / subject.chord
    wanted = subject.airframe.margin
    for margin in sorted({min(wanted, rear + SPARE), wanted}):
        ways = [
            way
            for way in ballasted(subject, margin)
            if limits_verdict(subject.changed(way.airframe)) is BalanceVerdict.OK
        ]
        if ways:
            same = subject.airframe.items.keys()
            best = next((way for way in ways if way.airframe.items.keys() == same), ways[0])
            return Remedy(best.text, best.airframe)
    return Remedy("", subject.airframe)
