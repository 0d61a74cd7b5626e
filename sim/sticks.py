"""Sticks to channels: rates, expo, mixing, reflex and trims, as the airframe file sets them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sim.airframe import Airframe, Rates
from sim.shape import surface_spans
from sim.state import COMMAND_SIZE, COMMAND_THROTTLE, MAX_MOTORS


class Sticks(NamedTuple):
    """Roll, pitch, yaw in -1..1 (right, back, right are positive); throttle in 0..1."""

    roll: float = 0.0
    pitch: float = 0.0
    yaw: float = 0.0
    throttle: float = 0.0
    low_rates: bool = False


def expo(stick: float, fraction: float) -> float:
    """Soften the middle of a stick: (1 - e) x + e x^3. Common practice, no source."""
    return (1.0 - fraction) * stick + fraction * stick**3


def rates(airframe: Airframe, sticks: Sticks) -> Rates:
    return airframe.mixing.low if sticks.low_rates else airframe.mixing.high


def surface_angles(airframe: Airframe, sticks: Sticks) -> np.ndarray:
    """Angle asked of each surface [rad], in slot order, within its mechanical travel.

    Trailing edge down (flat) or left (upright) is positive, so pulling back and
    reflex are negative, and nose right is negative on a rudder.
    """
    mixing, rate = airframe.mixing, rates(airframe, sticks)
    nose_up = expo(sticks.pitch, mixing.expo.pitch) * rate.pitch + mixing.reflex
    roll = expo(sticks.roll, mixing.expo.roll) * rate.roll + mixing.roll_trim
    yaw = expo(sticks.yaw, mixing.expo.yaw) * rate.yaw + mixing.yaw_trim
    spans = surface_spans(airframe)
    angles = np.zeros(len(spans))
    for span in spans:
        surface = airframe.sheets[span.sheet].surfaces[span.surface]
        angle = 0.0
        if surface.role in ("elevon", "elevator"):
            angle -= nose_up
        if surface.role in ("elevon", "aileron"):
            share = roll if span.side == "left" else -roll
            angle += share * (1.0 - mixing.differential) if share > 0.0 else share
        if surface.role == "rudder":
            angle -= yaw + getattr(mixing, "roll_to_yaw", 0.0) * sticks.roll * rate.yaw
        if surface.reversed:
            angle = -angle
        angles[span.slot] = min(max(angle, -surface.travel), surface.travel)
    return angles


def command(airframe: Airframe, sticks: Sticks) -> np.ndarray:
    """(COMMAND_SIZE,) surface angles asked [rad] and the throttle of each motor."""
    asked = np.zeros(COMMAND_SIZE)
    angles = surface_angles(airframe, sticks)
    asked[: angles.size] = angles
    asked[COMMAND_THROTTLE : COMMAND_THROTTLE + MAX_MOTORS] = min(max(sticks.throttle, 0.0), 1.0)
    return asked
