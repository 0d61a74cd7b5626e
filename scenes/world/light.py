"""The light of a day's times and of a covered sky: where the sun stands, its colours. Pure.

Colours are as shown (sRGB); those of light multiply what they fall on.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

Colour = tuple[float, float, float]


class Light(NamedTuple):
    bearing: float  # [deg] of the sun, clockwise from where the pilot faces: behind a shoulder
    height: float  # [deg] of the sun
    sun: Colour  # on what faces it
    above: Colour  # on what faces the sky
    below: Colour  # on what faces the ground
    haze: Colour  # at the horizon
    zenith: Colour
    glow: Colour  # of the sky round the sun
    base: Colour  # of clouds
    crown: Colour
    clouds: float  # how dense they are, 0..1
    shadow: float  # how dark it is, 0..1

    def towards(self, heading: float) -> np.ndarray:
        """Unit vector to the sun, field axes, for a pilot who faces `heading` [rad]."""
        bearing, height = heading + math.radians(self.bearing), math.radians(self.height)
        level = math.cos(height)
        return np.array([level * math.cos(bearing), level * math.sin(bearing), -math.sin(height)])

    @property
    def cast(self) -> np.ndarray:
        """(ahead, right) [m] that the shadow of what is 1 m tall reaches, where the pilot faces."""
        bearing, height = math.radians(self.bearing), math.radians(self.height)
        return -np.array([math.cos(bearing), math.sin(bearing)]) / math.tan(height)

    @property
    def on_grass(self) -> np.ndarray:
        """(3,) light on level ground, held against that of noon."""
        return self.falls_level / NOON.falls_level

    @property
    def falls_level(self) -> np.ndarray:
        return np.array(self.above) + math.sin(math.radians(self.height)) * np.array(self.sun)


NOON = Light(
    bearing=-142.0,
    height=48.0,
    sun=(0.52, 0.48, 0.38),
    above=(0.56, 0.62, 0.70),
    below=(0.40, 0.42, 0.36),
    haze=(0.80, 0.86, 0.88),
    zenith=(0.16, 0.40, 0.72),
    glow=(0.74, 0.68, 0.52),
    base=(0.60, 0.66, 0.74),
    crown=(1.0, 0.99, 0.97),
    clouds=0.9,
    shadow=0.62,
)
LIGHTS = {
    "morning": NOON._replace(
        bearing=-118.0,
        height=20.0,
        sun=(0.66, 0.54, 0.36),
        above=(0.64, 0.70, 0.76),
        haze=(0.90, 0.89, 0.82),
        zenith=(0.28, 0.52, 0.76),
        glow=(0.90, 0.76, 0.48),
        base=(0.66, 0.66, 0.72),
        crown=(1.0, 0.96, 0.88),
        clouds=0.6,
        shadow=0.50,
    ),
    "noon": NOON,
    "evening": NOON._replace(
        bearing=124.0,
        height=13.0,
        sun=(0.86, 0.58, 0.30),
        above=(0.64, 0.62, 0.62),
        below=(0.40, 0.37, 0.32),
        haze=(0.96, 0.80, 0.62),
        zenith=(0.24, 0.36, 0.62),
        glow=(1.0, 0.62, 0.28),
        base=(0.56, 0.50, 0.58),
        crown=(1.0, 0.84, 0.66),
        clouds=0.8,
        shadow=0.45,
    ),
    "overcast": NOON._replace(
        sun=(0.10, 0.10, 0.10),
        above=(0.72, 0.74, 0.77),
        below=(0.42, 0.43, 0.42),
        haze=(0.78, 0.80, 0.81),
        zenith=(0.58, 0.61, 0.65),
        glow=(0.10, 0.10, 0.10),
        base=(0.56, 0.58, 0.62),
        crown=(0.80, 0.81, 0.83),
        clouds=0.40,
        shadow=0.22,
    ),
}
