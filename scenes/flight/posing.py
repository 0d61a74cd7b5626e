"""How the airframe that flies stands, for one picture."""

from __future__ import annotations

import math

from firstthrow.scenes.flight.facts import Facts, surface_angles
from firstthrow.scenes.flight.flying import Flying
from firstthrow.scenes.flight.track import attitude_of, place_of
from firstthrow.scenes.world.camera import Pose, blend
from firstthrow.sim.units import from_rpm


def speeds(flying: Flying, facts: Facts) -> tuple[float, ...]:
    """Of the propellers [rpm]; still once the flight is over."""
    now = flying.reading
    return tuple(0.0 if flying.over else getattr(now, f"motor_{name}_rpm") for name in facts.motors)


def turn_propellers(turns: list[float], flying: Flying, facts: Facts, wall_seconds: float) -> None:
    """Moves each of `turns` [rad] on, but not while the flight is paused."""
    if flying.clock.paused:
        return
    for k, speed in enumerate(speeds(flying, facts)):
        turned = from_rpm(speed) * wall_seconds * flying.clock.rate
        turns[k] = (turns[k] + turned) % (2.0 * math.pi)


def pose_of(flying: Flying, facts: Facts, turns: list[float]) -> Pose:
    """The airframe between the last two steps of the flight."""
    before, now = flying.before, flying.reading
    share = 1.0 if flying.over else flying.clock.blend
    place = place_of(before) + share * (place_of(now) - place_of(before))
    attitude = blend(attitude_of(before), attitude_of(now), share)
    ends = zip(surface_angles(before, facts), surface_angles(now, facts), strict=True)
    surfaces = tuple(math.radians(a + share * (b - a)) for a, b in ends)
    wind = (now.wind_north_m_s, now.wind_east_m_s)
    gone = flying.flight.time if flying.flown else 0.0
    return Pose(place, attitude, surfaces, tuple(turns), speeds(flying, facts), wind, gone)
