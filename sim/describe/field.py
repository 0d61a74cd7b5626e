"""Frozen description of where one flies: ground, air, wind."""

from __future__ import annotations

from pydantic import Field as Key

from firstthrow.sim.describe.decimals import Decimals
from firstthrow.sim.describe.described import Coefficient, Described
from firstthrow.sim.describe.quantities import (
    Angle,
    Distance,
    Elevation,
    PositiveTime,
    Roughness,
    SignedWind,
    Temperature,
    Time,
    WindSpeed,
)


class Ground(Described):
    elevation: Elevation = Key(0.0, description="above sea level")
    radius: Distance = Key(description="flown beyond this, the airframe has left the field")
    friction: Coefficient = Key(0.5, description="of foam on the turf")


class Wind(Described):
    """Steady wind, given at 10 m, with a logarithmic profile below and above."""

    speed: WindSpeed = 0.0
    from_bearing: Angle = Key(0.0, description="where it comes from, clockwise from north")
    roughness: Roughness = 0.03


class Pulse(Described):
    """One gust that swells and dies as 1 - cos."""

    speed: WindSpeed = Key(0.0, description="horizontal, at its height")
    from_bearing: Angle = 0.0
    up: SignedWind = Key(0.0, description="a negative one blows down")
    start: Time = Key(description="after the release")
    lasts: PositiveTime


class Gusts(Described):
    """Turbulence by the low-altitude model, scaled by the wind at 6 m (20 ft)."""

    wind_at_6_m: WindSpeed = 0.0
    pulse: Pulse | None = None


class Field(Described):
    name: str
    about: str
    decimals: Decimals = "point"
    temperature: Temperature | None = Key(
        None, description="without it the standard one at that elevation"
    )
    ground: Ground
    wind: Wind = Wind()
    gusts: Gusts = Gusts()
    heading: Angle = Key(0.0, description="which way the pilot faces and the launch goes")


STANDARD = Field(
    name="standard", about="sea level, 15 C, still air", ground=Ground(radius="1000 m")
)
