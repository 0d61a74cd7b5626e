"""What of a flight is claimed, and what its record could not tell apart.

A fault is claimed where it is likelier than none, and where the record is so many times likelier
with it than without that few sound flights can be like that. A record tells a fault from none
where it would be claimed on the whole, were it so: less is said to be alike.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import log

from firstthrow.sim.learn.causes import SOUND, Cause
from firstthrow.sim.learn.evidence import Examined, tells
from firstthrow.sim.learn.hands_seen import of_hands

CLAIM = 1.5  # times as likely as none a fault must be to be claimed
# Share of sound flights of which a fault may be claimed at most: the record must then be so many
# times likelier with the fault than without (Markov's inequality: over sound flights the mean of
# that ratio is one).
FALSELY = 0.03
ALIKE = 3.0  # log likelihood that tells two faults apart


def enough(usual: float, none: float) -> float:
    """Log likelihood that a fault must gain over none to be claimed, so usual as it is."""
    return max(-log(FALSELY), log(CLAIM * none / usual))


def alike(held: Examined, one: Cause, other: Cause) -> bool:
    """Whether this record could not tell two causes apart, or a fault from none."""
    apart = (held.leaves(one) - held.leaves(other)).ravel()
    silent = abs(one.besides - other.besides)
    told = tells(apart, held.slopes.get(one.name, held.slopes[SOUND])) + silent
    if SOUND not in (one.name, other.name):
        return told < ALIKE
    none, fault = (one, other) if one.name == SOUND else (other, one)
    return told < enough(fault.usual, none.usual)


def claims(
    held: Examined, tried: list[Cause], chances: Mapping[str, float], apart: Collection[str]
) -> list[str]:
    """What is claimed: at most one fault of the airframe, and one thing that throw, air or hands
    did (`apart`). Likeliest first; but hands come after a fault of the airframe, since good hands
    rock what does not do as they ask."""
    found = []
    of_airframe = [one for one in chances if one != SOUND and one not in apart]
    for family in (of_airframe, [one for one in chances if one in apart]):
        none = max(0.0, 1.0 - sum(chances[one] for one in family))
        found += [
            name
            for name in sorted(family, key=lambda one: -chances[one])
            if _is_claimed(held, tried, chances, none, name)
        ][:1]
    return sorted(found, key=lambda one: (of_hands(one), -chances[one]))


def _is_claimed(
    held: Examined, tried: list[Cause], chances: Mapping[str, float], none: float, name: str
) -> bool:
    """Whether a fault is claimed, together with what no record could tell from it. `none`: chance
    that nothing of its kind is wrong."""
    fault = next((one for one in tried if one.name == name), None)
    if fault is None:
        return chances[name] > CLAIM * none
    like = [one for one in tried[1:] if one is fault or alike(held, fault, one)]
    claimed, usual = sum(chances[one.name] for one in like), sum(one.usual for one in like)
    return claimed > CLAIM * none and claimed * tried[0].usual > none * usual / FALSELY
