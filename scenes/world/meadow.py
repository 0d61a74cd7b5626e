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
from firstthrow.scenes.world.heavens import rectangles
from firstthrow.scenes.world.hills import hills
from firstthrow.scenes.world.meshes import Mesh, box, frustum, join, polygon
from firstthrow.scenes.world.turf import mown, rough

STRIP = (-14.0, -4.5, 90.0, 4.5)  # the mown strip: from (ahead, right) to (ahead, right)
STAKE_EVERY = 10.0  # [m] between the stakes beside it
SOCK_AT = (16.0, -11.0)
SOCK_HEIGHT = 3.6
HORIZON = 900.0  # [m] where the grass ends

WHITE = (0.93, 0.93, 0.90)
WOOD = (0.45, 0.36, 0.26)
GLASS = (0.66, 0.78, 0.80)
FRAME = (0.90, 0.91, 0.89)
BRICK = (0.55, 0.33, 0.26)
WATER = (0.50, 0.63, 0.74)
LEVEL = np.array([0.95, 0.98, 0.98])  # the light of noon on what lies level
BANK = np.array([0.24, 0.33, 0.14])
JACKET, TROUSERS = (0.22, 0.33, 0.42), (0.30, 0.28, 0.25)
SKIN, HAIR, CAP = (0.80, 0.62, 0.50), (0.30, 0.24, 0.18), (0.74, 0.30, 0.16)
SOCK = ((0.86, 0.36, 0.10), (0.94, 0.93, 0.90))


class Turf(NamedTuple):
    """Grass as triangles."""

    places: np.ndarray  # (3n, 3) field axes
    plan: np.ndarray  # (3n, 2) ahead, right
    colours: np.ndarray  # (3n, 3)


class Meadow(NamedTuple):
    """All in field axes: north, east, down [m]."""

    solid: Mesh
    rough: Turf
    mown: Turf
    thrower: Mesh  # empty when nobody throws
    sock: Mesh  # along +x from the origin
    sock_place: np.ndarray  # (3,)
    clouds: np.ndarray  # (3n, 3) directions
    cloud_spots: np.ndarray  # (3n, 2) in the clouds' picture


def turn(heading: float) -> np.ndarray:
    """(3, 3) from plan (ahead, right, up) to field axes (north, east, down)."""
    c, s = math.cos(heading), math.sin(heading)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, -1.0]])


def meadow(heading: float, hand: float | None = None, water=WATER) -> Meadow:
    """The whole surroundings for a pilot who faces `heading` [rad]; the same every time.

    `hand` is the height [m] at which a thrower holds the airframe; None leaves nobody there.
    `water` is the colour of the sky that the stream mirrors.
    """
    chance = np.random.default_rng(7)
    plan = join(
        [
            *stakes(),
            *fence(),
            windsock_mast(),
            glasshouse(70.0, -52.0),
            *hedges(chance),
            *trees(chance),
            *tufts(chance, STRIP),
            *hills(chance),
            stream(water),
        ]
    )
    to_field = turn(heading)
    solid = _turned(plan, to_field)
    person = join(thrower(hand) if hand is not None else [])

    def turf(plan: np.ndarray, colours: np.ndarray) -> Turf:
        places = np.column_stack([plan, np.zeros(len(plan))]) @ to_field.T
        return Turf(places, plan, colours)

    directions, spots = rectangles()
    return Meadow(
        solid,
        turf(*rough(HORIZON)),
        turf(*mown(STRIP)),
        _turned(person, to_field),
        sock(),
        to_field @ np.array([*SOCK_AT, SOCK_HEIGHT]),
        directions @ to_field.T,
        spots,
    )


def _turned(plan: Mesh, to_field: np.ndarray) -> Mesh:
    return plan._replace(places=plan.places @ to_field.T, normals=plan.normals @ to_field.T)


def thrower(hand: float) -> list[Mesh]:
    """A person beside the launch point, one arm up under the airframe, seen from behind."""
    side, back = 0.30, -0.22  # [m] where the feet stand
    at = np.array([back, side, 0.0])

    def limb(low, high, thick, thin, colour, sides=8) -> Mesh:
        return frustum(at + low, at + high, thick, thin, colour, sides)

    grip = np.array([-back, -side, max(1.2, hand - 0.06)])
    palm = np.array([0.0, 0.0, 0.06])
    return [
        limb((0.0, -0.09, 0.0), (0.0, -0.09, 0.84), 0.06, 0.085, TROUSERS),
        limb((0.16, 0.09, 0.0), (0.0, 0.09, 0.84), 0.06, 0.085, TROUSERS),
        limb((0.0, 0.0, 0.80), (0.02, 0.0, 1.10), 0.145, 0.15, JACKET, 10),
        limb((0.02, 0.0, 1.10), (0.03, 0.0, 1.36), 0.15, 0.185, JACKET, 10),
        limb((0.03, 0.0, 1.36), (0.03, 0.0, 1.45), 0.185, 0.055, JACKET, 10),
        limb((0.04, 0.0, 1.44), (0.04, 0.0, 1.52), 0.05, 0.05, SKIN),
        limb((0.05, 0.0, 1.48), (0.05, 0.0, 1.56), 0.06, 0.095, SKIN, 10),
        limb((0.05, 0.0, 1.56), (0.05, 0.0, 1.65), 0.095, 0.10, HAIR, 10),
        limb((0.05, 0.0, 1.65), (0.05, 0.0, 1.73), 0.115, 0.06, CAP, 10),
        limb((0.03, -0.18, 1.36), grip, 0.055, 0.035, JACKET),
        limb(grip - palm, grip + palm, 0.042, 0.036, SKIN),
        limb((0.03, 0.19, 1.36), (0.10, 0.26, 0.90), 0.055, 0.04, JACKET),
    ]


def stakes() -> list[Mesh]:
    """Split stakes with whitewashed tops every 10 m along both sides of the strip; each 50 m a tall
    one with a rag of cloth."""
    found = []
    for k in range(1, 10):
        ahead = k * STAKE_EVERY
        tall = k % 5 == 0
        height, half = (1.7, 0.045) if tall else (0.75, 0.032)
        for side, right in ((-1.0, STRIP[1] - 0.6), (1.0, STRIP[3] + 0.6)):
            lean = 0.03 * math.sin(3.1 * k + side) * height
            foot, top = np.array([ahead, right, 0.0]), np.array([ahead, right + lean, height])
            wash = foot + (0.74 if tall else 0.62) * (top - foot)
            found.append(frustum(foot, wash, half, 0.9 * half, WOOD, 5, caps=False))
            found.append(frustum(wash, top, 1.06 * half, 0.7 * half, WHITE, 5))
            if tall:
                rag = [
                    top - [0, 0, 0.12],
                    top - [0, 0, 0.46],
                    top + np.array([0.1, side * 0.46, -0.52]),
                ]
                found.append(polygon(rag, SOCK[0], (0.0, 0.0, 1.0)))
    return found


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


def stream(water) -> Mesh:
    """The slow water that gives the meadow its name, across the view beyond the strip: it mirrors
    the sky, and along the far bank what stands on it."""
    rights = np.linspace(-160.0, 160.0, 25)
    middle = 122.0 + 9.0 * np.sin(rights / 34.0)
    sky = np.array(water) / LEVEL
    rows = (  # from the near bank over the water to the far one, and how high
        (-3.4, 0.10, BANK),
        (-2.5, 0.03, 0.82 * sky),
        (0.6, 0.03, sky),
        (1.7, 0.03, 0.86 * sky),
        (2.4, 0.03, 0.42 * sky + 0.3 * BANK),
        (3.0, 0.55, 1.1 * BANK),
    )
    parts = []
    for k in range(len(rights) - 1):
        for (w0, h0, hue0), (w1, h1, hue1) in pairwise(rows):
            corners = [
                (middle[k] + w0, rights[k], h0),
                (middle[k + 1] + w0, rights[k + 1], h0),
                (middle[k + 1] + w1, rights[k + 1], h1),
                (middle[k] + w1, rights[k], h1),
            ]
            hues = np.array([hue0, hue0, hue1, hue1])
            parts.append(polygon(corners, hues, (0.0, 0.0, 1.0)))
    return join(parts)
