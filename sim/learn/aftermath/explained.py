"""Everything that is worked out of a flight that has just ended, in the order in which one asks."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn import diagnose
from firstthrow.sim.learn.aftermath.forces import Forces, forces
from firstthrow.sim.learn.aftermath.remedy import Remedy, remedy
from firstthrow.sim.learn.aftermath.said import Said, cause, moments
from firstthrow.sim.learn.aftermath.unflown import unflown
from firstthrow.sim.learn.causes import supposed
from firstthrow.sim.study.band.band import limits_verdict
from firstthrow.sim.study.subject import subject_of

LAST = 4.0  # [s] of a flight that are seen again
READINGS = 60  # a second


class Flown(NamedTuple):
    """A flight to be explained: its record, and what really flew, fault and all. `described`: what
    the one who flew it took it for."""

    record: Record
    airframe: Airframe
    field: Field
    described: tuple[Airframe, Field]


@frozen
class Explained(Answer):
    """`sentence`: the cause, or what shows of a flight that never flew free; empty where the record
    does not tell. `found`: what was held against the record."""

    sentence: str
    found: diagnose.Diagnosis | None
    moments: tuple[Said, ...]
    remedy: Remedy


def span(record: Record) -> np.ndarray:
    """Times [s] of the readings that are seen again, the last seconds of the flight."""
    time = record.column("time_s")
    return time[(time > 0.0) & (time >= time[-1] - LAST)]


def pulls(flown: Flown) -> Forces | None:
    subject = subject_of(flown.airframe, flown.field)
    return forces(flown.record, subject, span(flown.record).tolist())


def explain(flown: Flown) -> Explained:
    airframe, field = flown.described
    found = diagnose.diagnose(flown.record, airframe, field)
    subject = subject_of(airframe, field)
    return Explained(
        sentence=cause(found, airframe) if found else _never_free(flown.record),
        found=found,
        moments=moments(flown.record, found),
        remedy=remedy(found, subject),
    )


def _never_free(record: Record) -> str:
    told = " ".join(unflown(record)).removeprefix("Why: ")
    return told[:1].upper() + told[1:]


def warm(described: tuple[Airframe, Field]) -> None:
    """What every flight of an airframe needs, worked out before there is one."""
    subject = subject_of(*described)
    supposed(subject)
    limits_verdict(subject)
