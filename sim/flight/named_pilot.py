"""The pilot of a name that a person types: hands-off, steady, human, or a file of sticks."""

from __future__ import annotations

from pathlib import Path

from firstthrow.sim.describe.airframe import Airframe, LaunchKind
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.pilot import Pilot, hands_off, launch_throttle
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.flight.simulated_hands import Human, skill_of
from firstthrow.sim.flight.stick_timeline import timeline


def named(
    who: str, airframe: Airframe, field: Field, launch: str | None = None, seed: int = 0
) -> Pilot:
    """The pilot of a name (hands-off, steady, human, human:expert), or a stick timeline's file.

    Raises ValueError for a name that is none, TimelineError for a file that is none.
    """
    if who == "hands-off":
        return hands_off(launch_throttle(airframe, launch))
    if who == "steady":
        rolls = (launch or airframe.launch.kind) == LaunchKind.GROUND
        return Steady(launch_throttle(airframe, launch) if rolls else None)
    if Path(who).exists():
        return timeline(who)
    if who.partition(":")[0] == "human":
        return Human(airframe, field, skill_of(who), launch, seed)
    raise ValueError(f"{who}: no such file; wanted hands-off, steady, human or a CSV file")
