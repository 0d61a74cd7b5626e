"""The outline of a flat sheet out of a drawing: its right half, its holes, its hinge lines.

The largest closed line is the outline, closed lines inside it are holes, and what is marked as a
hinge (by its layer, colour or name) is a hinge line. Builder's frame: aft of the foremost point
on the centreline, out from the centreline; metres.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal, NamedTuple

import numpy as np

from firstthrow.sim.describe.drawing import dxf, svg
from firstthrow.sim.describe.drawing.strokes import (
    Drawing,
    DrawingError,
    Stroke,
    area,
    joined,
    simplified,
)
from firstthrow.sim.units import from_mm, mm

Forward = Literal["up", "down", "left", "right"]
Drawn = Literal["whole", "right", "left"]
TURNS = {"up": 0, "right": 1, "down": 2, "left": 3}  # quarters anticlockwise, so that it is up
ALIKE = 0.01  # of the span: how far the halves of a whole outline may differ
GAP = 0.001  # of the drawing's size, between ends that meet
FIRST = 0.1  # of the drawing's units: how fine curves are cut while no unit is known


class Hinge(NamedTuple):
    """A surface behind a hinge line on the right half: its chord and where it starts and ends."""

    chord: float
    inner: float
    outer: float
    uneven: float  # how much more chord it has at its widest than at its narrowest


class Outline(NamedTuple):
    corners: np.ndarray  # (n, 2) aft and out [m], round the right half
    hinges: tuple[Hinge, ...]
    holes: tuple[float, ...]  # areas on the right half [m2]
    drawn: Drawn

    @property
    def span(self) -> float:
        return 2.0 * float(self.corners[:, 1].max())

    @property
    def chord(self) -> float:
        """From the foremost to the rearmost point."""
        return float(np.ptp(self.corners[:, 0]))

    @property
    def area(self) -> float:
        """Of both halves, holes included [m2]."""
        return 2.0 * abs(area(self.corners))


def read(
    path: Path,
    unit: float | None = None,
    span: float | None = None,
    forward: Forward = "up",
    drawn: Drawn | None = None,
    hinge: str = "hinge",
    tolerance: float = from_mm(0.2),
) -> Outline:
    """The outline in a DXF or SVG drawing.

    unit: metres in a unit of the drawing, where it does not say or says it wrong; span: tip to
    tip, measured, which scales it; forward: where the nose is on the page; drawn: the whole
    outline or one half of it, by its symmetry when not said; hinge: a part of the layer's or the
    element's name, or a colour. No point of the drawn outline is farther than about twice the
    tolerance from what is returned. Raises DrawingError.
    """
    reader = {".dxf": dxf.read, ".svg": svg.read}.get(path.suffix.lower())
    if reader is None:
        raise DrawingError(f"{path}: wanted a drawing that ends in .dxf or .svg")
    rough = reader(path, FIRST)
    scale = unit or rough.unit
    if scale is None:
        if span is None:
            unsaid = "does not say its unit: say it, or the span as you measured it"
            raise DrawingError(f"{path}: {unsaid}")
        scale = span / _width(rough, forward, drawn, hinge, path)
    drawing = reader(path, tolerance / scale)
    if span is not None:
        scale = span / _width(drawing, forward, drawn, hinge, path)
    outer, holes, hinges = _sorted(drawing, hinge, path)
    turn = TURNS[forward]
    loop = _turned(outer.points[:-1], turn) * scale
    lines = [_turned(line.points, turn) * scale for line in hinges]
    inside = [_turned(hole.points[:-1], turn) * scale for hole in holes]
    return _outline(loop, lines, inside, drawn, tolerance, path)


def _sorted(drawing: Drawing, hinge: str, path: Path) -> tuple[Stroke, list[Stroke], list[Stroke]]:
    """The outline, the holes in it, and the hinge lines."""
    hinges = [s for s in drawing.strokes if _is_marked(s, hinge)]
    others = [s for s in drawing.strokes if not _is_marked(s, hinge)]
    size = max((float(np.ptp(s.points, axis=0).max()) for s in others), default=0.0)
    loops = [s for s in joined(others, GAP * size) if s.is_closed and abs(area(s.points)) > 0.0]
    if not loops:
        raise DrawingError(
            f"{path}: holds no closed line: an outline is one, its ends within 0.1 % of its size"
        )
    loops.sort(key=lambda loop: -abs(area(loop.points)))
    low, high = loops[0].points.min(axis=0), loops[0].points.max(axis=0)
    holes = [
        loop
        for loop in loops[1:]
        if (loop.points.min(axis=0) >= low).all() and (loop.points.max(axis=0) <= high).all()
    ]
    return loops[0], holes, hinges


def _is_marked(stroke: Stroke, hinge: str) -> bool:
    return any(hinge.lower() in mark for mark in stroke.marks)


def _width(
    drawing: Drawing, forward: Forward, drawn: Drawn | None, hinge: str, path: Path
) -> float:
    """Tip to tip in the drawing's unit."""
    loop = _turned(_sorted(drawing, hinge, path)[0].points[:-1], TURNS[forward])
    half = drawn in ("left", "right") or (drawn is None and not _symmetric(loop))
    return float(np.ptp(loop[:, 0])) * (2.0 if half else 1.0)


def _turned(points: np.ndarray, quarters: int) -> np.ndarray:
    for _ in range(quarters):
        points = np.column_stack([-points[:, 1], points[:, 0]])
    return points


def _symmetric(loop: np.ndarray) -> bool:
    """Whether the left of a loop is the mirror image of its right: by its width at many
    heights on both sides of its middle."""
    middle = 0.5 * (loop[:, 0].min() + loop[:, 0].max())
    size = float(np.ptp(loop[:, 0]))
    mirrored = np.column_stack([2.0 * middle - loop[:, 0], loop[:, 1]])
    return max(_far(mirrored, loop), _far(loop, mirrored)) <= ALIKE * size


def _far(points: np.ndarray, loop: np.ndarray) -> float:
    """How far the farthest of the points lies from a closed line."""
    start, along = loop, np.roll(loop, -1, axis=0) - loop
    size = np.maximum((along**2).sum(axis=1), 1e-30)
    gaps = points[:, None] - start[None]
    share = np.clip((gaps * along).sum(axis=2) / size, 0.0, 1.0)
    return float(np.linalg.norm(gaps - share[..., None] * along, axis=2).min(axis=1).max())


def _outline(
    loop: np.ndarray,
    lines: list[np.ndarray],
    inside: list[np.ndarray],
    drawn: Drawn | None,
    tolerance: float,
    path: Path,
) -> Outline:
    """From a loop with the nose up, in metres."""
    drawn = drawn or ("whole" if _symmetric(loop) else "right")
    low, high = float(loop[:, 0].min()), float(loop[:, 0].max())
    root = {"whole": 0.5 * (low + high), "right": low, "left": high}[drawn]
    way = -1.0 if drawn == "left" else 1.0

    def placed(points: np.ndarray) -> np.ndarray:
        """As (aft, out), the nose not yet at nought."""
        return np.column_stack([-points[:, 1], way * (points[:, 0] - root)])

    half = _right_half(placed(loop))
    on_centre = half[half[:, 1] < 1e-9 + 0.5 * tolerance]
    if len(on_centre) < 2:
        raise DrawingError(
            f"{path}: its outline meets the centreline in no edge: which half is it?"
        )
    nose = float(on_centre[:, 0].min())
    half = half - (nose, 0.0)
    hinges = tuple(
        found for line in lines if (found := _hinge(half, placed(line) - (nose, 0.0))) is not None
    )
    share = 0.5 if drawn == "whole" else 1.0
    holes = tuple(share * abs(area(hole)) for hole in inside)
    return Outline(_few(half, tolerance), hinges, holes, drawn)


def _right_half(loop: np.ndarray) -> np.ndarray:
    """What lies right of the centreline: the loop clipped there (Sutherland and Hodgman 1974)."""
    found = []
    for here, there in zip(loop, np.roll(loop, -1, axis=0), strict=True):
        if here[1] >= 0.0:
            found.append(here)
        if (here[1] > 0.0) != (there[1] > 0.0) and here[1] != there[1]:
            share = here[1] / (here[1] - there[1])
            found.append(here + share * (there - here))
    return np.array(found)


def _few(half: np.ndarray, tolerance: float) -> np.ndarray:
    """With only the corners that it needs, from the nose along the front edge round."""
    root = np.flatnonzero(half[:, 1] <= half[:, 1].min() + tolerance)
    first = int(root[np.argmin(half[root, 0])])
    loop = np.roll(half, -first, axis=0)
    if loop[1, 1] <= half[:, 1].min() + tolerance and len(root) > 1:  # the root edge comes first
        loop = np.roll(loop[::-1], 1, axis=0)
    few = simplified(np.vstack([loop, loop[:1] + 1e-12]), tolerance)[:-1]
    few[np.abs(few[:, 1]) < tolerance, 1] = 0.0
    keep = np.linalg.norm(few - np.roll(few, 1, axis=0), axis=1) > 0.5 * tolerance
    return few[keep]


def _hinge(half: np.ndarray, line: np.ndarray) -> Hinge | None:
    """The surface behind a hinge line; None for one on the left of the centreline."""
    inner, outer = float(line[:, 1].min()), float(line[:, 1].max())
    if outer <= 0.0:
        return None
    inner = max(0.0, inner)
    order = np.argsort(line[:, 1])
    outs = np.linspace(inner + 1e-6, outer - 1e-6, 9)
    at = np.interp(outs, line[order, 1], line[order, 0])
    chords = np.array([_rear(half, out) for out in outs]) - at
    return Hinge(float(chords.mean()), inner, outer, float(np.ptp(chords)))


def _rear(half: np.ndarray, out: float) -> float:
    """The rearmost place of the outline at a distance from the centreline."""
    places = []
    for here, there in zip(half, np.roll(half, -1, axis=0), strict=True):
        if min(here[1], there[1]) <= out <= max(here[1], there[1]) and here[1] != there[1]:
            share = (out - here[1]) / (there[1] - here[1])
            places.append(float(here[0] + share * (there[0] - here[0])))
    return max(places)


def told(outline: Outline) -> str:
    """What was taken from the drawing, in a sentence."""
    half = {"whole": "drawn whole", "right": "the right half drawn", "left": "the left half drawn"}
    words = [
        f"span {mm(outline.span):.0f} mm, {mm(outline.chord):.0f} mm from nose to tail, "
        f"{half[outline.drawn]}, {len(outline.corners)} corners on a side"
    ]
    for hinge in outline.hinges:
        words.append(
            f"a surface {mm(hinge.chord):.0f} mm deep from {mm(hinge.inner):.0f} to "
            f"{mm(hinge.outer):.0f} mm out"
        )
    if outline.holes:
        holes = "a hole" if len(outline.holes) == 1 else f"{len(outline.holes)} holes"
        unseen = "it" if len(outline.holes) == 1 else "them"
        words.append(f"{holes}, whose foam is taken off the mass; the air does not see {unseen}")
    return "; ".join(words)
