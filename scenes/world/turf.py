"""The grass: blades near by, patches and mown lanes further off; made by code, pure.

Plan coordinates are metres ahead of the pilot and to the right. Corners carry the colour of the
patch they lie in; one texture of blades is laid over all of it, which far away fades to its mean.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

TILE = 2.6  # [m] after which the blades repeat
SIZE = 256  # pixels of the tile
BLADES = 5200
LANE = 1.5  # [m] width of a mown lane
ROUGH = np.array([(0.26, 0.40, 0.15), (0.37, 0.48, 0.17), (0.50, 0.53, 0.25), (0.31, 0.46, 0.21)])
MOWN = np.array([(0.44, 0.57, 0.23), (0.54, 0.67, 0.31)])


def blades(seed: int = 3) -> np.ndarray:
    """(SIZE, SIZE) brightness about 0.5, without a seam: short strokes, the later ones lighter."""
    chance = np.random.default_rng(seed)
    tile = np.full((SIZE, SIZE), 0.34)
    starts = chance.uniform(0.0, SIZE, (BLADES, 2))
    turns = chance.normal(0.5 * math.pi, 0.55, BLADES)
    lengths = chance.uniform(6.0, 15.0, BLADES)
    lights = np.linspace(0.30, 0.66, BLADES) + chance.normal(0.0, 0.09, BLADES)
    for start, turn, long, light in zip(starts, turns, lengths, lights, strict=True):
        along = np.arange(0.0, long, 0.7)
        rows = (start[0] + along * math.sin(turn)).astype(int) % SIZE
        across = (start[1] + along * math.cos(turn)).astype(int) % SIZE
        tile[rows, across] = light + 0.10 * along / long
    return np.clip(tile + 0.5 - tile.mean(), 0.0, 1.0)


def patch_colours(plan: np.ndarray) -> np.ndarray:
    """(n, 3) of rough grass at (n, 2) places: slow waves of four greens, the same every time."""
    ahead, right = plan[:, 0], plan[:, 1]
    first = np.sin(ahead / 17.0 + 1.3 * np.sin(right / 23.0)) + np.sin(right / 11.0 + ahead / 31.0)
    second = np.sin(ahead / 7.3 - right / 9.1) + 0.6 * np.sin(ahead / 3.1 + right / 4.7)
    one = np.clip(0.5 + 0.34 * first, 0.0, 1.0)[:, None]
    other = np.clip(0.5 + 0.30 * second, 0.0, 1.0)[:, None]
    dark, light = ROUGH[0] + one * (ROUGH[2] - ROUGH[0]), ROUGH[3] + one * (ROUGH[1] - ROUGH[3])
    return dark + other * (light - dark)


def rough(horizon: float) -> tuple[np.ndarray, np.ndarray]:
    """(3n, 2) corners of a disc in rings, finer near the middle, and (3n, 3) their colours."""
    rings = (0.0, 5.0, 10.0, 16.0, 23.0, 31.0, 40.0, 52.0, 68.0, 90.0, 120.0, 170.0, 280.0, horizon)
    turns = np.linspace(0.0, 2.0 * math.pi, 65)
    found: list[np.ndarray] = []
    for near, far in itertools.pairwise(rings):
        for a, b in itertools.pairwise(turns):
            p, q = np.array([math.cos(a), math.sin(a)]), np.array([math.cos(b), math.sin(b)])
            found += [near * p, far * p, far * q]
            if near > 0.0:
                found += [near * p, far * q, near * q]
    plan = np.array(found)
    return plan, patch_colours(plan)


def mown(strip: tuple[float, float, float, float]) -> tuple[np.ndarray, np.ndarray]:
    """The strip from (ahead, right) to (ahead, right) in lanes mown up and down: corners and
    colours as of `rough`."""
    near, left, far, right = strip
    edges = np.arange(left, right + 1e-6, LANE)
    stations = np.linspace(near, far, 14)
    plan, hues = [], []
    for k, (a, b) in enumerate(itertools.pairwise(edges)):
        for s, e in itertools.pairwise(stations):
            plan += [(s, a), (e, a), (e, b), (s, a), (e, b), (s, b)]
            hues += [MOWN[k % 2]] * 6
    corners = np.array(plan)
    tint = 0.96 + 0.05 * np.sin(corners[:, 0] / 9.0 + corners[:, 1])
    return corners, np.array(hues) * tint[:, None]
