"""The least that spares hands what they do too much or too late: a softer middle of a stick, or
smaller throws, the same hands at the sticks: they were tuned to the file as it is, and stay so."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.skills import SKILLS, Skill
from firstthrow.sim.study.odds.launches import Plan, run, setup
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.odds.survival import SECONDS
from firstthrow.sim.study.subject import Subject

PLAN = Plan(Scatter(), "human", SECONDS, 0)
SOFTER = (0.7, 0.5, 0.35)  # of what a stick does about its middle
TRIED = 16  # launches for each
NEARLY = 0.95  # as many survive
KEENER = 2.5  # times the crossover of club hands, of those that do too much


class Gentler(NamedTuple):
    """An airframe with gentler sticks, and what was changed about them."""

    words: str
    airframe: Airframe


def slip_of(name: str, value: float) -> Skill | None:
    """Club hands but for a slip; None for what is no slip of the hands."""
    club = SKILLS["club"]
    if name.endswith("wrong-way"):
        return club._replace(wrong_chance=1.0, wrong_for=SECONDS)
    if name.endswith("too-late"):
        return club._replace(delay=max(club.delay, min(1.0, value)))
    if name == "roll-too-much":
        return club._replace(crossover_roll=KEENER * club.crossover)
    if name == "pitch-too-much":
        return club._replace(crossover=KEENER * club.crossover, crossover_roll=club.crossover)
    return None


def gentler(subject: Subject, name: str, hands: Skill) -> Gentler | None:
    """The least, of a few, that spares most of the launches which the best of them does; None
    where none spares any, or where the slip is not one of how far or how late."""
    stick, _, slip = name.partition("-")
    if slip not in ("too-much", "too-late"):
        return None
    plan = PLAN._replace(mine=hands)
    now = setup(subject, plan)
    ways = _ways(subject.airframe, stick)
    tried = [now, *(now._replace(subject=now.subject.changed(way.airframe)) for way in ways)]
    as_it_is, *survived = (found.survived for found in run(tried, plan, TRIED))
    most = max(survived)
    if most <= as_it_is:
        return None
    return next(way for way, n in zip(ways, survived, strict=True) if n >= NEARLY * most)


def _ways(airframe: Airframe, stick: str) -> list[Gentler]:
    """The least first: expo, which leaves the ends of the stick what they were, before a throw."""
    found = []
    for share in SOFTER:
        found.append(_with_expo(airframe, stick, share))
        found.append(_with_throw(airframe, stick, share))
    return found


def _with_expo(airframe: Airframe, stick: str, share: float) -> Gentler:
    now = float(getattr(airframe.mixing.expo, stick))
    soft = 1.0 - share * (1.0 - now)
    expo = airframe.mixing.expo.model_copy(update={stick: soft})
    words = f"{100 * soft:.0f} instead of {100 * now:.0f} % of expo on the {stick} stick"
    return Gentler(words, put(airframe, ("mixing", "expo"), expo))


def _with_throw(airframe: Airframe, stick: str, share: float) -> Gentler:
    throw = float(getattr(airframe.mixing.high, stick))
    high = airframe.mixing.high.model_copy(update={stick: share * throw})
    low = airframe.mixing.low
    low = low.model_copy(update={stick: min(share * throw, getattr(low, stick))})
    gentle = put(put(airframe, ("mixing", "high"), high), ("mixing", "low"), low)
    shown = [f"{np.degrees(angle):.0f}" for angle in (share * throw, throw)]
    return Gentler(f"{shown[0]} instead of {shown[1]} deg of {stick} throw", gentle)
