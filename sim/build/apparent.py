"""Apparent mass: the air a plate drags along when it accelerates.

A lattice of closed vortex rings over all sheets, without a wake, gives the jump of potential
for each rigid motion; the momentum of that flow is the apparent-mass matrix
(Lamb, Hydrodynamics, 6th ed., arts. 118-124; Katz and Plotkin, 2nd ed., sect. 6.6).
Tips are inset by a quarter of a strip, as in `strips`.

Only the acceleration terms belong in the mass matrix. The terms in velocity products that
also come out of the apparent momentum are the attached lift already: in Theodorsen's form
(NACA TR 496, 1935) the non-circulatory lift of a plate about mid-chord is
pi rho b^2 (h'' + V alpha'), and h'' + V alpha' is the body-axis rate of normal velocity,
while the remaining rate terms come with the circulation that the lattice of
`lattice` finds for a wash that slopes along the chord.

Valid for: attached, small motions; a separated plate drags along less regularly.

A surface that swings about its hinge drags along air of its own, and is damped by it: that of a
thin section, strip by strip (`swinging`).
"""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.lattice import along, blocks, stations, straight
from firstthrow.sim.build.strips import Strips

CHORDWISE = 10


def _rings(strips: Strips, chordwise: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Ring corners (n*k, 4, 3), control points (n*k, 3), ring areas (n*k,).

    Edges and control points stand at the Chebyshev places, where the two-dimensional
    problem without circulation is exact (Gauss-Chebyshev quadrature).
    """
    edge, point = stations(chordwise + 1)
    inner, outer = along(strips.quad, np.tile(edge, (len(strips.chord), 1)))
    corner = np.stack([inner[:, :-1], outer[:, :-1], outer[:, 1:], inner[:, 1:]], axis=2)
    corner = corner.reshape(-1, 4, 3)
    inner, outer = along(strips.quad, np.tile(point[:-1], (len(strips.chord), 1)))
    area = 0.5 * np.linalg.norm(
        np.cross(corner[:, 2] - corner[:, 0], corner[:, 3] - corner[:, 1]), axis=1
    )
    return corner, 0.5 * (inner + outer).reshape(-1, 3), area


def mass_matrix(
    strips: Strips, about: np.ndarray, density: float, chordwise: int = CHORDWISE
) -> np.ndarray:
    """(6, 6) apparent mass for velocity and rotation about a point [kg, kg m, kg m2].

    Axes are those of the strips (builder's frame). Symmetric, positive semi-definite.
    """
    corner, point, area = _rings(strips, chordwise)
    normal = np.repeat(strips.normal, chordwise, axis=0)
    ends, which = np.unique(corner.reshape(-1, 3), axis=0, return_inverse=True)
    which = which.reshape(-1, 4)
    edges = [straight(corner[:, i - 1], corner[:, i]) for i in range(4)]
    speeds = []
    for rows in blocks(point):
        away = np.sqrt(((point[rows, None] - ends) ** 2).sum(axis=2))
        to = [away[:, which[:, i]] for i in range(4)]
        sides = [edges[i](point[rows], normal[rows], to[i - 1], to[i]) for i in range(4)]
        speeds.append(sum(sides))
    matrix = np.concatenate(speeds)
    # Normal speed per unit motion: at the control points it drives the flow, at the middle of
    # each ring it is the mean over the ring, which the momentum needs.
    driving = np.hstack([normal, np.cross(point - about, normal)])
    carried = np.hstack([normal, np.cross(corner.mean(axis=1) - about, normal)])
    found = -density * carried.T @ (area[:, None] * np.linalg.solve(matrix, driving))
    return 0.5 * (found + found.T)


def swinging(strips: Strips) -> tuple[np.ndarray, np.ndarray]:
    """Apparent inertia of each strip's surface about its hinge, over the air's density [m5], and
    the damping of its swing, over density and speed [m4]; 0 without a surface.

    Theodorsen, NACA TR 496 (1935), eq. XIX: -T3 b^4 / pi and T11 (T12 - T4) b^3 / (2 pi) a span,
    hinge at c of the half chord b behind its middle, the wake long blown away (C = 1). From memory;
    at c = -1 they are those of a plate about its leading edge, 9 pi/8 and 3 pi, to rounding.
    """
    hinge = 1.0 - 2.0 * strips.flap
    root, angle = np.sqrt(1.0 - hinge**2), np.arccos(hinge)
    t3 = (
        -(0.125 + hinge**2) * angle**2
        + 0.25 * hinge * root * angle * (7.0 + 2.0 * hinge**2)
        - 0.125 * root**2 * (5.0 * hinge**2 + 4.0)
    )
    t4 = hinge * root - angle
    t11 = angle * (1.0 - 2.0 * hinge) + root * (2.0 - hinge)
    t12 = root * (2.0 + hinge) - angle * (2.0 * hinge + 1.0)
    half, width = 0.5 * strips.chord, strips.width * strips.cover
    return -t3 / np.pi * half**4 * width, t11 * (t12 - t4) / (2.0 * np.pi) * half**3 * width
