"""Strokes of a drawing: what it holds once arcs and splines are cut into straight pieces.

Points are (n, 2) arrays in the drawing's units, x to the right, y up.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

DEEPEST = 12  # halvings of a curve


class Stroke(NamedTuple):
    """A line of straight pieces; `marks` are its layer, colour and names, in small letters."""

    points: np.ndarray
    marks: frozenset[str]

    @property
    def is_closed(self) -> bool:
        return len(self.points) > 3 and bool(np.allclose(self.points[0], self.points[-1]))


class Drawing(NamedTuple):
    strokes: list[Stroke]
    unit: float | None  # metres in a unit of the drawing; None where it does not say


class DrawingError(ValueError):
    """A drawing that cannot be read, or holds no outline; the text says what to do."""


def cut(at: Callable[[float], np.ndarray], tolerance: float) -> np.ndarray:
    """Points along a curve, `at` from 0 to 1, that no part of it leaves by more than about the
    tolerance: halved until middle and quarters are that close to the chord."""

    def halves(a: float, b: float, depth: int) -> list[float]:
        ends = at(a), at(b)
        inner = [at(a + share * (b - a)) for share in (0.25, 0.5, 0.75)]
        if depth == 0 or (depth < DEEPEST and _off(inner, *ends) <= tolerance):
            return [b]
        middle = 0.5 * (a + b)
        return halves(a, middle, depth - 1) + halves(middle, b, depth - 1)

    return np.array([at(share) for share in [0.0, *halves(0.0, 1.0, DEEPEST)]])


def _off(points: Sequence[np.ndarray], start: np.ndarray, end: np.ndarray) -> float:
    """How far points lie from a straight piece."""
    along = end - start
    size = float(along @ along)
    far = 0.0
    for point in points:
        share = 0.0 if size == 0.0 else min(1.0, max(0.0, float((point - start) @ along) / size))
        far = max(far, float(np.linalg.norm(point - start - share * along)))
    return far


def joined(strokes: Sequence[Stroke], gap: float) -> list[Stroke]:
    """Strokes whose ends meet within the gap as one, so that lines and arcs become loops.
    What is joined keeps the marks that all of it has."""
    rest, found = [s for s in strokes if not s.is_closed], [s for s in strokes if s.is_closed]
    while rest:
        points, marks = rest.pop(0)
        grown = True
        while grown and np.linalg.norm(points[0] - points[-1]) > gap:
            grown = False
            for k, other in enumerate(rest):
                for way in (other.points, other.points[::-1]):
                    if np.linalg.norm(points[-1] - way[0]) <= gap:
                        points = np.vstack([points, way[1:]])
                    elif np.linalg.norm(points[0] - way[-1]) <= gap:
                        points = np.vstack([way[:-1], points])
                    else:
                        continue
                    marks, grown = marks & other.marks, True
                    break
                if grown:
                    rest.pop(k)
                    break
        if len(points) > 3 and np.linalg.norm(points[0] - points[-1]) <= gap:
            points = np.vstack([points[:-1], points[:1]])
        found.append(Stroke(points, marks))
    return found


def simplified(points: np.ndarray, tolerance: float) -> np.ndarray:
    """An open line with only the points it needs to stay within the tolerance.

    Source: Ramer 1972 and Douglas and Peucker 1973, the well-known halving at the farthest point.
    """
    if len(points) < 3:
        return points
    offs = [_off([point], points[0], points[-1]) for point in points[1:-1]]
    worst = int(np.argmax(offs)) + 1
    if offs[worst - 1] <= tolerance:
        return points[[0, -1]]
    first, rest = simplified(points[: worst + 1], tolerance), simplified(points[worst:], tolerance)
    return np.vstack([first[:-1], rest])


def area(loop: np.ndarray) -> float:
    """Of a closed line; positive anticlockwise."""
    x, y = loop[:, 0], loop[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
