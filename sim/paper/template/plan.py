"""The cutting template as plain data at full size: outlines, hinges, spars, balance, parts.

Millimetres: x to the right, y towards the nose, the datum at the origin. Flat sheets lie where
they sit on the airframe, each as flat as it is cut; upright ones lie below, nose up, once each.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from firstthrow.sim.build.shape import corners, edges, is_mirrored
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.sheets import Sheet, Surface
from firstthrow.sim.paper.page import Point
from firstthrow.sim.units import mm

Layer = Literal["outline", "hinge", "spar", "balance", "parts", "words"]
APART = 20.0  # between sheets that are laid beside each other [mm]
CROSS = 4.0  # arms of a place without a size [mm]
BAND = 30.0  # half the width of the balance marks [mm]
LETTERS = 4.0  # height [mm]
INSIDE = 1e-6  # of a surface's span, to be on the sheet at its ends


class Stroke(NamedTuple):
    layer: Layer
    points: tuple[Point, ...]  # the first again at the end of what is closed


class Label(NamedTuple):
    at: Point  # left end of the base line
    text: str


class Plan(NamedTuple):
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]

    @property
    def box(self) -> tuple[Point, Point]:
        """Lower left and upper right corner of all strokes."""
        points = np.array([point for stroke in self.strokes for point in stroke.points])
        low, high = points.min(axis=0), points.max(axis=0)
        return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


class Balance(NamedTuple):
    """Places aft of the datum [m]; a front limit there may be none of."""

    cg: float
    neutral: float
    front: float | None
    rear: float


def plan(airframe: Airframe, balance: Balance) -> Plan:
    """The template of an airframe, its balance as a study found it."""
    u = airframe.units
    strokes: list[Stroke] = []
    labels: list[Label] = []
    for name, sheet in airframe.sheets.items():
        if sheet.stance == "flat":
            strokes += _flat(sheet)
            at = (mm(sheet.right) + 8.0, -mm(sheet.aft) - 12.0)
            labels.append(_named(name, sheet, at, u))
    strokes += _centreline(strokes)
    found, marks = _balance(balance, u)
    strokes, labels = strokes + found, labels + marks
    for name, item in airframe.items.items():
        strokes.append(_place(item))
        labels.append(Label((mm(item.right) + CROSS, -mm(item.aft)), name))
    for name, motor in airframe.motors.items():
        at, half = (mm(motor.right), -mm(motor.aft)), 0.5 * mm(motor.propeller.size[0])
        strokes.append(Stroke("parts", ((at[0] - half, at[1]), (at[0] + half, at[1]))))
        labels.append(Label((at[0] + CROSS, at[1] + 2.0), f"{name}: propeller disc"))
    below = min(y for stroke in strokes for _, y in stroke.points) - APART
    left = min(x for stroke in strokes for x, _ in stroke.points)
    for name, sheet in airframe.sheets.items():
        if sheet.stance != "upright":
            continue
        outline = mm(corners(sheet))
        move = np.array([left - outline[:, 1].min(), below + outline[:, 0].min()])
        strokes += _upright(sheet, move)
        many = " x 2" if is_mirrored(sheet) else ""
        at = (left + 4.0, below - 0.6 * float(np.ptp(outline[:, 0])))
        label = _named(name, sheet, at, u)
        labels.append(label._replace(text=label.text + many))
        left += float(np.ptp(outline[:, 1])) + APART
    return Plan(tuple(strokes), tuple(labels))


def _named(name: str, sheet: Sheet, at: Point, u: Units) -> Label:
    digits = int(round(mm(sheet.thickness), 1) % 1.0 > 0.0)
    return Label(at, f"{name}: {u.length(sheet.thickness, digits)} {sheet.material}")


def _flat(sheet: Sheet) -> list[Stroke]:
    """A flat sheet with its hinges and spars, both sides; one that reaches over the centreline
    in one piece."""

    def placed(points: np.ndarray, side: float = 1.0) -> tuple[Point, ...]:
        return tuple(
            (side * mm(sheet.right + out), -mm(sheet.aft + aft)) for aft, out in points.tolist()
        )

    sides = (1.0, -1.0) if is_mirrored(sheet) else (1.0,)
    whole = _whole(sheet) if len(sides) == 2 else None
    found = [] if whole is None else [Stroke("outline", placed(whole))]
    for side in sides:
        drawn = _drawn(sheet, lambda points, side=side: placed(points, side))
        found += drawn if whole is None else drawn[1:]
        for spar in sheet.spars.values():
            y = -mm(spar.aft)
            found.append(Stroke("spar", ((0.0, y), (side * 0.5 * mm(spar.length), y))))
        for joint in sheet.joints.values():
            if joint.along == "chord":
                ends = edges(corners(sheet), joint.out)
                line = np.array([[end, joint.out] for end in ends])
                found.append(Stroke("spar", placed(line, side)))
    return found


def _whole(sheet: Sheet) -> np.ndarray | None:
    """The outline of both halves as one closed line; None where they do not meet in an edge."""
    half = corners(sheet)
    root = np.flatnonzero(half[:, 1] == 0.0)
    if sheet.right != 0.0 or len(root) != 2:
        return None
    first = root[1] if root[1] - root[0] == 1 else root[0]
    half = np.roll(half, -first, axis=0)  # from one end of the root edge round to the other
    loop = np.vstack([half, half[-2:0:-1] * (1.0, -1.0)])
    return np.vstack([loop, loop[:1]])


def _upright(sheet: Sheet, move: np.ndarray) -> list[Stroke]:
    def placed(points: np.ndarray) -> tuple[Point, ...]:
        return tuple(
            (float(mm(up) + move[0]), float(-mm(aft) + move[1])) for aft, up in points.tolist()
        )

    return _drawn(sheet, placed)


def _drawn(sheet: Sheet, placed) -> list[Stroke]:
    """Outline and hinges of one side of a sheet."""
    outline = corners(sheet)
    found = [Stroke("outline", placed(np.vstack([outline, outline[:1]])))]
    for surface in sheet.surfaces.values():
        hinge, ends = _hinge(outline, surface)
        found.append(Stroke("hinge", placed(hinge)))
        found += [Stroke("outline", placed(end)) for end in ends]
    return found


def _hinge(outline: np.ndarray, surface: Surface) -> tuple[np.ndarray, list[np.ndarray]]:
    """The hinge line of a surface, and the cuts at its ends, as (aft, out) in the sheet."""
    near, far = surface.inner, surface.outer
    slack = INSIDE * (far - near)
    inner = [o for o in outline[:, 1].tolist() if near + slack < o < far - slack]
    outs = [near, *sorted(set(inner)), far]
    seen = [min(max(out, near + slack), far - slack) for out in outs]
    rears = [edges(outline, out)[1] for out in seen]
    hinge = np.column_stack([np.array(rears) - surface.chord, outs])
    cuts = [np.array([hinge[k], [rears[k], outs[k]]]) for k in (0, -1)]
    return hinge, cuts


def _centreline(strokes: list[Stroke]) -> list[Stroke]:
    ys = [y for stroke in strokes if stroke.layer == "outline" for _, y in stroke.points]
    return [Stroke("spar", ((0.0, max(ys)), (0.0, min(ys))))]


def _balance(balance: Balance, u: Units) -> tuple[list[Stroke], list[Label]]:
    """Marks across the centreline."""
    places = {
        "balance here": balance.cg,
        "neutral point": balance.neutral,
        "front limit": balance.front,
        "rear limit": balance.rear,
    }
    strokes, labels = [], []
    for text, aft in places.items():
        if aft is not None:
            y = -mm(aft)
            strokes.append(Stroke("balance", ((-BAND, y), (BAND, y))))
            labels.append(Label((BAND + 2.0, y - 1.0), f"{text}: {u.length(aft, 1)} aft"))
    return strokes, labels


def _place(item: Item) -> Stroke:
    """A box or rod from above, else a cross."""
    x, y = mm(item.right), -mm(item.aft)
    long, wide = _size(item)
    if long * wide > 0.0:
        a, b = 0.5 * wide, 0.5 * long
        box = ((x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b), (x - a, y - b))
        return Stroke("parts", box)
    arm = CROSS
    return Stroke("parts", ((x - arm, y), (x + arm, y), (x, y), (x, y + arm), (x, y - arm)))


def _size(item: Item) -> tuple[float, float]:
    """Fore and aft, across [mm]; noughts of a point."""
    if item.shape == "point":
        return 0.0, 0.0
    if item.shape == "box":
        return mm(item.length), mm(item.width)
    sizes = {"aft": (item.length, item.diameter), "right": (item.diameter, item.length)}
    long, wide = sizes.get(item.along, (item.diameter, item.diameter))
    return mm(long), mm(wide)


def moved(plan: Plan, x: float, y: float) -> Plan:
    """The plan shifted on its paper [mm]."""
    strokes = tuple(
        s._replace(points=tuple((px + x, py + y) for px, py in s.points)) for s in plan.strokes
    )
    labels = tuple(one._replace(at=(one.at[0] + x, one.at[1] + y)) for one in plan.labels)
    return Plan(strokes, labels)
