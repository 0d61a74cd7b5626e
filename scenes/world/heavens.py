"""The clouds: heaps with a flat grey base, made by code; pure.

Each is one picture of density and light, laid on one rectangle of the sky: discs laid over one
another would make a software renderer paint the same sky ten times.
"""

from __future__ import annotations

import math

import numpy as np

WIDE, TALL = 256, 128  # pixels of one cloud
KINDS = 4
CLOUDS = (  # bearing, height, half the width [rad], which kind
    (-0.75, 0.30, 0.24, 0),
    (0.15, 0.22, 0.19, 1),
    (0.85, 0.36, 0.28, 2),
    (1.9, 0.28, 0.24, 3),
    (2.9, 0.34, 0.26, 1),
    (-2.0, 0.25, 0.21, 2),
    (0.45, 0.62, 0.24, 3),
    (-1.4, 0.55, 0.26, 0),
    (-0.25, 0.16, 0.13, 2),
    (1.35, 0.15, 0.14, 0),
)
BASE = 0.22  # of a cloud's height, where it is cut flat


def noise(chance, wide: int, tall: int, cells: int) -> np.ndarray:
    """(tall, wide) smooth noise 0..1 of so many cells across."""
    rows = max(2, cells * tall // wide)
    grid = chance.random((rows + 2, cells + 2))
    y, x = np.linspace(0.0, rows, tall), np.linspace(0.0, cells, wide)
    j, i = y.astype(int), x.astype(int)
    u, v = y - j, x - i
    u, v = (u * u * (3.0 - 2.0 * u))[:, None], (v * v * (3.0 - 2.0 * v))[None, :]
    low = grid[np.ix_(j, i)] * (1.0 - v) + grid[np.ix_(j, i + 1)] * v
    high = grid[np.ix_(j + 1, i)] * (1.0 - v) + grid[np.ix_(j + 1, i + 1)] * v
    return low * (1.0 - u) + high * u


def cloud(seed: int) -> np.ndarray:
    """(TALL, WIDE, 2) lightness and density 0..1, the lowest row first, nothing at its rim."""
    chance = np.random.default_rng(seed)
    x = np.linspace(-1.0, 1.0, WIDE)[None, :]
    y = np.linspace(0.0, 1.0, TALL)[:, None]
    heap = np.zeros((TALL, WIDE))
    for _ in range(9):
        middle = chance.uniform(-0.62, 0.62)
        size = (0.42 - 0.30 * abs(middle)) * chance.uniform(0.75, 1.2)
        top = BASE + 0.55 * size + chance.uniform(0.0, 0.16) * (1.0 - abs(middle))
        off = ((x - middle) / size) ** 2 + ((y - top) / (1.25 * size)) ** 2
        heap = np.maximum(heap, 1.0 - off)
    rough = sum(noise(chance, WIDE, TALL, n) / (n / 6) for n in (6, 12, 24, 48)) / 1.875
    solid = heap + 0.9 * (rough - 0.5)
    density = np.clip(3.2 * solid, 0.0, 1.0) * np.clip((y - BASE + 0.10 * rough) / 0.07, 0.0, 1.0)
    density *= np.clip(4.0 * (1.0 - np.abs(x)), 0.0, 1.0) * np.clip(8.0 * (1.0 - y), 0.0, 1.0)
    light = np.clip(0.30 + 1.05 * (y - BASE) + 0.45 * (rough - 0.5) + 0.25 * heap, 0.0, 1.0)
    return np.stack([light, density], axis=2)


def atlas() -> np.ndarray:
    """(KINDS * TALL, WIDE, 2) all kinds, one above the other."""
    return np.concatenate([cloud(11 + k) for k in range(KINDS)])


def rectangles() -> tuple[np.ndarray, np.ndarray]:
    """(6n, 3) corners of triangles as directions (ahead, right, up), and (6n, 2) where in the
    atlas each lies."""
    places, spots = [], []
    for bearing, height, half, kind in CLOUDS:
        up = half  # as tall as half as wide: a picture is twice as wide as tall
        corners = []
        for x, y in ((-1.0, 0.0), (1.0, 0.0), (1.0, 1.0), (-1.0, 0.0), (1.0, 1.0), (-1.0, 1.0)):
            b, e = bearing + half * x / math.cos(height), height + up * y - 0.3 * up
            corners.append((math.cos(b) * math.cos(e), math.sin(b) * math.cos(e), math.sin(e)))
            edge = 0.5 / TALL  # not into the neighbour
            spots.append((0.5 + 0.5 * x, (kind + edge + y * (1.0 - 2.0 * edge)) / KINDS))
        places += corners
    return np.array(places), np.array(spots)
