"""Hedges, trees, rough grass and flowers, in plan coordinates: metres ahead, right, up."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from firstthrow.scenes.world.meshes import Mesh, frustum, join, polygon

BARK = (0.33, 0.27, 0.22)


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
        for start, end in pairwise(line):
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
            np.array([*(stations[k + j] + w * side), tops[k + j]])
            for j in (0, 1)
            for w in (-0.7, 0.7)
        ]
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
        (34.0, 36.0, 8.0),
        (58.0, -30.0, 7.0),
        (96.0, 40.0, 10.0),
        (118.0, -66.0, 12.0),
        (150.0, 62.0, 11.0),
        (12.0, -60.0, 9.0),
        (-20.0, 52.0, 9.0),
        (140.0, 8.0, 9.0),
    ]
    found = [_tree(np.array([a, r]), h, 5, chance) for a, r, h in near]
    found += [_shade(np.array([a, r]), 0.42 * h) for a, r, h in near]
    for _ in range(26):
        bearing, far = chance.uniform(-math.pi, math.pi), chance.uniform(200.0, 420.0)
        place = far * np.array([math.cos(bearing), math.sin(bearing)])
        found.append(_tree(place, chance.uniform(9.0, 15.0), 1, chance))
    return found


def _tree(place: np.ndarray, height: float, blobs: int, chance) -> Mesh:
    """`blobs` crowns on a trunk; where there are several, clumps of leaves break their outlines."""
    foot = np.array([*place, 0.0])
    fork = foot + np.array([0.0, 0.0, 0.45 * height])
    parts = [frustum(foot, fork, 0.045 * height, 0.03 * height, BARK, 5, caps=False)]
    for k in range(blobs):
        lean = chance.uniform(-0.17, 0.17, 2) * height * (blobs > 1)
        middle = foot + np.array(
            [*lean, height * (0.52 + (0.34 * k / blobs if blobs > 1 else 0.1))]
        )
        size = height * (0.29 - 0.025 * k if blobs > 1 else 0.40)
        green = np.array([0.32, 0.45, 0.17]) * (0.85 + 0.3 * chance.random())
        parts.append(_blob(middle, size, green, 7 if blobs > 1 else 6, chance))
        if blobs > 1:
            parts += _clumps(middle, size, green, chance)
    return join(parts)


def _clumps(middle: np.ndarray, size: float, green: np.ndarray, chance) -> list[Mesh]:
    """Leaves that stand out of a crown, as flat triangles, darker below."""
    found = []
    for _ in range(16):
        way = chance.normal(0.0, 1.0, 3)
        way = way / np.linalg.norm(way)
        across = np.cross(way, chance.normal(0.0, 1.0, 3))
        across = across / np.linalg.norm(across)
        root = middle + 0.84 * size * way * np.array([1.0, 1.0, 0.8])
        wide, out = size * chance.uniform(0.12, 0.22), size * chance.uniform(0.16, 0.30)
        tip = root + out * way + 0.4 * wide * np.cross(way, across)
        tone = 0.72 + 0.45 * (0.5 + 0.5 * way[2]) + 0.12 * chance.random()
        leaf = [root - wide * across, root + wide * across, tip]
        found.append(polygon(leaf, np.clip(tone * green, 0.0, 1.0), way))
    return found


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
        middle
        + size
        * np.column_stack(
            [rough[n] * r * np.cos(turns), rough[n] * r * np.sin(turns), np.full(sides, z)]
        )
        for n, (r, z) in enumerate(((0.95, -0.25), (0.78, 0.45)))
    ]
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


def tufts(chance, strip) -> list[Mesh]:
    """Rough grass and flowers outside the mown strip: what slides past when one flies low.

    `strip` is (ahead, right, ahead, right) of two opposite corners.
    """
    found = []
    for k in range(330):
        ahead, right = chance.uniform(-12.0, 95.0), chance.normal(0.0, 20.0)
        if strip[1] - 0.5 < right < strip[3] + 0.5:
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
