"""How many launches by club hands survive: as many are flown as it takes to decide.

The sample is curtailed: once more launches are lost than the wanted share allows, no further one
can change the verdict, and none is flown. Source: Wald, Sequential Analysis (1947), ch. 5
(curtailed inspection). Nor is one where the rest of the sample would change it with a chance of
DOUBT at most, by those flown so far: stochastic curtailment by predictive probability, after Lan,
Simon and Halperin, Sequential Analysis 1 (1982), 207 (from memory). The same cases every time, so
the same answer every time.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from math import comb, exp, floor, lgamma
from typing import NamedTuple

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.skills import Skill
from firstthrow.sim.once import once_for
from firstthrow.sim.study.odds import launches as odds
from firstthrow.sim.study.odds.launches import Lot, Odds
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject

WANTED = 0.95  # of launches that survive: what 'go' means
LAUNCHES = 100  # that decide on one airframe
SECONDS = 6.0  # each is watched [s]: of 192 launches at the edge 189 survive 6 s, 188 survive 12
ROLLING = 6.0  # longer for what rolls off its wheels first [s]
WAVE = 8  # flown before the losses are counted again
DOUBT = 0.01  # chance at which the rest of a sample is not flown


@frozen
class ByHands(Answer):
    """Launches by simulated hands; the fraction that survives with its 95 % interval."""

    skill: str
    flown: int
    survived: int
    fraction: float
    at_least: float
    at_most: float
    causes: dict[str, int]  # how many were lost by each, most frequent first

    @property
    def is_enough(self) -> bool:
        return self.survived >= self.flown - most_lost(self.flown)

    @property
    def words(self) -> str:
        """Such as '97 of 100 launches survive'."""
        return f"{self.survived} of {self.flown} launches survive"

    @property
    def cause(self) -> str:
        """What most were lost to; empty when none was."""
        return next(iter(self.causes), "")


def most_lost(flown: int) -> int:
    """How many of so many launches may be lost where enough survive."""
    return floor((1.0 - WANTED) * flown + 1e-9)


def turns(lost: int, flown: int, most: int) -> float:
    """Chance that a whole sample of `most` decides otherwise than those flown so far.

    The share lost is beta distributed after what was flown, before that by Jeffreys
    (1/2, 1/2), so that the losses still to come are beta-binomial.
    """
    left, spare = most - flown, most_lost(most) - lost
    if left <= 0 or spare < 0 or spare >= left:
        return 0.0
    bad, good = lost + 0.5, flown - lost + 0.5
    passes = sum(
        comb(left, k) * exp(_beta(bad + k, good + left - k) - _beta(bad, good))
        for k in range(spare + 1)
    )
    return 1.0 - passes if lost <= most_lost(flown) else passes


def _beta(a: float, b: float) -> float:
    """Logarithm of the beta function."""
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def by_hands(subject: Subject, most: int = LAUNCHES) -> ByHands:
    """Club hands over all that scatters, from the hand or off the wheels as the file says."""
    flown = sample(subject, most)
    return _told(flown.odds, flown.plan.scatter.skill)


class Sample(NamedTuple):
    """Launches that were flown, and what it takes to fly one of them again."""

    ready: odds.Setup
    plan: odds.Plan
    odds: Odds


def watched(airframe: Airframe) -> float:
    """How long each launch is watched [s]."""
    return SECONDS if airframe.launch.thrown else SECONDS + ROLLING


def by_measured(subject: Subject, mine: Skill, count: int = LAUNCHES) -> ByHands:
    """The same launches by measured hands, all of them."""
    plan = odds.Plan(Scatter(), "human", watched(subject.airframe), 0, mine)
    return _told(odds.run([odds.setup(subject, plan)], plan, count)[0], plan.skill_name)


def sample(subject: Subject, most: int = LAUNCHES) -> Sample:
    """The launches that `by_hands` tells of, flown once.

    Fewer than `most` are flown where those decide already.
    """
    return _sample(subject, most)


@once_for(32)
def _sample(subject: Subject, most: int) -> Sample:
    flights, found = _flights(subject), odds.UNFLOWN
    lot = odds.drawn(flights.ready, flights.plan, range(most))
    with ThreadPoolExecutor(os.cpu_count()) as threads:
        while not found.flown or turns(found.flown - found.survived, found.flown, most) > DOUBT:
            found = flights.first(min(found.flown + WAVE, most), lot, threads)
    return Sample(flights.ready, flights.plan, found)


class _Flights:
    """The first launches of a subject, as many as some sample has asked for: another goes on from
    there, since a case is the same in every lot."""

    def __init__(self, subject: Subject):
        self.plan = odds.Plan(Scatter(), "human", watched(subject.airframe), 0)
        self.ready = odds.setup(subject, self.plan)
        self._flown = odds.UNFLOWN

    def first(self, count: int, lot: Lot, threads: ThreadPoolExecutor) -> Odds:
        """So many, those that are lacking flown from a lot whose cases are numbered from 0."""
        flown = self._flown
        if flown.flown < count:
            flown = flown.with_more(odds.fly_wave(lot, range(flown.flown, count), threads))
            self._flown = flown
        return Odds(flown.results[:count], flown.cases[:count])


_flights = once_for(32)(_Flights)


def _told(found: Odds, skill: str) -> ByHands:
    low, high = found.interval()
    return ByHands(
        skill=skill,
        flown=found.flown,
        survived=found.survived,
        fraction=found.fraction,
        at_least=low,
        at_most=high,
        causes=found.causes(),
    )
