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

    chord: Extent | None = Key(
        None, description="fore and aft, of a rectangle", examples=["350 mm"]
    )
    span: Extent | None = Key(
        None, description="tip to tip, of a flat rectangle", examples=["700 mm"]
    )
    height: Extent | None = Key(None, description="of an upright rectangle", examples=["160 mm"])
    corners: tuple[tuple[Length, Length], ...] | None = Key(
        None,
        description="in order round the edge, each aft and out",
        examples=[[["0 mm", "0 mm"], ["350 mm", "0 mm"], ["350 mm", "350 mm"]]],
    )


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

    role: Annotated[Role, one_of(Role)] = Key(description="what it is for")
    chord: SurfaceChord = Key(
        description="fore and aft, hinge line to trailing edge", examples=["60 mm"]
    )
    inner: NonNegativeLength = Key(
        description="where it starts, out from the root", examples=["30 mm"]
    )
    outer: PositiveLength = Key(description="where it ends, out from the root", examples=["345 mm"])
    servo: Name = Key(
        description="its kind: each side has one of its own, unless both are joined",
        examples=["elevon"],
    )
    joined: StrictBool = Key(False, description="both sides move together on one servo")
    gap: Literal["taped", "open"] = Key(
        "taped", description="at the hinge; air through an open one takes some of its effect"
    )
    material: Material | None = Key(None, description="the sheet's own when not given")
    thickness: Thickness | None = Key(
        None, description="the sheet's own when not given", examples=["6 mm"]
    )
    mass: Mass | None = Key(None, description="weighed, one side")
    arm: Lever = Key(description="servo arm, centre to hole", examples=["12 mm"])
    horn: Lever = Key(description="surface horn, hinge line to hole", examples=["16 mm"])
    rod: PositiveLength | None = Key(
        None, description="hole to hole; long when not given", examples=["90 mm"]
    )
    servo_up: Length = Key(
        0.0,
        description="servo shaft above the hinge line, towards the horn's side",
        examples=["5 mm"],
    )
    horn_ahead: Length = Key(
        0.0, description="horn hole ahead of the hinge line", examples=["2 mm"]
    )
    arm_lean: Angle = Key(
        0.0, description="of the arm's hole ahead of square, at neutral", examples=["10 deg"]
    )
    slop: NonNegativeLength = Key(
        0.0, description="play of rod and holes, at the horn", examples=["0.3 mm"]
    )
    travel: PositiveThrow = Key(
        description="mechanical limit either side of neutral", examples=["30 deg"]
    )
    most_up: PositiveThrow | None = Key(
        None, description="limit set in the transmitter, trailing edge up", examples=["20 deg"]
    )
    most_down: PositiveThrow | None = Key(
        None, description="trailing edge down; on a rudder up is to the right", examples=["20 deg"]
    )
    reversed: StrictBool = Key(False, description="moves the wrong way, on both sides")
    reversed_left: StrictBool = Key(False, description="the servo of that side only")
    reversed_right: StrictBool = Key(False, description="the servo of that side only")
    stuck: Angle | None = Key(
        None, description="jammed at this angle, trailing edge down", examples=["10 deg"]
    )
    off: StrictBool = Key(False, description="torn off")
    known: Literal["measured", "guessed"] = Key(
        "guessed", description="how its neutral came about: a ruler across the hinge measures it"
    )
    torn: Fraction = Key(
        0.0,
        description="share of its hinge that is torn, from the outer end: that part trails",
        examples=["50 %"],
    )
    follows: Fraction = Key(
        1.0,
        description="share of what is asked that its rod passes on; less where one has slipped",
        examples=["50 %"],
    )
    fault_side: Literal["both", "left", "right"] = Key(
        "both", description="where it is stuck, off, torn or does not follow"
    )

    def faulty(self, side: str) -> bool:
        """Whether what is wrong with it is so for the surface on this side."""
        return self.fault_side in ("both", side) or not side


class Spar(Placed):
    """A member glued along the sheet, square to the centreline, carrying bending at the root."""

    material: Material = Key(description="carbon tube, spruce, ...")
    section: Literal["tube", "rod", "strip"] = Key(
        description="the shape that is seen when it is cut"
    )
    length: PositiveLength = Key(description="tip to tip", examples=["560 mm"])
    outside: PositiveLength = Key(
        description="tube or rod diameter; strip depth (square to the sheet)", examples=["8 mm"]
    )
    inside: NonNegativeLength = Key(0.0, description="tube bore", examples=["6 mm"])
    width: NonNegativeLength = Key(0.0, description="strip width", examples=["5 mm"])


class Joint(Described):
    """A glue line where boards of one sheet meet edge to edge.

    Along the span it carries no bending at the root; along the chord, all that the foam carries
    at its station. Efficiency: strength of the joint over that of the board. A butt joint keeps
    some six tenths (common practice, no source): break a sample to know.
    """

    along: Literal["span", "chord"] = Key(description="which way the glue line runs")
    out: Length = Key(
        0.0,
        description="of a joint along the chord: its station from the centreline",
        examples=["200 mm"],
    )
    efficiency: Fraction = Key(0.6, description="its strength over the board's")


class Sheet(Placed):
    outline: Outline = Key(description="a rectangle or corners")
    thickness: Thickness = Key(description="of the board", examples=["6 mm"])
    material: Material = Key(description="what it is cut from")
    mass: Mass | None = Key(None, description="weighed, all of this entry, without its surfaces")
    stance: Literal["flat", "upright"] = Key("flat", description="lying, or standing as a fin does")
    mirrored: StrictBool | None = Key(
        None,
        description="A mirror image left of the centreline. "
        "When not said: yes for flat, no for upright.",
    )
    dihedral: Angle = Key(0.0, description="tip up", examples=["3 deg"])
    incidence: Angle = Key(0.0, description="nose up", examples=["2 deg"])
    bow: Length = Key(
        0.0,
        description="gap under a straightedge laid fore and aft over the longest chord, at its "
        "middle; hollow side up positive (hollow to the right on upright sheets)",
        examples=["1 mm"],
    )
    twist: Angle = Key(
        0.0,
        description="of the tip against the root, nose up, where both sides are alike",
        examples=["1 deg"],
    )
    twist_left: Angle = Key(0.0, description="of the left tip, beside `twist`", examples=["1 deg"])
    twist_right: Angle = Key(
        0.0, description="of the right tip, beside `twist`", examples=["1 deg"]
    )
    edge: Literal["square", "rounded"] = Key("square", description="of the board, all round")
    surfaces: dict[Name, Surface] = Key(
        default_factory=dict, description="what moves on it, by name"
    )
    spars: dict[Name, Spar] = Key(default_factory=dict, description="let into it, by name")
    joints: dict[Name, Joint] = Key(
        default_factory=dict, description="where boards are glued, by name"
    )


WARP = ("bow", "twist", "twist_left", "twist_right")  # keys by which a sheet is not flat
