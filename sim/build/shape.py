"""The airframe as plane pieces: what weighs, what is drawn, what the air meets.

Builder's frame, metres: x aft, y right, z up. Every sheet lies in a plane spanned by its
aft direction t and its out direction o (right or up); its normal n points up for flat sheets
and right for upright ones, on both sides of the centreline. A surface angle is positive
when the trailing edge moves against n.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import Role, Sheet, Surface
from firstthrow.sim.once import once_for

_MIRROR = np.array([1.0, -1.0, 1.0])


class Plane(NamedTuple):
    """One side of one sheet, as a plane with its own axes."""

    sheet: str
    side: str  # "", "right" or "left"
    origin: np.ndarray
    aft: np.ndarray
    out: np.ndarray
    normal: np.ndarray

    def point(self, aft: float, out: float) -> np.ndarray:
        return self.origin + aft * self.aft + out * self.out


class SurfaceSpan(NamedTuple):
    """Where one control surface sits: its slot, name, plane side and out range [m]."""

    slot: int
    name: str
    sheet: str
    surface: str
    side: str
    inner: float
    outer: float
    described: Surface
    upright: bool  # on an upright sheet: its trailing edge goes left and right

    @property
    def role(self) -> Role:
        return self.described.role


class Piece(NamedTuple):
    """A plane quad: front inner, front outer, rear outer, rear inner, at mid-thickness."""

    sheet: str
    corners: np.ndarray  # (4, 3)
    normal: np.ndarray  # (3,)
    thickness: float
    surface: int  # slot in the state vector, -1 when fixed
    hinge: np.ndarray | None  # (2, 3) inner and outer end of the hinge line


def is_mirrored(sheet: Sheet) -> bool:
    return sheet.stance == "flat" if sheet.mirrored is None else sheet.mirrored


def corners(sheet: Sheet) -> np.ndarray:
    """(k, 2) outline of one side as (aft, out)."""
    outline = sheet.outline
    if outline.corners is not None:
        return np.array(outline.corners)
    flat = sheet.stance == "flat"
    wide, chord = outline.span if flat else outline.height, outline.chord
    if wide is None or chord is None:  # files are refused before
        raise ValueError("an outline has neither corners nor two sides")
    far = 0.5 * wide if flat else wide
    near = -far if flat and not is_mirrored(sheet) else 0.0
    return np.array([(0.0, near), (0.0, far), (chord, far), (chord, near)])


def main_name(airframe: Airframe) -> str | None:
    """Name of the flat sheet with the largest area, both sides of it, which carries the
    airframe; None where no sheet lies flat."""
    sheets = airframe.sheets
    flat = [name for name, sheet in sheets.items() if sheet.stance == "flat"]
    return max(flat, key=lambda name: _size(sheets[name]), default=None)


def _size(sheet: Sheet) -> float:
    x, y = corners(sheet).T
    one = 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    return (2.0 if is_mirrored(sheet) else 1.0) * one


def edges(outline: np.ndarray, out: float) -> tuple[float, float]:
    """Aft coordinates of the leading and trailing edge at a station inside the outline."""
    a, b = outline, np.roll(outline, -1, axis=0)
    crossed = (a[:, 1] - out) * (b[:, 1] - out) < 0.0
    a, b = a[crossed], b[crossed]
    aft = a[:, 0] + (out - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return float(aft.min()), float(aft.max())


def edges_between(outline: np.ndarray, near: float, far: float) -> np.ndarray:
    """(2, 2): (leading, trailing) at both ends of an interval, seen from inside it."""
    inside = 1e-7 * (far - near)
    return np.array([edges(outline, near + inside), edges(outline, far - inside)])


def _apart(near: float, far: float, at) -> np.ndarray:
    """Both ends and the stations between them, apart by more than what rounding makes of one."""
    least = 1e-7 * (far - near)
    outs = np.unique(np.clip(at, near, far))
    kept = [near, *(o for o in outs if o - near > least and far - o > least), far]
    return np.array([o for k, o in enumerate(kept) if k == 0 or o - kept[k - 1] > least])


def mean_edges(outline: np.ndarray, near: float, far: float) -> tuple[float, float]:
    """Mean aft coordinates of the leading and trailing edge over an interval: exact, since both
    are straight between the corners."""
    total = np.zeros(2)
    for a, b in itertools.pairwise(_apart(near, far, outline[:, 1])):
        total += 0.5 * (b - a) * edges_between(outline, a, b).sum(axis=0)
    lead, trail = total / (far - near)
    return float(lead), float(trail)


def planes(name: str, sheet: Sheet) -> tuple[Plane, ...]:
    lean_cos, lean_sin = np.cos(sheet.dihedral), np.sin(sheet.dihedral)
    if sheet.stance == "flat":
        out = np.array([0.0, lean_cos, lean_sin])
        level = np.cross([1.0, 0.0, 0.0], out)
    else:
        out = np.array([0.0, lean_sin, lean_cos])
        level = np.cross(out, [1.0, 0.0, 0.0])
    aft = np.cos(sheet.incidence) * np.array([1.0, 0.0, 0.0]) - np.sin(sheet.incidence) * level
    normal = np.cos(sheet.incidence) * level + np.sin(sheet.incidence) * np.array([1.0, 0.0, 0.0])
    origin = np.array([sheet.aft, sheet.right, sheet.up])
    if not is_mirrored(sheet):
        return (Plane(name, "", origin, aft, out, normal),)
    left_normal = normal * _MIRROR if sheet.stance == "flat" else -normal * _MIRROR
    return (
        Plane(name, "right", origin, aft, out, normal),
        Plane(name, "left", origin * _MIRROR, aft * _MIRROR, out * _MIRROR, left_normal),
    )


def surface_spans(airframe: Airframe) -> tuple[SurfaceSpan, ...]:
    """Every control surface in the order of the state's surface slots."""
    return spans_of(airframe.sheets)


@once_for(32)
def spans_of(sheets: Mapping[str, Sheet]) -> tuple[SurfaceSpan, ...]:
    plain = [surface for sheet in sheets.values() for surface in sheet.surfaces]
    spans: list[SurfaceSpan] = []
    for sheet_name, sheet in sheets.items():
        for surface_name, surface in sheet.surfaces.items():
            clash = plain.count(surface_name) > 1
            name = f"{sheet_name}_{surface_name}" if clash else surface_name
            for plane in reversed(planes(sheet_name, sheet)):
                label = f"{name}_{plane.side}" if plane.side else name
                spans.append(
                    SurfaceSpan(
                        len(spans),
                        label,
                        sheet_name,
                        surface_name,
                        plane.side,
                        surface.inner,
                        surface.outer,
                        surface,
                        sheet.stance == "upright",
                    )
                )
    return tuple(spans)


def surface_names(airframe: Airframe) -> tuple[str, ...]:
    return tuple(span.name for span in surface_spans(airframe))


def _cuts(outline: np.ndarray, spans: list[SurfaceSpan]) -> np.ndarray:
    """Stations between which edges are straight and a surface is there or not."""
    ends = [*outline[:, 1], *(s.inner for s in spans), *(s.outer for s in spans)]
    return _apart(outline[:, 1].min(), outline[:, 1].max(), ends)


def _sheet_pieces(plane: Plane, sheet: Sheet, spans: list[SurfaceSpan]) -> list[Piece]:
    outline = corners(sheet)
    found: list[Piece] = []

    def quad(ends: np.ndarray, near: float, far: float) -> np.ndarray:
        return np.array(
            [
                plane.point(ends[0, 0], near),
                plane.point(ends[1, 0], far),
                plane.point(ends[1, 1], far),
                plane.point(ends[0, 1], near),
            ]
        )

    cuts = _cuts(outline, spans)
    for near, far in itertools.pairwise(cuts):
        ends = edges_between(outline, near, far)
        here = [s for s in spans if s.inner < 0.5 * (near + far) < s.outer]
        if here:
            surface = sheet.surfaces[here[0].surface]
            hinge = np.maximum(ends[:, 1] - surface.chord, ends[:, 0])
            rear = quad(np.column_stack([hinge, ends[:, 1]]), near, far)
            thick = surface.thickness or sheet.thickness
            if not (surface.off and surface.faulty(plane.side)):
                found.append(
                    Piece(plane.sheet, rear, plane.normal, thick, here[0].slot, rear[:2].copy())
                )
            ends = np.column_stack([ends[:, 0], hinge])
        found.append(
            Piece(plane.sheet, quad(ends, near, far), plane.normal, sheet.thickness, -1, None)
        )
    return found


def pieces(airframe: Airframe) -> tuple[Piece, ...]:
    """Every piece of every sheet: worked out once for the same sheets, whatever else changes."""
    return pieces_of(airframe.sheets)


@once_for(32)
def pieces_of(sheets: Mapping[str, Sheet]) -> tuple[Piece, ...]:
    spans = spans_of(sheets)
    found: list[Piece] = []
    for name, sheet in sheets.items():
        for plane in planes(name, sheet):
            mine = [s for s in spans if s.sheet == name and s.side == plane.side]
            found += _sheet_pieces(plane, sheet, mine)
    return tuple(found)


def area(quad: np.ndarray) -> float:
    """Area of a plane quad (4, 3)."""
    return 0.5 * float(np.linalg.norm(np.cross(quad[2] - quad[0], quad[3] - quad[1])))


def spoken(name: str) -> str:
    """'left elevon' for elevon_left."""
    stem, _, side = name.rpartition("_")
    sided = stem and side in ("left", "right")
    return (f"{side} {stem}" if sided else name).replace("_", " ")
