"""Frozen description of what a builder saw of the real airframe: bench, trims, launch, dive.

Everything is optional; each figure may say how sure it is (`*_spread`, a standard deviation), and
the usual spreads here are our assumptions (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import radians
from typing import Literal

from pydantic import Field as Key

from firstthrow.sim.describe.decimals import Decimals
from firstthrow.sim.describe.described import Described, Name, Placed
from firstthrow.sim.describe.problems import Problem
from firstthrow.sim.describe.quantities import (
    Angle,
    AngularSpeed,
    Force,
    Fraction,
    Length,
    Mass,
    PositiveCurrent,
    PositiveLength,
    PositiveSpeed,
    PositiveTime,
    SignedSpeed,
    Speed,
    Time,
)
from firstthrow.sim.describe.tables import Table, tables


class Ballast(Placed):
    """Added for these flights, beside what the airframe's file has."""

    mass: Mass


class Balance(Described):
    """Weighed and balanced as it flew, ballast and all."""

    mass: Mass | None = None
    mass_spread: Fraction = 0.01
    cg: Length | None = Key(None, description="aft of the datum")
    cg_spread: PositiveLength = 0.002


class Steady(Described):
    """A stretch of steady flight that the builder had trimmed, sticks let go.

    With `start` and `end` its speed and sink are taken from the log.
    """

    kind: Literal["glide", "level", "climb"] = "level"
    speed: PositiveSpeed | None = None
    speed_spread: Fraction = 0.07
    up_trim: Length | None = Key(None, description="trailing edges up, more than the file's reflex")
    right_trim: Length | None = Key(
        None, description="trailing edge, more than the file's roll trim"
    )
    trim_spread: PositiveLength = 0.0005
    sink: SignedSpeed | None = None
    sink_spread: PositiveSpeed = 0.15
    throttle: Fraction | None = Key(None, description="of a climb: all, when not said")
    throttle_spread: Fraction = 0.05
    current: PositiveCurrent | None = None
    current_spread: Fraction = 0.05
    start: Time | None = Key(None, description="in the log")
    end: Time | None = None


class Static(Described):
    """On the bench, held fast."""

    throttle: Fraction = 1.0
    charge: Fraction | None = Key(None, description="of the pack")
    current: PositiveCurrent | None = None
    current_spread: Fraction = 0.05
    rpm: AngularSpeed | None = None
    rpm_spread: Fraction = 0.03
    thrust: Force | None = None
    thrust_spread: Fraction = 0.05


class Dive(Described):
    """Trimmed to glide, put into a dive, let go: what the nose did in the next second."""

    nose: Literal["pulls up hard", "pulls up", "holds", "tucks"]
    angle: Angle = Key(radians(30.0), description="below the horizon")
    speed: PositiveSpeed | None = Key(None, description="of the glide it was trimmed for")


class HandsOff(Described):
    """A launch with the sticks let go: what it did until `after`."""

    speed: Speed | None = Key(None, description="of the throw, the file's when not said")
    pitch: Angle | None = None
    throttle: Fraction | None = None
    up_trim: Length = Key(0.0, description="in at the launch, more than the file's reflex")
    right_trim: Length = 0.0
    after: PositiveTime = 1.5
    nose: Literal["rose hard", "rose", "held", "dropped", "dropped hard"] | None = None
    bank: Literal["left hard", "left", "level", "right", "right hard"] | None = None


class Spreads(Described):
    """How unsure each quantity was before, as standard deviations."""

    cg: PositiveLength | None = None
    reflex: Angle | None = None
    bow: PositiveLength | None = None
    effect: Fraction | None = None
    twist: Angle | None = None
    thrust_down: Angle | None = None
    thrust_right: Angle | None = None
    propeller: Fraction | None = None
    drag: Fraction | None = None
    wind: PositiveSpeed = Key(2.0, description="either way")


class Column(Described):
    """One column of a telemetry log."""

    name: str
    unit: str = Key(
        "", description='of its numbers, such as "km/h"; "clock" for a time such as 12:34:56.7'
    )


class Log(Described):
    """How to read a telemetry log in CSV; others say it themselves."""

    separator: str = ","
    columns: dict[
        Literal["time", "latitude", "longitude", "height", "airspeed", "current", "throttle"],
        Column,
    ] = Key(default_factory=dict)


class Notes(Described):
    about: str = ""
    date: str = ""
    decimals: Decimals = "point"
    ballast: dict[Name, Ballast] = Key(default_factory=dict)
    balance: Balance = Balance()
    steady: dict[Name, Steady] = Key(default_factory=dict)
    static: dict[Name, Static] = Key(default_factory=dict)
    dive: dict[Name, Dive] = Key(default_factory=dict)
    hands_off: dict[Name, HandsOff] = Key(default_factory=dict)
    spreads: Spreads = Spreads()
    log: Log = Log()


def notes_problems(tree: Table) -> Iterator[Problem]:
    """What does not fit together in notes that are well formed."""
    for name, steady in tables(tree, "steady"):
        for one, other in (("start", "end"), ("end", "start")):
            if one in steady and other not in steady:
                yield ("steady", name, one), f"wanted with '{other}'"
        if steady.get("kind") == "glide" and "throttle" in steady:
            yield ("steady", name, "throttle"), "a glide has the throttle closed: leave it out"
