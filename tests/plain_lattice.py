"""A vortex lattice of its own to compare with: horseshoes along the plates, wakes with the wind.

Katz and Plotkin, Low-Speed Aerodynamics, 2nd ed., ch. 12; vortices at a quarter of each panel,
control points at three quarters.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np


class Plate(NamedTuple):
    """Mirrored, flat, at z = 0: edges aft of the datum at stations out from the centreline."""

    lead: tuple[float, float]  # at the root, at the tip
    trail: tuple[float, float]
    tip: float  # out


class Found(NamedTuple):
    """Over density, the square of the stream and a half."""

    lift: float
    roll: float  # right wing down
    pitch: float  # nose up about the datum


def filament(at, a, b):
    """Velocity at `at` of a unit straight vortex a -> b (Biot-Savart)."""
    r1, r2 = at - a, at - b
    n1, n2 = np.linalg.norm(r1, axis=-1), np.linalg.norm(r2, axis=-1)
    scale = (n1 + n2) / (n1 * n2 * (n1 * n2 + np.sum(r1 * r2, axis=-1)))
    return np.cross(r1, r2) * scale[..., None] / (4.0 * np.pi)


def ray(at, start, way):
    """Velocity at `at` of a unit vortex from `start` to infinity."""
    r = at - start
    n = np.linalg.norm(r, axis=-1)
    return np.cross(way, r) / (n * (n - r @ way))[..., None] / (4.0 * np.pi)


def loads(plates, width: float, alpha: float, slip: float = 0.0, aft: int = 8) -> Found:
    """Of plates together, their strips `width` wide and in line with one another: each half must
    be a whole number of widths and a quarter, the inset of the tip."""
    bound, ends, at = [], [], []
    for plate in plates:
        across = round(plate.tip / width - 0.25)
        assert abs(width * (across + 0.25) - plate.tip) < 1e-9
        y = width * np.arange(-across, across + 1)
        lead = np.interp(np.abs(y), [0.0, plate.tip], plate.lead)
        trail = np.interp(np.abs(y), [0.0, plate.tip], plate.trail)
        for (y1, l1, t1), (y2, l2, t2) in pairwise(zip(y, lead, trail, strict=True)):
            for k in range(aft):
                v, c = (k + 0.25) / aft, (k + 0.75) / aft
                bound.append([[l1 + v * (t1 - l1), y1, 0.0], [l2 + v * (t2 - l2), y2, 0.0]])
                ends.append([[t1, y1, 0.0], [t2, y2, 0.0]])
                at.append([0.5 * (l1 + l2 + c * (t1 + t2 - l1 - l2)), 0.5 * (y1 + y2), 0.0])
    (a, b), (ea, eb) = np.array(bound).transpose(1, 0, 2), np.array(ends).transpose(1, 0, 2)
    wind = np.array([np.cos(slip), -np.sin(slip), 0.0])
    p = np.array(at)[:, None]
    velocity = filament(p, ea, a) + filament(p, a, b) + filament(p, b, eb)
    velocity += ray(p, eb, wind) - ray(p, ea, wind)
    strength = np.linalg.solve(velocity[..., 2], -np.full(len(at), np.sin(alpha)))
    lift = roll = pitch = 0.0
    for start, end in ((ea, a), (a, b), (b, eb)):  # stream times vorticity on all of the plate
        way, middle = end - start, 0.5 * (start + end)
        force = 2.0 * strength * (wind[0] * way[:, 1] - wind[1] * way[:, 0])
        lift += force.sum()
        roll -= force @ middle[:, 1]
        pitch -= force @ middle[:, 0]
    return Found(lift, roll, pitch)
