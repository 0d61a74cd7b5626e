"""How the airframe of a rehearsal stands, for one picture."""

from __future__ import annotations

import math

import numpy as np

from firstthrow.scenes.flight.facts import Facts, surface_angles
from firstthrow.scenes.world.camera import Pose, blend


def speeds(rehearsal, facts: Facts) -> tuple[float, ...]:
    """Of the propellers [rpm]; still once the flight is over."""
    now = rehearsal.reading
    return tuple(
        0.0 if rehearsal.over else getattr(now, f"motor_{name}_rpm") for name in facts.motors
    )


def turn_propellers(turns: list[float], rehearsal, facts: Facts, wall_seconds: float) -> None:
    """Moves each of `turns` [rad] on, but not while the flight is paused."""
    if rehearsal.clock.paused:
        return
    for k, speed in enumerate(speeds(rehearsal, facts)):
        turned = speed * math.pi / 30.0 * wall_seconds * rehearsal.clock.rate
        turns[k] = (turns[k] + turned) % (2.0 * math.pi)


def pose_of(rehearsal, facts: Facts, turns: list[float]) -> Pose:
    """The airframe between the last two steps of the flight."""
    before, now = rehearsal.before, rehearsal.reading
    share = 1.0 if rehearsal.over else rehearsal.clock.blend
    place = _place(before) + share * (_place(now) - _place(before))
    attitude = blend(_attitude(before), _attitude(now), share)
    surfaces = tuple(math.radians(a) for a in surface_angles(now, facts))
    wind = (now.wind_north_m_s, now.wind_east_m_s)
    gone = rehearsal.flight.time if rehearsal.flown else 0.0
    return Pose(place, attitude, surfaces, tuple(turns), speeds(rehearsal, facts), wind, gone)


def _place(reading) -> np.ndarray:
    return np.array([reading.north_m, reading.east_m, -reading.height_m])


def _attitude(reading) -> np.ndarray:
    return np.array(
        [reading.attitude_w, reading.attitude_x, reading.attitude_y, reading.attitude_z]
    )
