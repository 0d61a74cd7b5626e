"""The water meadow: what stands on the grass, so that distance, height and wind can be seen.

Plan coordinates are metres ahead of the pilot's launch point and to its right; `Meadow` turns
them by the field's heading into field axes. All invented, all plain solids.
"""

from __future__ import annotations

import itertools
import math
from typing import NamedTuple

import numpy as np

from scenes.meshes import Mesh, box, frustum, join, polygon

STRIP = (-14.0, -4.5, 90.0, 4.5)  # the mown strip: from (ahead, right) to (ahead, right)
POST_EVERY = 10.0  # [m] between distance posts
SOCK_AT = (16.0, -11.0)
SOCK_HEIGHT = 3.6
HORIZON = 900.0  # [m] where the grass ends

WHITE = (0.93, 0.93, 0.90)
BLACK = (0.12, 0.12, 0.12)
WOOD = (0.45, 0.36, 0.26)
BARK = (0.33, 0.27, 0.22)
GLASS = (0.66, 0.78, 0.80)
FRAME = (0.90, 0.91, 0.89)
BRICK = (0.55, 0.33, 0.26)
WATER = (0.50, 0.63, 0.74)
JACKET, TROUSERS = (0.22, 0.33, 0.42), (0.30, 0.28, 0.25)
SKIN, HAIR, CAP = (0.80, 0.62, 0.50), (0.30, 0.24, 0.18), (0.74, 0.30, 0.16)
SOCK = ((0.86, 0.36, 0.10), (0.94, 0.93, 0.90))


class Meadow(NamedTuple):
    """All in field axes: north, east, down [m]."""

    solid: Mesh
    grass_places: np.ndarray  # (3n, 3)
    grass_plan: np.ndarray  # (3n, 2)
    thrower: Mesh  # empty when nobody throws
    sock: Mesh  # along +x from the origin
    sock_place: np.ndarray  # (3,)
    clouds: np.ndarray  # (3n, 3) directions
    cloud_density: np.ndarray  # (3n,)


def turn(heading: float) -> np.ndarray:
    """(3, 3) from plan (ahead, right, up) to field axes (north, east, down)."""
    c, s = math.cos(heading), math.sin(heading)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, -1.0]])


def meadow(heading: float, hand: float | None = None) -> Meadow:
    """The whole surroundings for a pilot who faces `heading` [rad]; the same every time.

    `hand` is the height [m] at which a thrower holds the airframe; None leaves nobody there.
    """
    chance = np.random.default_rng(7)
    plan = join(
        [
            *posts(), *fence(), windsock_mast(), glasshouse(70.0, -52.0),
            *hedges(chance), *trees(chance), *tufts(chance), *hills(chance), stream(),
        ]
    )  # fmt: skip
    to_field = turn(heading)
    solid = _turned(plan, to_field)
    person = join(thrower(hand) if hand is not None else [])
    ground = grass()
    directions, density = clouds(chance)
    return Meadow(
        solid,
        np.column_stack([ground, np.zeros(len(ground))]) @ to_field.T,
        ground,
        _turned(person, to_field),
        sock(),
        to_field @ np.array([*SOCK_AT, SOCK_HEIGHT]),
        directions @ to_field.T,
        density,
    )


def _turned(plan: Mesh, to_field: np.ndarray) -> Mesh:
    return plan._replace(places=plan.places @ to_field.T, normals=plan.normals @ to_field.T)


def grass() -> np.ndarray:
    """(3n, 2) a flat disc in rings, so that places near and far keep their precision."""
    turns = np.linspace(0.0, 2.0 * math.pi, 25)
    rings = (0.0, 12.0, 60.0, 240.0, HORIZON)
    found = []
    for near, far in itertools.pairwise(rings):
        for a, b in itertools.pairwise(turns):
            p, q = np.array([math.cos(a), math.sin(a)]), np.array([math.cos(b), math.sin(b)])
            found += [near * p, far * p, far * q]
            if near > 0.0:
                found += [near * p, far * q, near * q]
    return np.array(found)


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


def posts() -> list[Mesh]:
    """White posts every 10 m along both sides of the strip; taller with dark bands each 50 m."""
    found = []
    for k in range(1, 10):
        ahead = k * POST_EVERY
        tall = k % 5 == 0
        height, half = (1.6, 0.07) if tall else (0.7, 0.045)
        for right in (STRIP[1] - 0.6, STRIP[3] + 0.6):
            low = (ahead - half, right - half, 0.0)
            found.append(box(low, (ahead + half, right + half, height), WHITE))
            bands = (0.55, 1.15) if tall else (0.42,)
            for band in bands:
                grow = half + 0.006
                found.append(
                    box(
                        (ahead - grow, right - grow, band),
                        (ahead + grow, right + grow, band + 0.18), BLACK,
                    )
                )  # fmt: skip
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
                (b0 - bar, edge, wall + 0.05), (b0 + bar, edge, wall + 0.05),
                (b0 + bar, mid, ridge + 0.05), (b0 - bar, mid, ridge + 0.05),
            ]  # fmt: skip
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


def hedges(chance) -> list[Mesh]:
    """Three hedges round the meadow, uneven along the top."""
    lines = [
        [(185.0, -170.0), (176.0, -60.0), (190.0, 50.0), (180.0, 175.0)],
        [(-30.0, -95.0), (60.0, -82.0), (176.0, -100.0)],
        [(-40.0, 96.0), (70.0, 82.0), (180.0, 120.0)],
        [(-55.0, -140.0), (-48.0, 0.0), (-58.0, 140.0)],
    ]
    found = []
    for line in lines:
        for start, end in itertools.pairwise(line):
            found += _hedge(np.array(start), np.array(end), chance)
    return found


def _hedge(start: np.ndarray, end: np.ndarray, chance) -> list[Mesh]:
    count = max(2, int(np.linalg.norm(end - start) / 13.0))
    along = (end - start) / np.linalg.norm(end - start)
    side = np.array([-along[1], along[0]])
    stations = [start + (end - start) * k / count for k in range(count + 1)]
    tops = 1.9 + 0.9 * chance.random(count + 1)
    found = []
    for k in range(count):
        green = np.array([0.25, 0.36, 0.15]) * (0.92 + 0.16 * chance.random())
        low = [np.array([*(stations[k + j] + w * side), 0.0]) for j in (0, 1) for w in (-1.1, 1.1)]
        top = [
            np.array([*(stations[k + j] + w * side), tops[k + j]]) for j in (0, 1)
            for w in (-0.7, 0.7)
        ]  # fmt: skip
        left, right = np.array([*-side, 0.35]), np.array([*side, 0.35])
        found.append(polygon([low[0], low[2], top[2], top[0]], green, left / np.linalg.norm(left)))
        found.append(
            polygon([low[1], low[3], top[3], top[1]], green, right / np.linalg.norm(right))
        )
        found.append(polygon([top[0], top[2], top[3], top[1]], 1.12 * green, (0.0, 0.0, 1.0)))
    return found


def trees(chance) -> list[Mesh]:
    """A few near enough to judge height by, more along the hedges and in the haze."""
    near = [
        (34.0, 36.0, 8.0), (58.0, -30.0, 7.0), (96.0, 40.0, 10.0), (118.0, -66.0, 12.0),
        (150.0, 62.0, 11.0), (12.0, -60.0, 9.0), (-20.0, 52.0, 9.0), (140.0, 8.0, 9.0),
    ]  # fmt: skip
    found = [_tree(np.array([a, r]), h, 3, chance) for a, r, h in near]
    found += [_shade(np.array([a, r]), 0.42 * h) for a, r, h in near]
    for _ in range(26):
        bearing, far = chance.uniform(-math.pi, math.pi), chance.uniform(200.0, 420.0)
        place = far * np.array([math.cos(bearing), math.sin(bearing)])
        found.append(_tree(place, chance.uniform(9.0, 15.0), 1, chance))
    return found


def _tree(place: np.ndarray, height: float, blobs: int, chance) -> Mesh:
    foot = np.array([*place, 0.0])
    fork = foot + np.array([0.0, 0.0, 0.45 * height])
    parts = [frustum(foot, fork, 0.045 * height, 0.03 * height, BARK, 5, caps=False)]
    for k in range(blobs):
        lean = chance.uniform(-0.16, 0.16, 2) * height * (k > 0 or blobs > 1)
        middle = foot + np.array([*lean, height * (0.55 + 0.14 * k)])
        size = height * (0.34 - 0.05 * k if blobs > 1 else 0.40)
        green = np.array([0.32, 0.45, 0.17]) * (0.85 + 0.3 * chance.random())
        parts.append(_blob(middle, size, green, 8 if blobs > 1 else 6, chance))
    return join(parts)


def _shade(place: np.ndarray, radius: float) -> Mesh:
    """The dark grass under a tree."""
    turns = np.arange(9) * 2.0 * math.pi / 9.0
    rim = place + radius * np.column_stack([np.cos(turns), np.sin(turns)]) + 0.25 * radius
    return polygon(np.column_stack([rim, np.full(9, 0.03)]), (0.22, 0.32, 0.13), (0.0, 0.0, 1.0))


def _blob(middle: np.ndarray, size: float, colour, sides: int, chance) -> Mesh:
    """A rounded crown: two uneven rings and two poles, shaded smoothly, darker below."""
    turns = np.arange(sides) * 2.0 * math.pi / sides + chance.uniform(0.0, 1.0)
    rough = 1.0 + 0.16 * chance.uniform(-1.0, 1.0, (2, sides))
    rings = [
        middle + size * np.column_stack(
            [rough[n] * r * np.cos(turns), rough[n] * r * np.sin(turns), np.full(sides, z)]
        )
        for n, (r, z) in enumerate(((0.95, -0.25), (0.78, 0.45)))
    ]  # fmt: skip
    bottom, top = middle - [0, 0, 0.68 * size], middle + np.array([0, 0, 0.92 * size])
    tones = {0: 0.62, 1: 0.92, 2: 1.12, 3: 1.25}
    faces = []
    for k in range(sides):
        j = (k + 1) % sides
        low, high = rings
        for corners, levels in (
            ((low[k], low[j], bottom), (1, 1, 0)),
            ((low[k], low[j], high[j], high[k]), (1, 1, 2, 2)),
            ((high[k], high[j], top), (2, 2, 3)),
        ):
            ways = np.array(corners) - middle
            ways = ways / np.linalg.norm(ways, axis=1, keepdims=True)
            hues = np.outer([tones[n] for n in levels], colour)
            faces.append(polygon(corners, hues, ways))
    return join(faces)


def tufts(chance) -> list[Mesh]:
    """Rough grass and flowers outside the mown strip: what slides past when one flies low."""
    found = []
    for k in range(330):
        ahead, right = chance.uniform(-12.0, 95.0), chance.normal(0.0, 20.0)
        if STRIP[1] - 0.5 < right < STRIP[3] + 0.5:
            continue
        at = np.array([ahead, right, 0.0])
        if k % 4 == 0:
            found += _flower(at, (0.95, 0.84, 0.25) if k % 8 else (0.96, 0.95, 0.92))
            continue
        green = np.array([0.37, 0.47, 0.19]) * (0.8 + 0.4 * chance.random())
        for lean in chance.uniform(0.0, 2.0 * math.pi, 2):
            across = np.array([math.cos(lean), math.sin(lean), 0.0])
            tip = at + 0.14 * np.array([-across[1], across[0], 0.0]) + 0.05 * across
            tip = tip + np.array([0.0, 0.0, chance.uniform(0.18, 0.42)])
            blade = [at - 0.035 * across, at + 0.035 * across, tip]
            found.append(polygon(blade, green, (0.0, 0.0, 1.0)))
    return found


def _flower(at: np.ndarray, hue) -> list[Mesh]:
    tip = at + np.array([0.03, 0.0, 0.26])
    across = np.array([0.0, 1.0, 0.0])
    stem = [at - 0.015 * across, at + 0.015 * across, tip]
    head = [tip - 0.06 * across, tip + 0.06 * across, tip + np.array([0.0, 0.0, 0.08])]
    return [
        polygon(stem, (0.35, 0.47, 0.18), (0.0, 0.0, 1.0)),
        polygon(head, hue, (0.0, 0.0, 1.0)),
    ]


def hills(chance) -> list[Mesh]:
    """Two low ridges in the haze."""
    found = []
    for far, low, high, hue in ((860.0, 26.0, 52.0, (0.34, 0.45, 0.33)),
                                (640.0, 8.0, 24.0, (0.27, 0.39, 0.22))):  # fmt: skip
        turns = np.linspace(-math.pi, math.pi, 41)
        tops = low + (high - low) * (0.5 + 0.35 * np.sin(3.0 * turns + far)
                                     + 0.15 * np.sin(7.0 * turns))  # fmt: skip
        tops[-1] = tops[0]
        rim = far * np.column_stack([np.cos(turns), np.sin(turns)])
        for k in range(40):
            face = [
                (*rim[k], -1.0), (*rim[k + 1], -1.0),
                (*rim[k + 1], tops[k + 1]), (*rim[k], tops[k]),
            ]  # fmt: skip
            found.append(polygon(face, hue, (0.0, 0.0, 1.0)))
    return found


def stream() -> Mesh:
    """The slow water that gives the meadow its name, across the view beyond the strip."""
    rights = np.linspace(-160.0, 160.0, 17)
    middle = 122.0 + 9.0 * np.sin(rights / 34.0)
    banks = []
    for k in range(16):
        corners = [
            (middle[k] - 2.4, rights[k], 0.06), (middle[k + 1] - 2.4, rights[k + 1], 0.06),
            (middle[k + 1] + 2.4, rights[k + 1], 0.06), (middle[k] + 2.4, rights[k], 0.06),
        ]  # fmt: skip
        banks.append(polygon(corners, WATER, (0.0, 0.0, 1.0)))
    return join(banks)


def clouds(chance) -> tuple[np.ndarray, np.ndarray]:
    """Flat-bottomed heaps of soft discs, as directions (ahead, right, up) and density."""
    places, density = [], []
    for bearing, height, size in (
        (-0.75, 0.30, 0.20), (0.15, 0.22, 0.16), (0.85, 0.36, 0.24), (1.9, 0.28, 0.20),
        (2.9, 0.34, 0.22), (-2.0, 0.25, 0.18), (0.45, 0.62, 0.20), (-1.4, 0.55, 0.22),
    ):  # fmt: skip
        for _ in range(5):
            b = bearing + size * chance.uniform(-0.9, 0.9)
            h = height + 0.16 * size * chance.uniform(0.0, 1.0)
            wide = size * chance.uniform(0.45, 0.75)
            tall = wide * chance.uniform(0.22, 0.34)
            rim = np.linspace(0.0, 2.0 * math.pi, 13)
            for a0, a1 in itertools.pairwise(rim):
                for turn_by, thick in ((None, 1.0), (a0, 0.0), (a1, 0.0)):
                    x = 0.0 if turn_by is None else wide * math.cos(turn_by)
                    y = 0.0 if turn_by is None else tall * math.sin(turn_by)
                    y = max(y, -0.35 * tall)
                    e = h + y
                    places.append((math.cos(b + x) * math.cos(e), math.sin(b + x) * math.cos(e),
                                   math.sin(e)))  # fmt: skip
                    density.append(thick)
    return np.array(places), np.array(density)
