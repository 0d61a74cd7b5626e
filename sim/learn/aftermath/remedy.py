"""What puts the cause of a flight right: in the airframe as described, its fault, its throw.

The balance of the file itself is put right by moving the pack or by ballast, by as little as it
takes; hands that go too far or come too late get gentler sticks; everything else is put back to
what the file says.
"""

from __future__ import annotations

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.learn.causes import SOUND
from firstthrow.sim.learn.cure import BALANCED, OF_THE_THROW, SURE, balanced
from firstthrow.sim.learn.diagnose import Diagnosis
from firstthrow.sim.learn.gentler import gentler, slip_of
from firstthrow.sim.study.faults import FAULTS
from firstthrow.sim.study.subject import Subject

_BETTER = {"wrong-way": "the stick against what you see"}  # what hands may do themselves


@frozen
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
    if found is None or found.unexplained is not None:
        return Remedy("", airframe)
    first, name = found.first, found.first.name
    if name != SOUND and first.chance >= SURE:
        claimed = (first, *found.besides)
        thrown = tuple(OF_THE_THROW[one.name] for one in claimed if one.name in OF_THE_THROW)
        cards = [one for one in claimed if one.name in FAULTS and one.name not in OF_THE_THROW]
        if thrown or cards:
            faults = [name for one in claimed for name in (one.name, *one.alike)]
            words = [*(["put right"] if cards else []), *(["as planned"] if thrown else [])]
            return Remedy(" and ".join(words), airframe, tuple(faults), thrown)
        hands = slip_of(name, first.seen)
        if hands is not None:
            soft = gentler(subject, name, hands)
            if soft is not None:
                return Remedy(f"with {soft.words}", soft.airframe)
            better = _BETTER.get(name.partition("-")[2], "")
            if better and found.balance not in BALANCED:
                return Remedy(better, airframe)
    if found.balance in BALANCED:
        way = balanced(subject)
        return Remedy(way.text, way.airframe) if way else Remedy("", airframe)
    return Remedy("", airframe)
