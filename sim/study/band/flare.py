"""What the elevator does near the ground: the flare, and the round-out of a throw."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.speeds import SLOWEST_SAFE, stall_speed
from firstthrow.sim.kernels.layout import MAX_SURFACES
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject

TO_SPARE = 0.20  # of the elevator stick, kept for a gust, the ground's pull and a late hand
ROUND_OUT = 1.2  # load factor in which the sag of a throw is rounded out


class Flare(NamedTuple):
    """Slowest speed [m/s] to which the elevator holds the nose up, the motor off; and how far
    forward the balance [m] may lie for the slowest safe speed, and for a throw to be rounded out.
    None where there is no such thing."""

    speed: float | None
    aft: float | None
    launch_aft: float | None


def _neutral_and_back(subject: Subject) -> tuple[np.ndarray, np.ndarray]:
    """(MAX_SURFACES,) angles with the sticks in the middle, and with pitch right back [rad]."""
    neutral, back = (subject.mixer.command(Sticks(pitch=p))[:MAX_SURFACES] for p in (0.0, 1.0))
    return neutral, back


def has_pitch(subject: Subject) -> bool:
    """Whether pulling the stick back moves any surface."""
    neutral, back = _neutral_and_back(subject)
    return bool(np.abs(back - neutral).max() > 1e-6)


@once_for(16)
def flare(subject: Subject) -> Flare:
    """By four fifths of the way from neutral to the stick right back, the motor off.

    A fifth stays to spare: the ground takes away downwash and asks for more elevator, gusts come,
    the hand is late (common practice, no source). No limit of the balance: where the flare runs
    out of elevator it touches down faster. Moving the balance by d leaves flow and force as they
    are and adds force times d to the moment, so the balance that this elevator holds is where the
    moment is nothing. Valid for: still air, no ground effect.
    """
    if not has_pitch(subject):
        return Flare(None, None, None)
    neutral, back = _neutral_and_back(subject)
    held = neutral + (1.0 - TO_SPARE) * (back - neutral)
    found = polar.polar(subject.model, np.radians(np.arange(-6.0, 42.0, 1.0)), held)
    top = stall(found.lift)
    if found.lift[top] <= 0.0:
        return Flare(None, None, None)
    load = subject.weight / (0.5 * subject.model.record.density * found.area)  # [m2/s2]
    slowest = SLOWEST_SAFE * stall_speed_as_meant(subject)
    throw, thrown = subject.airframe.launch.thrown, None
    if throw is not None:
        wanted = ROUND_OUT * load / throw.speed**2
        thrown = _held_at(found, top, wanted, subject.cg) if wanted < found.lift[top] else None
    return Flare(
        _slowest(found, top, load),
        _held_at(found, top, load / slowest**2, subject.cg),
        thrown,
    )


@once_for(16)
def stall_speed_as_meant(subject: Subject) -> float:
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


def _slowest(found: polar.Polar, top: int, load: float) -> float | None:
    """The speed [m/s] of the largest lift below the stall to which the nose still rises."""
    rises = np.flatnonzero((found.moment[: top + 1] >= 0.0) & (found.lift[: top + 1] > 0.0))
    if not rises.size:
        return None
    last = int(rises[-1])
    lift = found.lift[last]
    if last < top:  # between the last that rises and the next
        share = found.moment[last] / (found.moment[last] - found.moment[last + 1])
        lift += share * (found.lift[last + 1] - lift)
    return float(np.sqrt(load / lift))
