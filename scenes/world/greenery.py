"""Hedges, trees, rough grass and flowers, in plan coordinates: metres ahead, right, up."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from firstthrow.scenes.world.leaves import (
    FLOWER_CELLS,
    HEDGE_CELL,
    TREE_CELLS,
    TUFT_CELLS,
    WOOD_CELL,
    Plant,
)
from firstthrow.scenes.world.light import Light
from firstthrow.scenes.world.meshes import Mesh, polygon

LEAF = np.array([0.37, 0.51, 0.20])
HEDGE = np.array([0.36, 0.48, 0.20])
HALF = 1.0  # [m] half a hedge's width
CLOSED = 0.60  # of a hedge's height, up to which its leaves are closed
JOINT, LUMPS = 2.2, 2  # [m] high where two pieces meet; lumps of a piece's top
FLOWERS = ((0.62, 0.74, 0.24), (0.62, 0.74, 0.07))  # four times their blue is that of the heads


def hedges(chance) -> tuple[list[Mesh], list[Plant]]:
    """Three hedges round the meadow: what closes them, and their leaves, uneven along the top."""
    lines = [
        [(185.0, -170.0), (176.0, -60.0), (190.0, 50.0), (180.0, 175.0)],
        [(-30.0, -95.0), (60.0, -82.0), (176.0, -100.0)],
        [(-40.0, 96.0), (70.0, 82.0), (180.0, 120.0)],
        [(-55.0, -140.0), (-48.0, 0.0), (-58.0, 140.0)],
    ]
    solid: list[Mesh] = []
    leaves: list[Plant] = []
    for line in lines:
        for start, end in pairwise(line):
            closed, shown = _hedge(np.array(start), np.array(end), chance)
            solid += closed
            leaves += shown
    return solid, leaves


def _hedge(start: np.ndarray, end: np.ndarray, chance) -> tuple[list[Mesh], list[Plant]]:
    count = max(2, int(np.linalg.norm(end - start) / 11.0))
    uneven = np.random.default_rng(abs(int(100.0 * float(start @ end))))
    half = 0.5 * (end - start) / count
    side = HALF * np.array([-half[1], half[0]]) / np.linalg.norm(half)
    solid, leaves = [], []
    for k in range(count):
        middle = start + (2 * k + 1) * half
        tall = 2.0 + 0.5 * chance.random()
        hue = HEDGE * (0.92 + 0.16 * chance.random())
        top = CLOSED * tall
        a, b = middle - half, middle + half
        solid += _top(a, b, side, top, hue, uneven)
        for way in (-1.0, 1.0):
            low = [np.array([*(spot + 0.9 * way * side), 0.0]) for spot in (a, b)]
            face = [*low, low[1] + (0.0, 0.0, top), low[0] + (0.0, 0.0, top)]
            out = np.array([*(way * side), 0.6])
            solid.append(polygon(face, 0.5 * hue, out / np.linalg.norm(out)))
            along = np.array([*(-way * half), 0.0])  # seen from outside
            foot = np.array([*(middle + way * side), 0.0])
            turned = 1.02 if chance.random() < 0.5 else -1.02
            leaves.append(Plant(foot, turned, tall, HEDGE_CELL, hue, along))
    return solid, leaves


def _top(start, end, side, height: float, hue: np.ndarray, chance) -> list[Mesh]:
    """What closes a hedge, seen from above: lumps, lighter and darker, which fall to one height at
    both ends, where the next begins."""
    bulge = np.array([0.0, *chance.uniform(-0.10, 0.16, LUMPS - 1), 0.0])
    ups = np.array([CLOSED * JOINT, *[height] * (LUMPS - 1), CLOSED * JOINT]) * (1.0 + bulge)
    spots = start + (end - start) * np.arange(LUMPS + 1)[:, None] / LUMPS
    rims = [
        np.column_stack([spots + way * (1.0 + 0.8 * bulge)[:, None] * side, ups])
        for way in (-1.0, 1.0)
    ]
    shades = chance.uniform(0.58, 0.92, (2, LUMPS + 1))
    found = []
    for k in range(LUMPS):
        around = ((0, k), (0, k + 1), (1, k + 1), (1, k))
        hues = hue * np.array([[shades[at]] for at in around])
        found.append(polygon([rims[way][n] for way, n in around], hues, (0.0, 0.0, 1.0)))
    return found


def hedgerow(chance, start: np.ndarray, end: np.ndarray) -> list[Plant]:
    """Trees along a hedge in the haze: a few or none, of uneven height."""
    found = []
    for share in chance.uniform(0.05, 0.95, max(0, chance.integers(-7, 3))):
        foot, tall = start + share * (end - start), chance.uniform(3.5, 8.5)
        cell = TREE_CELLS[chance.integers(len(TREE_CELLS))]
        half = 0.5 * tall * chance.uniform(0.8, 1.2) * (1.0 if chance.random() < 0.5 else -1.0)
        found.append(Plant(foot - (0.0, 0.0, 0.25 * tall), half, tall, cell, 0.8 * LEAF))
    return found


def trees(chance, light: Light) -> tuple[list[Mesh], list[Plant]]:
    """A few near enough to judge height by, more along the hedges and in the haze; and the shade
    of the near ones."""
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
    shades = [_shade(np.array([a, r]), h, light) for a, r, h in near]
    found = [_tree((a, r), h, k, chance) for k, (a, r, h) in enumerate(near)]
    for k in range(40):
        bearing, far = chance.uniform(-math.pi, math.pi), chance.uniform(195.0, 420.0)
        place = far * np.array([math.cos(bearing), math.sin(bearing)])
        found.append(_tree(place, chance.uniform(8.0, 15.0), k, chance))
    return shades, found


def _tree(place, height: float, number: int, chance) -> Plant:
    """Of one of the kinds, either way round."""
    hue = LEAF * (0.88 + 0.26 * chance.random()) * (1.0, 1.0, 0.8 + 0.4 * chance.random())
    half = 0.5 * height * (1.0 if chance.random() < 0.5 else -1.0) * chance.uniform(0.95, 1.15)
    cell = TREE_CELLS[number % len(TREE_CELLS)]
    return Plant(np.array([*place, -0.05]), half, 1.04 * height, cell, hue)


def _shade(place: np.ndarray, height: float, light: Light) -> Mesh:
    """The dark grass where a tree's crown keeps the sun away, with an uneven rim."""
    turns = np.arange(20) * 2.0 * math.pi / 20.0
    uneven = 1.0 + 0.10 * np.sin(5.0 * turns + place[0]) + 0.07 * np.sin(9.0 * turns + place[1])
    crown = 0.36 * height * uneven[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
    # a ball's shadow, by its rim square to the sun
    long = light.cast
    reach = float(np.hypot(*long))
    along, across = long / reach, np.array([-long[1], long[0]]) / reach
    half = np.hypot(0.36, 0.32 * reach) / 0.36
    rim = np.outer(half * crown[:, 0], along) + np.outer(crown[:, 1], across)
    rim = rim + place + 0.62 * height * long
    dark = 1.0 - 0.62 * light.shadow
    hue = dark * np.array((0.36, 0.48, 0.19)) * light.on_grass / light.falls_level
    return polygon(np.column_stack([rim, np.full(20, 0.03)]), hue, (0.0, 0.0, 1.0))


def woods(chance, place: np.ndarray, tall: float, half: float) -> list[Plant]:
    """Some rows of crowns on a hill, seen from the meadow; the lower ones in front."""
    away = place[:2] / np.linalg.norm(place[:2])
    across = np.array([-away[1], away[0]])
    found = []
    for k, share in enumerate((1.0, 0.8)):
        foot = place - np.array([*(7.0 * k * away), 2.5 + 2.0 * k])
        along = np.array([*(-share * half * across), 0.0])
        turned = 1.0 if chance.random() < 0.5 else -1.0
        found.append(Plant(foot, turned, tall * share, WOOD_CELL, 0.72 * LEAF, along))
    return found


def tufts(chance, strip) -> list[Plant]:
    """Rough grass and flowers outside the mown strip: what slides past when one flies low.

    `strip` is (ahead, right, ahead, right) of two opposite corners.
    """
    found = []
    for k in range(360):
        ahead, right = chance.uniform(-8.0, 90.0), chance.normal(0.0, 18.0)
        if strip[1] - 0.5 < right < strip[3] + 0.5:
            continue
        at, way = np.array([ahead, right, -0.02]), 1.0 if chance.random() < 0.5 else -1.0
        if k % 4 == 0:
            cell, hue = FLOWER_CELLS[k // 4 % 2], np.array(FLOWERS[k // 8 % 2])
            found.append(Plant(at, way * 0.22, 0.44, cell, hue))
            continue
        hue = np.array([0.66, 0.78, 0.31]) * (0.8 + 0.3 * chance.random())
        tall = chance.uniform(0.18, 0.40)
        found.append(Plant(at, way * 0.6 * tall, tall, TUFT_CELLS[k % len(TUFT_CELLS)], hue))
    return found
