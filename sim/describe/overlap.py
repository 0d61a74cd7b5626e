"""Sheets that lie in one another: two boards cannot be in the same place.

Sheets that cross or stand on each other are as they should be; what is refused are two of the
same stance that share area at the same height (or, upright, the same distance from the
centreline) within their thickness. Looked at on a grid of points, so slivers pass.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import sin
from typing import NamedTuple

from firstthrow.sim.describe.problems import Problem
from firstthrow.sim.describe.tables import (
    Table,
    corner_places,
    is_mirrored,
    length,
    table,
    tables,
    value_of,
)
from firstthrow.sim.units import ANGLE, mm

GRID = 24  # points each way


class _Side(NamedTuple):
    """One side of a sheet in its own plane: outline (aft, out) from the datum and the centreline
    (flat) or the datum (upright), and its height over that plane at a place."""

    outline: list[tuple[float, float]]
    level: float
    aft_slope: float
    out_slope: float
    aft_from: float
    out_from: float
    thickness: float

    def height(self, aft: float, out: float) -> float:
        rise = self.out_slope * abs(out - self.out_from)
        return self.level + self.aft_slope * (aft - self.aft_from) + rise


def sheet_overlaps(tree: Table) -> Iterator[Problem]:
    """A problem for every sheet that lies in one named before it, or in its own image."""
    seen: list[tuple[str, str, list[_Side]]] = []
    for name, sheet in tables(tree, "sheets"):
        sides = _sides(sheet)
        stance = str(sheet.get("stance", "flat"))
        own = _shared(*sides) if len(sides) == 2 else None
        if own:
            yield ("sheets", name), _words("its own mirror image", own)
        for other, its_stance, its_sides in seen:
            if stance != its_stance:
                continue
            found = [_shared(a, b) for a in sides for b in its_sides]
            shared = max(filter(None, found), default=None)
            if shared:
                yield ("sheets", name), _words(f"the sheet '{other}'", shared)
        seen.append((name, stance, sides))


def _words(what: str, shared: tuple[float, float]) -> str:
    wide, long = (f"{mm(size):.0f}" for size in shared)
    return f"lies in {what}, over {wide} x {long} mm: move it, or give it another height"


def _sides(sheet: Table) -> list[_Side]:
    """Empty where the sheet cannot be read: the check of values tells."""
    upright = sheet.get("stance") == "upright"
    mirrored = is_mirrored(sheet)
    outline = _outline(sheet, upright, mirrored)
    aft, right, up = (length(sheet, key, 0.0) for key in ("aft", "right", "up"))
    thick = length(sheet, "thickness")
    lean, nose = (value_of(sheet, key, ANGLE, 0.0) for key in ("dihedral", "incidence"))
    if outline is None or aft is None or right is None or up is None:
        return []
    if thick is None or lean is None or nose is None:
        return []
    out, level = (up, right) if upright else (right, up)
    placed = [(x + aft, y + out) for x, y in outline]
    tilt = sin(nose) if upright else -sin(nose)
    found = [_Side(placed, level, tilt, sin(lean), aft, out, thick)]
    if mirrored and upright:
        found.append(_Side(placed, -level, -tilt, -sin(lean), aft, out, thick))
    elif mirrored:
        image = [(x, -y) for x, y in placed]
        found.append(_Side(image, level, tilt, sin(lean), aft, -out, thick))
    return found


def _outline(sheet: Table, upright: bool, mirrored: bool) -> list[tuple[float, float]] | None:
    border = table(sheet, "outline")
    if "corners" in border:
        return corner_places(border["corners"])
    chord, far = length(border, "chord"), length(border, "height" if upright else "span")
    if chord is None or far is None:
        return None
    near = 0.0
    if not upright:
        near, far = (0.0 if mirrored else -0.5 * far), 0.5 * far
    return [(0.0, near), (0.0, far), (chord, far), (chord, near)]


def _shared(a: _Side, b: _Side) -> tuple[float, float] | None:
    """Width and length of what two sides share [m], None when they share nothing."""
    bounds = []
    for axis in (0, 1):
        low = max(min(p[axis] for p in side.outline) for side in (a, b))
        high = min(max(p[axis] for p in side.outline) for side in (a, b))
        if high - low < 1e-3:  # they touch at most
            return None
        bounds.append((low, high))
    (x0, x1), (y0, y1) = bounds
    inside = []
    for i in range(GRID):
        for j in range(GRID):
            x, y = x0 + (i + 0.5) / GRID * (x1 - x0), y0 + (j + 0.5) / GRID * (y1 - y0)
            apart = abs(a.height(x, y) - b.height(x, y))
            near = apart < 0.5 * (a.thickness + b.thickness) - 1e-5
            if near and _within(a.outline, x, y) and _within(b.outline, x, y):
                inside.append((x, y))
    if not inside:
        return None
    long, wide = (
        max(p[k] for p in inside) - min(p[k] for p in inside) + (high - low) / GRID
        for k, (low, high) in enumerate(bounds)
    )
    return wide, long


def _within(outline: list[tuple[float, float]], x: float, y: float) -> bool:
    """Even-odd rule."""
    inside = False
    for (x1, y1), (x2, y2) in zip(outline, [*outline[1:], outline[0]], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            inside = not inside
    return inside
