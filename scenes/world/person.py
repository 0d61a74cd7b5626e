"""The thrower: a person beside the launch point, one arm up under the airframe, seen from behind.
Plan coordinates: metres ahead, right, up; pure."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from firstthrow.scenes.world.meshes import Mesh, join, polygon

SIDE, BACK = 0.30, -0.22  # [m] where the feet stand
JACKET, SEAM = (0.22, 0.33, 0.42), (0.16, 0.25, 0.33)
TROUSERS, SHOES = (0.33, 0.31, 0.27), (0.17, 0.15, 0.14)
SKIN, HAIR, CAP = (0.80, 0.62, 0.50), (0.30, 0.24, 0.18), (0.74, 0.30, 0.16)
ELBOW = 0.10  # [m] that a bent arm leaves the straight line

# of a limb: (ahead, right, up) of its middle and its half widths ahead and aside [m]
Ring = tuple[float, float, float, float, float]


def thrower(hand: float) -> list[Mesh]:
    """Holds the airframe at a height [m]."""
    grip = np.array([-BACK, -SIDE, max(1.2, hand - 0.07)])
    shoulder = np.array([0.02, -0.17, 1.42])
    parts = [
        *_leg(-0.085, 0.02),
        *_leg(0.095, 0.17),
        _limb(
            [
                (0.01, 0.0, 0.80, 0.095, 0.145),
                (0.01, 0.0, 0.88, 0.115, 0.165),
                (0.01, 0.0, 0.96, 0.115, 0.162),
                (0.01, 0.0, 1.12, 0.105, 0.150),
                (0.02, 0.0, 1.28, 0.120, 0.178),
                (0.02, 0.0, 1.38, 0.118, 0.195),
                (0.02, 0.0, 1.45, 0.085, 0.150),
                (0.03, 0.0, 1.49, 0.060, 0.070),
            ],
            JACKET,
            14,
        ),
        _limb([(0.01, 0.0, 0.80, 0.098, 0.148), (0.01, 0.0, 0.84, 0.118, 0.168)], SEAM, 14),
        _limb([(0.03, 0.0, 1.46, 0.055, 0.055), (0.04, 0.0, 1.56, 0.052, 0.050)], SKIN, 10),
        *_head(),
        *_arm(shoulder, grip, -1.0),
        *_arm(np.array([0.02, 0.17, 1.42]), np.array([0.10, 0.30, 0.86]), 0.35),
    ]
    at = np.array([BACK, SIDE, 0.0])
    return [part._replace(places=part.places + at) for part in parts]


def _head() -> list[Mesh]:
    """Face, hair at the back of it, a cap with its peak ahead."""
    face = [(0.055, 0.0, 1.64 + 0.115 * z, 0.098 * r, 0.078 * r) for z, r in _round(7)]
    hair = [(0.035, 0.0, 1.645 + 0.105 * z, 0.092 * r, 0.082 * r) for z, r in _round(7)[1:]]
    cap = [
        (0.045, 0.0, 1.675, 0.108, 0.092),
        (0.045, 0.0, 1.715, 0.106, 0.090),
        (0.045, 0.0, 1.750, 0.085, 0.072),
        (0.045, 0.0, 1.768, 0.040, 0.034),
        (0.045, 0.0, 1.772, 0.001, 0.001),
    ]
    turns = np.linspace(-1.25, 1.25, 7)
    rim = [(0.045 + 0.20 * math.cos(t), 0.085 * math.sin(t), 1.683) for t in turns]
    return [
        _limb(face, SKIN, 12),
        _limb(hair, HAIR, 12),
        _limb(cap, CAP, 12),
        polygon(rim, CAP, (0.0, 0.0, 1.0)),
    ]


def _round(count: int) -> list[tuple[float, float]]:
    """Heights and radii of a ball's rings, from its lowest point up."""
    angles = np.linspace(-0.5 * math.pi, 0.5 * math.pi, count)
    return [(math.sin(a), max(0.02, math.cos(a))) for a in angles]


def _leg(right: float, ahead: float) -> list[Mesh]:
    hip, knee = np.array([0.01, 0.9 * right, 0.86]), np.array([0.7 * ahead + 0.03, right, 0.46])
    ankle = np.array([ahead, right, 0.08])
    toe = ankle + np.array([0.17, 0.15 * right, -0.045])
    heel, ball = ankle - np.array([0.05, 0.0, 0.03]), ankle + np.array([0.05, 0.0, -0.03])
    thigh, calf = 0.5 * (hip + knee), 0.6 * knee + 0.4 * ankle - np.array([0.02, 0.0, 0.0])
    return [
        _tube([hip, thigh, knee, calf, ankle], [0.093, 0.084, 0.066, 0.064, 0.054], TROUSERS),
        _tube([heel, ball, toe], [0.048, 0.05, 0.03], SHOES),
    ]


def _arm(shoulder: np.ndarray, grip: np.ndarray, bend: float) -> list[Mesh]:
    """Bent outwards or back at the elbow; a hand at its end."""
    along = grip - shoulder
    out = np.array([-0.4, bend, 0.0])
    out = out - along * (out @ along) / (along @ along)
    elbow = shoulder + 0.5 * along + ELBOW * out / np.linalg.norm(out)
    wrist = elbow + 0.86 * (grip - elbow)
    inside = shoulder - np.array([0.0, 0.07 * np.sign(shoulder[1]), 0.0])
    upper, fore = 0.5 * (shoulder + elbow), 0.5 * (elbow + wrist)
    return [
        _tube(
            [inside, shoulder, upper, elbow, fore, wrist],
            [0.066, 0.072, 0.060, 0.052, 0.048, 0.038],
            JACKET,
        ),
        _tube(
            [wrist, 0.4 * wrist + 0.6 * grip, grip, grip + 0.05 * (grip - wrist)],
            [0.030, 0.043, 0.040, 0.012],
            SKIN,
        ),
    ]


def _tube(places: Sequence[np.ndarray], radii: Sequence[float], colour, sides: int = 10) -> Mesh:
    """Round rings about a line, shaded smoothly, closed by a cap at either end."""
    along = np.gradient(np.array(places), axis=0)
    rings = []
    for place, way, radius in zip(places, along, radii, strict=True):
        way = way / np.linalg.norm(way)
        across = np.cross(way, (1.0, 0.0, 0.0) if abs(way[0]) < 0.7 else (0.0, 1.0, 0.0))
        across = across / np.linalg.norm(across)
        rings.append(_ring(place, radius * across, radius * np.cross(way, across), sides))
    return _skin(rings, colour)


def _limb(levels: Sequence[Ring], colour, sides: int) -> Mesh:
    """Level oval rings, one above the other."""
    return _skin(
        [
            _ring(
                np.array([a, r, up]), np.array([deep, 0.0, 0.0]), np.array([0.0, wide, 0.0]), sides
            )
            for a, r, up, deep, wide in levels
        ],
        colour,
    )


def _ring(middle: np.ndarray, one: np.ndarray, other: np.ndarray, sides: int) -> np.ndarray:
    """(2, sides + 1, 3) places of an oval and the ways out of it."""
    turns = np.linspace(0.0, 2.0 * math.pi, sides + 1)
    out = np.outer(np.cos(turns), one) + np.outer(np.sin(turns), other)
    ways = np.outer(np.cos(turns), one / (one @ one)) + np.outer(
        np.sin(turns), other / (other @ other)
    )
    return np.array([middle + out, ways / np.linalg.norm(ways, axis=1, keepdims=True)])


def _skin(rings: Sequence[np.ndarray], colour) -> Mesh:
    """Quads from ring to ring, shaded by how they widen; an end is a fan."""
    middles = np.array([ring[0][:-1].mean(axis=0) for ring in rings])
    wide = [
        np.linalg.norm(ring[0] - m, axis=1).mean() for ring, m in zip(rings, middles, strict=True)
    ]
    along = np.gradient(middles, axis=0)
    steps = np.linalg.norm(along, axis=1)
    faced = [
        ways - grown / step * way / step
        for (_, ways), grown, step, way in zip(rings, np.gradient(wide), steps, along, strict=True)
    ]
    faced = [ways / np.linalg.norm(ways, axis=1, keepdims=True) for ways in faced]
    faces = []
    for k, ((low, _), (high, _)) in enumerate(itertools.pairwise(rings)):
        for j in range(len(low) - 1):
            corners = [low[j], low[j + 1], high[j + 1], high[j]]
            ways = [faced[k][j], faced[k][j + 1], faced[k + 1][j + 1], faced[k + 1][j]]
            faces.append(polygon(corners, colour, np.array(ways)))
    for end, way in ((rings[0], -along[0]), (rings[-1], along[-1])):
        faces.append(polygon(end[0][:-1], colour, way / np.linalg.norm(way)))
    return join(faces)
