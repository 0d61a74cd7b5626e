"""The four-bar linkage from servo to surface, and the hinge moment that comes back through it."""

from __future__ import annotations

from math import asin, cos, degrees, hypot, inf, radians, sin

import numpy as np
import pytest
from scipy.optimize import brentq

from firstthrow.sim.describe.linkage import Linkage, holes, horn_for, reach, rocker_angles

UNEVEN = Linkage(0.012, 0.016, 0.05, servo_up=-0.01, horn_ahead=0.004, arm_lean=radians(10.0))
LINKAGES = [Linkage(0.012, 0.016, 0.12), Linkage(0.018, 0.026, 0.08, servo_up=0.005), UNEVEN]


def test_four_bar_closes():
    """The coupler is as long as it is, on both branches, all round the crank."""
    ground, crank, coupler, rocker = 100.0, 40.0, 120.0, 80.0
    for angle in np.radians(np.arange(0.0, 360.0, 15.0)):
        for other in rocker_angles(ground, crank, coupler, rocker, angle):
            x = ground + rocker * cos(other) - crank * cos(angle)
            y = rocker * sin(other) - crank * sin(angle)
            assert hypot(x, y) == pytest.approx(coupler, rel=1e-12)


def test_four_bar_that_locks_says_so():
    with pytest.raises(ValueError, match="locks before the arm is at 180 deg"):
        rocker_angles(100.0, 60.0, 70.0, 50.0, radians(180.0))


def holes_apart(link: Linkage, servo: float, surface: float) -> float:
    """Distance of the two holes by coordinates alone."""
    x, y = link.servo_place()
    arm = x - link.arm * sin(servo + link.arm_lean), y + link.arm * cos(servo + link.arm_lean)
    lean = asin(link.horn_ahead / link.horn) + surface
    horn = -link.horn * sin(lean), link.horn * cos(lean)
    return hypot(arm[0] - horn[0], arm[1] - horn[1])


@pytest.mark.parametrize("link", LINKAGES)
def test_rod_keeps_its_length(link):
    """Against a root finder on the coordinates; neutral is neutral; there and back again."""
    assert link.surface_angle(0.0) == pytest.approx(0.0, abs=1e-12)
    for servo in np.radians([-45.0, -20.0, 10.0, 45.0]):
        surface = link.surface_angle(servo)
        assert np.sign(surface) == np.sign(servo)
        near = brentq(
            lambda s, servo=servo: holes_apart(link, servo, s) - link.rod,
            surface - 0.2,
            surface + 0.2,
            xtol=1e-14,
        )
        assert surface == pytest.approx(near, abs=1e-9)
        assert link.servo_angle(surface) == pytest.approx(servo, abs=1e-9)


def test_long_rod_obeys_the_horn_rule():
    """A metre of rod: the sine rule to a tenth of a degree; a short one differs."""
    horn = horn_for(0.008, radians(60.0), radians(25.0))
    long = Linkage(0.008, horn, 1.0).surface_angle(radians(60.0))
    short = Linkage(0.008, horn, 0.03).surface_angle(radians(60.0))
    print(f"25 deg wanted: {degrees(long):.2f} with a long rod, {degrees(short):.2f} with 30 mm")
    assert degrees(long) == pytest.approx(25.0, abs=0.1)
    assert abs(degrees(short) - 25.0) > 0.3


def test_leaning_arm_gives_differential():
    """Arm leaning back at neutral: less throw one way; the mirror image the other way."""
    forth, back = (Linkage(0.012, 0.016, 0.2, arm_lean=radians(a)) for a in (20.0, -20.0))
    low, high = reach(forth, radians(45.0))
    assert high < 0.8 * -low
    other_low, other_high = reach(back, radians(45.0))
    assert -other_low < 0.8 * other_high


def test_ratio_is_the_slope_and_falls_off():
    link = LINKAGES[0]
    assert link.ratio(0.0) == pytest.approx(link.arm / link.horn, rel=0.01)
    assert link.ratio(radians(45.0)) < link.ratio(0.0)


def test_locked_ends_are_infinite():
    assert reach(Linkage(0.020, 0.010, 0.1), radians(60.0)) == (-inf, inf)


def test_holes_use_the_travel():
    """The pair reaches the throw, and with more use of the servo than the pair in use."""
    link, travel, throw = Linkage(0.018, 0.016, 0.1), radians(45.0), radians(20.0)
    arm, horn = holes(link, travel, throw)
    better = link._replace(arm=arm, horn=horn)
    used = better.servo_angle(throw), link.servo_angle(throw)
    print(f"arm {1e3 * arm:.0f}, horn {1e3 * horn:.0f} mm: {np.degrees(used)} of 45 deg")
    assert used[1] < used[0] <= travel
    assert used[0] > 0.93 * travel


def test_rod_that_does_not_reach():
    with pytest.raises(ValueError, match="a rod of 5 mm does not reach"):
        Linkage(0.012, 0.030, 0.005).servo_place()
