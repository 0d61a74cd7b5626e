"""How far forward and aft the balance may lie."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.airframe import LaunchKind
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.speeds import SLOWEST_SAFE, stall_speed
from firstthrow.sim.kernels.layout import MAX_SURFACES
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

TO_SPARE = 0.20  # of the elevator stick, kept for a gust, the ground's pull and a late hand
ROUND_OUT = 1.2  # load factor in which the sag of a throw is rounded out


class Limit(NamedTuple):
    """A limit of the balance aft of the datum [m], or None, and why."""

    aft: float | None
    why: str


class RearLimit(NamedTuple):
    """As a `Limit`, but there always is one."""

    aft: float
    why: str


class Band(NamedTuple):
    """What bounds the balance ahead, for the flare and for the launch, and behind."""

    flare: Limit
    launch: Limit
    rear: RearLimit

    @property
    def front(self) -> Limit:
        """The rearmost of those that are known."""
        known = [(limit.aft, limit) for limit in self[:2] if limit.aft is not None]
        return max(known, key=lambda one: one[0])[1] if known else self.flare

    def verdict(self, subject: Subject) -> BalanceVerdict:
        front, rear = self.front.aft, self.rear.aft
        if front is None:
            return BalanceVerdict.NO_PITCH_CONTROL
        if subject.cg >= subject.neutral_point:
            return BalanceVerdict.BEHIND_NEUTRAL_POINT
        if front > rear:
            return BalanceVerdict.NO_BAND
        if subject.cg > rear:
            return BalanceVerdict.TOO_FAR_AFT
        return BalanceVerdict.TOO_FAR_FORWARD if subject.cg < front else BalanceVerdict.OK


@once_for(16)
def band(subject: Subject) -> Band:
    return Band(*front_limits(subject), rear_limit(subject))


def _neutral_and_back(subject: Subject) -> tuple[np.ndarray, np.ndarray]:
    """(MAX_SURFACES,) angles with the sticks in the middle, and with pitch right back [rad]."""
    neutral, back = (subject.mixer.command(Sticks(pitch=p))[:MAX_SURFACES] for p in (0.0, 1.0))
    return neutral, back


def has_pitch(subject: Subject) -> bool:
    """Whether pulling the stick back moves any surface."""
    neutral, back = _neutral_and_back(subject)
    return bool(np.abs(back - neutral).max() > 1e-6)


def rear_limit(subject: Subject) -> RearLimit:
    """The balance furthest aft that keeps the airframe's least static margin."""
    least = subject.airframe.least_margin
    return RearLimit(subject.at_margin(least), f"{100 * least:.0f} % static margin is left")


def front_limits(subject: Subject) -> tuple[Limit, Limit]:
    """The balances furthest forward that leave elevator for the flare and for the launch.

    Flare: the motor off, four fifths of the way from neutral to the stick right back hold the
    nose at the angle of attack that carries the weight at SLOWEST_SAFE times the stall speed (the
    one that is said, with the margin that the airframe is built for). A fifth stays to spare: the
    ground takes away downwash and asks for more elevator, gusts come, the hand is late. Common
    practice, no source: nearer to the stall a gust drops it, faster it lands hard.
    Launch: at the speed of the throw the same elevator rounds out the sag at 1.2 g; from wheels
    it lifts off at the speed of the flare.
    Moving the balance by d leaves flow and force as they are and adds force times d to the
    moment, so the limit is where the moment is nothing. Valid for: still air, no ground effect.
    """
    airframe = subject.airframe
    if not has_pitch(subject):
        none = Limit(None, BalanceVerdict.NO_PITCH_CONTROL.fact)
        return none, none
    neutral, back = _neutral_and_back(subject)
    held = neutral + (1.0 - TO_SPARE) * (back - neutral)
    found = polar.polar(subject.model, np.radians(np.arange(-6.0, 42.0, 1.0)), held)
    top = stall(found.lift)
    if found.lift[top] <= 0.0:
        none = Limit(None, "it does not lift with the stick back")
        return none, none
    weight, pressure = subject.weight, 0.5 * subject.model.record.density * found.area
    slowest = SLOWEST_SAFE * _stall_speed_as_meant(subject)
    place = subject.cg
    flare = Limit(
        _held_at(found, top, weight / (pressure * slowest**2), place),
        f"80 % of the elevator stick flares it at {slowest:.1f} m/s",
    )
    if airframe.launch.kind != LaunchKind.HAND or airframe.launch.hand is None:
        why = f"80 % of the elevator stick lifts it off at {slowest:.1f} m/s"
        return flare, Limit(flare.aft, why)
    speed = airframe.launch.hand.speed
    if pressure * speed**2 * found.lift[top] <= ROUND_OUT * weight:
        return flare, Limit(None, f"a throw of {speed:.1f} m/s is too slow to round out")
    wanted = ROUND_OUT * weight / (pressure * speed**2)
    return flare, Limit(
        _held_at(found, top, wanted, place),
        f"80 % of the elevator stick rounds out a throw of {speed:.1f} m/s",
    )


def _stall_speed_as_meant(subject: Subject) -> float:
    """With its balance at the margin it is built for, so that a limit of the balance does not
    hang on where the balance is now [m/s]."""
    place = subject.balance.place.copy()
    place[0] = subject.at_margin(subject.airframe.margin)
    meant = rebalanced(subject.model, subject.balance._replace(place=place))
    return stall_speed(meant, subject.airframe)


def stall(lift: np.ndarray) -> int:
    """Where a lift curve over rising incidence has its first top: beyond, a plate only mushes."""
    falls = np.flatnonzero((lift[1:] < lift[:-1]) & (lift[:-1] > 0.0))
    return int(falls[0]) if falls.size else len(lift) - 1


def _held_at(found: polar.Polar, top: int, lift: float, place: float) -> float:
    """The balance [m] at which a lift coefficient below the stall needs no more elevator."""
    alpha = np.interp(lift, found.lift[: top + 1], found.alpha[: top + 1])
    moment, normal = (np.interp(alpha, found.alpha, c) for c in (found.moment, found.normal))
    return float(place - moment * found.chord / normal)
