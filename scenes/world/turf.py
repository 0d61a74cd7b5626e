"""The grass: blades near by, patches and mown lanes further off; made by code, pure.

Plan coordinates are metres ahead of the pilot and to the right. Corners carry the colour of the
patch they lie in; one texture of blades is laid over all of it, which far away fades to its mean.
Cells are small where the pilot stands and large far away; the mown strip lies in a gap of the rough
grass, with corners at the same places.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from firstthrow.scenes.world.levels import Levels
from firstthrow.scenes.world.meshes import between

TILE = 2.6  # [m] after which the blades repeat
SIZE = 256  # pixels of the tile
BLADES = 5200
LANE = 1.5  # [m] width of a mown lane
STATIONS = 12  # cells along the strip
# [m] from the strip to where cells of rough grass meet
REACHES = (6.0, 15.0, 32.0, 70.0, 150.0, 330.0)
LEAST, FARTHEST = 10.0, 4  # [m] that a cell is long, and how many lie along the horizon
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


def rough(
    strip: tuple[float, float, float, float], horizon: float
) -> tuple[np.ndarray, np.ndarray]:
    """(3n, 2) corners of a square but for the strip, and (3n, 3) their colours."""
    near, left, far, right = strip
    within = [reach for reach in REACHES if max(far, right, -near, -left) + reach < horizon]
    rims = [_rim(strip, STATIONS, _lanes(left, right))]
    for reach, cell in zip(within, np.diff((0.0, *within)).tolist(), strict=True):
        grown = near - reach, left - reach, far + reach, right + reach
        sides = grown[2] - grown[0], grown[3] - grown[1]
        rims.append(_rim(grown, *(max(1, round(side / max(LEAST, cell))) for side in sides)))
    rims.append(_rim((-horizon, -horizon, horizon, horizon), FARTHEST, FARTHEST))
    plan = np.concatenate(
        [
            between(inner, outer)
            for one, other in itertools.pairwise(rims)
            for inner, outer in zip(one, other, strict=True)
        ]
    )
    return plan, patch_colours(plan)


def _lanes(left: float, right: float) -> int:
    """How many lie side by side, each about as wide as `LANE`."""
    return round((right - left) / LANE)


def _rim(rectangle: tuple[float, float, float, float], along: int, across: int) -> list[np.ndarray]:
    """The four sides of a rectangle from (ahead, right) to (ahead, right), one after the other:
    (parts + 1, 2) each, in so many parts `along` and `across`."""
    near, left, far, right = rectangle
    ahead, aside = np.linspace(near, far, along + 1), np.linspace(left, right, across + 1)
    return [
        np.column_stack([ahead, np.full(along + 1, left)]),
        np.column_stack([np.full(across + 1, far), aside]),
        np.column_stack([ahead[::-1], np.full(along + 1, right)]),
        np.column_stack([np.full(across + 1, near), aside[::-1]]),
    ]


def _corners(cells: list[tuple[float, float, float, float]]) -> np.ndarray:
    """(6n, 2) of two triangles for each cell from (ahead, right) to (ahead, right)."""
    return np.array(
        [
            corner
            for s, a, e, b in cells
            for corner in ((s, a), (e, a), (e, b), (s, a), (e, b), (s, b))
        ]
    )


def mown(strip: tuple[float, float, float, float]) -> tuple[np.ndarray, np.ndarray]:
    """The strip from (ahead, right) to (ahead, right) in lanes mown up and down: corners and
    colours as of `rough`."""
    near, left, far, right = strip
    edges = np.linspace(left, right, _lanes(left, right) + 1)
    stations = np.linspace(near, far, STATIONS + 1)
    cells, hues = [], []
    for k, (a, b) in enumerate(itertools.pairwise(edges)):
        for s, e in itertools.pairwise(stations):
            cells.append((s, a, e, b))
            hues += [MOWN[k % 2]] * 6
    corners = _corners(cells)
    tint = 0.96 + 0.05 * np.sin(corners[:, 0] / 9.0 + corners[:, 1])
    return corners, np.array(hues) * tint[:, None]


def layers(levels: Levels) -> np.ndarray:
    """(n, SIZE, SIZE, 4) bytes, of the n levels of a picture (see `levels`): each repeated until
    it fills the tile, every texel with those to its right, above it and across.

    A software renderer mixes the four that it reads at once in half the time that it takes to look
    each up and to choose a level by how the picture shrinks there."""
    found = []
    for level in levels:
        rows = level[:, :, 0]
        beside = np.roll(rows, -1, axis=1)
        four = [rows, beside, np.roll(rows, -1, axis=0), np.roll(beside, -1, axis=0)]
        times = SIZE // len(rows)
        found.append(np.tile(np.stack(four, axis=2), (times, times, 1)))
    return np.stack(found)
