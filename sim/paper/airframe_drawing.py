"""The airframe drawn from above and from behind, its propeller, its parts and marks.

Pure: descriptions in, parts of a page out, for paper and window alike. Black on white, so that
they survive a copier: greys and strokes tell things apart, not colours.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from math import cos, radians, sin
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import Piece, corners, pieces, planes, surface_names
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.describe.sheets import Sheet
from firstthrow.sim.paper.page import (
    Area,
    Line,
    Part,
    Point,
    arc,
    arrow,
    box,
    disc,
    hatched,
    sector,
)

FOAM, FLAP, FIN, EDGE_ON = 0.97, 0.82, 0.88, 0.35  # greys
FAINT = 0.45  # grey of lines that stand back
RAISED = radians(18.0)  # the eye behind the tail looks down by so much
STRAIGHT = 1e-3  # [m] off the centreline that is on it
CENTRELINE = (3.0, 0.8, 0.6, 0.8)  # dashes, in widths of 0.3 mm


class Plan(NamedTuple):
    """Where an airframe seen from above, nose up, comes to lie on a page."""

    x: float  # of the centreline
    y: float  # of the datum
    scale: float  # units of the page a metre
    pen: float = 0.25  # width of a usual line

    def at(self, aft: float, right: float) -> Point:
        return self.x + self.scale * float(right), self.y - self.scale * float(aft)

    def level(self, aft: float) -> float:
        """The y of a place behind the datum [m]."""
        return self.y - self.scale * aft


class Extent(NamedTuple):
    """Foremost and rearmost drawn place behind the datum, and the tip, all [m]."""

    front: float
    rear: float
    tip: float

    @property
    def length(self) -> float:
        return self.rear - self.front


def extent(airframe: Airframe) -> Extent:
    points = np.concatenate([piece.corners for piece in pieces(airframe)])
    ends = [
        item.aft + way * 0.5 * _size(item)[1]
        for item in airframe.items.values()
        for way in (-1.0, 1.0)
    ]
    ends += [motor.aft for motor in airframe.motors.values()]
    front, rear = min([points[:, 0].min(), *ends]), max([points[:, 0].max(), *ends])
    return Extent(float(front), float(rear), float(np.abs(points[:, 1]).max()))


def from_above(airframe: Airframe, plan: Plan) -> list[Part]:
    """Sheets, control surfaces, spars and propellers; items and marks are drawn on it."""
    flat = [piece for piece in pieces(airframe) if abs(piece.normal[2]) > 0.5]
    parts: list[Part] = [
        Area(_above(piece, plan), FOAM, 0.0) for piece in flat if piece.surface < 0
    ]
    parts += [Area(_above(piece, plan), FLAP, plan.pen) for piece in flat if piece.surface >= 0]
    for name, sheet in airframe.sheets.items():
        parts += _rims(name, sheet, plan)
    for sheet in airframe.sheets.values():
        for spar in sheet.spars.values():
            ends = [plan.at(spar.aft, spar.right + way * 0.5 * spar.length) for way in (-1, 1)]
            dash = tuple(6.0 * plan.pen * length for length in CENTRELINE)
            parts.append(Line(tuple(ends), 1.4 * plan.pen, FAINT, dash))
    for motor in airframe.motors.values():
        half = 0.5 * motor.propeller.size[0]
        ends = [plan.at(motor.aft, motor.right + way * half) for way in (-1, 1)]
        parts.append(Line(tuple(ends), 2.8 * plan.pen))
    return parts


def _above(piece: Piece, plan: Plan) -> tuple[Point, ...]:
    return tuple(plan.at(*corner[:2]) for corner in piece.corners)


def _rims(name: str, sheet: Sheet, plan: Plan) -> list[Part]:
    """Edges of a flat sheet, but for the line where its halves meet; an upright one edge on."""
    parts: list[Part] = []
    for plane in planes(name, sheet):
        rim = [
            (plane.point(aft, out), plane.side and out < STRAIGHT) for aft, out in corners(sheet)
        ]
        if abs(plane.normal[2]) > 0.5:
            for (one, meets), (other, too) in pairwise([*rim, rim[0]]):
                if not (meets and too):
                    ends = plan.at(*one[:2]), plan.at(*other[:2])
                    parts.append(Line(ends, 2.0 * plan.pen))
        else:
            low, high = min(p[0] for p, _ in rim), max(p[0] for p, _ in rim)
            half = max(0.5 * sheet.thickness, 1.5 * plan.pen / plan.scale)
            left, down = plan.at(high, rim[0][0][1] - half)
            wide, tall = 2.0 * half * plan.scale, (high - low) * plan.scale
            parts.append(box(left, down, wide, tall, EDGE_ON, plan.pen))
    return parts


def fitting(item: Item, plan: Plan, radius: float, grey: float) -> list[Part]:
    """An item where it lies: its outline or rod where it has a size, and a dot; what is guessed
    is dashed."""
    x, y = plan.at(item.aft, item.right)
    wide, long = (plan.scale * size for size in _size(item))
    dash = (4.0 * plan.pen, 2.0 * plan.pen) if item.known == "guessed" else ()
    parts: list[Part] = []
    if item.shape == "box":
        rim = box(x - 0.5 * wide, y - 0.5 * long, wide, long).points
        parts.append(Line((*rim, rim[0]), plan.pen, 0.0, dash))
    elif wide or long:
        ends = (x - 0.5 * wide, y - 0.5 * long), (x + 0.5 * wide, y + 0.5 * long)
        parts.append(Line(ends, 2.4 * plan.pen, FAINT))
    return [*parts, disc(x, y, radius, grey, plan.pen)]


def _size(item: Item) -> tuple[float, float]:
    """Width and length seen from above [m]."""
    if item.shape == "box":
        return item.width, item.length
    if item.shape == "rod":
        return item.length * (item.along == "right"), item.length * (item.along == "aft")
    return 0.0, 0.0


def balance_mark(at: Point, radius: float, pen: float) -> list[Part]:
    """The usual mark of a centre of gravity."""
    quarters = [sector(*at, radius, start, start + 90.0) for start in (0.0, 180.0)]
    return [disc(*at, radius, 1.0, pen), *quarters]


def neutral_mark(at: Point, size: float, pen: float) -> list[Part]:
    """A triangle, its tip aft."""
    x, y = at
    tips = (x, y - 0.9 * size), (x - size, y + 0.7 * size), (x + size, y + 0.7 * size)
    return [Area(tips, 1.0, pen)]


def allowed(plan: Plan, front: float, rear: float, half: float, step: float) -> list[Part]:
    """The band that the balance may lie in [m], hatched, `half` of the page's units to a side."""
    top, low = plan.level(front), plan.level(rear)
    band = hatched(plan.x - half, low, 2.0 * half, top - low, step, 0.6 * plan.pen)
    return [*band, *(limit(plan, place, half) for place in (front, rear))]


def limit(plan: Plan, place: float, half: float) -> Line:
    y = plan.level(place)
    return Line(((plan.x - half, y), (plan.x + half, y)), plan.pen, 0.0, (1.2, 0.7))


class Behind(NamedTuple):
    """A drawing from behind, and where its highest foremost point came to lie."""

    parts: list[Part]
    nose: Point


def seen(points: np.ndarray) -> np.ndarray:
    """(n, 2) right and up, of (n, 3) in the builder's frame, seen from behind and above."""
    points = np.asarray(points, dtype=float)
    up = points[:, 2] * cos(RAISED) - points[:, 0] * sin(RAISED)
    return np.column_stack([points[:, 1], up])


def turned(piece: Piece, angle: float) -> np.ndarray:
    """(4, 3) corners of a surface with its trailing edge down by `angle` [rad]."""
    if piece.hinge is None:
        raise ValueError("a fixed piece does not turn")
    hinge = piece.hinge[1] - piece.hinge[0]
    hinge = hinge / np.linalg.norm(hinge)
    from_hinge = piece.corners - piece.hinge[0]
    along = np.outer(from_hinge @ hinge, hinge)
    aft = from_hinge - along
    reach = np.linalg.norm(aft, axis=1)[:, None]
    return piece.hinge[0] + along + cos(angle) * aft - sin(angle) * reach * piece.normal


def from_behind(
    airframe: Airframe,
    up: Mapping[str, float],
    moves: Mapping[str, str],
    low_left: Point,
    size: tuple[float, float],
    length: float = 10.0,
) -> Behind:
    """The outline within a space of a size, its surfaces by name turned by `up` [rad], up or to
    the right; at each that moves up, down, left or right an arrow of a length, which reaches 0.6
    of it out of the space."""
    names = surface_names(airframe)
    shapes, tails = [], []
    for piece in pieces(airframe):
        around, grey = piece.corners, FIN if abs(piece.normal[2]) < 0.5 else FOAM
        if piece.surface >= 0:
            name = names[piece.surface]
            around, grey = turned(piece, -up.get(name, 0.0)), FLAP - 0.1
            tails.append((seen(piece.corners[2:].mean(0)[None, :])[0], moves.get(name, "")))
        shapes.append((float(piece.corners[:, 0].mean()), grey, seen(around)))
    shapes.sort(key=lambda shape: shape[0])  # what is further away first
    hubs, discs = _discs(airframe)
    every = np.concatenate([shape[2] for shape in shapes] + discs)
    low, high = every.min(0), every.max(0)
    scale = float(np.min(np.array(size) / (high - low)))
    middle = np.array(low_left) + 0.5 * np.array(size)
    origin = middle - scale * 0.5 * (low + high)
    parts: list[Part] = [
        Line(_points(np.vstack([ring, ring[:1]]) * scale + origin), 0.25) for ring in discs
    ]
    parts += [Area(_points(quad * scale + origin), grey, 0.35) for _, grey, quad in shapes]
    for tail, way in tails:
        if way:
            parts += _pointer(tail * scale + origin, way, length)
    noses = seen(np.array([[piece.corners[:, 0].min(), 0.0, 0.0] for piece in pieces(airframe)]))
    top = max(noses[:, 1].max(), *(hub[1] for hub in hubs), -np.inf) * scale + origin[1]
    return Behind(parts, (float(origin[0]), float(top)))


def _pointer(at: np.ndarray, way: str, length: float) -> tuple[Line, Area]:
    x, y = float(at[0]), float(at[1])
    across, up = {"up": (0, 1), "down": (0, -1), "left": (-1, 0), "right": (1, 0)}[way]
    start, end = 0.4 * length, 0.6 * length
    return arrow(
        (x - start * across, y - start * up), (x + end * across, y + end * up), 0.13 * length
    )


def _discs(airframe: Airframe) -> tuple[list, list]:
    """Hubs (2,) and rims (24, 2) of the propellers, seen from behind."""
    hubs, rims = [], []
    for motor in airframe.motors.values():
        hub = np.array([motor.aft, motor.right, motor.up])
        turns = np.linspace(0.0, 2.0 * np.pi, 25)[:-1]
        rim = hub + 0.5 * motor.propeller.size[0] * np.column_stack(
            [np.zeros(24), np.cos(turns), np.sin(turns)]
        )
        hubs.append(seen(hub[None, :])[0])
        rims.append(seen(rim))
    return hubs, rims


def _points(rows: np.ndarray) -> tuple[Point, ...]:
    return tuple((float(a), float(b)) for a, b in rows)


BLADES = ((-0.85, 0.04), (-0.4, 0.107), (0.4, 0.107), (0.85, 0.04))  # one rim, shares of the radius
LEAN = 20.0  # [deg] that they are drawn turned by


def propeller(at: Point, radius: float, turns: str) -> list[Part]:
    """The disc from behind: two blades, and an arrow round it that says how it turns."""
    x, y = at
    rim = (*BLADES, *((-r, -w) for r, w in BLADES))
    lean = radians(LEAN)
    blades = tuple(
        (x + radius * (r * cos(lean) - w * sin(lean)), y + radius * (r * sin(lean) + w * cos(lean)))
        for r, w in rim
    )
    round_ = arc(x, y, radius, 144.0, -126.0)  # clockwise, from the upper left to the lower left
    if turns != "clockwise":
        round_ = tuple((2.0 * x - px, py) for px, py in round_)
    pen, hub = 0.3 + 0.04 * radius, 0.08 * radius
    return [
        Area(blades, 0.3, 0.0),
        box(x - hub, y - hub, 2.0 * hub, 2.0 * hub, 1.0, 0.4 * pen),
        Line(round_[:-2], pen),
        *arrow(round_[-3], round_[-1], 1.1 * pen),
    ]
