"""Pictures of what grows, made by code: trees, a hedge's face, a wood's edge, tufts; pure.

Every point has a lightness (bark and stems are dark), the way it faces, to the right and up, and
how much of it is there: so that one picture serves any light. They lie side by side in one atlas.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

WIDE, TALL = 1024, 512  # pixels of the atlas
FINE = 2  # drawn so many times finer, then taken together: smooth outlines
NOWHERE = np.zeros(3)
EMPTY = (0.5, 0.5, 0.55)
TREES, TUFTS = 4, 4
Cell = tuple[int, int, int, int]  # left, low, width, height in the atlas [pixels]

TREE_CELLS: tuple[Cell, ...] = tuple((256 * k, 0, 256, 256) for k in range(TREES))
HEDGE_CELL: Cell = (0, 256, 512, 128)
WOOD_CELL: Cell = (0, 384, 512, 128)
TUFT_CELLS: tuple[Cell, ...] = tuple((512 + 128 * k, 256, 128, 128) for k in range(TUFTS))
FLOWER_CELLS: tuple[Cell, ...] = tuple((512 + 128 * k, 384, 128, 128) for k in range(2))


class Plant(NamedTuple):
    """One flat picture: a strip `along` half of its length, or nothing for one that turns."""

    foot: np.ndarray  # (3,) middle of its lower edge [m]
    half: float  # [m] half its width; of a strip 1; less than nothing turns it over
    tall: float  # [m]
    cell: Cell
    tint: np.ndarray  # (3,) of its leaves
    along: np.ndarray = NOWHERE  # right to left, as it is looked at


class Plants(NamedTuple):
    """Many: what a `Plant` has, a row for each."""

    feet: np.ndarray  # (n, 3)
    halves: np.ndarray  # (n,)
    heights: np.ndarray  # (n,)
    cells: np.ndarray  # (n, 4) whole numbers
    tints: np.ndarray  # (n, 3)
    alongs: np.ndarray  # (n, 3)


def planted(plants: Sequence[Plant], to_field: np.ndarray) -> Plants:
    """From plan to field axes, the furthest from the origin first: so their fringes lie over what
    is behind them."""
    order = sorted(plants, key=lambda plant: -float(np.hypot(*plant.foot[:2])))
    found = Plants(*(np.array(rows) for rows in zip(*order, strict=True)))
    return found._replace(feet=found.feet @ to_field.T, alongs=found.alongs @ to_field.T)


class _Sheet:
    """What is painted on, the later over the earlier; it may close on itself sideways."""

    def __init__(self, wide: int, tall: int, closes: bool = False):
        self.wide, self.tall, self.closes = wide, tall, closes
        # lightness, the way it faces, whether it is there; one line more for what falls outside
        self.values = np.zeros((tall * wide + 1, 4), dtype=np.float32)

    def paint(self, rows: np.ndarray, columns: np.ndarray, which: np.ndarray, values) -> None:
        """Dots at whole places; `which` of the (n, 3) `values` each has."""
        if self.closes:
            columns = columns % self.wide
        inside = (rows >= 0) & (rows < self.tall) & (columns >= 0) & (columns < self.wide)
        spots = np.where(inside, rows * self.wide + columns, self.tall * self.wide)
        marked = np.ones((len(values), 4), dtype=np.float32)
        marked[:, :3] = values
        # numpy takes the last of several values for one place
        last = np.full(self.tall * self.wide + 1, -1, dtype=np.int32)
        last[spots] = which
        painted = np.flatnonzero(last >= 0)
        self.values[painted] = marked[last[painted]]

    def leaves(self, places: np.ndarray, values: np.ndarray, size: int, chance) -> None:
        """Short ovals every way round at (n, 2) places (across, up), in their order."""
        y, x = np.mgrid[-size : size + 1, -size : size + 1]
        kinds = []
        for k in range(8):
            c, s = math.cos(math.pi * k / 8.0), math.sin(math.pi * k / 8.0)
            oval = ((c * x + s * y) / size) ** 2 + ((c * y - s * x) / (0.55 * size)) ** 2 <= 1.0
            kinds.append(np.column_stack([y[oval], x[oval]]))
        most = max(len(kind) for kind in kinds)
        padded = np.array([np.resize(kind, (most, 2)) for kind in kinds], dtype=np.int32)
        dots = padded[chance.integers(len(kinds), size=len(places))]
        whole = np.round(places).astype(np.int32)
        rows = (whole[:, 1, None] + dots[:, :, 0]).ravel()
        columns = (whole[:, 0, None] + dots[:, :, 1]).ravel()
        self.paint(rows, columns, np.repeat(np.arange(len(places)), most), values)

    def stroke(self, start, end, thick: tuple[float, float], light: float) -> None:
        """A stem from (across, up) to another place, round in its light, thinner at its end."""
        start, end = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
        long = float(np.hypot(*(end - start)))
        along = (end - start) / max(long, 1e-6)
        shares = np.linspace(0.0, 1.0, max(2, int(1.6 * long)))
        halves = thick[0] + shares * (thick[1] - thick[0])
        across = np.linspace(-1.0, 1.0, max(3, int(3.2 * max(thick))))
        u, v = (grid.ravel() for grid in np.meshgrid(shares, across, indexing="ij"))
        half = np.repeat(halves, len(across))
        spots = start + u[:, None] * long * along + (v * half)[:, None] * (along[1], -along[0])
        facing = 0.5 + 0.45 * np.column_stack([v * along[1], -v * along[0]])
        whole = np.round(spots).astype(np.int32)
        values = np.column_stack([np.full(len(v), light), facing])
        self.paint(whole[:, 1], whole[:, 0], np.arange(len(v)), values)

    def taken(self) -> np.ndarray:
        """(tall, wide, 4) at the atlas's own size."""
        fine = self.values[:-1].reshape(self.tall // FINE, FINE, self.wide // FINE, FINE, 4)
        there = fine[..., 3:].mean(axis=(1, 3))
        weighed = (fine[..., :3] * fine[..., 3:]).mean(axis=(1, 3))
        mean = weighed / np.maximum(there, 1e-6)
        mean[there[..., 0] == 0.0] = EMPTY  # what a fringe fades to
        return np.concatenate([mean, there], axis=2)


def _clump_leaves(middles, radii, heart, reach, count: int, chance) -> tuple[np.ndarray, ...]:
    """Leaves round clumps: (n, 3) places (right, up, towards the eye) from far to near, and (n, 3)
    lightness and facing; `heart` and `reach` are of the whole crown."""
    ways = chance.normal(0.0, 1.0, (len(middles) * count, 3))
    ways = ways / np.linalg.norm(ways, axis=1, keepdims=True)
    own = np.repeat(np.arange(len(middles)), count)
    out = radii[own, None] * chance.uniform(0.55, 1.12, (len(own), 1))
    places = middles[own] + out * ways
    whole = (places - heart) / reach
    facing = 0.62 * ways + 0.5 * whole
    facing = facing / np.maximum(1.0, np.linalg.norm(facing, axis=1, keepdims=True))
    deep = np.clip(np.linalg.norm(whole, axis=1), 0.0, 1.0)
    lower = np.clip(-ways[:, 1], 0.0, 1.0)
    light = 0.30 + 0.42 * deep**2 - 0.20 * lower + 0.12 * chance.uniform(-1.0, 1.0, len(own))
    values = np.column_stack([np.clip(light, 0.3, 0.9), 0.5 + 0.5 * facing[:, :2]])
    order = np.argsort(places[:, 2])
    return places[order], values[order]


def tree(seed: int) -> np.ndarray:
    """(256, 256, 4): a trunk that forks, a crown of clumps with sky between, and light below it."""
    chance = np.random.default_rng(seed)
    size = 256 * FINE
    sheet = _Sheet(size, size)
    middle, foot = 0.5 * size, 3.0
    broad = chance.uniform(0.37, 0.43) * size
    heart = np.array([middle, chance.uniform(0.60, 0.63) * size, 0.0])
    reach = np.array([broad, 0.33 * size, broad])
    count = 46
    ways = chance.normal(0.0, 1.0, (count, 3))
    ways = ways / np.linalg.norm(ways, axis=1, keepdims=True)
    shares = chance.uniform(0.10, 0.80, (count, 1)) ** 0.5
    middles = heart + shares * ways * reach * np.where(ways[:, 1:2] < 0.0, 0.8, 1.0)
    radii = chance.uniform(0.055, 0.100, count) * size
    places, values = _clump_leaves(middles, radii, heart, reach, 90, chance)
    behind = places[:, 2] < 0.0
    leaf = 5
    sheet.leaves(places[behind, :2], values[behind], leaf, chance)
    fork = np.array([middle + chance.uniform(-0.02, 0.02) * size, 0.27 * size])
    sheet.stroke((middle, foot), fork, (0.024 * size, 0.016 * size), 0.075)
    for k in np.argsort(middles[:, 1])[: count // 2 : 3]:
        sheet.stroke(fork - (0.0, 0.01 * size), middles[k, :2], (0.010 * size, 0.003 * size), 0.06)
    sheet.leaves(places[~behind, :2], values[~behind], leaf, chance)
    return sheet.taken()


def _row(cell: Cell, seed: int, count: int, tops: tuple[float, float], each: int) -> np.ndarray:
    """Clumps side by side from the ground up to uneven tops, closing on itself."""
    chance = np.random.default_rng(seed)
    wide, tall = FINE * cell[2], FINE * cell[3]
    sheet = _Sheet(wide, tall, closes=True)
    across = (np.arange(count) + chance.uniform(-0.3, 0.3, count)) * wide / count
    heights = chance.uniform(*tops, count) * tall
    middles, radii = [], []
    for x, height in zip(across, heights, strict=True):
        step = 0.5 * wide / count + 0.05 * tall
        for up in np.arange(0.0, height - 0.5 * step, 0.8 * step):
            middles.append((x + chance.uniform(-0.2, 0.2) * step, up, -up))
            radii.append(step * chance.uniform(0.8, 1.15))
    heart, reach = np.array([0.5 * wide, 0.1 * tall, 0.0]), np.array([1e9, 0.9 * tall, 1e9])
    places, values = _clump_leaves(np.array(middles), np.array(radii), heart, reach, each, chance)
    order = np.argsort(-places[:, 1], kind="stable")  # what is lower stands nearer
    values[:, 0] = np.clip(0.34 + 0.40 * places[:, 1] / tall + 0.5 * (values[:, 0] - 0.5), 0.3, 0.9)
    thick, dark = places[:: max(1, each // 14), :2], np.array([(0.32, 0.5, 0.6)])
    inner = thick * (1.0, 0.86)  # what closes it below its rim
    sheet.leaves(inner, np.repeat(dark, len(inner), axis=0), 12, chance)
    sheet.leaves(places[order, :2], values[order], 5, chance)
    return sheet.taken()


def tuft(seed: int, flower: bool = False) -> np.ndarray:
    """(128, 128, 4): blades from one root, bent outwards; with flowers among them. A flower's heads
    are the only points that are wholly light."""
    chance = np.random.default_rng(seed)
    size = 128 * FINE
    sheet = _Sheet(size, size)
    for light in np.linspace(0.35, 0.85, 16 if flower else 34):
        root = np.array([0.5 * size + chance.normal(0.0, 0.06) * size, 2.0])
        lean, tall = chance.normal(0.0, 0.20) * size, chance.uniform(0.45, 0.92) * size
        if flower:
            tall *= 0.65
        bend = np.array([lean, tall])
        knee = root + np.array([0.35, 0.6]) * bend
        sheet.stroke(root, knee, (3.4, 2.6), light * 0.8)
        sheet.stroke(knee, root + bend, (2.6, 0.8), light)
    for _ in range(5 if flower else 0):
        root = np.array([0.5 * size + chance.normal(0.0, 0.05) * size, 2.0])
        head = root + size * np.array([chance.normal(0.0, 0.22), chance.uniform(0.62, 0.92)])
        sheet.stroke(root, head, (1.6, 1.4), 0.5)
        sheet.leaves(np.array([head] * 3), np.array([(1.0, 0.5, 0.75)] * 3), 11, chance)
    return sheet.taken()


def atlas() -> np.ndarray:
    """(TALL, WIDE, 4) values 0..1, the lowest row first; the same every time."""
    whole = np.tile((*EMPTY, 0.0), (TALL, WIDE, 1))
    pictures = [(cell, tree(40 + k)) for k, cell in enumerate(TREE_CELLS)]
    pictures += [(HEDGE_CELL, _row(HEDGE_CELL, 5, 30, (0.62, 0.90), 44))]
    pictures += [(WOOD_CELL, _row(WOOD_CELL, 6, 22, (0.50, 0.92), 70))]
    pictures += [(cell, tuft(60 + k)) for k, cell in enumerate(TUFT_CELLS)]
    pictures += [(cell, tuft(70 + k, flower=True)) for k, cell in enumerate(FLOWER_CELLS)]
    for (left, low, wide, tall), shown in pictures:
        whole[low : low + tall, left : left + wide] = shown
    return whole


def corners_of(cell: Cell) -> tuple[float, float, float, float]:
    """Left, low, right, top of a cell in the atlas (0..1), half a pixel within it."""
    left, low, wide, tall = cell
    return (
        (left + 0.5) / WIDE,
        (low + 0.5) / TALL,
        (left + wide - 0.5) / WIDE,
        (low + tall - 0.5) / TALL,
    )


def filled(cell: Cell, whole: np.ndarray) -> tuple[float, float, float, float]:
    """Left, low, right, top within a cell (0..1) of the `whole` atlas, of what of its picture there
    is."""
    left, low, wide, tall = cell
    there = whole[low : low + tall, left : left + wide, 3] > 0
    rows, columns = (np.flatnonzero(there.any(axis=axis)) for axis in (1, 0))
    return columns[0] / wide, rows[0] / tall, (columns[-1] + 1) / wide, (rows[-1] + 1) / tall
