"""Frozen description of an airframe, in SI, checked when it is read.

Every model says what the builder writes down; the annotated types (`Length`, `Mass`, ...)
turn the builder's quoted quantities into SI floats and live in `quantities`. Places are in the
builder's frame (see `kernels.layout`): aft of the datum, right, up.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field as Key
from pydantic import StrictBool

from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.describe.decimals import Decimals
from firstthrow.sim.describe.described import Coefficient, Described, Name, Paragraph, Placed, Words
from firstthrow.sim.describe.drive import Controller, Motor, Pack, Receiver, Servo
from firstthrow.sim.describe.quantities import (
    Angle,
    Factor,
    Fraction,
    HandHeight,
    Length,
    Mass,
    NonNegativeLength,
    PositiveLength,
    PositiveSpeed,
    SignedFraction,
    Speed,
    Stiffness,
    Throw,
    one_of,
)
from firstthrow.sim.describe.sheets import Sheet


class LaunchKind(StrEnum):
    """Thrown, or rolled on its wheels."""

    HAND = "hand"
    GROUND = "ground"


class Item(Placed):
    """A point, a rod (length along `along`) or a box, with its mass and the place of its middle.

    Sizes give it its drag; a point has none.
    """

    mass: Mass = Key(description="of the whole item", examples=["24 g"])
    shape: Literal["point", "rod", "box"] = Key(
        "point", description="a point has no size and no drag"
    )
    length: NonNegativeLength = Key(
        0.0, description="of a rod, or fore and aft of a box", examples=["72 mm"]
    )
    width: NonNegativeLength = Key(0.0, description="of a box, across", examples=["35 mm"])
    height: NonNegativeLength = Key(0.0, description="of a box", examples=["22 mm"])
    diameter: NonNegativeLength = Key(
        0.0, description="of a rod; a motor is a short rod", examples=["28 mm"]
    )
    along: Literal["aft", "right", "up"] = Key("aft", description="which way a rod lies")
    known: Literal["measured", "guessed"] = Key(
        "guessed", description="measured on a scale, or guessed"
    )
    mass_spread: Fraction | None = Key(
        None, description="how unsure a guessed mass is, a standard deviation", examples=["20 %"]
    )
    place_spread: NonNegativeLength | None = Key(
        None, description="how unsure its place is, a standard deviation", examples=["10 mm"]
    )


class Rates(Described):
    """Surface angle at full stick."""

    pitch: Throw = Key(0.0, description="elevons or elevator, either way", examples=["14 deg"])
    roll: Throw = Key(0.0, description="elevons or ailerons, either way", examples=["16 deg"])
    yaw: Throw = Key(0.0, description="rudders, either way", examples=["20 deg"])


class Expo(Described):
    pitch: SignedFraction = Key(
        0.0, description="softer about the middle, 0 % straight", examples=["30 %"]
    )
    roll: SignedFraction = Key(0.0, description="softer about the middle", examples=["30 %"])
    yaw: SignedFraction = Key(0.0, description="softer about the middle", examples=["30 %"])


class Mix(Described):
    """One line of the free mix table: a stick also moves a surface or a motor.

    `moves` names a surface, as in its sheet (both sides) or with its side ("elevon_left"), or a
    motor. At full stick a surface moves by `angle`, trailing edge down; a motor's throttle changes
    by `share`. It adds to what the stick does already, after rates and expo.
    """

    stick: Literal["roll", "pitch", "yaw", "throttle"] = Key(
        description="which one also moves something"
    )
    moves: Name = Key(description="the surface or motor", examples=["rudder"])
    angle: Angle = Key(
        0.0, description="of a surface at full stick, trailing edge down", examples=["5 deg"]
    )
    share: SignedFraction = Key(
        0.0, description="of throttle that a motor changes by at full stick", examples=["10 %"]
    )
    opposite: StrictBool = Key(False, description="the left side moves the other way")


class Mixing(Described):
    high: Rates = Key(description="surface angles at full stick, high rates")
    low: Rates = Key(description="surface angles at full stick, low rates")
    expo: Expo = Key(Expo(), description="how much softer sticks are about the middle")
    reflex: Angle = Key(
        0.0,
        description="trailing edge up at neutral, on every surface that takes pitch",
        examples=["5 deg"],
    )
    roll_trim: Angle = Key(0.0, description="rolls right", examples=["0.5 deg"])
    yaw_trim: Angle = Key(0.0, description="nose right", examples=["1 deg"])
    differential: SignedFraction = Key(
        0.0,
        description="how much less the down-going surface moves in roll; below 0: more",
        examples=["30 %"],
    )
    roll_to_yaw: Fraction = Key(
        0.0, description="how much of the roll stick the rudder takes as well", examples=["20 %"]
    )
    droop: Angle = Key(
        0.0, description="trailing edge down at neutral, on flaperons", examples=["5 deg"]
    )
    yaw_to_throttle: Fraction = Key(
        0.0,
        description="two motors: how much more and less they run at full yaw",
        examples=["15 %"],
    )
    reversed: tuple[Literal["roll", "pitch", "yaw"], ...] = Key(
        (), description="sticks the wrong way round", examples=[["roll"]]
    )
    swapped: StrictBool = Key(
        False, description="the left surface takes the right one's command, and back"
    )
    also: dict[Name, Mix] = Key(default_factory=dict, description="the free mix table")


class Contact(Placed):
    """Where the airframe may touch the ground; the place is the lowest point."""

    stiffness: Stiffness = Key(description="force by how far it gives")
    friction: Coefficient = Key(description="sliding on the ground, a plain number")
    breaks_at: PositiveSpeed = Key(description="closing speed that breaks it", examples=["3.5 m/s"])
    mirrored: StrictBool = Key(False, description="another one left of the centreline")
    wire: NonNegativeLength = Key(
        0.0, description="diameter of the wire that carries it", examples=["2 mm"]
    )
    wire_length: PositiveLength | None = Key(
        None,
        description="across the stream; straight up to the datum when not given",
        examples=["280 mm"],
    )


class Wheel(Contact):
    rolling: Coefficient = Key(
        0.05, description="resistance as a share of the load, a plain number"
    )
    radius: PositiveLength = Key(description="of the tyre", examples=["25 mm"])
    width: PositiveLength | None = Key(
        None, description="a third of its diameter when not given", examples=["35 mm"]
    )
    steers: StrictBool = Key(False, description="turns with stick yaw")


class Skid(Contact):
    pass


class HandLaunch(Described):
    speed: Speed = Key(description="of the throw through the air", examples=["8 m/s"])
    run: Speed = Key(0.0, description="of a running start, part of the speed")
    pitch: Angle = Key(description="of the nose above the horizon", examples=["14 deg"])
    bank: Angle = Key(0.0, description="right wing down", examples=["2 deg"])
    height: HandHeight = Key(description="of the centre of gravity", examples=["1.8 m"])
    throttle: Fraction = Key(description="as it leaves the hand", examples=["60 %"])
    back: Fraction = Key(
        0.0,
        description="pitch stick held back as it leaves the hand, and for half a second after",
        examples=["30 %"],
    )


class GroundLaunch(Described):
    throttle: Fraction = Key(description="of the take-off run", examples=["80 %"])


class Launch(Described):
    kind: Annotated[LaunchKind, one_of(LaunchKind)] = Key(
        LaunchKind.HAND, description="thrown, or rolled on its wheels"
    )
    hand: HandLaunch | None = Key(None, description="when thrown")
    ground: GroundLaunch | None = Key(None, description="when it rolls off")

    @property
    def thrown(self) -> HandLaunch | None:
        """The throw, where the file says that it is thrown."""
        return self.hand if self.kind is LaunchKind.HAND else None

    @property
    def by_hand(self) -> HandLaunch:
        """For what is thrown. Raises ValueError where the file has no such launch."""
        if self.hand is None:
            raise ValueError("there is no [launch.hand] in the file")
        return self.hand

    @property
    def from_ground(self) -> GroundLaunch:
        """For what rolls off. Raises ValueError where the file has no such launch."""
        if self.ground is None:
            raise ValueError("there is no [launch.ground] in the file")
        return self.ground


class Corrections(Described):
    """What real flights taught, on top of what was measured."""

    balance: Length = Key(
        0.0, description="it flies as if all its mass sat so much further aft", examples=["4 mm"]
    )
    reflex: Angle = Key(
        0.0,
        description="the elevons or elevator act as if they stood so much higher at neutral",
        examples=["5 deg"],
    )
    effect: Factor = Key(1.0, description="of every control surface, over the usual")
    propeller: Factor = Key(1.0, description="thrust and torque of every propeller")
    propeller_thrust: Factor = Key(1.0, description="thrust alone, as measured at rest")
    propeller_torque: Factor = Key(1.0, description="torque alone")
    propeller_pitch: Factor = Key(1.0, description="acts as if its pitch were so much")
    drag: Factor = Key(1.0, description="drag of every sheet and of the parts on it")


class Airframe(Described):
    name: Words = Key(min_length=1, description="what reports call it", examples=["my-slab"])
    about: Paragraph = Key(
        description="one line on what it is", examples=["800 x 400 mm slab of 6 mm foam board"]
    )
    datum: Words = Key(
        "leading edge at the centreline",
        description="the point that places are measured from, in words",
    )
    decimals: Decimals = "point"
    units: Units = Key(
        METRIC,
        description="what answers are written in; as most of the file has it when not given",
    )
    sheets: dict[Name, Sheet] = Key(min_length=1, description="the flat pieces of foam, by name")
    items: dict[Name, Item] = Key(
        default_factory=dict, description="everything else that weighs, by name"
    )
    motors: dict[Name, Motor] = Key(
        default_factory=dict, max_length=2, description="none, one or two, by name"
    )
    pack: Pack = Key(description="the flight battery")
    controller: Controller = Key(
        description="the speed controller and the supply of receiver and servos"
    )
    receiver: Receiver = Key(Receiver(), description="of the radio")
    servos: dict[Name, Servo] = Key(default_factory=dict, description="kinds of servo, by name")
    mixing: Mixing = Key(description="what is set in the transmitter")
    wheels: dict[Name, Wheel] = Key(default_factory=dict, description="by name")
    skids: dict[Name, Skid] = Key(default_factory=dict, description="by name")
    launch: Launch = Key(description="how it leaves")
    corrections: Corrections = Key(Corrections(), description="what real flights taught")
    margin: SignedFraction = Key(0.08, description="static margin the builder wants")
    least_margin: SignedFraction = Key(
        0.05, description="the rear limit of the balance is set by this"
    )

    @property
    def pack_item(self) -> str | None:
        """The item that weighs the pack, by its name."""
        return next((one for one in self.items if "pack" in one or "batter" in one), None)
