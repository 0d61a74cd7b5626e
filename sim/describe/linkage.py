"""Servo arm, rod and horn: a four-bar linkage from the servo's angle to the surface's.

Seen from the side, x aft, y towards the horn's side of the sheet, the hinge line at the origin.
The builder makes the rod as long as it takes to have arm and surface at neutral together; what
he measures is the rod, so the servo's distance from the hinge follows from it.
Angles: the surface's is positive when the horn's hole moves ahead (trailing edge up with the
horn above), the servo's when the arm's hole moves ahead.
"""

from __future__ import annotations

from math import acos, asin, atan2, cos, degrees, hypot, inf, pi, sin, sqrt
from typing import NamedTuple

from firstthrow.sim.describe.sheets import Surface
from firstthrow.sim.units import from_mm, mm

LONG = 10.0  # rod over arm when the file says nothing: all but the sine rule
ARM_HOLES = tuple(from_mm(r) for r in (6, 8, 10, 12, 14, 16, 18, 20, 22, 25))
HORN_HOLES = tuple(from_mm(r) for r in (8, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40))


class DoesNotReach(ValueError):
    """A rod, arm or horn that does not reach, at neutral or on the way; the text says why."""


class Linkage(NamedTuple):
    """All [m] and [rad]; see `sim.describe.sheets.Surface` for what each is."""

    arm: float
    horn: float
    rod: float
    servo_up: float = 0.0
    horn_ahead: float = 0.0
    arm_lean: float = 0.0

    def servo_place(self) -> tuple[float, float]:
        """Where the servo's shaft is (x aft of the hinge line, y), x < 0. Raises DoesNotReach when
        the rod is too short to reach."""
        hole_x, hole_y = self._horn_hole(0.0)
        tip_y = self.servo_up + self.arm * cos(self.arm_lean)
        rise = hole_y - tip_y
        if abs(rise) >= self.rod:
            raise DoesNotReach(f"a rod of {mm(self.rod):.0f} mm does not reach from arm to horn")
        ahead = hole_x - sqrt(self.rod**2 - rise**2)
        return ahead + self.arm * sin(self.arm_lean), self.servo_up

    def _horn_hole(self, surface: float) -> tuple[float, float]:
        if abs(self.horn_ahead) >= self.horn:
            raise DoesNotReach("the horn's hole is further ahead of the hinge line than it is long")
        lean = asin(self.horn_ahead / self.horn) + surface
        return -self.horn * sin(lean), self.horn * cos(lean)

    def surface_angle(self, servo: float) -> float:
        """Angle of the surface [rad] for one of the servo; ValueError where the linkage locks."""
        x, y = self.servo_place()
        ground, tilt = hypot(x, y), atan2(-y, -x)
        crank = 0.5 * pi + self.arm_lean + servo - tilt
        rocker = rocker_angles(ground, self.arm, self.rod, self.horn, crank)
        neutral = rocker_angles(ground, self.arm, self.rod, self.horn, crank - servo)
        lean = asin(self.horn_ahead / self.horn) + 0.5 * pi - tilt
        branch = min((0, 1), key=lambda k: abs(_wrapped(neutral[k] - lean)))
        return _wrapped(rocker[branch] - lean)

    def servo_angle(self, surface: float) -> float:
        """Angle of the servo [rad] that puts the surface there: the same linkage from its other
        end. ValueError where no servo can."""
        x, y = self.servo_place()
        ground, tilt = hypot(x, y), atan2(y, x)
        lean = 0.5 * pi + asin(self.horn_ahead / self.horn)
        crank = lean + surface - tilt
        arm = rocker_angles(ground, self.horn, self.rod, self.arm, crank)
        neutral = rocker_angles(ground, self.horn, self.rod, self.arm, crank - surface)
        start = 0.5 * pi + self.arm_lean - tilt
        branch = min((0, 1), key=lambda k: abs(_wrapped(neutral[k] - start)))
        return _wrapped(arm[branch] - start)

    def ratio(self, servo: float) -> float:
        """Surface angle over servo angle there, for small ones; torque goes the other way."""
        step = 1e-5
        return (self.surface_angle(servo + step) - self.surface_angle(servo - step)) / (2.0 * step)


def rocker_angles(
    ground: float, crank: float, coupler: float, rocker: float, angle: float
) -> tuple[float, float]:
    """Both angles of the rocker [rad] of a four-bar linkage for an angle of its crank.

    Angles from the ground link, which points from the crank's pivot to the rocker's; lengths in
    any one unit. Raises DoesNotReach where the linkage cannot be assembled.
    Source: Freudenstein, "An analytical approach to the design of four-link mechanisms", Trans.
    ASME 76, 1954: K1 cos(rocker) - K2 cos(crank) + K3 = cos(crank - rocker), solved as
    A cos + B sin = C.
    """
    k1, k2 = ground / crank, ground / rocker
    k3 = (crank**2 - coupler**2 + rocker**2 + ground**2) / (2.0 * crank * rocker)
    a, b, c = k1 - cos(angle), -sin(angle), k2 * cos(angle) - k3
    size = hypot(a, b)
    if abs(c) > size:
        raise DoesNotReach(f"the linkage locks before the arm is at {degrees(angle):.0f} deg")
    middle, apart = atan2(b, a), acos(c / size)
    return _wrapped(middle + apart), _wrapped(middle - apart)


def linkage(surface: Surface) -> Linkage:
    """The linkage of a surface; a long rod when its file gives none."""
    rod = surface.rod or LONG * surface.arm
    return Linkage(
        surface.arm, surface.horn, rod, surface.servo_up, surface.horn_ahead, surface.arm_lean
    )


def horn_for(arm: float, servo: float, surface: float) -> float:
    """Horn [m] that turns the servo's whole angle into the surface's: the sine rule.

    Source: hobby practice, r_horn = r_arm sin(servo) / sin(surface); a long rod, square at neutral.
    """
    return arm * sin(servo) / sin(surface)


def reach(link: Linkage, travel: float) -> tuple[float, float]:
    """Surface angles [rad] at the servo's ends, the lower and the upper one; where the linkage
    locks before that, infinite."""
    ends = []
    for servo in (-travel, travel):
        try:
            ends.append(link.surface_angle(servo))
        except ValueError:
            ends.append(inf if servo > 0.0 else -inf)
    return ends[0], ends[1]


def holes(link: Linkage, travel: float, wanted: float) -> tuple[float, float] | None:
    """Arm and horn hole [m], of those that parts have, that use most of the servo's travel [rad]
    while both ends still reach the wanted surface angle [rad]; None when no pair does.

    Of pairs that use it equally well, within 2 %, the one nearest the holes in use.
    """
    found = []
    for arm in ARM_HOLES:
        for horn in HORN_HOLES:
            trial = link._replace(arm=arm, horn=horn, rod=max(link.rod, 1.5 * arm))
            used = _used(trial, travel, wanted)
            if used is not None:
                change = abs(arm - link.arm) + abs(horn - link.horn)
                found.append((-round(used / 0.02), change, arm, horn))
    return min(found)[2:] if found else None


def _used(link: Linkage, travel: float, wanted: float) -> float | None:
    """Share of the servo's travel that the wanted angle takes; None when it is not reached."""
    try:
        return _share(max(link.servo_angle(wanted), -link.servo_angle(-wanted)), travel)
    except ValueError:
        return None


def _share(servo: float, travel: float) -> float | None:
    return servo / travel if 0.0 < servo <= travel else None


def _wrapped(angle: float) -> float:
    return (angle + pi) % (2.0 * pi) - pi
