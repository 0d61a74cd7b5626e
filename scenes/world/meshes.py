"""Triangles: a few plain solids, and the airframe from its own sheets, surfaces and items.

Every corner of a `Mesh` carries place, normal, colour, paint and spread. Paint is (u, v, kind):
where on the airframe, and which pattern (see `shaders`): u along it from 0 at the front to 1, v
across it from -1 at the left tip to 1; on a fin v goes up it from 0 to 1. Spread lets a far sheet
be drawn as thick as a pixel, so that it does not vanish edge-on.

The patterns tell a small far airframe's attitude by light and dark alone. Above, dark wings about
a light arrow head, amber where they move; below, light wings about one broad dark bar; the right
tip has a colour of its own on both faces; a fin is dark at its root and light at its tip.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from firstthrow.sim.build.shape import Piece
    from firstthrow.sim.describe.airframe import Airframe

_NEXT, _LAST = [1, 2, 0], [2, 0, 1]
PLAIN, ABOVE, BELOW, FIN, RIM, MOVER = 0.0, 1.0, 2.0, 3.0, 4.0, 5.0

FOAM = (0.93, 0.90, 0.82)
EDGE = (0.27, 0.29, 0.31)
SURFACE_TOP = (0.95, 0.74, 0.22)
SURFACE_UNDER = (0.96, 0.82, 0.42)
DARK = (0.13, 0.14, 0.15)
METAL = (0.55, 0.57, 0.58)
PACK = (0.20, 0.34, 0.52)
MIXING = 0x9E3779B97F4A7C15  # odd, its bits without a pattern: 2^64 over the golden ratio
NOSE_BELOW = math.tan(math.radians(17.0))  # that the nose is seen below straight ahead
TYRE = (0.16, 0.16, 0.17)


class Mesh(NamedTuple):
    places: np.ndarray  # (3n, 3)
    normals: np.ndarray  # (3n, 3)
    colours: np.ndarray  # (3n, 3)
    paints: np.ndarray  # (3n, 3)
    spreads: np.ndarray  # (3n, 3) unit, away from a thin sheet's middle; zero where not thin

    @property
    def triangles(self) -> int:
        return len(self.places) // 3


class Part(NamedTuple):
    """A control surface: its mesh as built, and the hinge it turns on."""

    mesh: Mesh
    surface: int
    hinge: np.ndarray  # (3,) a point of the hinge line, body axes
    axis: np.ndarray  # (3,) unit; a positive surface angle turns right-handed about it


class AirframeMesh(NamedTuple):
    """All in body axes, origin at the centre of gravity."""

    fixed: Mesh
    surfaces: tuple[Part, ...]
    propellers: tuple[Propeller, ...]
    span: float
    length: float
    seat: np.ndarray  # (3,) where a camera on board sits


class Propeller(NamedTuple):
    motor: str
    place: np.ndarray  # (3,) hub
    axis: np.ndarray  # (3,) unit, along the thrust
    radius: float
    sense: float  # +1 turns right-handed about the axis
    blades: Mesh  # round the x axis, at the origin
    disc: Mesh


def join(meshes: list[Mesh]) -> Mesh:
    """One mesh of several; an empty list gives an empty mesh."""
    if not meshes:
        empty = np.zeros((0, 3))
        return Mesh(*[empty] * 5)
    return Mesh(*(np.concatenate(parts) for parts in zip(*meshes, strict=True)))


def polygon(corners, colour, normal=None, paints=None, spreads=None) -> Mesh:
    """A flat convex polygon as a fan; zero-area triangles are dropped.

    `colour` and `normal` are one for all corners or one for each; without a normal, the
    polygon's own.
    """
    corners = np.asarray(corners, dtype=float)
    one, other = corners[1:-1] - corners[0], corners[2:] - corners[0]
    # numpy's own cross and norm take longer for a few corners than all the rest
    ways = one[:, _NEXT] * other[:, _LAST] - one[:, _LAST] * other[:, _NEXT]
    sizes = np.sqrt((ways * ways).sum(axis=1))
    there = np.flatnonzero(sizes >= 1e-12)
    fan = np.zeros((len(there), 3), dtype=int)
    fan[:, 1], fan[:, 2] = there + 1, there + 2
    at = fan.ravel()
    if normal is None:
        facing = np.repeat(ways[there] / sizes[there, None], 3, axis=0)
    else:
        facing = _each(normal, at)
    return Mesh(corners[at], facing, _each(colour, at), _each(paints, at), _each(spreads, at))


def _each(given, at: np.ndarray) -> np.ndarray:
    """(n, 3) of n corners, from one for all, one for each, or nothing."""
    if given is None:
        return np.zeros((len(at), 3))
    given = np.asarray(given, dtype=float)
    return given[at] if given.ndim == 2 else np.tile(given, (len(at), 1))


def box(low, high, colour) -> Mesh:
    """An upright box between two opposite corners."""
    low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    faces = []
    for axis in range(3):
        for side in (low, high):
            u, v = (axis + 1) % 3, (axis + 2) % 3
            corners = np.tile(side, (4, 1))
            corners[:, u] = [low[u], high[u], high[u], low[u]]
            corners[:, v] = [low[v], low[v], high[v], high[v]]
            normal = np.zeros(3)
            normal[axis] = -1.0 if side is low else 1.0
            faces.append(polygon(corners, colour, normal))
    return join(faces)


def frustum(start, end, start_radius, end_radius, colour, sides=10, caps=True) -> Mesh:
    """A cone, cylinder or bar between two points."""
    start, end = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    along = end - start
    along = along / np.linalg.norm(along)
    across = np.cross(along, [1.0, 0.0, 0.0] if abs(along[0]) < 0.9 else [0.0, 1.0, 0.0])
    across = across / np.linalg.norm(across)
    turns = np.linspace(0.0, 2.0 * math.pi, sides + 1)
    rays = np.outer(np.cos(turns), across) + np.outer(np.sin(turns), np.cross(along, across))
    faces = []
    for a, b in itertools.pairwise(rays):
        ring = [
            start + start_radius * a,
            start + start_radius * b,
            end + end_radius * b,
            end + end_radius * a,
        ]
        mid = a + b
        faces.append(polygon(ring, colour, mid / np.linalg.norm(mid)))
    if caps:
        faces.append(polygon(start + start_radius * rays[:-1], colour, -along))
        faces.append(polygon(end + end_radius * rays[:-1], colour, along))
    return join(faces)


def to_body(points: np.ndarray, cg: np.ndarray) -> np.ndarray:
    """Builder's frame (aft, right, up) to body axes (forward, right, down) about the CG."""
    return (np.asarray(points, dtype=float) - cg) * np.array([-1.0, 1.0, -1.0])


class Reach(NamedTuple):
    """How far an airframe goes, builder's frame [m]: what patterns are measured by."""

    front: float
    length: float
    half_span: float


def slab(piece: Piece, cg: np.ndarray, reach: Reach) -> Mesh:
    """A piece with its thickness: patterned above and below, plain round its edge."""
    upright = abs(piece.normal[2]) < 0.5
    moves = piece.surface >= 0
    half = 0.5 * piece.thickness * piece.normal
    over, under = piece.corners + half, piece.corners - half
    up = piece.normal * np.array([-1.0, 1.0, -1.0])
    u = (piece.corners[:, 0] - reach.front) / reach.length
    v = piece.corners[:, 1] / reach.half_span
    kinds = (MOVER if moves else ABOVE, BELOW)
    if upright:
        kinds = (FIN, FIN)
        v = piece.corners[:, 2] - piece.corners[:, 2].min()
        v = v / max(1e-6, float(v.max()))
    hues = (SURFACE_TOP, SURFACE_UNDER) if moves else (FOAM, FOAM)
    coats = [np.column_stack([u, v, np.full(4, kind)]) for kind in kinds]
    faces = [
        polygon(to_body(over, cg), hues[0], up, coats[0], np.tile(up, (4, 1))),
        polygon(to_body(under, cg), hues[1], -up, coats[1], np.tile(-up, (4, 1))),
    ]
    middle = to_body(piece.corners.mean(0), cg)
    rims = np.column_stack([u, np.zeros(4) if upright else v, np.full(4, RIM)])
    for k in range(4):
        at = [k, (k + 1) % 4, (k + 1) % 4, k]
        ring = [over[at[0]], over[at[1]], under[at[2]], under[at[3]]]
        spreads = np.array([up, up, -up, -up])
        faces.append(_rim(to_body(np.array(ring), cg), middle, spreads, rims[at]))
    return join(faces)


def _rim(ring: np.ndarray, middle: np.ndarray, spreads: np.ndarray, paints: np.ndarray) -> Mesh:
    way = np.cross(ring[1] - ring[0], ring[3] - ring[0])
    size = np.linalg.norm(way)
    if size < 1e-12:
        return join([])
    way = way / size
    way = way if way @ (ring.mean(0) - middle) > 0.0 else -way
    return polygon(ring, EDGE, way, paints, spreads)


def hinge_axis(piece: Piece, hinge: np.ndarray) -> np.ndarray:
    """Unit axis (body) about which a positive angle moves the trailing edge against the normal.

    `hinge`: (2, 3) ends of the hinge line, builder's frame."""
    turn = np.array([-1.0, 1.0, -1.0])
    axis = (hinge[1] - hinge[0]) * turn
    axis = axis / np.linalg.norm(axis)
    aft = (piece.corners[2:].mean(0) - piece.corners[:2].mean(0)) * turn
    return -axis if np.cross(axis, aft) @ (piece.normal * turn) > 0.0 else axis


def item_mesh(item, cg: np.ndarray) -> Mesh:
    """A small box, a rod, or for a point a cube with the size of its mass at 1500 kg/m3."""
    place = np.array([item.aft, item.right, item.up])
    if item.shape == "box":
        size = np.array([item.length, item.width, item.height])
    elif item.shape == "rod":
        size = np.full(3, item.diameter or 0.006)
        size[("aft", "right", "up").index(item.along)] = item.length
    else:
        size = np.full(3, (max(item.mass, 1e-4) / 1500.0) ** (1.0 / 3.0))
    low, high = to_body(np.array([place - 0.5 * size, place + 0.5 * size]), cg)
    heavy = item.mass > 0.06 and item.shape == "box"
    return box(np.minimum(low, high), np.maximum(low, high), PACK if heavy else DARK)


def wheel_mesh(wheel, cg: np.ndarray) -> list[Mesh]:
    """Tyre and leg, on both sides when the wheel is mirrored. `up` is its lowest point."""
    found = []
    for side in (1.0, -1.0) if wheel.mirrored else (1.0,):
        hub = np.array([wheel.aft, side * wheel.right, wheel.up + wheel.radius])
        top = np.array([wheel.aft, side * 0.6 * wheel.right, 0.0])
        hub, top = to_body(np.array([hub, top]), cg)
        across = np.array([0.0, 0.13 * wheel.radius + 0.004, 0.0])
        found.append(frustum(hub - across, hub + across, wheel.radius, wheel.radius, TYRE, 14))
        found.append(
            frustum(
                hub - 1.2 * across,
                hub + 1.2 * across,
                0.5 * wheel.radius,
                0.5 * wheel.radius,
                SURFACE_UNDER,
                10,
            )
        )
        if np.linalg.norm(top - hub) > 1e-3:
            found.append(frustum(hub, top, 0.0025, 0.0025, METAL, 5, caps=False))
    return found


def skid_mesh(skid, cg: np.ndarray) -> list[Mesh]:
    """A wire from the sheet down to the ground point; nothing for a bare edge of the sheet."""
    found = []
    for side in (1.0, -1.0) if skid.mirrored else (1.0,):
        foot = np.array([skid.aft, side * skid.right, skid.up])
        if skid.up < -0.02:
            root = foot + np.array([-0.5 * abs(skid.up), 0.0, abs(skid.up)])
            foot, root = to_body(np.array([foot, root]), cg)
            found.append(frustum(foot, root, 0.003, 0.003, METAL, 5))
    return found


def thrust_axis(motor) -> np.ndarray:
    """Unit vector of the thrust in body axes, with its down and right tilt."""
    down, right = motor.down, motor.right_tilt
    return np.array(
        [math.cos(down) * math.cos(right), math.cos(down) * math.sin(right), math.sin(down)]
    )


def propeller_mesh(name: str, motor, cg: np.ndarray) -> Propeller:
    prop = motor.propeller
    radius, pitch = 0.5 * prop.size[0], prop.size[1]
    sense = -1.0 if prop.turns == "anticlockwise" else 1.0
    blades = [frustum([-0.012, 0, 0], [0.014, 0, 0], 0.011, 0.006, METAL, 8)]
    for k in range(prop.blades):
        turn = 2.0 * math.pi * k / prop.blades
        ray = np.array([0.0, math.cos(turn), math.sin(turn)])
        side = np.array([0.0, -math.sin(turn), math.cos(turn)]) * sense
        rows = []
        for share, width in ((0.12, 0.6), (0.45, 1.15), (0.75, 1.0), (0.98, 0.45)):
            r = share * radius
            slope = math.atan2(pitch, 2.0 * math.pi * r)
            chord = width * prop.blade_width
            across = (math.cos(slope) * side + math.sin(slope) * np.array([1.0, 0, 0])) * chord
            rows.append((r * ray - 0.5 * across, r * ray + 0.5 * across))
        for near, far in itertools.pairwise(rows):
            blades.append(polygon([near[0], near[1], far[1], far[0]], DARK))
    turns = np.linspace(0.0, 2.0 * math.pi, 33)[:-1]
    rim = np.column_stack([np.zeros(32), radius * np.cos(turns), radius * np.sin(turns)])
    disc = polygon(rim, (0.25, 0.26, 0.27), (1.0, 0.0, 0.0))
    place = to_body(np.array([motor.aft, motor.right, motor.up]), cg)
    return Propeller(name, place, thrust_axis(motor), radius, sense, join(blades), disc)


def motor_mesh(motor, cg: np.ndarray) -> Mesh:
    """A can from the hub away from the thrust: behind a tractor, before a pusher it still reads."""
    hub = to_body(np.array([motor.aft, motor.right, motor.up]), cg)
    axis = thrust_axis(motor)
    return frustum(hub - 0.012 * axis, hub - 0.045 * axis, 0.013, 0.013, METAL, 10)


def airframe_mesh(airframe: Airframe, cg: np.ndarray) -> AirframeMesh:
    """Everything drawn of an airframe; `cg` (3,) in the builder's frame [m]."""
    from firstthrow.sim.build.shape import pieces  # loads what describes one: see `window.sight`

    fixed: list[Mesh] = []
    parts: list[Part] = []
    found = pieces(airframe)
    corners = np.concatenate([piece.corners for piece in found])
    low, high = corners.min(axis=0), corners.max(axis=0)
    reach = Reach(float(low[0]), float(high[0] - low[0]), float(np.abs(corners[:, 1]).max()))
    for piece in found:
        if piece.hinge is None:
            fixed.append(slab(piece, cg, reach))
        else:
            place, axis = to_body(piece.hinge[0], cg), hinge_axis(piece, piece.hinge)
            parts.append(Part(slab(piece, cg, reach), piece.surface, place, axis))
    fixed += [item_mesh(item, cg) for item in airframe.items.values()]
    for wheel in airframe.wheels.values():
        fixed += wheel_mesh(wheel, cg)
    for skid in airframe.skids.values():
        fixed += skid_mesh(skid, cg)
    fixed += [motor_mesh(motor, cg) for motor in airframe.motors.values()]
    corners = to_body(corners, cg)
    size = np.ptp(corners, axis=0)
    whole = join(fixed)
    return AirframeMesh(
        whole,
        tuple(parts),
        tuple(propeller_mesh(name, motor, cg) for name, motor in airframe.motors.items()),
        float(size[1]),
        float(size[0]),
        _seat(whole),
    )


def _seat(fixed: Mesh) -> np.ndarray:
    """(3,) body axes: over the middle line, so far behind its foremost point and above all that is
    in between that the nose shows in the lower half of a picture straight ahead."""
    near = fixed.places[np.abs(fixed.places[:, 1]) < 0.1]
    foremost = float(near[:, 0].max())
    back = max(0.26, 0.45 * float(np.ptp(near[:, 0])))
    between = near[near[:, 0] > foremost - back]
    return np.array([foremost - back, 0.0, float(between[:, 2].min()) - NOSE_BELOW * back])


def between(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """(3n, k) corners of triangles between two lines of (m, k) corners that run the same way."""
    i, j, found = 0, 0, []
    while i + 1 < len(one) or j + 1 < len(other):
        # whichever has fallen behind goes on
        if (2 * i + 1) * (len(other) - 1) <= (2 * j + 1) * (len(one) - 1):
            found += [one[i], one[i + 1], other[j]]
            i += 1
        else:
            found += [one[i], other[j + 1], other[j]]
            j += 1
    return np.array(found)


def distinct(rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of (n, k) float32 rows each that differs from the others, and which of them each row is.

    They are brought in order by a number made of their bits, and so at once: as rows it takes
    numpy several times as long. Two that share a number, which hardly ever happens, may stand
    between one another and are then kept twice.
    """
    rows = np.ascontiguousarray(rows) + np.float32(0.0)  # no zero has a sign
    factors = np.array([pow(MIXING, n + 1, 2**64) for n in range(rows.shape[1])], np.uint64)
    order = np.argsort(rows.view(np.uint32).astype(np.uint64) @ factors)
    sorted_ = rows[order]
    first = np.ones(len(rows), bool)
    first[1:] = (sorted_[1:] != sorted_[:-1]).any(axis=1)
    which = np.empty(len(rows), np.int64)
    which[order] = np.cumsum(first) - 1
    return sorted_[first], which
