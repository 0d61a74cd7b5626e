"""Frozen description of an airframe, in SI, checked when it is read.

Every model says what the builder writes down; the annotated types (`Length`, `Mass`, ...)
turn the builder's quoted quantities into SI floats and live in `units`. Places are in the
builder's frame (see `state`): aft of the datum, right, up.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from sim.units import (
    Angle,
    AngularSpeedPerVolt,
    Capacity,
    Current,
    Density,
    Fraction,
    Length,
    LinearMass,
    Mass,
    Moment,
    PropellerSize,
    Resistance,
    Speed,
    Stiffness,
    Stress,
    Time,
    Voltage,
)

Name = str


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

    chord: Length | None = None
    span: Length | None = None
    height: Length | None = None
    corners: tuple[tuple[Length, Length], ...] | None = None


class Surface(Described):
    """A control surface: the strip of sheet behind a hinge, from `inner` to `outer`."""

    role: Literal["elevon", "elevator", "aileron", "rudder"]
    chord: Length
    inner: Length
    outer: Length
    servo: Name
    material: Name | None = None  # the sheet's own when not given
    thickness: Length | None = None
    mass: Mass | None = None  # weighed, one side
    arm: Length  # servo arm, centre to hole
    horn: Length  # surface horn, hinge line to hole
    travel: Angle  # mechanical limit either side of neutral
    reversed: bool = False


class Spar(Placed):
    """A member glued along the sheet, square to the centreline, carrying bending at the root."""

    material: Name
    section: Literal["tube", "rod", "strip"]
    length: Length
    outside: Length  # tube or rod diameter; strip depth (square to the sheet)
    inside: Length = 0.0  # tube bore
    width: Length = 0.0  # strip width


class Sheet(Placed):
    outline: Outline
    thickness: Length
    material: Name
    mass: Mass | None = None  # weighed, all of this entry, without its surfaces
    stance: Literal["flat", "upright"] = "flat"
    mirrored: bool | None = None  # a mirror image left of the centreline; flat: yes, upright: no
    dihedral: Angle = 0.0
    incidence: Angle = 0.0  # nose up
    edge: Literal["square", "rounded"] = "square"
    surfaces: dict[Name, Surface] = Field(default_factory=dict)
    spars: dict[Name, Spar] = Field(default_factory=dict)


class Item(Placed):
    """A point, a rod (length along `along`) or a box, with its mass and the place of its middle."""

    mass: Mass
    shape: Literal["point", "rod", "box"] = "point"
    length: Length = 0.0  # of a rod, or fore and aft of a box
    width: Length = 0.0
    height: Length = 0.0
    along: Literal["aft", "right", "up"] = "aft"
    known: Literal["measured", "guessed"] = "guessed"
    mass_spread: Fraction | None = None
    place_spread: Length | None = None


class Propeller(Described):
    size: PropellerSize  # (diameter, pitch) [m]
    blades: int = Field(default=2, ge=2, le=6)
    blade_width: Length  # chord at three quarters of the radius
    blade_thickness: Length  # thickest point of the section there
    mass: Mass
    turns: Literal["clockwise", "anticlockwise"] = "clockwise"  # seen from behind
    backwards: bool = False  # fitted back to front


class Motor(Placed):
    """Motor and propeller; the place is the centre of the propeller disc."""

    kv: AngularSpeedPerVolt
    resistance: Resistance
    no_load_current: Current
    limit: Current
    down: Angle = 0.0  # thrust line tilted down at the front
    right_tilt: Angle = 0.0  # thrust line turned right at the front
    leads_swapped: bool = False
    propeller: Propeller


class Pack(Described):
    cells: int = Field(ge=1, le=14)
    capacity: Capacity
    resistance: Resistance  # per cell
    charge: Fraction = 1.0
    limit: Current


class Controller(Described):
    limit: Current
    resistance: Resistance
    cutoff: Voltage  # per cell, under load
    supply: Voltage  # to receiver and servos
    supply_limit: Current


class Servo(Described):
    speed: Time  # for 60 degrees, unloaded
    torque: Moment  # stall
    travel: Angle  # either side of centre at full command
    dead_band: Angle = 0.0
    slop: Angle = 0.0  # at the arm
    delay: Time = 0.0
    idle_current: Current
    stall_current: Current


class Rates(Described):
    """Surface angle at full stick."""

    pitch: Angle = 0.0
    roll: Angle = 0.0
    yaw: Angle = 0.0


class Expo(Described):
    pitch: Fraction = 0.0
    roll: Fraction = 0.0
    yaw: Fraction = 0.0


class Mixing(Described):
    high: Rates
    low: Rates
    expo: Expo = Expo()
    reflex: Angle = 0.0  # trailing edge up at neutral, on every surface that takes pitch
    roll_trim: Angle = 0.0  # rolls right
    yaw_trim: Angle = 0.0  # nose right
    differential: Fraction = 0.0  # how much less the down-going surface moves in roll


class Contact(Placed):
    """Where the airframe may touch the ground; the place is the lowest point."""

    stiffness: Stiffness
    friction: Fraction
    breaks_at: Speed  # closing speed that breaks it
    mirrored: bool = False


class Wheel(Contact):
    rolling: Fraction = 0.05
    radius: Length
    steers: bool = False  # turns with stick yaw


class Skid(Contact):
    pass


class HandLaunch(Described):
    speed: Speed
    pitch: Angle
    bank: Angle = 0.0
    height: Length  # of the centre of gravity
    throttle: Fraction


class GroundLaunch(Described):
    throttle: Fraction


class Launch(Described):
    kind: Literal["hand", "ground"] = "hand"
    hand: HandLaunch | None = None
    ground: GroundLaunch | None = None


class Airframe(Described):
    name: str
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
    margin: Fraction = 0.08  # static margin the builder wants
