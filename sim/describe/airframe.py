"""Frozen description of an airframe, in SI, checked when it is read.

Every model says what the builder writes down; the annotated types (`Length`, `Mass`, ...)
turn the builder's quoted quantities into SI floats and live in `units`. Places are in the
builder's frame (see `state`): aft of the datum, right, up.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictBool, StrictInt

from firstthrow.sim.units import (
    FRACTION,
    Angle,
    AngularSpeedPerVolt,
    Bounds,
    Capacity,
    Current,
    Fraction,
    Length,
    Mass,
    Moment,
    NonNegativeLength,
    PositiveCurrent,
    PositiveLength,
    PositiveSpeed,
    PositiveThrow,
    PropellerSize,
    Resistance,
    SignedFraction,
    Speed,
    Stiffness,
    SweepTime,
    Throw,
    Time,
    Voltage,
    quantity,
)

Name = str
Coefficient = Annotated[float, Field(ge=0.0, le=2.0, strict=True)]  # a bare number
Factor = quantity(FRACTION, Bounds(0.3, 3.0, False, "must lie between 30 % and 300 %"))


class Described(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Placed(Described):
    aft: Length = 0.0
    right: Length = 0.0
    up: Length = 0.0


class Outline(Described):
    """Either a rectangle (`chord` with `span` or `height`) or `corners` as (aft, out) pairs.

    `span` is tip to tip for a mirrored flat sheet. Corners describe the right half of a
    mirrored sheet, listed round its edge; `out` is right for flat sheets, up for upright ones.
    """

    chord: PositiveLength | None = None
    span: PositiveLength | None = None
    height: PositiveLength | None = None
    corners: tuple[tuple[Length, Length], ...] | None = None


class Surface(Described):
    """A control surface: the strip of sheet behind a hinge, from `inner` to `outer`.

    Ruddervators are those of a V-tail, a flat sheet with much dihedral; flaperons are ailerons
    that also droop. The linkage: the rod runs square to the arm and level when all is neutral,
    unless the last three lengths and angles say otherwise.
    """

    role: Literal["elevon", "elevator", "aileron", "flaperon", "rudder", "ruddervator"]
    chord: PositiveLength
    inner: NonNegativeLength
    outer: PositiveLength
    servo: Name  # its kind: each side has one of its own, unless both are joined
    joined: StrictBool = False  # both sides move together on one servo
    material: Name | None = None  # the sheet's own when not given
    thickness: PositiveLength | None = None
    mass: Mass | None = None  # weighed, one side
    arm: PositiveLength  # servo arm, centre to hole
    horn: PositiveLength  # surface horn, hinge line to hole
    rod: PositiveLength | None = None  # hole to hole; long when not given
    servo_up: Length = 0.0  # servo shaft above the hinge line, towards the horn's side
    horn_ahead: Length = 0.0  # horn hole ahead of the hinge line
    arm_lean: Angle = 0.0  # of the arm's hole ahead of square, at neutral
    slop: NonNegativeLength = 0.0  # play of rod and holes, at the horn
    travel: PositiveThrow  # mechanical limit either side of neutral
    most_up: PositiveThrow | None = None  # limit set in the transmitter, trailing edge up
    most_down: PositiveThrow | None = None  # trailing edge down; on a rudder up is to the right
    reversed: StrictBool = False  # moves the wrong way, on both sides
    reversed_left: StrictBool = False  # the servo of that side only
    reversed_right: StrictBool = False
    stuck: Angle | None = None  # jammed at this angle, trailing edge down
    off: StrictBool = False  # torn off
    fault_side: Literal["both", "left", "right"] = "both"  # where it is stuck or off

    def faulty(self, side: str) -> bool:
        """Whether `stuck` and `off` hold for the surface on this side."""
        return self.fault_side in ("both", side) or not side


class Spar(Placed):
    """A member glued along the sheet, square to the centreline, carrying bending at the root."""

    material: Name
    section: Literal["tube", "rod", "strip"]
    length: PositiveLength
    outside: PositiveLength  # tube or rod diameter; strip depth (square to the sheet)
    inside: NonNegativeLength = 0.0  # tube bore
    width: NonNegativeLength = 0.0  # strip width


class Joint(Described):
    """A glue line where boards of one sheet meet edge to edge.

    Along the span it carries no bending at the root; along the chord, all that the foam carries
    at its station. Efficiency: strength of the joint over that of the board. A butt joint keeps
    some six tenths (common practice, no source): break a sample to know.
    """

    along: Literal["span", "chord"]
    out: Length = 0.0  # of a joint along the chord: its station from the centreline
    efficiency: Fraction = 0.6


class Sheet(Placed):
    outline: Outline
    thickness: PositiveLength
    material: Name
    mass: Mass | None = None  # weighed, all of this entry, without its surfaces
    stance: Literal["flat", "upright"] = "flat"
    # A mirror image left of the centreline. When not said: yes for flat, no for upright.
    mirrored: StrictBool | None = None
    dihedral: Angle = 0.0
    incidence: Angle = 0.0  # nose up
    edge: Literal["square", "rounded"] = "square"
    surfaces: dict[Name, Surface] = Field(default_factory=dict)
    spars: dict[Name, Spar] = Field(default_factory=dict)
    joints: dict[Name, Joint] = Field(default_factory=dict)


class Item(Placed):
    """A point, a rod (length along `along`) or a box, with its mass and the place of its middle."""

    mass: Mass
    shape: Literal["point", "rod", "box"] = "point"
    length: NonNegativeLength = 0.0  # of a rod, or fore and aft of a box
    width: NonNegativeLength = 0.0
    height: NonNegativeLength = 0.0
    along: Literal["aft", "right", "up"] = "aft"
    known: Literal["measured", "guessed"] = "guessed"
    mass_spread: Fraction | None = None
    place_spread: NonNegativeLength | None = None


class Propeller(Described):
    size: PropellerSize  # (diameter, pitch) [m]
    blades: StrictInt = Field(default=2, ge=2, le=6)
    blade_width: PositiveLength  # chord at three quarters of the radius
    blade_thickness: PositiveLength  # thickest point of the section there
    mass: Mass
    turns: Literal["clockwise", "anticlockwise"] = "clockwise"  # seen from behind
    backwards: StrictBool = False  # fitted back to front


class Motor(Placed):
    """Motor and propeller; the place is the centre of the propeller disc."""

    kv: AngularSpeedPerVolt
    resistance: Resistance
    no_load_current: Current
    limit: PositiveCurrent
    down: Angle = 0.0  # thrust line tilted down at the front
    right_tilt: Angle = 0.0  # thrust line turned right at the front
    leads_swapped: StrictBool = False
    propeller: Propeller


class Pack(Described):
    cells: StrictInt = Field(ge=1, le=14)
    capacity: Capacity
    resistance: Resistance  # per cell
    charge: Fraction = 1.0
    limit: PositiveCurrent


class Controller(Described):
    limit: PositiveCurrent
    resistance: Resistance
    cutoff: Voltage  # per cell, under load
    supply: Voltage  # to receiver and servos
    supply_limit: PositiveCurrent


class Servo(Described):
    speed: SweepTime  # for 60 degrees, unloaded
    torque: Moment  # stall
    travel: PositiveThrow  # either side of centre at full command
    dead_band: Throw = 0.0
    slop: Throw = 0.0  # at the arm
    delay: Time = 0.0
    idle_current: Current
    stall_current: PositiveCurrent


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
    opposite: StrictBool = False  # the left side moves the other way


class Mixing(Described):
    high: Rates
    low: Rates
    expo: Expo = Expo()
    reflex: Angle = 0.0  # trailing edge up at neutral, on every surface that takes pitch
    roll_trim: Angle = 0.0  # rolls right
    yaw_trim: Angle = 0.0  # nose right
    differential: Fraction = 0.0  # how much less the down-going surface moves in roll
    roll_to_yaw: Fraction = 0.0  # how much of the roll stick the rudder takes as well
    droop: Angle = 0.0  # trailing edge down at neutral, on flaperons
    yaw_to_throttle: Fraction = 0.0  # two motors: how much more and less they run at full yaw
    reversed: tuple[Literal["roll", "pitch", "yaw"], ...] = ()  # sticks the wrong way round
    swapped: StrictBool = False  # the left surface takes the right one's command, and back
    also: dict[Name, Mix] = Field(default_factory=dict)  # the free mix table


class Contact(Placed):
    """Where the airframe may touch the ground; the place is the lowest point."""

    stiffness: Stiffness
    friction: Coefficient
    breaks_at: PositiveSpeed  # closing speed that breaks it
    mirrored: StrictBool = False


class Wheel(Contact):
    rolling: Coefficient = 0.05
    radius: PositiveLength
    steers: StrictBool = False  # turns with stick yaw


class Skid(Contact):
    pass


class HandLaunch(Described):
    speed: Speed
    pitch: Angle
    bank: Angle = 0.0
    height: PositiveLength  # of the centre of gravity
    throttle: Fraction


class GroundLaunch(Described):
    throttle: Fraction


class Launch(Described):
    kind: Literal["hand", "ground"] = "hand"
    hand: HandLaunch | None = None
    ground: GroundLaunch | None = None


class Corrections(Described):
    """What real flights taught, on top of what was measured."""

    balance: Length = 0.0  # it flies as if all its mass sat so much further aft
    reflex: Angle = 0.0  # the elevons or elevator act as if they stood so much higher at neutral
    propeller: Factor = 1.0  # thrust and torque of every propeller
    drag: Factor = 1.0  # friction and edge drag of every sheet


class Airframe(Described):
    name: str = Field(min_length=1)
    about: str
    datum: str = "leading edge at the centreline"
    sheets: dict[Name, Sheet] = Field(min_length=1)
    items: dict[Name, Item] = Field(default_factory=dict)
    motors: dict[Name, Motor] = Field(default_factory=dict, max_length=2)
    pack: Pack
    controller: Controller
    servos: dict[Name, Servo] = Field(default_factory=dict)
    mixing: Mixing
    wheels: dict[Name, Wheel] = Field(default_factory=dict)
    skids: dict[Name, Skid] = Field(default_factory=dict)
    launch: Launch
    corrections: Corrections = Corrections()
    margin: SignedFraction = 0.08  # static margin the builder wants
    least_margin: SignedFraction = 0.05  # the rear limit of the balance is set by this
