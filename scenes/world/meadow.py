"""The water meadow: what stands on the grass, so that distance, height and wind can be seen.

Plan coordinates are metres ahead of the pilot's launch point and to its right; `Meadow` turns
them by the field's heading into field axes. All invented, all plain solids.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from firstthrow.scenes.world.greenery import hedges, trees, tufts
from firstthrow.scenes.world.hills import hills
from firstthrow.scenes.world.leaves import Plants, planted
from firstthrow.scenes.world.light import NOON, Light
from firstthrow.scenes.world.meshes import Mesh, box, frustum, join, polygon
from firstthrow.scenes.world.person import thrower
from firstthrow.scenes.world.turf import mown, rough

STRIP = (-14.0, -4.5, 90.0, 4.5)  # the mown strip: from (ahead, right) to (ahead, right)
STAKE_EVERY = 10.0  # [m] between the stakes beside it
SOCK_AT = (16.0, -11.0)
SOCK_HEIGHT = 3.6
HARD = (((70.0, -56.0, 0.0), (96.0, -48.0, 5.1)), ((14.2, -12.8, 1.8), (17.8, -9.2, 3.95)))
STANDS = ((-0.6, -0.3, 0.0), (0.4, 0.8, 2.0))  # round the thrower
HORIZON = 830.0  # [m] where the grass ends, on each side: behind hills, and less than is drawn

SQUARE = 0.8  # cosine of the angle up to which a normal is that of the triangle itself

WHITE = (0.93, 0.93, 0.90)
BANK = np.array([0.24, 0.33, 0.14])
RIGHTS = np.linspace(-160.0, 160.0, 33)  # [m] along the stream
NEAR, FAR = -2.6, 2.6  # [m] from its middle to where the water ends
WOOD, SPLIT = (0.44, 0.36, 0.27), (0.66, 0.56, 0.40)
GLASS = (0.66, 0.78, 0.80)
FRAME = (0.90, 0.91, 0.89)
BRICK = (0.55, 0.33, 0.26)
SOCK = ((0.86, 0.36, 0.10), (0.94, 0.93, 0.90))


class Turf(NamedTuple):
    """Grass as triangles."""

    places: np.ndarray  # (3n, 3) field axes
    plan: np.ndarray  # (3n, 2) ahead, right
    colours: np.ndarray  # (3n, 3)


class Water(NamedTuple):
    """The face of the stream as triangles."""

    places: np.ndarray  # (3n, 3)
    banks: np.ndarray  # (3n,) how much of the far bank is mirrored, 0..1


class Meadow(NamedTuple):
    """All in field axes: north, east, down [m]."""

    solid: Mesh  # each triangle counterclockwise, seen from where its normals point
    sheets: Mesh  # seen from both sides
    plants: Plants
    water: Water
    rough: Turf
    mown: Turf
    thrower: Mesh  # empty when nobody throws
    sock: Mesh  # along +x from the origin
    sock_place: np.ndarray  # (3,)
    stands: np.ndarray  # (8, 3) round the thrower
    hard: tuple[np.ndarray, ...]  # (8, 3) each: round what is seen with straight edges from afar


def turn(heading: float) -> np.ndarray:
    """(3, 3) from plan (ahead, right, up) to field axes (north, east, down)."""
    c, s = math.cos(heading), math.sin(heading)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, -1.0]])


def meadow(heading: float, hand: float | None = None, light: Light = NOON) -> Meadow:
    """The whole surroundings for a pilot who faces `heading` [rad]; the same every time.

    `hand` is the height [m] at which a thrower holds the airframe; None leaves nobody there. In a
    `light` trees cast their shade.
    """
    chance = np.random.default_rng(7)
    (closed, hedge), (shades, crowns) = hedges(chance), trees(chance, light)
    slopes, woods = hills(chance)
    plan = join([*stakes(), *fence(), windsock_mast(), glasshouse(70.0, -52.0), *shades, *slopes])
    lone = join([*closed, *banks()])  # under which one sees here and there
    plants = [*hedge, *crowns, *tufts(chance, STRIP), *woods]
    to_field = turn(heading)
    solid, thin = faced(_turned(plan, to_field))
    water = stream()
    person = join(thrower(hand) if hand is not None else [])

    def turf(plan: np.ndarray, colours: np.ndarray) -> Turf:
        places = np.column_stack([plan, np.zeros(len(plan))]) @ to_field.T
        return Turf(places, plan, colours)

    return Meadow(
        solid,
        join([thin, _turned(lone, to_field)]),
        planted(plants, to_field),
        water._replace(places=water.places @ to_field.T),
        turf(*rough(STRIP, HORIZON)),
        turf(*mown(STRIP)),
        _turned(person, to_field),
        sock(),
        to_field @ np.array([*SOCK_AT, SOCK_HEIGHT]),
        _corners(*STANDS) @ to_field.T,
        tuple(_corners(low, high) @ to_field.T for low, high in HARD),
    )


def _corners(low, high) -> np.ndarray:
    """(8, 3) of a box between two opposite ones."""
    return np.array(
        [(a, r, u) for a in (low[0], high[0]) for r in (low[1], high[1]) for u in (low[2], high[2])]
    )


def _turned(plan: Mesh, to_field: np.ndarray) -> Mesh:
    return plan._replace(places=plan.places @ to_field.T, normals=plan.normals @ to_field.T)


def faced(mesh: Mesh) -> tuple[Mesh, Mesh]:
    """Triangles that lie square to their normals, each counterclockwise seen from where those
    point, so that what faces away need not be drawn; and the rest, which is lone sheets."""
    a, b, c = np.moveaxis(mesh.places.reshape(-1, 3, 3), 1, 0)
    ways = np.cross(b - a, c - a)
    normals = mesh.normals.reshape(-1, 3, 3).mean(axis=1)
    facing = (ways * normals).sum(axis=1) / np.maximum(np.linalg.norm(ways, axis=1), 1e-12)
    corners = np.arange(len(mesh.places)).reshape(-1, 3)
    corners[facing < 0.0] = corners[facing < 0.0, ::-1]
    solid, thin = (
        corners[there].ravel() for there in (abs(facing) > SQUARE, abs(facing) <= SQUARE)
    )
    return Mesh(*(row[solid] for row in mesh)), Mesh(*(row[thin] for row in mesh))


def for_one_side(mesh: Mesh) -> Mesh:
    """All of it, for drawing without what faces away: lone sheets are in it both ways round."""
    solid, thin = faced(mesh)
    other = np.arange(len(thin.places)).reshape(-1, 3)[:, ::-1].ravel()
    return join([solid, thin, Mesh(*(row[other] for row in thin))])


def stakes() -> list[Mesh]:
    """Split hazel stakes every 10 m along both sides of the strip, none quite upright, a strip of
    pale cloth tied to each; each 50 m a tall one with an orange rag."""
    found = []
    for k in range(1, 10):
        ahead = k * STAKE_EVERY
        tall = k % 5 == 0
        for side, right in ((-1.0, STRIP[1] - 0.6), (1.0, STRIP[3] + 0.6)):
            angle = 2.4 * k + 1.7 * side  # uneven, the same every time
            height = 1.8 if tall else 0.78 + 0.10 * math.sin(3.0 * angle)
            half = 0.030 if tall else 0.020
            foot = np.array([ahead + 0.3 * math.sin(angle), right, 0.0])
            lean = 0.09 * height * np.array([math.cos(5.0 * angle), math.sin(5.0 * angle), 0.0])
            knee = foot + 0.5 * lean + np.array([0.0, 0.02 * side, 0.55 * height])
            top = foot + lean + np.array([0.0, 0.0, height])
            hue = np.array(WOOD) * (1.0 + 0.12 * math.sin(angle))
            found.append(frustum(foot, knee, half, 0.9 * half, hue, 5, caps=False))
            found.append(frustum(knee, top, 0.9 * half, 0.35 * half, SPLIT, 5))
            found.append(_rag(top - 0.1 * (top - foot), side, 0.40 if tall else 0.13, tall))
    return found


def _rag(knot: np.ndarray, side: float, size: float, tall: bool) -> Mesh:
    """Of cloth, hanging from its knot to the outer side."""
    out, down = np.array([0.1, side, 0.0]), np.array([0.0, 0.0, -1.0])
    edge = [0.0 * out, 0.45 * out - 0.05 * down, 0.8 * out + 0.5 * down, 0.35 * out + 1.1 * down]
    hue = SOCK[0] if tall else (0.86, 0.83, 0.74)
    return polygon([knot + size * corner for corner in edge], hue, (0.0, 0.0, 1.0))


def fence() -> list[Mesh]:
    """Posts and two rails across the far end, 150 m ahead."""
    found = []
    for right in np.arange(-30.0, 31.0, 6.0):
        found.append(box((150.0, right - 0.08, 0.0), (150.16, right + 0.08, 1.2), WOOD))
    for height in (0.55, 1.0):
        found.append(box((150.02, -30.0, height), (150.1, 30.0, height + 0.12), WOOD))
    return found


def windsock_mast() -> Mesh:
    at = np.array([*SOCK_AT, 0.0])
    return frustum(at, at + np.array([0.0, 0.0, SOCK_HEIGHT + 0.25]), 0.045, 0.03, WHITE, 8)


def sock() -> Mesh:
    """Five rings, two colours, along +x: the mouth at the origin."""
    radii = (0.24, 0.215, 0.19, 0.165, 0.14, 0.115)
    rings = []
    for k in range(5):
        start, end = [0.36 * k, 0.0, 0.0], [0.36 * (k + 1), 0.0, 0.0]
        rings.append(frustum(start, end, radii[k], radii[k + 1], SOCK[k % 2], 10, caps=False))
    return join(rings)


def sock_droop(wind: float) -> float:
    """Angle of the sock below level [rad]: hanging in a calm, level at 7.5 m/s.

    A standard sock is straight at 15 kn. Source: FAA AC 150/5345-27, fully extended at 15 kn.
    """
    return math.radians(82.0) * (1.0 - min(1.0, wind / 7.7)) ** 1.5


def glasshouse(ahead: float, right: float) -> Mesh:
    """A disused glasshouse: brick footing, white bars, pale panes, two gables, its door to us."""
    length, width, wall, ridge, foot = 26.0, 8.0, 2.6, 4.9, 0.7
    a0, a1 = ahead, ahead + length
    r0, r1, mid = right - 0.5 * width, right + 0.5 * width, right
    parts = [box((a0, r0, 0.0), (a1, r1, foot), BRICK)]
    gone = {(3, 1), (7, 0)}  # panes lost over the years
    bays = 9
    for k in range(bays):
        b0, b1 = a0 + length * k / bays, a0 + length * (k + 1) / bays
        tint = 0.93 + 0.07 * math.sin(2.4 * k)
        pane = tuple(tint * c for c in GLASS)
        for n, (edge, out) in enumerate(((r0, -1.0), (r1, 1.0))):
            lost = (k, n) in gone
            shade = (0.30, 0.36, 0.36) if lost else pane
            face = [(b0, edge, foot), (b1, edge, foot), (b1, edge, wall), (b0, edge, wall)]
            parts.append(polygon(face, shade, (0.0, out, 0.0)))
            roof = [(b0, edge, wall), (b1, edge, wall), (b1, mid, ridge), (b0, mid, ridge)]
            slope = np.array([0.0, out * (ridge - wall), 0.5 * width])
            parts.append(polygon(roof, pane, slope / np.linalg.norm(slope)))
            bar = 0.09
            parts.append(box((b0 - bar, edge - 0.06, foot), (b0 + bar, edge + 0.06, wall), FRAME))
            rib = [
                (b0 - bar, edge, wall + 0.05),
                (b0 + bar, edge, wall + 0.05),
                (b0 + bar, mid, ridge + 0.05),
                (b0 - bar, mid, ridge + 0.05),
            ]
            parts.append(polygon(rib, FRAME, slope / np.linalg.norm(slope)))
    for at, way in ((a0, -1.0), (a1, 1.0)):
        gable = [(at, r0, foot), (at, r1, foot), (at, r1, wall), (at, mid, ridge), (at, r0, wall)]
        parts.append(polygon(gable, GLASS, (way, 0.0, 0.0)))
        for r in (r0, mid - 1.0, mid + 1.0, r1):
            top = wall if abs(r - mid) > 2.0 else ridge - 0.6
            low = (at - 0.07, r - 0.08, foot)
            parts.append(box(low, (at + 0.07, r + 0.08, top), FRAME))
        parts.append(box((at - 0.07, r0, wall - 0.08), (at + 0.07, r1, wall + 0.08), FRAME))
    parts.append(box((a0, mid - 0.12, ridge - 0.05), (a1, mid + 0.12, ridge + 0.12), FRAME))
    return join(parts)


def _middle(right: np.ndarray) -> np.ndarray:
    """[m] ahead."""
    return 122.0 + 9.0 * np.sin(right / 34.0)


def _rows(rows) -> list[tuple[np.ndarray, float, float]]:
    """Quads between (across [m], up [m], value) rows along the stream: corners and two values."""
    middle = _middle(RIGHTS)
    found = []
    for k in range(len(RIGHTS) - 1):
        for (w0, h0, v0), (w1, h1, v1) in pairwise(rows):
            corners = np.array(
                [
                    (middle[k] + w0, RIGHTS[k], h0),
                    (middle[k + 1] + w0, RIGHTS[k + 1], h0),
                    (middle[k + 1] + w1, RIGHTS[k + 1], h1),
                    (middle[k] + w1, RIGHTS[k], h1),
                ]
            )
            found.append((corners, v0, v1))
    return found


def banks() -> list[Mesh]:
    """Of the stream, darker towards the water."""
    found = []
    for rows in (
        ((NEAR - 1.2, 0.06, 1.15), (NEAR - 0.4, 0.12, 0.95), (NEAR, 0.0, 0.6)),
        ((FAR, 0.0, 0.55), (FAR + 0.5, 0.35, 0.95), (FAR + 1.6, 0.06, 1.15)),
    ):
        for corners, near, far in _rows(rows):
            hues = np.array([near, near, far, far])[:, None] * BANK
            found.append(polygon(corners, hues, (0.0, 0.0, 1.0)))
    return found


def stream() -> Water:
    """The slow water that gives the meadow its name, across the view beyond the strip; the far bank
    is mirrored along its foot, less towards this side."""
    quads = _rows(((NEAR, 0.03, 0.15), (0.8, 0.03, 0.0), (1.7, 0.03, 0.25), (FAR, 0.03, 0.9)))
    corners = np.array([quad[[0, 1, 2, 0, 2, 3]] for quad, _, _ in quads])
    values = np.array([(near, near, far, near, far, far) for _, near, far in quads])
    return Water(corners.reshape(-1, 3), values.ravel())
