"""Practice that fits: the copy of the airframe that these hands bring through as often as not.

A ladder of copies goes from tame to wild, a step at a time; rung 0 is the airframe itself in its
own field. Up, the balance goes aft, throws get sharper and the air gusty. Down, the balance goes
to where it is meant to be in its band, throws get much gentler and the air is still: a balance
ahead of that is none to learn on, since a slab is then too slow to raise its nose.
The next exercise is a copy that survives at most four fifths of the time but half of it at least:
hard enough to learn from, not so hard that nothing comes of it. The two shares and the steps are
our assumption; most of what makes it hard is the balance.
"""

from __future__ import annotations

from collections.abc import Callable

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.edit import get, put
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.skills import Skill
from firstthrow.sim.study.band.band import band, meant
from firstthrow.sim.study.odds.survival import WANTED, ByHands, by_measured
from firstthrow.sim.study.subject import Subject

LEAST, MOST = 0.5, 0.8
RUNGS = (-5, 8)  # tamest and wildest
BALANCE = 0.03  # of the mean chord, by a rung
THROWS, GENTLER = 1.08, 1.25  # times the throw, by a rung above 0 and below
WIND = 0.8  # [m/s] more wind, with its gusts, by a rung above 0; below, none
WORSE = 0.15  # of the launches, by which a rung further down must do worse to be the last tried
LAUNCHES = 32  # that tell on which rung one stands; of the airframe itself three times as many


@frozen
class Practice(Answer):
    """What to practise next: a rung of the ladder, and how often these hands survive there."""

    rung: int
    survived: int
    flown: int
    fits: bool  # half to four fifths survive there
    cg_aft_m: float | None
    throws_times: float
    wind_m_s: float
    real: ByHands  # the airframe itself

    @property
    def passed(self) -> bool:
        """Whether the planned first flight is as sure as 'go' asks."""
        return self.real.fraction >= WANTED


def copy(subject: Subject, rung: int) -> Subject:
    """The airframe of a rung in its field."""
    if rung == 0:
        return subject
    airframe, field = subject.airframe, subject.field
    for path in (("mixing", "high", "pitch"), ("mixing", "high", "roll")):
        airframe = put(airframe, path, _throw(airframe, path, rung))
    found = subject.changed(airframe, _windy(field, rung))
    try:
        return found.balanced_at(subject.cg + _further(subject, rung))
    except ValueError:  # nothing on it can be moved
        return found


def _further(subject: Subject, rung: int) -> float:
    """How far aft the balance of a rung stands [m]."""
    steps = abs(rung) * BALANCE * subject.chord
    if rung > 0:
        return steps
    ends = band(subject)
    where = meant(subject, ends.front.aft_m if ends.front else None, ends.rear.aft_m)
    return min(max(where - subject.cg, -steps), steps)


def _throw(airframe: Airframe, path: tuple[str, ...], rung: int) -> float:
    return min(float(get(airframe, path)) * (THROWS if rung > 0 else GENTLER) ** rung, 0.9)


def _windy(field: Field, rung: int) -> Field:
    for path in (("wind", "speed"), ("gusts", "wind_at_6_m")):
        field = put(field, path, float(get(field, path)) + WIND * rung if rung > 0 else 0.0)
    return field


def practice(
    subject: Subject,
    mine: Skill,
    progress: Callable[[int], None] = lambda rung: None,
    launches: int = LAUNCHES,
) -> Practice:
    """Up the ladder where the airframe itself is too easy, down where it is too hard."""
    real = by_measured(subject, mine, 3 * launches)
    rung, found = _fitting(subject, mine, real, progress, launches)
    at = copy(subject, rung)
    pitch = get(at.airframe, ("mixing", "high", "pitch"))
    return Practice(
        rung=rung,
        survived=found.survived,
        flown=found.flown,
        fits=LEAST <= found.fraction <= MOST,
        cg_aft_m=at.cg if rung else None,
        throws_times=float(pitch / get(subject.airframe, ("mixing", "high", "pitch"))),
        wind_m_s=at.field.wind.speed,
        real=real,
    )


def _fitting(
    subject: Subject,
    mine: Skill,
    real: ByHands,
    progress: Callable[[int], None],
    launches: int,
) -> tuple[int, ByHands]:
    """The rung that fits: halving the way up; down a rung at a time, as long as that helps, since
    too little throw is none to fly with. Else the one tried that comes nearest."""
    if LEAST <= real.fraction <= MOST:
        return 0, real
    flown = {0: real}

    def tried(rung: int) -> ByHands:
        progress(rung)
        flown[rung] = by_measured(copy(subject, rung), mine, launches)
        return flown[rung]

    if real.fraction > MOST:
        easy, hard = 0, RUNGS[1] + 1
        while hard - easy > 1:
            rung = (easy + hard) // 2
            there = tried(rung)
            if LEAST <= there.fraction <= MOST:
                return rung, there
            easy, hard = (rung, hard) if there.fraction > MOST else (easy, rung)
    else:
        best = real.fraction
        for rung in range(-1, RUNGS[0] - 1, -1):
            there = tried(rung)
            if there.fraction >= LEAST or there.fraction < best - WORSE:
                break
            best = max(best, there.fraction)
    middle = 0.5 * (LEAST + MOST)
    rung = min(flown, key=lambda one: (abs(flown[one].fraction - middle), abs(one)))
    return rung, flown[rung]
