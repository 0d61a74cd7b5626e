"""Cut each sheet into chordwise strips: the elements that meet the air.

Strips run along each side of each sheet in equal widths. A few of them fly; a finer set is
for the lattice (see `lattice.collapse`). In the fine set a free edge (a tip) is inset
by a quarter of a strip, which makes a vortex lattice of equal strips converge at once
(Hough, Journal of Aircraft 10(5), 1973, lattice inset); the remainder still counts as area.
Not so where a fin stands at the tip. Sheets lie along the stream there, and an edge that stands
on another sheet reaches to the middle of it; only `quad` and `middle` know of either.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import (
    Plane,
    SurfaceSpan,
    corners,
    edges,
    edges_between,
    is_mirrored,
    mean_edges,
    planes,
    surface_spans,
)
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import Sheet
from firstthrow.sim.kernels.layout import MAX_STRIPS

FLYING = 4  # strips along each side of the largest sheet, in flight
FINE = 12  # and in the lattice
GLUED = 2.0  # thicknesses from the middle of a sheet within which an edge is on it


class CannotFly(ValueError):
    """More sheets, surfaces or contacts than there is room for in flight; or no lift at all."""


class Strips(NamedTuple):
    """n strips; arrays lead with n. Places in the builder's frame [m]."""

    sheet: np.ndarray  # index of the sheet in the file
    side: np.ndarray  # index of the plane (one side of one sheet)
    quad: np.ndarray  # (n, 4, 3) front a, front b, rear b, rear a; a to b along `span`
    middle: np.ndarray  # (n, 3) mid-chord, mid-strip
    aft: np.ndarray  # (n, 3) unit, along the chord
    span: np.ndarray  # (n, 3) unit, normal x aft
    normal: np.ndarray  # (n, 3) unit
    chord: np.ndarray
    width: np.ndarray  # between the trailing vortices
    area: np.ndarray  # with the share of the inset edges
    tip: np.ndarray  # share of a free edge's length that ends here: 1 at a tip strip, else 0
    surface: np.ndarray  # slot of its control surface, -1 without
    cover: np.ndarray  # share of the strip's width the surface covers
    flap: np.ndarray  # surface chord / strip chord
    thickness: np.ndarray


class Meeting(NamedTuple):
    """Where a sheet that stands across another one crosses it, or ends on it."""

    out: float  # of the sheet that is met [m]
    gap: float  # up to which an edge stands on the other [m]


def _counts(airframe: Airframe, main: int, least: int) -> dict[str, int]:
    """Strips along one side of each sheet, by the root of its size."""
    size = {}
    for name, sheet in airframe.sheets.items():
        x, y = corners(sheet).T
        size[name] = 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    largest = max(size.values())
    return {name: max(least, round(main * np.sqrt(area / largest))) for name, area in size.items()}


def _gap(outline: np.ndarray) -> float:
    """How far apart an edge and what it meets may be, by the size of the sheet [m]."""
    return min(0.01, 0.05 * float(np.ptp(outline[:, 1])))


def _edge(plane: Plane, at_out: float, outline: np.ndarray) -> np.ndarray:
    """Place of the middle of the edge at `at_out`."""
    lead, trail = edges(outline, at_out + 1e-6 * np.sign(outline[:, 1].mean() - at_out))
    return plane.point(0.5 * (lead + trail), at_out)


def _meets_half(plane: Plane, at_out: float, sheet: Sheet, outline: np.ndarray) -> bool:
    """Whether the edge of a flat sheet at `at_out` lies on its own mirror image."""
    aside = abs(_edge(plane, at_out, outline)[1])
    return bool(plane.side) and sheet.stance == "flat" and aside < _gap(outline)


def _joined(plane: Plane, at_out: float, airframe: Airframe, outline: np.ndarray) -> bool:
    """Whether the edge of a sheet at `at_out` meets the other half or another sheet."""
    sheet = airframe.sheets[plane.sheet]
    if _meets_half(plane, at_out, sheet, outline):
        return True
    middle = _edge(plane, at_out, outline)
    for name, other in airframe.sheets.items():
        if name == plane.sheet:
            continue
        for face in planes(name, other):
            offset = middle - face.origin
            aft, out = offset @ face.aft, offset @ face.out
            border = corners(other)
            gap = _gap(border)
            near, far = border[:, 1].min(), border[:, 1].max()
            if is_mirrored(other) and near <= 0.0:
                near = min(near, -gap)
            on_it = abs(offset @ face.normal) < 2.0 * other.thickness and near <= out <= far + gap
            if on_it and border[:, 0].min() - gap <= aft <= border[:, 0].max() + gap:
                return True
    return False


def _in_stream(plane: Plane, outline: np.ndarray) -> Plane:
    """The plane turned about its middle to lie along the stream, as thin-wing theory has it:
    trailing vortices then lie in it all the way, whatever the incidence, which normals keep.
    It is shifted up or sideways alone, so that two halves that meet still do."""
    middle = 0.5 * (outline[:, 0].min() + outline[:, 0].max())
    origin, across = plane.origin.copy(), 1 + int(np.argmax(np.abs(plane.normal[1:])))
    origin[across] += middle * plane.aft[across]
    return plane._replace(origin=origin, aft=np.array([1.0, 0.0, 0.0]))


def _met(airframe: Airframe, plane: Plane) -> list[Meeting]:
    """Where sheets that stand across a sheet cross it, or end on it, all of them along the
    stream."""
    own, found = airframe.sheets[plane.sheet], []
    outline = corners(own)
    for name, other in airframe.sheets.items():
        if other.stance == own.stance:
            continue
        border = corners(other)
        for face in (_in_stream(one, border) for one in planes(name, other)):
            ahead = face.origin[0] - plane.origin[0]
            if not _overlap(outline[:, 0], ahead + border[:, 0]):
                continue
            across = np.column_stack([plane.out[1:], -face.out[1:]])
            if abs(np.linalg.det(across)) < 0.3:  # sheets that lean like each other
                continue
            out, reach = np.linalg.solve(across, (face.origin - plane.origin)[1:])
            gap = GLUED * max(own.thickness, other.thickness)
            if border[:, 1].min() - gap < reach < border[:, 1].max() + gap:
                found.append(Meeting(float(out), gap))
    return found


def _overlap(a: np.ndarray, b: np.ndarray) -> bool:
    return bool(a.min() <= b.max() and b.min() <= a.max())


def _between(spans: list[SurfaceSpan]) -> list[float]:
    """Out coordinates where one surface gives way to the next: no strip may carry two."""
    ordered = sorted(spans, key=lambda s: s.inner)
    return [0.5 * (a.outer + b.inner) for a, b in pairwise(ordered)]


def _fixed(spans: list[SurfaceSpan], met: list[Meeting], ends, width: float) -> list[float]:
    """Where stations must lie between the ends.

    Between two surfaces, since no strip may carry two; and in the lattice where a fin stands on
    a sheet or crosses it, on both of them: the trailing vortices of each then run along those of
    the other, and not past its control points at some chance distance.
    """
    found = list(_between(spans))
    for at in (one.out for one in met):
        if all(abs(at - other) > 0.05 * width for other in [*found, *ends]):
            found.append(at)
    return sorted(a for a in found if ends[0] + 0.01 * width < a < ends[1] - 0.01 * width)


def _divide(marks: list[float], width: float, insets: list[float]) -> np.ndarray:
    """Stations from the first mark to the last, about `width` apart, with one at each between;
    insets: how far from either end the first and the last lie, in widths of the strips there."""
    stations: list[float] = []
    for k, (a, b) in enumerate(pairwise(marks)):
        start, end = insets[0] * (k == 0), insets[1] * (k == len(marks) - 2)
        count = max(1, round((b - a) / width - start - end))
        each = (b - a) / (count + start + end)
        stations += list(np.linspace(a + start * each, b - end * each, count + 1)[k > 0 :])
    return np.array(stations)


def _at_end(at: float, end: float, inset: float, thick: float) -> bool:
    """Whether a sheet that stands across another does so at an end of it."""
    return abs(at - end) < max(1.2 * inset, GLUED * thick)


def _sealed(stations: np.ndarray, stays: list[bool], met: list[Meeting]) -> np.ndarray:
    """The stations with ends that stand on another sheet drawn on to the middle of its thickness:
    foam has no gap there, and the lattice would let the air through."""
    drawn = stations.copy()
    for end in (0, -1):
        off = [(abs(one.out - stations[end]), one) for one in met if one.out not in stations]
        near = [(far, one.out) for far, one in off if far < one.gap]
        if near and not stays[end]:
            drawn[end] = min(near)[1]
    return drawn


def _held_to(sheet: Sheet, span: SurfaceSpan) -> float:
    """Out coordinate up to which a surface hangs on its hinge; what is torn trails in line with
    the sheet."""
    surface = sheet.surfaces[span.surface]
    torn = surface.torn if surface.faulty(span.side) else 0.0
    return span.outer - torn * (span.outer - span.inner)


def _off(sheet: Sheet, span: SurfaceSpan) -> bool:
    surface = sheet.surfaces[span.surface]
    return surface.off and surface.faulty(span.side)


def _side(airframe: Airframe, plane: Plane, count: int, inset: float) -> list[dict]:
    sheet = airframe.sheets[plane.sheet]
    outline = corners(sheet)
    near, far = outline[:, 1].min(), outline[:, 1].max()
    free = [not _joined(plane, near, airframe, outline), not _joined(plane, far, airframe, outline)]
    spans = [s for s in surface_spans(airframe) if s.sheet == plane.sheet and s.side == plane.side]
    lies = _in_stream(plane, outline) if inset else plane
    met = _met(airframe, lies) if inset else []
    even = (far - near) / (count + inset * sum(free))
    # A fin at the end, however short, would stand outside of an inset one.
    bare = [
        f and not any(_at_end(one.out, end, inset * even, sheet.thickness) for one in met)
        for f, end in zip(free, (near, far), strict=True)
    ]
    insets = [inset * end for end in bare]
    even = (far - near) / (count + sum(insets))
    ends = near + insets[0] * even, far - insets[1] * even
    stations = _divide([near, *_fixed(spans, met, ends, even), far], even, insets)
    # Halves meet where they do, with a fin beside that place, too.
    stays = [
        b or _meets_half(plane, end, sheet, outline)
        for b, end in zip(bare, (near, far), strict=True)
    ]
    drawn = _sealed(stations, stays, met)
    along = np.cross(plane.normal, plane.aft)
    forward = along @ plane.out > 0.0
    rows = []
    for k, (o1, o2) in enumerate(pairwise(stations)):
        width = o2 - o1
        e1, e2 = edges_between(outline, o1, o2)
        covers = [max(0.0, min(o2, _held_to(sheet, s)) - max(o1, s.inner)) / width for s in spans]
        gone = sum(
            cover * sheet.surfaces[s.surface].chord
            for cover, s in zip(covers, spans, strict=True)
            if _off(sheet, s)
        )
        # Curved edges and cut-off corners: both ends move so that the mean chord is the true one.
        off = np.array(mean_edges(outline, o1, o2)) - 0.5 * (e1 + e2) - [0.0, gone]
        e1, e2 = e1 + off, e2 + off
        a = (lies.point(e1[0], drawn[k]), lies.point(e1[1], drawn[k]))
        b = (lies.point(e2[0], drawn[k + 1]), lies.point(e2[1], drawn[k + 1]))
        if not forward:
            a, b = b, a
        at_tip = k == 0 and free[0], k == len(stations) - 2 and free[1]
        ends = near if at_tip[0] else o1, far if at_tip[1] else o2
        chord = 0.5 * (e1[1] - e1[0] + e2[1] - e2[0])
        lead, trail = mean_edges(outline, *ends)
        best = int(np.argmax(covers)) if covers else -1
        carries = best >= 0 and covers[best] > 0.0
        carries = carries and not _off(sheet, spans[best])
        rows.append(
            {
                "quad": np.array([a[0], b[0], b[1], a[1]]),
                "chord": chord,
                "width": width,
                "area": (trail - lead - gone) * (ends[1] - ends[0]),
                "tip": float(any(at_tip)),
                "surface": spans[best].slot if carries else -1,
                # A surface that runs out to the tip moves the inset remainder as well.
                "cover": covers[best] if carries else 0.0,
                "flap": (
                    min(0.9, sheet.surfaces[spans[best].surface].chord / chord) if carries else 0.0
                ),
                "aft": plane.aft,
                "normal": plane.normal,
                "span": along,
                "thickness": sheet.thickness,
            }
        )
    return rows


def _cut(airframe: Airframe, main: int, least: int, inset: float) -> Strips:
    counts = _counts(airframe, main, least)
    rows, side = [], 0
    for index, (name, sheet) in enumerate(airframe.sheets.items()):
        for plane in planes(name, sheet):
            for row in _side(airframe, plane, counts[name], inset):
                rows.append({**row, "sheet": index, "side": side})
            side += 1
    columns = {key: np.array([row[key] for row in rows]) for key in rows[0]}
    return Strips(middle=columns["quad"].mean(axis=1), **columns)


def _each_has_its_strip(airframe: Airframe, found: Strips) -> None:
    for span in surface_spans(airframe):
        if span.slot not in found.surface and not _off(airframe.sheets[span.sheet], span):
            raise CannotFly(
                f"sheets.{span.sheet}.surfaces.{span.surface}: too narrow beside the next "
                "surface to be flown: make it wider, or one with its neighbour"
            )


def fine(airframe: Airframe, main: int = FINE) -> Strips:
    """Strips for the lattice, free edges inset. Raises CannotFly for a surface so narrow that
    it has no strip to itself."""
    found = _cut(airframe, main, 4, 0.25)
    _each_has_its_strip(airframe, found)
    return found


def cut(airframe: Airframe) -> Strips:
    """The strips that fly: they cover the sheets. Raises CannotFly beyond MAX_STRIPS, and for
    surfaces that lie so that one has no strip to itself."""
    for main in range(FLYING, 1, -1):
        found = _cut(airframe, main, 2, 0.0)
        if len(found.chord) <= MAX_STRIPS:
            _each_has_its_strip(airframe, found)
            return found
    raise CannotFly(f"sheets: too many: they need more than the {MAX_STRIPS} strips that fly")


def spread(coarse: Strips, fine: Strips) -> tuple[np.ndarray, np.ndarray]:
    """(fine, coarse) weights that carry values on coarse strips to fine ones, side by side.

    The first by straight lines through the middles of the coarse strips (it keeps anything
    that is affine along the span), the second by where a fine strip lies.
    """
    lines = np.zeros((len(fine.chord), len(coarse.chord)))
    inside = np.zeros_like(lines)
    for side in np.unique(fine.side):
        few, many = np.flatnonzero(coarse.side == side), np.flatnonzero(fine.side == side)
        along = fine.span[many[0]]
        at, to = coarse.middle[few] @ along, fine.middle[many] @ along
        order = np.argsort(at)
        few, at = few[order], at[order]
        left = np.clip(np.searchsorted(at, to) - 1, 0, len(at) - 2)
        share = (to - at[left]) / (at[left + 1] - at[left])
        lines[many, few[left]] = 1.0 - share
        lines[many, few[left + 1]] = share
        upper = at + 0.5 * coarse.width[few]
        inside[many, few[np.searchsorted(upper[:-1], to)]] = 1.0
    return lines, inside
