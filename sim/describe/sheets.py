"""Frozen description of the sheets of an airframe: outlines, control surfaces, spars, joints."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field as Key
from pydantic import StrictBool

from firstthrow.sim.describe.described import Described, Material, Name, Placed
from firstthrow.sim.describe.quantities import (
    Angle,
    Extent,
    Fraction,
    Length,
    Lever,
    Mass,
    NonNegativeLength,
    PositiveLength,
    PositiveThrow,
    SurfaceChord,
    Thickness,
    one_of,
)


class Outline(Described):
    """Either a rectangle (`chord` with `span` or `height`) or `corners` as (aft, out) pairs.

    `span` is tip to tip for a mirrored flat sheet. Corners describe the right half of a
    mirrored sheet, listed round its edge; `out` is right for flat sheets, up for upright ones.
    """

    chord: Extent | None = None
    span: Extent | None = None
    height: Extent | None = None
    corners: tuple[tuple[Length, Length], ...] | None = None


class Role(StrEnum):
    """What a control surface is for."""

    ELEVON = "elevon"
    ELEVATOR = "elevator"
    AILERON = "aileron"
    FLAPERON = "flaperon"
    RUDDER = "rudder"
    RUDDERVATOR = "ruddervator"


class Surface(Described):
    """A control surface: the strip of sheet behind a hinge, from `inner` to `outer`.

    Ruddervators are those of a V-tail, a flat sheet with much dihedral; flaperons are ailerons
    that also droop. The linkage: the rod runs square to the arm and level when all is neutral,
    unless the last three lengths and angles say otherwise.
    """

    role: Annotated[Role, one_of(Role)]
    chord: SurfaceChord
    inner: NonNegativeLength
    outer: PositiveLength
    servo: Name = Key(description="its kind: each side has one of its own, unless both are joined")
    joined: StrictBool = Key(False, description="both sides move together on one servo")
    gap: Literal["taped", "open"] = Key(
        "taped", description="at the hinge; air through an open one takes some of its effect"
    )
    material: Material | None = Key(None, description="the sheet's own when not given")
    thickness: Thickness | None = None
    mass: Mass | None = Key(None, description="weighed, one side")
    arm: Lever = Key(description="servo arm, centre to hole")
    horn: Lever = Key(description="surface horn, hinge line to hole")
    rod: PositiveLength | None = Key(None, description="hole to hole; long when not given")
    servo_up: Length = Key(
        0.0, description="servo shaft above the hinge line, towards the horn's side"
    )
    horn_ahead: Length = Key(0.0, description="horn hole ahead of the hinge line")
    arm_lean: Angle = Key(0.0, description="of the arm's hole ahead of square, at neutral")
    slop: NonNegativeLength = Key(0.0, description="play of rod and holes, at the horn")
    travel: PositiveThrow = Key(description="mechanical limit either side of neutral")
    most_up: PositiveThrow | None = Key(
        None, description="limit set in the transmitter, trailing edge up"
    )
    most_down: PositiveThrow | None = Key(
        None, description="trailing edge down; on a rudder up is to the right"
    )
    reversed: StrictBool = Key(False, description="moves the wrong way, on both sides")
    reversed_left: StrictBool = Key(False, description="the servo of that side only")
    reversed_right: StrictBool = False
    stuck: Angle | None = Key(None, description="jammed at this angle, trailing edge down")
    off: StrictBool = Key(False, description="torn off")
    fault_side: Literal["both", "left", "right"] = Key(
        "both", description="where it is stuck or off"
    )

    def faulty(self, side: str) -> bool:
        """Whether `stuck` and `off` hold for the surface on this side."""
        return self.fault_side in ("both", side) or not side


class Spar(Placed):
    """A member glued along the sheet, square to the centreline, carrying bending at the root."""

    material: Material
    section: Literal["tube", "rod", "strip"]
    length: PositiveLength
    outside: PositiveLength = Key(
        description="tube or rod diameter; strip depth (square to the sheet)"
    )
    inside: NonNegativeLength = Key(0.0, description="tube bore")
    width: NonNegativeLength = Key(0.0, description="strip width")


class Joint(Described):
    """A glue line where boards of one sheet meet edge to edge.

    Along the span it carries no bending at the root; along the chord, all that the foam carries
    at its station. Efficiency: strength of the joint over that of the board. A butt joint keeps
    some six tenths (common practice, no source): break a sample to know.
    """

    along: Literal["span", "chord"]
    out: Length = Key(
        0.0, description="of a joint along the chord: its station from the centreline"
    )
    efficiency: Fraction = 0.6


class Sheet(Placed):
    outline: Outline
    thickness: Thickness
    material: Material
    mass: Mass | None = Key(None, description="weighed, all of this entry, without its surfaces")
    stance: Literal["flat", "upright"] = "flat"
    mirrored: StrictBool | None = Key(
        None,
        description="A mirror image left of the centreline. "
        "When not said: yes for flat, no for upright.",
    )
    dihedral: Angle = 0.0
    incidence: Angle = Key(0.0, description="nose up")
    bow: Length = Key(
        0.0,
        description="gap under a straightedge laid fore and aft over the longest chord, at its "
        "middle; hollow side up positive (hollow to the right on upright sheets)",
    )
    twist: Angle = Key(
        0.0, description="of the tip against the root, nose up, where both sides are alike"
    )
    twist_left: Angle = Key(0.0, description="of the left tip, beside `twist`")
    twist_right: Angle = 0.0
    edge: Literal["square", "rounded"] = "square"
    surfaces: dict[Name, Surface] = Key(default_factory=dict)
    spars: dict[Name, Spar] = Key(default_factory=dict)
    joints: dict[Name, Joint] = Key(default_factory=dict)


WARP = ("bow", "twist", "twist_left", "twist_right")  # keys by which a sheet is not flat
