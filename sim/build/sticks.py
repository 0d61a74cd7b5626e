"""Sticks to channels: rates, expo, mixing, reflex, trims, limits, as the airframe file has them.

`mixer` lays the definition out once as a small table; `Mixer.command` reads it, some ten
microseconds a call, as often as a flight wants. Flight, reports and bench sheet all go through it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import SurfaceSpan, area, pieces, surface_spans
from firstthrow.sim.describe.airframe import Airframe, Rates, Surface
from firstthrow.sim.kernels.layout import COMMAND_SIZE, COMMAND_THROTTLE, MAX_MOTORS

PITCHES = ("elevon", "elevator", "ruddervator")  # roles that take each stick
ROLLS = ("elevon", "aileron", "flaperon")
YAWS = ("rudder", "ruddervator")
IDLE = 0.1  # throttle below which differential thrust fades, so that closed is closed


class Sticks(NamedTuple):
    """Roll, pitch, yaw in -1..1 (right, back, right are positive); throttle in 0..1."""

    roll: float = 0.0
    pitch: float = 0.0
    yaw: float = 0.0
    throttle: float = 0.0
    low_rates: bool = False


class Channel(NamedTuple):
    """What moves one surface: shares of nose-up, right-roll and nose-right angle, each +-1 or 0,
    angles [rad] at full roll, pitch, yaw stick and throttle by the free table, limits [rad]."""

    nose_up: float
    roll: float
    yaw: float
    roll_to_yaw: float
    neutral: float  # [rad]
    free: tuple[float, float, float, float]
    sign: float
    low: float
    high: float


class Mixer(NamedTuple):
    high: tuple[float, float, float]  # angle at full roll, pitch, yaw stick [rad]
    low: tuple[float, float, float]
    expo: tuple[float, float, float]
    sense: tuple[float, float, float]  # -1 where a stick is the wrong way round
    trim: tuple[float, float, float]  # roll trim, reflex, yaw trim [rad]
    down_going: float  # 1 - differential
    channels: tuple[Channel, ...]
    takes: tuple[int, ...]  # whose command each surface gets: its own, unless swapped
    motor_yaw: tuple[float, ...]
    motor_free: tuple[tuple[float, float, float, float], ...]

    def angles(self, sticks: Sticks, limited: bool = True) -> list[float]:
        """Angle asked of each surface [rad], in slot order; within its limits unless told not to.

        Trailing edge down (flat) or left (upright) is positive, so pulling back and
        reflex are negative (positive ahead, on a canard), and nose right is negative on a
        rudder.
        """
        rate = self.low if sticks.low_rates else self.high
        moved = [
            sense * ((1.0 - e) * x + e * x * x * x)
            for x, e, sense in zip(sticks[:3], self.expo, self.sense, strict=True)
        ]
        roll, nose_up, yaw = (
            x * most + trim for x, most, trim in zip(moved, rate, self.trim, strict=True)
        )
        drag_along = self.sense[0] * sticks.roll * rate[2]
        asked = []
        for channel in self.channels:
            share = channel.roll * roll
            angle = channel.neutral - channel.nose_up * nose_up + channel.yaw * yaw
            angle += share * self.down_going if share > 0.0 else share
            angle += channel.roll_to_yaw * drag_along
            f = channel.free
            angle += f[0] * moved[0] + f[1] * moved[1] + f[2] * moved[2] + f[3] * sticks.throttle
            angle *= channel.sign
            asked.append(min(max(angle, channel.low), channel.high) if limited else angle)
        return [asked[k] for k in self.takes]

    @property
    def pitch_sense(self) -> float:
        """-1 where the surface that takes pitch lies ahead and moves down for nose up, else 1."""
        return next((c.nose_up for c in self.channels if c.nose_up), 1.0)

    def throttles(self, sticks: Sticks) -> list[float]:
        """Throttle of each motor, 0..1. With the stick closed no mix starts a motor."""
        middle = min(max(sticks.throttle, 0.0), 1.0)
        running = min(1.0, middle / IDLE)
        found = []
        for side, free in zip(self.motor_yaw, self.motor_free, strict=True):
            more = side * self.sense[2] * sticks.yaw + free[0] * sticks.roll
            more += free[1] * sticks.pitch + free[2] * sticks.yaw + free[3] * middle
            found.append(min(max(middle + running * more, 0.0), 1.0))
        return found

    def command(self, sticks: Sticks) -> np.ndarray:
        """(COMMAND_SIZE,) surface angles asked [rad] and the throttle of each motor."""
        asked = np.zeros(COMMAND_SIZE)
        angles = self.angles(sticks)
        asked[: len(angles)] = angles
        asked[COMMAND_THROTTLE : COMMAND_THROTTLE + MAX_MOTORS] = self.throttles(sticks)
        return asked


def mixer(airframe: Airframe) -> Mixer:
    """The airframe's mixing as a table, to be built once and used for every reading."""
    mixing, spans = airframe.mixing, surface_spans(airframe)
    motors, ahead = list(airframe.motors.items()), _ahead(airframe)
    takes = [span.slot for span in spans]
    if mixing.swapped:
        for span in spans:
            takes[span.slot] = _other_side(span, spans).slot
    return Mixer(
        *((rate.roll, rate.pitch, rate.yaw) for rate in (mixing.high, mixing.low, mixing.expo)),
        tuple(-1.0 if stick in mixing.reversed else 1.0 for stick in ("roll", "pitch", "yaw")),
        (mixing.roll_trim, mixing.reflex + airframe.corrections.reflex, mixing.yaw_trim),
        1.0 - mixing.differential,
        tuple(_channel(airframe, span, span.slot in ahead) for span in spans),
        tuple(takes),
        tuple(-np.sign(motor.right) * mixing.yaw_to_throttle for _, motor in motors)
        + (0.0,) * (MAX_MOTORS - len(motors)),
        tuple(_free_motor(airframe, name) for name, _ in motors)
        + ((0.0,) * 4,) * (MAX_MOTORS - len(motors)),
    )


def _ahead(airframe: Airframe) -> set[int]:
    """Slots of surfaces hinged ahead of the middle of the flat sheets: trailing edge up, they
    put the nose down."""
    found = pieces(airframe)
    flat = [piece for piece in found if abs(piece.normal[2]) > 0.5]
    size = sum(area(piece.corners) for piece in flat)
    middle = sum(area(piece.corners) * piece.corners[:, 0].mean() for piece in flat)
    return {p.surface for p in flat if p.surface >= 0 and p.hinge[:, 0].mean() * size < middle}


def _channel(airframe: Airframe, span: SurfaceSpan, ahead: bool) -> Channel:
    """V-tails: to swing the nose right, the force on the tail must point left. A panel's
    downward surface pushes along its normal, and a right panel with dihedral leans left."""
    sheet = airframe.sheets[span.sheet]
    surface, role = sheet.surfaces[span.surface], sheet.surfaces[span.surface].role
    right = -1.0 if span.side == "left" else 1.0
    yaw = {"rudder": -1.0, "ruddervator": right * (1.0 if sheet.dihedral >= 0.0 else -1.0)}
    up = min(surface.travel, surface.most_up or surface.travel)
    down = min(surface.travel, surface.most_down or surface.travel)
    return Channel(
        (-1.0 if ahead else 1.0) * (role in PITCHES),
        -right if role in ROLLS else 0.0,
        yaw.get(role, 0.0),
        yaw.get(role, 0.0) * airframe.mixing.roll_to_yaw,
        airframe.mixing.droop if role == "flaperon" else 0.0,
        _free(airframe, span, right),
        -1.0 if reversed_on(surface, span.side) else 1.0,
        -up,
        down,
    )


def reversed_on(surface: Surface, side: str) -> bool:
    """Whether the surface on this side moves the wrong way."""
    own = {"left": surface.reversed_left, "right": surface.reversed_right}.get(side, False)
    return surface.reversed != own


def _other_side(span: SurfaceSpan, spans: tuple[SurfaceSpan, ...]) -> SurfaceSpan:
    same = [s for s in spans if (s.sheet, s.surface) == (span.sheet, span.surface)]
    return next((s for s in same if s.side != span.side), span)


def _free(airframe: Airframe, span: SurfaceSpan, right: float) -> tuple[float, ...]:
    """Angle of a surface at full roll, pitch, yaw stick and throttle by the free table [rad]."""
    found = dict.fromkeys(("roll", "pitch", "yaw", "throttle"), 0.0)
    for mix in airframe.mixing.also.values():
        if mix.moves in (span.name, span.surface):
            found[mix.stick] += mix.angle * (right if mix.opposite else 1.0)
    return tuple(found.values())


def _free_motor(airframe: Airframe, name: str) -> tuple[float, ...]:
    found = dict.fromkeys(("roll", "pitch", "yaw", "throttle"), 0.0)
    for mix in airframe.mixing.also.values():
        if mix.moves == name:
            found[mix.stick] += mix.share
    return tuple(found.values())


def expo(stick: float, fraction: float) -> float:
    """Soften the middle of a stick: (1 - e) x + e x^3. Common practice, no source."""
    return (1.0 - fraction) * stick + fraction * stick**3


def rates(airframe: Airframe, sticks: Sticks) -> Rates:
    return airframe.mixing.low if sticks.low_rates else airframe.mixing.high


def surface_angles(airframe: Airframe, sticks: Sticks) -> np.ndarray:
    """(surfaces,) `Mixer.angles` of an airframe, for a single question."""
    return np.array(mixer(airframe).angles(sticks))


def command(airframe: Airframe, sticks: Sticks) -> np.ndarray:
    """(COMMAND_SIZE,) `Mixer.command` of an airframe, for a single question."""
    return mixer(airframe).command(sticks)
