"""The flight a pilot means to make with an airframe: attitudes, throttles, lines over the field.

Worked out from the airframe's own trims, for `kernels.circuit` to fly by. Sizes of the circuit
are common practice, no source; they shrink with the field.
"""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.speeds import APPROACH, CRUISE, SLOWEST_SAFE, stall_speed
from firstthrow.sim.flight.trims import Kind, Trim, Untrimmed, trims
from firstthrow.sim.kernels.circuit import MOST_BANK
from firstthrow.sim.kernels.layout import ATTITUDE
from firstthrow.sim.kernels.rotation import angles
from firstthrow.sim.units import GRAVITY

CLIMB_AIM = float(np.radians(10.0))  # attitude held after the launch
HEIGHT = 15.0  # to fly at [m]
FAR, WIDTH = 0.26, 0.12  # of the field's radius: the legs' length ahead, and between them
TURNS = 2.2  # radii of a turn between the legs, at least
FARTHEST = 0.6  # of the field's radius, behind the launch before landing
TOUCH = 25.0  # ahead of the launch, where it is meant to land [m]
SHALLOW = 0.45  # of the glide's slope on the way home: the throttle has some to give and to take
UNKNOWN_SLOPE, UNKNOWN_NOSE = 0.25, -0.05  # where it has no glide
FLARE_TIME = 1.5  # before the ground, by the sink on the way home [s]
LEAST_FLARE = 0.8  # [m]


def meant(hands: np.record, model: Model, airframe: Airframe, used_to: tuple) -> None:
    """Fill what is wanted of the flight into HANDS; its `throttle` is there already.

    `used_to`: model and airframe that the pilot has the habits of; `model` is what is flown.
    """
    speed = stall_speed(model, airframe)
    level, glide, slow = _steady(*used_to)
    hands.speed_seen = hands.height_seen = 1.0
    hands.stall_speed = speed
    hands.stands = _stands(model)
    hands.climb_pitch = CLIMB_AIM
    hands.level_throttle = hands.throttle
    hands.level_pitch = CLIMB_AIM
    hands.home_pitch, slope = UNKNOWN_NOSE, UNKNOWN_SLOPE
    if isinstance(glide, Trim):
        slope = float(np.tan(np.arcsin(np.clip(glide.sink / glide.airspeed_m_s, 0.02, 0.9))))
        if isinstance(slow, Trim):
            hands.flare_stick = max(0.0, slow.sticks.pitch - glide.sticks.pitch)
        hands.home_pitch = _nose(glide) + np.arctan(slope) - np.arctan(SHALLOW * slope)
    if isinstance(level, Trim):
        hands.level_throttle, hands.level_pitch = level.throttle, _nose(level)
    elif not airframe.motors and isinstance(glide, Trim):
        hands.climb_pitch = hands.level_pitch = hands.home_pitch = _nose(glide)
    raised = hands["level_pitch"].item() * (CRUISE / SLOWEST_SAFE) ** 2
    hands.flare_pitch = max(raised, hands["home_pitch"].item())
    hands.home_slope = SHALLOW * slope
    # Thrust goes about with the square of the throttle.
    hands.home_throttle = np.sqrt(1.0 - SHALLOW) * hands.level_throttle
    hands.flare_height = max(LEAST_FLARE, FLARE_TIME * APPROACH * speed * hands.home_slope)
    _lines(hands, float(model.record.field_radius))


def _steady(model: Model, airframe: Airframe) -> list[Trim | Untrimmed]:
    """Level flight at the cruise, the glide at the approach and at the slowest safe speed."""
    speed = stall_speed(model, airframe)
    level = trims(model, airframe, [CRUISE * speed], (Kind.LEVEL,))
    glides = trims(model, airframe, [APPROACH * speed, SLOWEST_SAFE * speed], (Kind.GLIDE,))
    return [*level, glides[1], glides[0]]


def _nose(trim: Trim) -> float:
    """Its pitch attitude [rad]."""
    return float(angles(*trim.state[ATTITUDE : ATTITUDE + 4])[1])


def _stands(model: Model) -> float:
    """How far the lowest point hangs below the centre of gravity, level [m]."""
    m = model.record
    return float(max(0.0, m.contact_place[: m.n_contacts, 2].max(initial=0.0)))


def _lines(hands: np.record, radius: float) -> None:
    """Where the legs lie [m], in a field of this radius."""
    turn = (CRUISE * hands.stall_speed) ** 2 / (GRAVITY * np.tan(MOST_BANK))
    hands.height = min(HEIGHT, 0.2 * radius)
    hands.far = FAR * radius
    hands.width = max(WIDTH * radius, TURNS * turn)
    hands.reach = max(2.5 * turn, 0.1 * radius)
    hands.touch = min(TOUCH, 0.1 * radius)
    hands.back = 0.1 * radius
    descent = hands.height / hands.home_slope - hands.touch
    hands.home = min(max(hands.back, descent), FARTHEST * radius - turn)
