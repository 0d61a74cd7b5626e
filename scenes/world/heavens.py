"""The clouds: heaps with a flat grey base, made by code; pure.

Each is one picture of density and light, laid on one rectangle of the sky: discs laid over one
another would make a software renderer paint the same sky ten times.
"""

from __future__ import annotations

import math

import numpy as np

from firstthrow.scenes.world.meshes import between

WIDE, TALL = 256, 128  # pixels of one cloud
KINDS = 4
HEAPS = 34  # of one cloud
PIECE = 16  # pixels: so finely what has no cloud in it is left out
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
    """(TALL, WIDE, 2) lightness and density 0..1, the lowest row first, nothing at its rim.

    Heaps of heaps: each round, lit from above and one side, on a base where the air gets damp."""
    chance = np.random.default_rng(seed)
    x = np.linspace(-1.0, 1.0, WIDE)[None, :]
    y = np.linspace(0.0, 1.0, TALL)[:, None]
    rough = sum(noise(chance, WIDE, TALL, n) / (n / 6) for n in (6, 12, 24, 48)) / 1.875
    fine = sum(noise(chance, WIDE, TALL, n) / (n / 12) for n in (12, 24, 48, 96)) / 1.875
    x, y = x + 0.10 * (rough - 0.5), y + 0.16 * (fine - 0.5)
    peak, lean = chance.uniform(-0.25, 0.25), chance.uniform(-0.3, 0.3)
    heap, light = np.full((TALL, WIDE), -1.0), np.zeros((TALL, WIDE))
    for k in range(HEAPS):
        middle = chance.uniform(-0.66, 0.66)
        crown = max(0.0, 1.0 - abs(middle - peak) / 0.85) ** 1.3 * (0.62 + 0.1 * lean)
        size = chance.uniform(0.09, 0.20) * (1.0 - 0.45 * abs(middle)) * (1.15 - 0.4 * k / HEAPS)
        top = BASE + 0.05 + crown * chance.uniform(0.0, 0.85)
        right, up = (x - middle) / size, (y - top) / (1.7 * size)
        round_ = 1.0 - right**2 - up**2
        lit = 0.30 + 0.42 * (y - BASE) / 0.6 + 0.24 * up - 0.13 * right
        light = np.where(round_ > heap, lit, light)
        heap = np.maximum(heap, round_)
    density = np.clip(1.7 * (heap + 0.75 * (fine - 0.42)), 0.0, 1.0)
    density *= np.clip((y - BASE + 0.05 * rough) / 0.09, 0.0, 1.0)
    density *= np.clip(5.0 * (1.0 - np.abs(np.linspace(-1.0, 1.0, WIDE))), 0.0, 1.0)[None, :]
    density *= np.clip(10.0 * (1.0 - np.linspace(0.0, 1.0, TALL)), 0.0, 1.0)[:, None]
    shade = np.clip((y - BASE) / 0.16, 0.0, 1.0)  # the base lies in the cloud's own shade
    light = np.clip(shade * light + 0.20 * (rough - 0.5) + 0.22 * (1.0 - density), 0.0, 1.0)
    return np.stack([light, density], axis=2)


def atlas() -> np.ndarray:
    """(KINDS * TALL, WIDE, 2) all kinds, one above the other."""
    return np.concatenate([cloud(11 + k) for k in range(KINDS)])


def pieces(whole: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(3n, 3) corners of triangles as directions (ahead, right, up), and (3n, 2) where in the
    `whole` atlas each lies: pictures without those cells of `PIECE` pixels that have no cloud in
    them. Each lies on a plane, so that what is straight in it is so for every eye."""
    density = whole[:, :, 1].reshape(KINDS, TALL // PIECE, PIECE, WIDE // PIECE, PIECE)
    filled = [strips(there) for there in density.max(axis=(2, 4)) > 0.0]
    edge = 0.5 / TALL  # not into the neighbour
    places, spots = [], []
    for bearing, height, half, kind in CLOUDS:
        x, y = (PIECE * filled[kind] / (WIDE, TALL)).T
        sine, cosine = math.sin(bearing), math.cos(bearing)
        low, level = math.sin(height), math.cos(height)
        ahead = np.array([cosine * level, sine * level, low])
        right, up = np.array([-sine, cosine, 0.0]), np.array([-cosine * low, -sine * low, level])
        # as tall as half as wide: a picture is twice as wide as tall
        places.append(ahead + half * (np.outer(2.0 * x - 1.0, right) + np.outer(y - 0.3, up)))
        spots.append(np.column_stack([x, (kind + edge + y * (1.0 - 2.0 * edge)) / KINDS]))
    return np.concatenate(places), np.concatenate(spots)


def strips(there: np.ndarray) -> np.ndarray:
    """(3n, 2) corners (column, row) of triangles over the cells of a (rows, columns) grid that are
    `there`: one strip for all that lie beside one another, with a corner wherever one of a strip
    below or above it lies, so that no gap opens between them."""
    around = np.pad(there, 1)
    # where the two cells left and right of a corner differ, in the row below it or above it
    turns = around[:, 1:] != around[:, :-1]
    corner = turns[1:] | turns[:-1]
    found = []
    for row in range(len(there)):
        ends = np.flatnonzero(turns[row + 1]).reshape(-1, 2)
        for start, end in ends.tolist():
            low, high = (
                np.array(
                    [(k, up) for k in range(start, end + 1) if corner[up, k] or k in (start, end)]
                )
                for up in (row, row + 1)
            )
            found.append(between(low, high))
    return np.concatenate(found)
