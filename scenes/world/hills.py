"""Two ridges in the haze: slopes in fields with hedges between, woods on them and on their crests.
Plan coordinates: metres ahead, right, up."""

from __future__ import annotations

import math

import numpy as np

from firstthrow.scenes.world.greenery import hedgerow, woods
from firstthrow.scenes.world.leaves import Plant
from firstthrow.scenes.world.meshes import Mesh, polygon

UP = (0.0, 0.0, 1.0)
FIELDS = np.array(
    [
        (0.33, 0.46, 0.22),
        (0.42, 0.52, 0.24),
        (0.28, 0.42, 0.20),
        (0.52, 0.54, 0.30),
        (0.37, 0.44, 0.24),
    ]
)
HEDGE = np.array((0.17, 0.27, 0.13))
SECTORS = 30  # fields of a row
RIDGES = (  # radius of foot and crest, least and greatest height [m]
    (690.0, 870.0, 26.0, 56.0),
    (500.0, 650.0, 8.0, 26.0),
)


def hills(chance) -> tuple[list[Mesh], list[Plant]]:
    """All of it, the far ridge first; and the woods on it."""
    solid: list[Mesh] = []
    leaves: list[Plant] = []
    for ridge in RIDGES:
        slopes, crowns = _ridge(*ridge, chance)
        solid += slopes
        leaves += crowns
    return solid, leaves


def _ridge(foot: float, crest: float, low: float, high: float, chance):
    """(list of Mesh, list of Plant) of one ridge."""
    step = 2.0 * math.pi / SECTORS

    def line(share: float, wander: float) -> np.ndarray:
        """(2 SECTORS + 1, 3) places round the slope, which rises faster higher up, unevenly far
        apart; the last is the first."""
        count = 2 * SECTORS
        turns = 0.5 * step * (np.arange(count) + chance.uniform(-0.38, 0.38, count))
        waves = 0.5 + 0.35 * np.sin(3.0 * turns + crest) + 0.15 * np.sin(7.0 * turns)
        shares = share + wander * chance.uniform(-1.0, 1.0, count)
        far = foot + (crest - foot) * shares
        ups = (low + (high - low) * waves) * shares**1.4 - 0.5
        places = np.column_stack([far * np.cos(turns), far * np.sin(turns), ups])
        return np.vstack([places, places[:1]])

    bottom, middle, top = line(0.0, 0.0), line(0.42, 0.14), line(1.0, 0.0)
    found, crowns = [], []
    grown = np.random.default_rng(round(foot))
    for k in range(0, 2 * SECTORS, 2):
        lower = [bottom[k], bottom[k + 1], bottom[k + 2], middle[k + 2], middle[k + 1], middle[k]]
        after = (k + 3) % (2 * SECTORS)
        upper = [middle[k + 1], middle[k + 2], middle[after], top[k + 2], top[k + 1], top[k]]
        for field, edges in ((lower, ((5, 4), (4, 3), (0, 5))), (upper, ((5, 4), (4, 3), (0, 5)))):
            hue = FIELDS[chance.integers(len(FIELDS))] * chance.uniform(0.94, 1.05)
            patches = hue * grown.uniform(0.90, 1.10, (len(field), 1))
            found.append(polygon(field, patches, UP))
            for i, j in edges:
                found.append(_hedge(field[i], field[j]))
                crowns += hedgerow(grown, field[i], field[j])
        if chance.random() < 0.6:
            place = (middle, top)[chance.integers(2)][k + 1]
            tall, half = chance.uniform(9.0, 15.0), chance.uniform(24.0, 60.0)
            crowns += woods(chance, place, tall, half)
    return found, crowns


def _hedge(start: np.ndarray, end: np.ndarray) -> Mesh:
    """As tall as it takes to be seen from afar, and as wide where it runs away from the eye."""
    across = np.array([-start[1], start[0], 0.0]) / np.hypot(*start[:2])
    out = np.array([0.0, 0.0, 1.9]) + 0.9 * across
    return polygon([start, end, end + out, start + out], HEDGE, UP)
