"""Frozen description of where one flies: ground, air, wind."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key

from firstthrow.sim.describe.decimals import Decimals
from firstthrow.sim.describe.described import Coefficient, Described, Paragraph, Words
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
    elevation: Elevation = Key(0.0, description="above sea level", examples=["120 m"])
    radius: Distance = Key(
        description="flown beyond this, the airframe has left the field", examples=["150 m"]
    )
    friction: Coefficient = Key(0.5, description="of foam on the turf")


class Wind(Described):
    """Steady wind, given at 10 m, with a logarithmic profile below and above."""

    speed: WindSpeed = Key(0.0, description="at 10 m")
    from_bearing: Angle = Key(0.0, description="where it comes from, clockwise from north")
    roughness: Roughness = Key(
        0.03, description="of the land upwind: grass 30 mm, hedges and houses 300 mm"
    )


class Pulse(Described):
    """One gust that swells and dies as 1 - cos."""

    speed: WindSpeed = Key(0.0, description="horizontal, at its height")
    from_bearing: Angle = Key(0.0, description="where it comes from, clockwise from north")
    up: SignedWind = Key(0.0, description="a negative one blows down")
    start: Time = Key(description="after the release", examples=["2 s"])
    lasts: PositiveTime = Key(description="from its first breath to its last", examples=["1.5 s"])


class Gusts(Described):
    """Turbulence by the low-altitude model, scaled by the wind at 6 m (20 ft)."""

    wind_at_6_m: WindSpeed = Key(0.0, description="the wind that stirs them, 0 for none")
    pulse: Pulse | None = Key(None, description="one gust on top")


class Field(Described):
    name: Words = Key(description="what reports call it", examples=["common"])
    about: Paragraph = Key(
        description="one line on what it is", examples=["mown grass, hedge to the west"]
    )
    decimals: Decimals = "point"
    temperature: Temperature | None = Key(
        None, description="without it the standard one at that elevation"
    )
    ground: Ground = Key(description="the grass")
    wind: Wind = Key(Wind(), description="that blows all the time")
    gusts: Gusts = Key(Gusts(), description="that come and go")
    heading: Angle = Key(0.0, description="which way the pilot faces and the launch goes")
    light: Literal["morning", "noon", "evening", "overcast"] = Key(
        "noon", description="the picture's; nothing that flies feels it"
    )


STANDARD = Field(
    name="standard", about="sea level, 15 C, still air", ground=Ground(radius="1000 m")
)
