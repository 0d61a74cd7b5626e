"""A page as plain data, black on white: areas, lines and words. One page goes to the window, to
PDF, to PNG and to SVG, and looks the same in all of them.

Lengths are mm from the lower left corner, y up; a page of the window may take another unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import cos, hypot, radians, sin
from typing import Literal, NamedTuple

Point = tuple[float, float]
WIDTH, HEIGHT = 297.0, 210.0  # of a landscape A4 sheet [mm]
ROUND = 32  # corners of what is drawn round


class Area(NamedTuple):
    """A convex polygon; `grey` 0 black .. 1 white, None to see through."""

    points: tuple[Point, ...]
    grey: float | None = 1.0
    edge: float = 0.3  # width of its outline [mm], 0 for none


class Line(NamedTuple):
    points: tuple[Point, ...]
    width: float = 0.3  # [mm]
    grey: float = 0.0
    dash: tuple[float, ...] = ()  # lengths drawn and left out, in turn [mm]


Anchor = Literal["left", "center", "right"]


class Words(NamedTuple):
    x: float
    y: float  # of the base line
    text: str
    size: float = 3.6  # [mm]
    bold: bool = False
    anchor: Anchor = "left"


Part = Area | Line | Words


class Page(NamedTuple):
    parts: tuple[Part, ...]
    width: float = WIDTH
    height: float = HEIGHT


def box(
    x: float, y: float, width: float, height: float, grey: float | None = 1.0, edge=0.3
) -> Area:
    return Area(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), grey, edge)


def tick_box(x: float, y: float, size: float = 5.0) -> Area:
    return box(x, y, size, size, 1.0, 0.5)


def disc(x: float, y: float, radius: float, grey: float | None = 1.0, edge: float = 0.3) -> Area:
    return Area(arc(x, y, radius, 0.0, 360.0)[:-1], grey, edge)


def sector(x: float, y: float, radius: float, start: float, end: float, grey=0.0, edge=0.0) -> Area:
    """A slice of a disc between two angles [deg], anticlockwise from the right; half at most."""
    return Area(((x, y), *arc(x, y, radius, start, end)), grey, edge)


def arc(x: float, y: float, radius: float, start: float, end: float) -> tuple[Point, ...]:
    """Points on a circle between two angles [deg], anticlockwise from the right."""
    steps = max(4, round(ROUND * abs(end - start) / 360.0))
    angles = [radians(start + (end - start) * k / steps) for k in range(steps + 1)]
    return tuple((x + radius * cos(a), y + radius * sin(a)) for a in angles)


def arrow(start: Point, end: Point, width: float = 1.1) -> tuple[Line, Area]:
    """A black shaft with a head at its end."""
    along = (end[0] - start[0], end[1] - start[1])
    size = max(1e-6, hypot(*along))
    way = (along[0] / size, along[1] / size)
    head = min(0.6 * size, 3.0 * width)
    neck = (end[0] - head * way[0], end[1] - head * way[1])
    half = 0.45 * head + 0.3 * width
    wings = tuple((neck[0] - s * half * way[1], neck[1] + s * half * way[0]) for s in (1.0, -1.0))
    return Line((start, neck), width), Area((end, *wings), 0.0, 0.0)


def hatched(x: float, y: float, wide: float, tall: float, step: float, pen: float) -> list[Line]:
    """Slanted grey lines within a box, a step apart along its lower side."""
    found, k = [], step * (-tall // step + 1.0)
    while k < wide:
        a, b = max(k, 0.0), min(k + tall, wide)
        found.append(Line(((x + a, y + a - k), (x + b, y + b - k)), pen, 0.5))
        k += step
    return found


def apart(levels: Sequence[float], step: float) -> list[float]:
    """Levels in rising order, moved as little as needed to lie a step apart."""
    at = list(levels)
    for _ in range(300):
        moved = False
        for k in range(len(at) - 1):
            short = step - (at[k + 1] - at[k])
            if short > 1e-6:
                at[k] -= 0.5 * short
                at[k + 1] += 0.5 * short
                moved = True
        if not moved:
            break
    return at


def dashes(line: Line) -> list[tuple[Point, Point]]:
    """The straight strokes that a line is made of, for who can draw no other."""
    if not line.dash:
        return list(pairwise(line.points))
    found, at, left = [], 0, line.dash[0]
    for (x, y), (to_x, to_y) in pairwise(line.points):
        size = hypot(to_x - x, to_y - y)
        done = 0.0
        while size - done > 1e-9:
            end = min(size, done + left)
            if at % 2 == 0:
                found.append(
                    (
                        (x + (to_x - x) * done / size, y + (to_y - y) * done / size),
                        (x + (to_x - x) * end / size, y + (to_y - y) * end / size),
                    )
                )
            left -= end - done
            done = end
            if left < 1e-9:
                at += 1
                left = line.dash[at % len(line.dash)]
    return found
