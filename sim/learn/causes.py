"""What may have been wrong with a flight, as airframes to hold against its record.

Each fault card is one; which of them are common is our judgement (common practice, no source).
Faults of throw and air are not here: they are seen in the record itself, see `diagnose`.
"""

from __future__ import annotations

from math import erfc, log, sqrt
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.moved import altered
from firstthrow.sim.build.unknown_kinds import RULES, What
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.field import Field
from firstthrow.sim.kernels.integrate import RESTART
from firstthrow.sim.kernels.layout import POSITION
from firstthrow.sim.learn.stretches import Seen, bendings, restarts
from firstthrow.sim.once import once_for
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.subject import Subject

SOUND = "as-described"
RESTARTS, DEAF = "brown-out", "antenna-damaged"  # told apart by when the receiver is silent
CREASED = "old-crease"
UNLIKE = -6.0  # log evidence against a cause that does not do what the record shows
UNBENT = 1e-3  # of what a board bears
NEVER = 1e-9  # chance of what is as good as impossible
MISTAKEN = 12  # rows in which a closed throttle or grass may be taken for a motor that is driven
SLACK = 1.0  # by which the way to the pilot may not decide who hears [m]

NEAR = 0.3  # restarts, by which a silence may be longer or shorter than so many
AGAIN = 0.5  # log evidence against each restart that follows another at once
# How often each is what was wrong, over all flights; a flight is as described otherwise.
USUAL = {
    "reversed-roll": 0.02,
    "reversed-pitch": 0.01,
    "swapped-elevons": 0.01,
    "cg-aft": 0.10,
    "no-reflex": 0.02,
    "warped-tip": 0.03,
    "propeller-backwards": 0.02,
    "motor-reversed": 0.01,
    "weak-pack": 0.02,
    "brown-out": 0.01,
    "loose-linkage": 0.02,
}
RARE = 0.01


class Cause(NamedTuple):
    """One explanation of a record: the airframe it supposes, and when its receiver is silent.

    `besides`: log evidence of what is no motion, such as when it was silent. `folded_at`: of a
    weaker board that folded, the bending over what the described one bears."""

    name: str
    usual: float
    airframe: Airframe
    model: Model
    asleep: np.ndarray | None
    besides: float = 0.0
    folded_at: float = 0.0


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
        for name, besides in (
            (RESTARTS, _as_restarts(seen, asleep)),
            (DEAF, _as_deaf(seen, asleep)),
        ):
            usual = USUAL.get(name, RARE)
            found.append(Cause(name, usual, airframe, subject.model, asleep, besides))
    found += [
        Cause(name, USUAL.get(name, RARE), wrong, model, None)
        for name, wrong, model in supposed(subject)
        if seen.exact or name != CREASED  # of which no log tells
    ]
    if seen.exact:
        bent = bendings(seen, airframe, subject.model)
        found = [_bent(subject, seen, cause, bent) for cause in found]
    rest = 1.0 - sum(cause.usual for cause in found)
    return [found[0]._replace(usual=rest), *found[1:]]


def _bent(subject: Subject, seen: Seen, cause: Cause, bent: np.ndarray) -> Cause:
    """bent: (rows,) over what the described board bears."""
    weaker = subject.model.record.root_strength / cause.model.record.root_strength
    told = cause.besides + _as_bent(subject, bent * weaker, seen.folded)
    at = float(bent[-1]) if seen.folded and weaker > 1.0 else 0.0
    return cause._replace(besides=told, folded_at=at)


def _as_bent(subject: Subject, bent: np.ndarray, folded: bool) -> float:
    """Log likelihood that a board bore all bending, or all until the last reading and folded on the
    way to that; bent: (rows,) over its strength, which is known only so well: its logarithm is
    normal."""
    guessed = RULES[What.STRENGTH].guessed.of(1.0)
    spread = max(
        (row.spread for row in subject.unknowns if row.what is What.STRENGTH), default=guessed
    )

    def bears(most: float) -> float:
        """Chance that it bears so much."""
        return 0.5 * erfc(log(max(most, UNBENT)) / spread / sqrt(2.0))

    if not folded:
        return log(max(bears(float(bent.max(initial=0.0))), NEVER))
    until = float(bent[:-1].max(initial=0.0))
    return log(max(bears(until) - bears(max(until, float(bent[-1]))), NEVER))


def _as_restarts(seen: Seen, asleep: np.ndarray) -> float:
    """A restart is over within its time; where the servos overload the supply again at once, after
    so many of them. How long the last one lasts is not known if the flight ends first."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0.0], asleep, [0.0]])))
    last, told = seen.parts[-1].first + seen.parts[-1].rows, 0.0
    for begins, ends in zip(edges[::2], edges[1::2], strict=True):
        times = (ends - begins) / (60.0 * RESTART)
        if ends < last - MISTAKEN and abs(times - max(1, round(times))) > NEAR:
            told += 0.5 * UNLIKE
        told -= AGAIN * max(0, round(times) - 1)
    return told


def _as_deaf(seen: Seen, asleep: np.ndarray) -> float:
    """Beyond its reach it hears nothing, within it all."""
    way = np.linalg.norm(seen.states[:, POSITION : POSITION + 3], axis=1)
    flown = np.zeros(len(way), dtype=bool)
    for first, rows in seen.parts:
        flown[first + 1 : first + rows + 1] = True
    silent = asleep > 0.5
    beyond = way > way[flown & silent].min(initial=np.inf) + SLACK
    return UNLIKE if np.sum(flown & ~silent & beyond) > MISTAKEN else 0.0


@once_for(4)
def supposed(subject: Subject) -> tuple[Supposed, ...]:
    """The airframe with each fault card that it can have and that short stretches can show."""
    airframe, field = subject.airframe, subject.field
    found = []
    for name in FAULTS:
        wrong = _with(name, airframe, field)
        if name in (RESTARTS, DEAF) or wrong is None or wrong == airframe:
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
