"""What sheets and surfaces can take out of a propeller's stream, which is no wider than it is.

The lattice meets the stream's speed and swirl as if they filled all space; a stream of finite
width holds less momentum, and what comes out of it is bounded here, for an airframe at rest.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from firstthrow.sim.build.shape import planes, surface_spans
from firstthrow.sim.build.strips import Strips
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.kernels.drive import in_stream
from firstthrow.sim.kernels.layout import MAX_STRIPS

SWIRL_BOUND = 16.0 / np.pi**2 - 1.0  # 0.62, see `swirl_share`
PANELS = 80  # across the stream
PLATE, SURFACE = 0, 1


def swirl_share(record, k: int, reply: np.ndarray, n: int) -> float:
    """How much of a stream's swirl to let the lattice meet, 0..1.

    A long plate across the diameter of a round stream turning as a solid body leaves two
    half streams that keep their vorticity; the angular momentum left is the ratio of the
    torsion constants of two half discs, (pi/2 - 4/pi) R^4 each, and a disc, (pi/2) R^4
    (same equation; Timoshenko and Goodier, Theory of Elasticity, art. 109), so at most
    16/pi^2 - 1 = 0.62 can be recovered. The lattice, which sees the same wash in an endless stream,
    would recover more than there is; this scales it down to that bound. Derived here, for a
    stream that keeps its round outline.
    """
    reach = 0.85 * record.motor_radius[k]
    wash = np.zeros((n, 3))
    axis = record.motor_axis[k]
    arm = np.zeros((n, 3))
    for i in range(n):
        share, along = in_stream(record, k, i, reach * reach)
        arm[i] = (
            along * record.strip_span[:, i] + record.stream_up[k, i] * record.strip_normal[:, i]
        )
        wash[i, 0] = share * np.cross(axis, arm[i]) @ record.strip_normal[:, i]
    circulation = reply[0].reshape(n, 4, n * 3)[:, 0] @ wash.ravel()
    offset = record.strip_place[:, :n].T - record.motor_place[k]
    lever = np.cross(offset, record.strip_normal[:, :n].T) @ axis
    recovered = 2.0 / (np.pi * reach**4) * (circulation * record.strip_width[:n]) @ lever
    return float(min(1.0, SWIRL_BOUND / max(recovered, SWIRL_BOUND)))


def turned(edges: np.ndarray, up: float, radius: float, wash: np.ndarray) -> float:
    """Integral of the circulation behind a long plate in a round stream, per speed of it.

    The plate lies along a chord of the stream's circle, `up` from its middle, in panels between
    edges (n, 2), each meeting a wash (n,). Far behind, the wake's vortices and their images at
    radius^2 / distance, of the same sign, hold the pressure at the stream's border and the flow
    along the plate. A plate across the middle turns 0.595 of the stream's momentum; the border
    gives way before the rest.
    Source of the images: Glauert, Elements of Aerofoil and Airscrew Theory, ch. 14, open jet.
    """
    ends = edges + 1j * up
    at = ends.mean(axis=1)

    def down(vortex: np.ndarray) -> np.ndarray:
        gap = at[:, None] - vortex[None, :]
        return gap.real / np.abs(gap) ** 2 / (2.0 * np.pi)

    # Of a vortex in the very middle the image is out of reach.
    far = np.where(np.abs(ends) > 1e-9 * radius, ends, 1e-9 * radius)
    pair = [
        down(end) + down(radius**2 / there.conj()) for end, there in zip(ends.T, far.T, strict=True)
    ]
    circulation = np.linalg.solve(pair[1] - pair[0], wash)
    return float(abs(circulation @ np.diff(edges, axis=1)[:, 0]))


def held_shares(record, k: int, airframe: Airframe, strips: Strips, reply) -> np.ndarray:
    """(2, MAX_STRIPS) how much of the stream's flow through a sheet, and of that turned by its
    surfaces, to let the lattice meet at rest, 0..1: as much as `turned` leaves.

    Derived here, for surfaces that are long beside the stream's radius: a short one takes less,
    to which the lattice's own answer is the bound. Between this and all the stream over the
    flapped span being turned lies a factor of 1.8; no measurement known to us decides.
    """
    found = np.ones((2, MAX_STRIPS))
    n = record.n_strips
    response = reply[0].reshape(n, 4, n, 3)[:, 0]
    radius = record.motor_radius[k]
    every = [(name, plane) for name, s in airframe.sheets.items() for plane in planes(name, s)]
    for sheet in np.unique(strips.sheet):
        mine = [i for i in np.flatnonzero(strips.sheet == sheet) if record.stream_near[k, i]]
        if not mine:
            continue
        grown = float(np.mean(record.stream_grown[k, mine]))
        reach = radius * np.sqrt(max(0.4, min(1.2, 1.0 / grown)))
        up = float(np.mean(record.stream_up[k, mine]))
        share = np.array([in_stream(record, k, i, reach * reach)[0] for i in range(n)])
        share[[i for i in range(n) if i not in mine]] = 0.0
        if not share.any():
            continue
        rows = _panels(record, k, airframe, every, strips, [i for i in mine if share[i]], reach, up)
        edges = rows[:, :2]
        force = share * record.strip_width[:n]
        for kind, column, wash in ((PLATE, 0, np.ones(len(rows))), (SURFACE, 2, rows[:, 2])):
            free = abs(force @ (response[:, :, column] @ share))
            if free > 0.0 and wash.any():
                found[kind, mine] = min(1.0, turned(edges, up, reach, wash) / free)
    return found


def _panels(record, k: int, airframe: Airframe, every, strips: Strips, inside, reach, up):
    """(panels, 3) edges along the sheet inside the stream, and whether a surface lies there."""
    half = np.sqrt(reach**2 - min(up**2, 0.99 * reach**2))
    rows = []
    for i in inside:
        name, plane = every[strips.side[i]]
        mine = [s for s in surface_spans(airframe) if s.sheet == name and s.side == plane.side]
        middle = record.stream_along[k, i]
        ends = [middle + side * 0.5 * strips.width[i] for side in (-1.0, 1.0)]
        low, high = max(-half, ends[0]), min(half, ends[1])
        if high <= low:
            continue
        edges = np.linspace(low, high, 2 + int(PANELS * (high - low) / (2.0 * half)))
        out = (strips.middle[i] - plane.origin) @ plane.out
        way = np.sign(strips.span[i] @ plane.out)
        for a, b in pairwise(edges):
            at = out + way * (0.5 * (a + b) - middle)
            rows.append((a, b, float(any(s.inner < at < s.outer for s in mine))))
    return np.array(rows)
