"""What the simulated pilot makes of where it is: when the flight turns back, or lands ahead."""

from __future__ import annotations

import numpy as np
import pytest

from firstthrow.sim.kernels import human
from firstthrow.sim.kernels.circuit import BACK_LEFT, LANDING, ON_AT_MOST, OUT, guide

FRAME = 1.0 / 60.0
FAR = 65.0  # how far out it is meant to turn back [m]


def meant(
    height: float, ahead: float, since: float = 8.0, wheels: bool = False, speed: float = 9.0
) -> np.record:
    """The mind after one look, still climbing on the leg out, or on its wheels where it is slow."""
    hands, mind = np.zeros(1, human.HANDS)[0], np.zeros(1, human.MIND)[0]
    hands.height, hands.far, hands.reach, hands.stall_speed = 15.0, FAR, 25.0, 6.0
    hands.speed_seen = hands.height_seen = hands.flare_height = 1.0
    hands.throttle = hands.level_throttle = 0.7
    human.wake(mind, hands, wheels)
    mind.rolling = speed < 9.0
    shown = np.zeros(human.SEEN)
    shown[human.AHEAD], shown[human.HEIGHT] = ahead, height
    shown[human.AIRSPEED], shown[human.CLIMB] = speed, 0.2
    human.look(mind, shown)
    guide(mind, hands, since, FRAME)
    return mind


@pytest.mark.parametrize(
    ("height", "ahead", "leg"),
    [
        (4.0, 0.9 * FAR, OUT),
        (4.0, 1.1 * FAR, OUT),  # low, but it climbs: there is room ahead
        (6.0, 1.1 * FAR, BACK_LEFT),
        (4.0, 1.01 * ON_AT_MOST * FAR, LANDING),
    ],
)
def test_a_launch_that_still_climbs_goes_on_ahead(height, ahead, leg):
    assert meant(height, ahead).leg == leg


def test_what_does_not_leave_the_ground_gets_all_the_throttle():
    """Off its wheels only: a throw that skims the grass keeps the throttle it was launched with."""
    assert meant(0.2, 30.0, 5.0, wheels=True).aim_throttle == 1.0
    assert meant(0.2, 20.0, 3.0, wheels=True).aim_throttle == pytest.approx(0.7)
    assert meant(0.2, 30.0, 5.0).aim_throttle == pytest.approx(0.7)


def test_on_the_roll_the_throttle_stays_as_planned():
    """What still rolls is slower than what flies, and is meant to be."""
    rolls = meant(0.0, 5.0, 2.0, wheels=True, speed=5.0)
    assert rolls.rolling
    assert rolls.aim_throttle == pytest.approx(0.7)
