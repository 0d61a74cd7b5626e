"""Kinds of uncertain quantities: how unsure each is, with its source, and how one measures it.

Spreads are standard deviations, SI; all of them stand here (see `unknowns`).
"""

from __future__ import annotations

from enum import StrEnum
from math import radians
from typing import NamedTuple


class What(StrEnum):
    """Kinds of uncertain quantities; an `Unknown` is one of them, of a part, a sheet or all."""

    MASS = "mass"
    AFT = "place aft"
    RIGHT = "place to the right"
    UP = "place up"
    NEUTRAL_POINT = "neutral point"
    SLOPE = "lift slope"
    EFFECT = "effect of surfaces"
    NEUTRAL = "neutral"
    BOW = "bow"
    TWIST_LEFT = "twist of the left tip"
    TWIST_RIGHT = "twist of the right tip"
    THRUST = "thrust"
    TORQUE = "torque"
    PROPELLER_PITCH = "propeller pitch"
    THRUST_DOWN = "thrust line, down"
    THRUST_RIGHT = "thrust line, right"
    STREAM = "surfaces in the stream"
    SHEET_DRAG = "drag of sheets"
    PART_DRAG = "drag of parts"
    STALL = "stall"
    STALL_LAG = "lag of what the stall sees"
    SHARE_LAG = "lag of the stall itself"
    STALLED_SURFACES = "surfaces of a stalled sheet"
    WAKE = "wake of the stalled sheet"
    STRENGTH = "bending strength"
    THROW_SPEED = "throw speed"
    THROW_PITCH = "throw pitch"
    THROW_BANK = "throw bank"
    THROW_SLIP = "throw slip"
    THROW_HEIGHT = "throw height"
    THROW_ROLL = "throw roll rate"
    THROTTLE = "throttle at the throw"


class Spread(NamedTuple):
    """A standard deviation: a share of the value's size, and an amount of its own [SI]."""

    share: float = 0.0
    amount: float = 0.0

    def of(self, size: float) -> float:
        return self.share * abs(size) + self.amount


class Rule(NamedTuple):
    """How unsure a kind of quantity is as guessed, and once measured (None: nothing but flights
    tells); where these numbers come from; how one measures it, in the builder's words."""

    unit: str
    guessed: Spread
    measured: Spread | None
    source: str
    how: str


OURS = "our assumption (common practice, no source)"
RECONCILE = "note trims and sink of two glides, slow and fast, and ask firstthrow reconcile"
FILM = "film ten throws from the side against a known length"
_PLACE = Rule(
    "m",
    Spread(amount=0.005),
    Spread(amount=0.002),
    OURS,
    "measure from the datum to its middle with a ruler, the part hung on a thread to find that",
)
_TWIST = Rule(
    "rad",
    Spread(amount=radians(0.5)),
    Spread(amount=radians(0.2)),
    OURS,
    "lay a straight stick across the root and one across the tip, fore and aft, look along both: "
    "the angle between them",
)
_LINE = Rule(
    "rad",
    Spread(amount=radians(1.0)),
    Spread(amount=radians(0.3)),
    OURS,
    "turn the propeller and measure from each blade's tip to the tail: half the difference over "
    "its radius is the angle",
)
_SCALES = "tie the tail to a kitchen scale, run full throttle, and ask firstthrow power --measured"

RULES: dict[What, Rule] = {
    What.MASS: Rule(
        "kg", Spread(share=0.10), Spread(share=0.01), OURS, "weigh it on a kitchen scale"
    ),
    What.AFT: _PLACE,
    What.RIGHT: _PLACE,
    What.UP: _PLACE,
    # What the lattice cannot know, of the mean chord: the bubble behind a square edge moves the
    # centre of lift aft with incidence, the propeller's side force and stream move it forward.
    What.NEUTRAL_POINT: Rule(
        "m", Spread(share=0.015), None, "1 to 2 % of the chord either way, from memory", RECONCILE
    ),
    # Between sheets of different shape that much of the lift may be shared out otherwise.
    What.SLOPE: Rule(
        "fraction",
        Spread(amount=0.10),
        None,
        "scatter of measured lift slopes of plates (digitised set quoted from Branlard, 2011)",
        RECONCILE,
    ),
    # Of thin-aerofoil theory; an open gap adds OPEN_GAP.
    What.EFFECT: Rule(
        "fraction",
        Spread(amount=0.06),
        Spread(amount=0.03),
        "0.7 to 0.85 of thin-aerofoil theory, from memory of the handbooks' flap charts",
        "tape the hinge gap, then " + RECONCILE,
    ),
    What.NEUTRAL: Rule(
        "rad",
        Spread(amount=radians(0.5)),
        Spread(amount=radians(0.2)),
        OURS,
        "sticks and trims in the middle, a straightedge on the sheet across the hinge: a ruler "
        "from it to the trailing edge, at both ends of the surface",
    ),
    What.BOW: Rule(
        "m",
        Spread(share=0.003),  # of the longest chord: 1 mm in 350 mm
        Spread(amount=0.0003),
        OURS,
        "lay a straightedge fore and aft over the longest chord and measure the gap at its middle",
    ),
    What.TWIST_LEFT: _TWIST,
    What.TWIST_RIGHT: _TWIST,
    What.THRUST: Rule(
        "fraction",
        Spread(amount=0.09),
        Spread(amount=0.03),
        "blade elements against thirteen measured propellers at rest, root mean square (UIUC "
        "Propeller Database)",
        _SCALES,
    ),
    What.TORQUE: Rule(
        "fraction",
        Spread(amount=0.13),
        Spread(amount=0.04),
        "as the thrust",
        "read current and rpm at full throttle, and ask firstthrow power --measured",
    ),
    What.PROPELLER_PITCH: Rule(
        "fraction", Spread(amount=0.05), Spread(amount=0.02), OURS, "as the thrust, in flight"
    ),
    What.THRUST_DOWN: _LINE,
    What.THRUST_RIGHT: _LINE,
    # Of what the bound on a finite stream leaves (`build.stream`); all of the stream over the
    # flapped span turned would be 1.8 times as much.
    What.STREAM: Rule(
        "fraction",
        Spread(amount=0.40),
        None,
        "a factor of 1.8 lies between the bound and a stream fully turned; no measurement decides",
        "hold it by the nose at full throttle on a spring scale under the tail, full up against "
        "neutral",
    ),
    What.SHEET_DRAG: Rule(
        "fraction",
        Spread(amount=0.15),
        Spread(amount=0.05),
        "edges and friction of plates from memory; " + OURS,
        "time a glide over a known height at a known speed, and ask firstthrow reconcile",
    ),
    What.PART_DRAG: Rule(
        "fraction",
        Spread(amount=0.30),
        Spread(amount=0.05),
        "what one part takes off another in its wake is not counted; " + OURS,
        "as the drag of sheets",
    ),
    What.STALL: Rule(
        "rad",
        Spread(amount=radians(1.5)),
        None,
        "plates of aspect ratio 1 to 2 leave their slope within some 5 deg (Torres and Mueller "
        "2004, from memory)",
        "fly it slower and slower at height, sticks back: the speed at which the nose drops",
    ),
    # Within 0.85 (Leishman and Beddoes) to 4.5 chords of flow; 0.5 to 1.5.
    What.STALL_LAG: Rule(
        "fraction",
        Spread(amount=0.40),
        None,
        "two models of aerofoils pitched up and down, from memory (see `section.LAG_ANGLE`)",
        "no bench and no plain flight tells",
    ),
    What.SHARE_LAG: Rule(
        "fraction",
        Spread(amount=0.50),
        None,
        "as what the stall sees",
        "no bench and no plain flight tells",
    ),
    # Of what the free-streamline flow round a bent plate adds to a plate turned: all and nothing of
    # it are the bounds, and a sheet is given some third to a half (`section.table`).
    What.STALLED_SURFACES: Rule(
        "fraction",
        Spread(amount=0.25),
        None,
        "between a plate turned and a plate bent; no measurement decides",
        "no bench and no plain flight tells",
    ),
    What.WAKE: Rule(
        "fraction",
        Spread(amount=0.15),
        None,
        "0 to 0.5 of the speed left behind a stalled plate; no source",
        "no bench and no plain flight tells",
    ),
    What.STRENGTH: Rule(
        "fraction",
        Spread(amount=0.25),
        Spread(amount=0.10),
        "foam boards scatter by a quarter and more; EPS by a factor of two between two standards "
        "(ASTM C578-10, ASTM D6817)",
        "break a strip cut from the same board over two supports",
    ),
    What.THROW_SPEED: Rule("m/s", Spread(amount=0.7), Spread(amount=0.3), OURS, FILM),
    What.THROW_PITCH: Rule(
        "rad", Spread(amount=radians(4.0)), Spread(amount=radians(2.0)), OURS, FILM
    ),
    What.THROW_BANK: Rule(
        "rad", Spread(amount=radians(5.0)), Spread(amount=radians(2.0)), OURS, FILM
    ),
    What.THROW_SLIP: Rule(
        "rad", Spread(amount=radians(3.0)), Spread(amount=radians(2.0)), OURS, FILM
    ),
    What.THROW_HEIGHT: Rule("m", Spread(amount=0.1), Spread(amount=0.05), OURS, FILM),
    What.THROW_ROLL: Rule(
        "rad/s", Spread(amount=radians(15.0)), Spread(amount=radians(8.0)), OURS, FILM
    ),
    What.THROTTLE: Rule(
        "fraction", Spread(amount=0.05), Spread(amount=0.02), OURS, "set a launch throttle switch"
    ),
}
# How much less sure than the rule: an open gap at the hinge; a foam whose two standards differ by
# a factor of two, half of it either way in logarithms.
OPEN_GAP = 4.0 / 3.0
EPS_STRENGTH = 0.35
# Of the propeller in flight, of its thrust and torque at rest, at any airspeed at which it pulls:
# against five measured ones (UIUC Propeller Database).
AT_SPEED = {What.THRUST: 0.05, What.TORQUE: 0.08}


def guessed(what: What, size: float = 0.0) -> float:
    """The spread of a value that nobody measured, of this size [SI]."""
    return RULES[what].guessed.of(size)


def measured(what: What, size: float = 0.0) -> float:
    """The spread that measuring leaves [SI]. Raises ValueError where nothing measures it."""
    spread = RULES[what].measured
    if spread is None:
        raise ValueError(f"nothing but flights tells the {what}")
    return spread.of(size)
