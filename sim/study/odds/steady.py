"""The planned launch flown once by the steady pilot: from the hand, or from its wheels."""

from __future__ import annotations

from math import hypot

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import LaunchKind
from firstthrow.sim.flight.flight import Flight, fly
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.scripted_pilot import OFF, Steady
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject

WATCHED = 8.0  # of the flight [s]
SETTLED = 0.5  # after the release, when speeds begin to tell [s]


@frozen
class SteadyPilot(Answer):
    """The first seconds under the steady pilot; what a launch of this kind has not is None."""

    survives: bool
    outcome: Ending
    text: str
    largest_bank_deg: float
    least_speed_over_stall: float | None
    height_lost_m: float | None
    ground_roll_m: float | None
    lift_off_m_s: float | None


class _Kept(list):
    """A record that only keeps the readings."""

    write = list.append


def launched(subject: Subject, pilot, seconds: float) -> tuple[Flight, list]:
    """The flight of the subject's own launch, and its readings after the release."""
    kept = _Kept()
    flight = fly(subject.airframe, subject.field, pilot, seconds, record=kept, model=subject.model)
    return flight, [reading for reading in kept if reading.time_s > 0.0]


def steady_pilot(subject: Subject) -> Steady:
    """Of the subject's own launch."""
    rolls = subject.airframe.launch.kind == LaunchKind.GROUND
    return Steady(launch_throttle(subject.airframe) if rolls else None)


@once_for(16)
def piloted(subject: Subject) -> SteadyPilot:
    launch = subject.airframe.launch
    grounded = launch.kind == LaunchKind.GROUND
    flight, after = launched(subject, steady_pilot(subject), WATCHED)
    off = next((r for r in after if r.height_m > after[0].height_m + OFF), None)
    start = after[0] if not grounded else off
    flown = [r for r in after if start is not None and r.time_s > start.time_s + SETTLED]
    least = min((r.airspeed_m_s / r.stall_speed_m_s for r in flown), default=None)
    lost = not flight.end.word.survived
    text = flight.end.text
    if grounded and off is None and not lost:
        text = f"It does not lift off within {WATCHED:.0f} s."
    lowest = min(r.height_m for r in after)
    lift_off = off if grounded else None
    return SteadyPilot(
        survives=not lost and (off is not None or not grounded),
        outcome=flight.end.word,
        text=text,
        largest_bank_deg=max(abs(r.roll_deg) for r in after),
        least_speed_over_stall=least,
        height_lost_m=None if grounded else max(0.0, launch.by_hand.height - lowest),
        ground_roll_m=None if lift_off is None else _way(after[0], lift_off),
        lift_off_m_s=None if lift_off is None else lift_off.airspeed_m_s,
    )


def _way(start, end) -> float:
    """Over the ground between two readings [m]."""
    return hypot(end.north_m - start.north_m, end.east_m - start.east_m)
