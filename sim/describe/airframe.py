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

from firstthrow.sim.describe.decimals import Decimals
from firstthrow.sim.describe.described import Coefficient, Described, Name, Placed
from firstthrow.sim.describe.drive import Controller, Motor, Pack, Servo
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

    mass: Mass
    shape: Literal["point", "rod", "box"] = "point"
    length: NonNegativeLength = Key(0.0, description="of a rod, or fore and aft of a box")
    width: NonNegativeLength = 0.0
    height: NonNegativeLength = 0.0
    diameter: NonNegativeLength = Key(0.0, description="of a rod; a motor is a short rod")
    along: Literal["aft", "right", "up"] = "aft"
    known: Literal["measured", "guessed"] = "guessed"
    mass_spread: Fraction | None = None
    place_spread: NonNegativeLength | None = None


class Rates(Described):
    """Surface angle at full stick."""

    pitch: Throw = 0.0
    roll: Throw = 0.0
    yaw: Throw = 0.0


class Expo(Described):
    pitch: SignedFraction = 0.0
    roll: SignedFraction = 0.0
    yaw: SignedFraction = 0.0


class Mix(Described):
    """One line of the free mix table: a stick also moves a surface or a motor.

    `moves` names a surface, as in its sheet (both sides) or with its side ("elevon_left"), or a
    motor. At full stick a surface moves by `angle`, trailing edge down; a motor's throttle changes
    by `share`. It adds to what the stick does already, after rates and expo.
    """

    stick: Literal["roll", "pitch", "yaw", "throttle"]
    moves: Name
    angle: Angle = 0.0
    share: SignedFraction = 0.0
    opposite: StrictBool = Key(False, description="the left side moves the other way")


class Mixing(Described):
    high: Rates
    low: Rates
    expo: Expo = Expo()
    reflex: Angle = Key(
        0.0, description="trailing edge up at neutral, on every surface that takes pitch"
    )
    roll_trim: Angle = Key(0.0, description="rolls right")
    yaw_trim: Angle = Key(0.0, description="nose right")
    differential: Fraction = Key(
        0.0, description="how much less the down-going surface moves in roll"
    )
    roll_to_yaw: Fraction = Key(
        0.0, description="how much of the roll stick the rudder takes as well"
    )
    droop: Angle = Key(0.0, description="trailing edge down at neutral, on flaperons")
    yaw_to_throttle: Fraction = Key(
        0.0, description="two motors: how much more and less they run at full yaw"
    )
    reversed: tuple[Literal["roll", "pitch", "yaw"], ...] = Key(
        (), description="sticks the wrong way round"
    )
    swapped: StrictBool = Key(
        False, description="the left surface takes the right one's command, and back"
    )
    also: dict[Name, Mix] = Key(default_factory=dict, description="the free mix table")


class Contact(Placed):
    """Where the airframe may touch the ground; the place is the lowest point."""

    stiffness: Stiffness
    friction: Coefficient
    breaks_at: PositiveSpeed = Key(description="closing speed that breaks it")
    mirrored: StrictBool = False
    wire: NonNegativeLength = Key(0.0, description="diameter of the wire that carries it")
    wire_length: PositiveLength | None = Key(
        None, description="across the stream; straight up to the datum when not given"
    )


class Wheel(Contact):
    rolling: Coefficient = 0.05
    radius: PositiveLength
    width: PositiveLength | None = Key(None, description="a third of its diameter when not given")
    steers: StrictBool = Key(False, description="turns with stick yaw")


class Skid(Contact):
    pass


class HandLaunch(Described):
    speed: Speed
    run: Speed = Key(0.0, description="of a running start, part of the speed")
    pitch: Angle
    bank: Angle = 0.0
    height: HandHeight = Key(description="of the centre of gravity")
    throttle: Fraction


class GroundLaunch(Described):
    throttle: Fraction


class Launch(Described):
    kind: Annotated[LaunchKind, one_of(LaunchKind)] = LaunchKind.HAND
    hand: HandLaunch | None = None
    ground: GroundLaunch | None = None

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

    balance: Length = Key(0.0, description="it flies as if all its mass sat so much further aft")
    reflex: Angle = Key(
        0.0, description="the elevons or elevator act as if they stood so much higher at neutral"
    )
    effect: Factor = Key(1.0, description="of every control surface, over the usual")
    propeller: Factor = Key(1.0, description="thrust and torque of every propeller")
    propeller_thrust: Factor = Key(1.0, description="thrust alone, as measured at rest")
    propeller_torque: Factor = Key(1.0, description="torque alone")
    propeller_pitch: Factor = Key(1.0, description="acts as if its pitch were so much")
    drag: Factor = Key(1.0, description="drag of every sheet and of the parts on it")


class Airframe(Described):
    name: str = Key(min_length=1)
    about: str
    datum: str = "leading edge at the centreline"
    decimals: Decimals = "point"
    sheets: dict[Name, Sheet] = Key(min_length=1)
    items: dict[Name, Item] = Key(default_factory=dict)
    motors: dict[Name, Motor] = Key(default_factory=dict, max_length=2)
    pack: Pack
    controller: Controller
    servos: dict[Name, Servo] = Key(default_factory=dict)
    mixing: Mixing
    wheels: dict[Name, Wheel] = Key(default_factory=dict)
    skids: dict[Name, Skid] = Key(default_factory=dict)
    launch: Launch
    corrections: Corrections = Corrections()
    margin: SignedFraction = Key(0.08, description="static margin the builder wants")
    least_margin: SignedFraction = Key(
        0.05, description="the rear limit of the balance is set by this"
    )
