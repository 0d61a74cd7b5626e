"""What the air asks of every servo: hinge moments, torque, blow-back, currents, play, buzz."""

from __future__ import annotations

from math import cos, degrees, inf, radians, sin, sqrt
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import SurfaceSpan
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.drive import Servo
from firstthrow.sim.describe.linkage import linkage
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.layout import HINGE
from firstthrow.sim.kernels.root import crossing
from firstthrow.sim.kernels.servo import EASE
from firstthrow.sim.study.ratings import Fit
from firstthrow.sim.study.subject import Subject

DIVE = 1.2  # times the fastest level speed
GLIDER_DIVE = 3.5  # times the stall speed, with no motor
ENOUGH = 2.0  # servo torque over the worst hinge moment, common practice, no source
PLAY = radians(1.0)  # of a surface, beyond which flutter is a worry, common practice, no source

CORNERS = {
    "neutral": (0.0, 0.0, 0.0),
    "back": (0.0, 1.0, 0.0),
    "forward": (0.0, -1.0, 0.0),
    "left": (-1.0, 0.0, 0.0),
    "right": (1.0, 0.0, 0.0),
    "back and left": (-1.0, 1.0, 0.0),
    "back and right": (1.0, 1.0, 0.0),
    "forward and left": (-1.0, -1.0, 0.0),
    "forward and right": (1.0, -1.0, 0.0),
    "yaw left": (0.0, 0.0, -1.0),
    "yaw right": (0.0, 0.0, 1.0),
}  # roll, pitch, yaw


class Held(NamedTuple):
    """One surface held at the corner of the sticks that loads it most, at one airspeed."""

    corner: str
    angle: float  # of the surface, trailing edge down [rad]
    hinge: float  # [N m], size
    torque: float  # asked of the servo [N m]


class Load(NamedTuple):
    """One surface over all it does."""

    name: str
    held: dict[str, Held]  # by "launch", "level", "dive"
    available: float  # stall torque of the servo [N m]
    blow_back: float  # airspeed [m/s] at which it is pushed back to half its largest throw
    play: float  # of the surface [rad]
    buzz: bool  # in level flight, sticks in the middle
    verdict: Fit


class Loads(NamedTuple):
    speeds: dict[str, float]  # [m/s]
    surfaces: tuple[Load, ...]
    held: float  # current of all servos at the worst corner of a dive [A]
    stalled: float  # of all servos stalled [A]


def speeds(subject: Subject) -> dict[str, float]:
    return {
        "launch": subject.launch_speed,
        "level": subject.cruise,
        "dive": _dive(subject.model, subject.stall_speed),
    }


def _dive(model: Model, slow: float) -> float:
    """Somewhat faster than full throttle takes it in level flight, where drag, at no incidence,
    is all there is to overcome [m/s]."""

    def spare(speed: float) -> float:
        return equilibrium(model, 1.0, speed).thrust + air_load(model, _air(speed, 0.0))[0][0]

    if model.record.n_motors == 0 or spare(slow) <= 0.0:
        return GLIDER_DIVE * slow
    fast = slow
    while spare(fast) > 0.0:
        fast *= 1.3
    return DIVE * crossing(spare, slow, fast, 0.01)


def level_alpha(model: Model, speed: float) -> float:
    """Angle of attack [rad] that carries the weight, surfaces neutral; 12 degrees at most."""
    weight = model.record.mass * model.record.gravity

    def short(alpha: float) -> float:
        return -air_load(model, _air(speed, alpha))[0][2] - weight

    low, high = radians(-10.0), radians(12.0)
    return high if short(high) <= 0.0 else crossing(short, low, high, 1e-5)


def _air(speed: float, alpha: float) -> np.ndarray:
    return -speed * np.array([cos(alpha), 0.0, sin(alpha)])


def hinges(model: Model, speed: float, alpha: float, angles) -> np.ndarray:
    """(surfaces,) hinge moments, trailing edge up [N m], no slipstream."""
    _, report = air_load(model, _air(speed, alpha), surfaces=angles)
    return report[HINGE : HINGE + model.record.n_surfaces]


def servo_current(servo, share: float) -> float:
    """Current [A] at a share of the stall torque: straight from idle to stall (see `servo`)."""
    return servo.idle_current + min(1.0, share) * (servo.stall_current - servo.idle_current)


def blow_back(model: Model, slot: int, angles) -> float:
    """Airspeed [m/s] at which the surface, sent to its angle of `angles`, stays at half of it.

    Beyond a few degrees of error a servo gives all its torque (see `servo`), and the moment grows
    with the square of the speed. At no incidence. Infinite when the air does not push it back.
    """
    half = 0.5 * np.asarray(angles)
    pushed = hinges(model, 10.0, 0.0, half)[slot] * np.sign(half[slot])
    error = max(0.0, abs(half[slot]) - model.record.servo_band[slot])
    torque = model.record.servo_torque[slot] * min(1.0, error / EASE)
    return 10.0 * sqrt(torque / pushed) if pushed > 0.0 else inf


def loads(subject: Subject) -> Loads:
    """Every surface at every corner of the sticks, at launch, in level flight and in a dive."""
    model, at = subject.model, speeds(subject)
    asked = {name: subject.mixer.angles(Sticks(*corner)) for name, corner in CORNERS.items()}
    found: dict[str, dict[str, np.ndarray]] = {}
    for when, speed in at.items():
        alpha = level_alpha(model, speed)
        found[when] = {name: hinges(model, speed, alpha, a) for name, a in asked.items()}
    surfaces = tuple(_surface(subject, span, asked, found) for span in subject.surfaces)
    held = max(supply_current(subject, hinge) for hinge in found["dive"].values())
    stalled = sum(
        servo_share(span) * _servo(subject.airframe, span).stall_current
        for span in subject.surfaces
    )
    return Loads(at, surfaces, float(held), float(stalled))


def supply_current(subject: Subject, hinge: np.ndarray) -> float:
    """Current of all servos [A] that hold these hinge moments [N m]."""
    torque = subject.model.record.servo_torque
    return sum(
        servo_share(span)
        * servo_current(_servo(subject.airframe, span), abs(hinge[span.slot]) / torque[span.slot])
        for span in subject.surfaces
    )


def level_currents(subject: Subject) -> tuple[float, float]:
    """Current of all servos [A] in level flight at the slowest safe speed, sticks in the middle and
    at the worst corner."""
    model, speed = subject.model, subject.slowest_safe
    alpha = level_alpha(model, speed)
    asked = [subject.mixer.angles(Sticks(*corner)) for corner in CORNERS.values()]
    found = [supply_current(subject, hinges(model, speed, alpha, angles)) for angles in asked]
    return found[0], max(found)


def _servo(airframe: Airframe, span: SurfaceSpan) -> Servo:
    return airframe.servos[span.described.servo]


def servo_share(span: SurfaceSpan) -> float:
    """Share of a servo that moves this surface: half when both sides are joined."""
    return 0.5 if span.described.joined and span.side else 1.0


def _surface(subject: Subject, span: SurfaceSpan, asked, found) -> Load:
    model, surface, slot = subject.model, span.described, span.slot
    servo, link = _servo(subject.airframe, span), linkage(surface)
    held = {}
    for when, by_corner in found.items():
        corner = max(by_corner, key=lambda name: abs(by_corner[name][slot]))
        angle, hinge = asked[corner][slot], abs(float(by_corner[corner][slot]))
        held[when] = Held(corner, angle, hinge, hinge * _ratio(link, angle))
    most = max(asked, key=lambda name: abs(asked[name][slot]))
    need = max(h.torque for h in held.values())
    available = servo.torque * servo_share(span)
    neutral = abs(found["level"]["neutral"][slot]) / model.record.servo_torque[slot]
    return Load(
        span.name,
        held,
        available,
        blow_back(model, slot, asked[most]),
        (servo.slop * surface.arm + surface.slop) / surface.horn,
        bool(neutral * EASE > model.record.servo_band[slot]),
        Fit.OK if available >= ENOUGH * need else Fit.TIGHT if available >= need else Fit.OVER,
    )


def _ratio(link, angle: float) -> float:
    """Surface angle over servo angle with the surface there; at neutral if it cannot be."""
    try:
        return link.ratio(link.servo_angle(-angle))
    except ValueError:
        return link.ratio(0.0)


def words(load: Load) -> list[str]:
    """Cautions about one surface, each a sentence."""
    found = []
    if load.verdict is not Fit.OK:
        need = max(h.torque for h in load.held.values())
        found.append(
            f"the servo gives {load.available / need:.1f} times the torque that a dive "
            f"asks; {ENOUGH:.0f} times is wanted (common practice)"
        )
    if load.play > PLAY:
        found.append(
            f"{degrees(load.play):.1f} deg of play: flutter when fast; take it up (common practice)"
        )
    if load.buzz:
        found.append("the servo buzzes in level flight: the air's load is more than its dead band")
    return found
