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
from firstthrow.sim.describe.described import Described, Name, Paragraph, Placed, Words
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

    mass: Mass = Key(description="of the piece", examples=["15 g"])


class Balance(Described):
    """Weighed and balanced as it flew, ballast and all."""

    mass: Mass | None = Key(None, description="of all that flew", examples=["415 g"])
    mass_spread: Fraction = Key(0.01, description="how sure the scale is")
    cg: Length | None = Key(None, description="aft of the datum", examples=["96 mm"])
    cg_spread: PositiveLength = Key(0.002, description="how sure the balance is")


class Steady(Described):
    """A stretch of steady flight that the builder had trimmed, sticks let go.

    With `start` and `end` its speed and sink are taken from the log.
    """

    kind: Literal["glide", "level", "climb"] = Key(
        "level", description="throttle closed, level, or climbing"
    )
    speed: PositiveSpeed | None = Key(None, description="through the air", examples=["9.5 m/s"])
    speed_spread: Fraction = Key(0.07, description="how sure that is")
    up_trim: Length | None = Key(
        None, description="trailing edges up, more than the file's reflex", examples=["2 mm"]
    )
    right_trim: Length | None = Key(
        None, description="trailing edge, more than the file's roll trim", examples=["-1 mm"]
    )
    trim_spread: PositiveLength = Key(0.0005, description="how sure the trims are")
    sink: SignedSpeed | None = Key(
        None, description="downwards; a climb is negative", examples=["1.2 m/s"]
    )
    sink_spread: PositiveSpeed = Key(0.15, description="how sure that is")
    throttle: Fraction | None = Key(
        None, description="of a climb: all, when not said", examples=["60 %"]
    )
    throttle_spread: Fraction = Key(0.05, description="how sure that is")
    current: PositiveCurrent | None = Key(None, description="from the pack", examples=["11 A"])
    current_spread: Fraction = Key(0.05, description="how sure that is")
    start: Time | None = Key(None, description="in the log", examples=["12 s"])
    end: Time | None = Key(None, description="in the log", examples=["31 s"])


class Static(Described):
    """On the bench, held fast."""

    throttle: Fraction = Key(1.0, description="all, when not said", examples=["60 %"])
    charge: Fraction | None = Key(None, description="of the pack", examples=["90 %"])
    current: PositiveCurrent | None = Key(None, description="from the pack", examples=["11 A"])
    current_spread: Fraction = Key(0.05, description="how sure that is")
    rpm: AngularSpeed | None = Key(None, description="of the propeller", examples=["9800 rpm"])
    rpm_spread: Fraction = Key(0.03, description="how sure that is")
    thrust: Force | None = Key(None, description="that a scale showed", examples=["620 gf"])
    thrust_spread: Fraction = Key(0.05, description="how sure that is")


class Dive(Described):
    """Trimmed to glide, put into a dive, let go: what the nose did in the next second."""

    nose: Literal["pulls up hard", "pulls up", "holds", "tucks"] = Key(
        description="what it did when let go"
    )
    angle: Angle = Key(radians(30.0), description="below the horizon")
    speed: PositiveSpeed | None = Key(
        None, description="of the glide it was trimmed for", examples=["9.5 m/s"]
    )


class HandsOff(Described):
    """A launch with the sticks let go: what it did until `after`."""

    speed: Speed | None = Key(
        None, description="of the throw, the file's when not said", examples=["9.5 m/s"]
    )
    pitch: Angle | None = Key(
        None, description="of the throw, the file's when not said", examples=["8 deg"]
    )
    throttle: Fraction | None = Key(None, description="the file's when not said", examples=["60 %"])
    up_trim: Length = Key(
        0.0, description="in at the launch, more than the file's reflex", examples=["2 mm"]
    )
    right_trim: Length = Key(
        0.0, description="in at the launch, more than the file's roll trim", examples=["-1 mm"]
    )
    after: PositiveTime = Key(
        1.5, description="when nose and bank were seen, from the throw", examples=["1.5 s"]
    )
    nose: Literal["rose hard", "rose", "held", "dropped", "dropped hard"] | None = Key(
        None, description="where it went"
    )
    bank: Literal["left hard", "left", "level", "right", "right hard"] | None = Key(
        None, description="where it went"
    )


class Spreads(Described):
    """How unsure each quantity was before, as standard deviations."""

    cg: PositiveLength | None = Key(None, description="place of the balance", examples=["4 mm"])
    reflex: Angle | None = Key(None, description="of elevons or elevator", examples=["0.7 deg"])
    bow: PositiveLength | None = Key(None, description="of the main sheet", examples=["1 mm"])
    effect: Fraction | None = Key(None, description="of all surfaces", examples=["8 %"])
    twist: Angle | None = Key(None, description="of the main sheet", examples=["0.5 deg"])
    thrust_down: Angle | None = Key(None, description="of the thrust line", examples=["0.7 deg"])
    thrust_right: Angle | None = Key(None, description="of the thrust line", examples=["0.7 deg"])
    propeller: Fraction | None = Key(None, description="its thrust and torque", examples=["8 %"])
    drag: Fraction | None = Key(None, description="of the whole airframe", examples=["15 %"])
    wind: PositiveSpeed = Key(2.0, description="either way")


class Column(Described):
    """One column of a telemetry log."""

    name: Words = Key(description="as it stands at the head of the column", examples=["Time"])
    unit: Words = Key(
        "",
        description='of its numbers, such as "km/h"; "clock" for a time such as 12:34:56.7',
        examples=["s"],
    )


class Log(Described):
    """How to read a telemetry log in CSV; others say it themselves."""

    separator: str = Key(",", description="between columns", examples=[";"])
    columns: dict[
        Literal[
            "time",
            "latitude",
            "longitude",
            "height",
            "airspeed",
            "current",
            "throttle",
            "roll",
            "pitch",
            "heading",
            "roll_rate",
            "pitch_rate",
            "yaw_rate",
            "rpm",
            "stick_roll",
            "stick_pitch",
            "stick_yaw",
        ],
        Column,
    ] = Key(default_factory=dict, description="which column is what")


class Notes(Described):
    about: Paragraph = Key(
        "", description="what these notes are of", examples=["three glides and a launch"]
    )
    date: Words = Key("", description="of the flights", examples=["2026-05-17"])
    decimals: Decimals = "point"
    ballast: dict[Name, Ballast] = Key(
        default_factory=dict, description="added for these flights, by name"
    )
    balance: Balance = Key(Balance(), description="as it flew")
    steady: dict[Name, Steady] = Key(default_factory=dict, description="steady stretches, by name")
    static: dict[Name, Static] = Key(default_factory=dict, description="runs on the bench, by name")
    dive: dict[Name, Dive] = Key(default_factory=dict, description="dive tests, by name")
    hands_off: dict[Name, HandsOff] = Key(
        default_factory=dict, description="launches with the sticks let go, by name"
    )
    spreads: Spreads = Key(Spreads(), description="how unsure you were before")
    log: Log = Key(Log(), description="how to read the log")


# How `firstthrow reconcile --template` names the entries that a builder names.
NAMES = {"ballast": "nose", "steady": "cruise", "static": "bench", "columns": "time"}
TEMPLATE = """Notes of real flights, for `firstthrow reconcile AIRFRAME --notes THIS-FILE`.

Take away the # before what you saw, table by table, and write your own figures; leave out what
you did not see. A table may stand more than once under other names: [steady.level_1]. Spreads
are standard deviations; those given here hold without being said.
"""


def notes_problems(tree: Table) -> Iterator[Problem]:
    """What does not fit together in notes that are well formed."""
    for name, steady in tables(tree, "steady"):
        for one, other in (("start", "end"), ("end", "start")):
            if one in steady and other not in steady:
                yield ("steady", name, one), f"wanted with '{other}'"
        if steady.get("kind") == "glide" and "throttle" in steady:
            yield ("steady", name, "throttle"), "a glide has the throttle closed: leave it out"
