"""Boards that are not flat: bowed along the chord, twisted along the span.

A bowed board is a shallow trough of even curvature k = 8 bow / chord^2, whose chord line at the
longest chord is the plane of the sheet. To first order the flow through it changes by
-u (slope of the board): at a strip by its slope at mid-chord, which turns the strip, and along
the strip by -u k x, x from mid-chord, which is affine as the lattice wants it. Over one chord in
two dimensions that is the parabolic camber line of thin-aerofoil theory: zero-lift angle
2 bow / chord and moment about the quarter chord pi bow / chord, hollow side up.
Source: Glauert, Elements of Aerofoil and Airscrew Theory, ch. 7.

Twist grows evenly from the root to the tip and turns each strip about its span. Places, areas and
the lattice stay those of the flat board: valid for bows of some per cent of the chord and twists
of some degrees.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from firstthrow.sim.build.shape import Plane, corners, edges_between, is_mirrored, planes
from firstthrow.sim.build.strips import Strips
from firstthrow.sim.build.weights import TO_BODY
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import Sheet


def longest_chord(sheet: Sheet) -> tuple[float, float]:
    """The longest chord of an outline [m], and where its middle lies aft in the sheet."""
    outline = corners(sheet)
    outs = np.unique(outline[:, 1])
    ends = np.concatenate([edges_between(outline, a, b) for a, b in pairwise(outs)])
    chord = ends[:, 1] - ends[:, 0]
    longest = ends[chord > (1.0 - 1e-6) * chord.max()]
    return float(chord.max()), float(longest[0].mean())


def twist_at(sheet: Sheet, plane: Plane, out: np.ndarray) -> np.ndarray:
    """(n,) how far the board is turned nose up at stations of one side [rad]."""
    near, far = (float(end(corners(sheet)[:, 1])) for end in (min, max))
    both = sheet.stance == "flat" and not plane.side  # one board across the centreline
    root = min(max(near, 0.0), far) if both else near
    share = np.abs(out - root) / max(far - root, root - near)
    right = np.full(len(out), plane.side != "left") if not both else out > root
    if sheet.stance == "upright" and not plane.side:
        return sheet.twist * share
    return np.where(right, sheet.twist + sheet.twist_right, sheet.twist + sheet.twist_left) * share


def turned(airframe: Airframe, strips: Strips) -> tuple[np.ndarray, np.ndarray]:
    """(n,) angle by which each strip is turned nose up [rad], (n,) its curvature [1/m]."""
    angle, curve = np.zeros(len(strips.chord)), np.zeros(len(strips.chord))
    sides = [(sheet, p) for name, sheet in airframe.sheets.items() for p in planes(name, sheet)]
    for side, (sheet, plane) in enumerate(sides):
        mine = np.flatnonzero(strips.side == side)
        offset = strips.middle[mine] - plane.origin
        angle[mine] = twist_at(sheet, plane, offset @ plane.out)
        if sheet.bow:
            chord, middle = longest_chord(sheet)
            curve[mine] = 8.0 * sheet.bow / chord**2
            angle[mine] -= curve[mine] * (offset @ plane.aft - middle)
    return angle, curve


def warped(sheet: Sheet, bow: float, left: float, right: float) -> Sheet:
    """The sheet with more bow [m], and more twist of its tips [rad]; the right one is that of a
    sheet with one side."""
    both = {"twist": sheet.twist + right}
    if sheet.stance == "flat" or is_mirrored(sheet):
        both = {"twist_left": sheet.twist_left + left, "twist_right": sheet.twist_right + right}
    return sheet.model_copy(update={"bow": sheet.bow + bow, **both})


def fill_warp(record, airframe: Airframe, strips: Strips) -> None:
    """Directions and curvature of the strips, over those that were there."""
    fill_turned(record, strips, *turned(airframe, strips))


def fill_turned(record, strips: Strips, angle: np.ndarray, curve: np.ndarray) -> None:
    """The same of strips that are turned and curved by so much: (strips,), or of many records (n,
    strips)."""
    n = len(strips.chord)
    along, across = np.cos(angle)[..., None], np.sin(angle)[..., None]
    aft = (along * strips.aft - across * strips.normal) @ TO_BODY
    normal = (along * strips.normal + across * strips.aft) @ TO_BODY
    record["strip_aft"][..., :n] = np.swapaxes(aft, -1, -2)
    record["strip_normal"][..., :n] = np.swapaxes(normal, -1, -2)
    record["strip_curve"][..., :n] = curve
