"""Who flies: any callable from a reading (`record.columns`) to `Sticks`.

A person with a gamepad, a script, a simulated human and a file of sticks are the same to a flight.
"""

from __future__ import annotations

from collections.abc import Callable

from firstthrow.sim.build.sticks import Sticks

Pilot = Callable[[tuple], Sticks]


def hands_off(throttle: float) -> Pilot:
    """Sticks in the middle from launch to ground, throttle (0..1) where it was launched."""
    sticks = Sticks(throttle=throttle)
    return lambda reading: sticks


def launch_throttle(airframe, launch: str | None = None) -> float:
    """Throttle (0..1) the airframe is launched with, `launch` "hand" or "ground" or its own."""
    how = getattr(airframe.launch, launch or airframe.launch.kind)
    return how.throttle if how is not None else 1.0
