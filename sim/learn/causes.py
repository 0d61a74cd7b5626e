"""What may have been wrong with a flight, as airframes to hold against its record.

Each fault card is one; which of them are common is our judgement (common practice, no source).
Faults of throw and air are not here: they are seen in the record itself, see `diagnose`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.moved import altered
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.field import Field
from firstthrow.sim.learn.stretches import Seen, restarts
from firstthrow.sim.once import once_for
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.subject import Subject

SOUND = "as-described"
RESTARTS = "brown-out"

# How often each is what was wrong, over all flights; a flight is as described otherwise.
USUAL = {
    "reversed-roll": 0.02,
    "reversed-pitch": 0.01,
    "swapped-elevons": 0.01,
    "cg-aft": 0.15,
    "no-reflex": 0.02,
    "warped-tip": 0.03,
    "propeller-backwards": 0.02,
    "motor-reversed": 0.01,
    "weak-pack": 0.02,
    "brown-out": 0.01,
}
RARE = 0.005


class Cause(NamedTuple):
    """One explanation of a record: the airframe it supposes, and when its receiver restarts."""

    name: str
    usual: float
    airframe: Airframe
    model: Model
    asleep: np.ndarray | None


class Supposed(NamedTuple):
    """An airframe with a fault, and its model."""

    name: str
    airframe: Airframe
    model: Model


def causes(subject: Subject, seen: Seen) -> list[Cause]:
    """All that this airframe can have, the described one first."""
    airframe = subject.airframe
    found = [Cause(SOUND, 0.0, airframe, subject.model, None)]
    asleep = restarts(seen, airframe, subject.model)
    if asleep.any():
        found.append(Cause(RESTARTS, USUAL[RESTARTS], airframe, subject.model, asleep))
    found += [
        Cause(name, USUAL.get(name, RARE), wrong, model, None)
        for name, wrong, model in supposed(subject)
    ]
    rest = 1.0 - sum(cause.usual for cause in found)
    return [found[0]._replace(usual=rest), *found[1:]]


@once_for(4)
def supposed(subject: Subject) -> tuple[Supposed, ...]:
    """The airframe with each fault card that it can have and that short stretches can show."""
    airframe, field = subject.airframe, subject.field
    found = []
    for name in FAULTS:
        wrong = _with(name, airframe, field)
        if name == RESTARTS or wrong is None or wrong == airframe:
            continue
        if wrong.model_copy(update={"launch": airframe.launch}) == airframe:
            continue  # a throw: seen in the record itself
        model = altered(subject.model, (airframe, field), (wrong, field))
        found.append(Supposed(name, wrong, model))
    return tuple(found)


def _with(name: str, airframe: Airframe, field: Field) -> Airframe | None:
    try:
        return apply(name, airframe, field)[0]
    except ConfigError:  # this airframe cannot have it
        return None
