"""How much bending the root of a sheet bears.

The foam and the spars glued to it bend together: at one curvature each carries its own
modulus times second moment of area, and the first to reach its strength ends it.
Source: composite beams, e.g. Gere and Timoshenko, Mechanics of Materials, ch. 6; spars are
taken to lie on the sheet's middle plane.
"""

from __future__ import annotations

import numpy as np

from sim.airframe import Sheet, Spar
from sim.materials import MATERIALS
from sim.shape import corners, edges


def second_moment(spar: Spar) -> float:
    """Second moment of area for bending square to the sheet [m4]."""
    if spar.section == "strip":
        return spar.width * spar.outside**3 / 12.0
    return np.pi / 64.0 * (spar.outside**4 - spar.inside**4)


def root_strength(sheet: Sheet) -> float:
    """Bending moment at the centreline that breaks the sheet and its spars [N m]."""
    outline = corners(sheet)
    out = max(1e-4, float(outline[:, 1].min()) + 1e-4)
    lead, trail = edges(outline, out)
    foam = MATERIALS[sheet.material]
    members = [(
        foam.modulus * (trail - lead) * sheet.thickness**3 / 12.0,
        foam.strength / (foam.modulus * 0.5 * sheet.thickness),
    )]  # fmt: skip
    for spar in sheet.spars.values():
        if abs(spar.right) >= 0.5 * spar.length:
            continue  # it does not reach the root
        material = MATERIALS[spar.material]
        members.append((
            material.modulus * second_moment(spar),
            material.strength / (material.modulus * 0.5 * spar.outside),
        ))  # fmt: skip
    curvature = min(limit for _, limit in members)
    return curvature * sum(stiffness for stiffness, _ in members)
