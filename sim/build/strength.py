"""How much bending a sheet bears, at the root or at any station along it.

The foam and the spars glued to it bend together: at one curvature each carries its own modulus
times second moment of area about the common neutral axis, and the first fibre to reach its
strength ends it.
Source: composite beams, Gere and Timoshenko, Mechanics of Materials, ch. 6 (there as the
transformed section). Valid for: members glued along their whole length, straight until they
break; buckling of the skin and crushing of the foam under a spar are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import corners, edges, is_mirrored
from firstthrow.sim.build.weights import section_area
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.describe.sheets import Sheet, Spar


class Member(NamedTuple):
    """What bends with the rest at a section; heights from any one level, up positive [m]."""

    name: str
    modulus: float  # [Pa]
    strength: float  # [Pa]
    area: float  # [m2]
    second_moment: float  # about its own middle [m4]
    height: float  # of its middle
    depth: float


class Section(NamedTuple):
    """A section's bending: stiffness [N m2], moment that breaks it [N m], what breaks first."""

    stiffness: float
    strength: float
    weakest: str
    axis: float  # height of the neutral axis [m]


def section(members: Sequence[Member]) -> Section:
    """Members that bend at one curvature. Raises ValueError when there are none."""
    if not members:
        raise ValueError("nothing carries bending here")
    pull = sum(m.modulus * m.area for m in members)
    axis = sum(m.modulus * m.area * m.height for m in members) / pull
    stiffness = sum(
        m.modulus * (m.second_moment + m.area * (m.height - axis) ** 2) for m in members
    )
    limits = [m.strength / (m.modulus * (abs(m.height - axis) + 0.5 * m.depth)) for m in members]
    first = int(np.argmin(limits))
    return Section(float(stiffness), float(limits[first] * stiffness), members[first].name, axis)


def bearing(members: Sequence[Member]) -> Section:
    """What the members bear together, or what those bear that are left when the stiffest has
    broken, whichever is more: a thin spar in a thick board may go without the board."""
    best, left = section(members), list(members)
    while len(left) > 1:
        first = section(left).weakest
        left = [m for m in left if m.name != first]
        if left and section(left).strength > best.strength:
            best = section(left)
    return best


def stresses(members: Sequence[Member], moment: float) -> list[tuple[float, float]]:
    """Stress at the top and at the bottom of each member [Pa], tension positive.

    A positive moment presses the top together.
    """
    found = section(members)
    curvature = moment / found.stiffness

    def stress(m: Member, side: float) -> float:
        return -m.modulus * curvature * (m.height + side * 0.5 * m.depth - found.axis)

    return [(stress(m, 1.0), stress(m, -1.0)) for m in members]


def second_moment(spar: Spar) -> float:
    """Second moment of area for bending square to the sheet [m4]."""
    if spar.section == "strip":
        return spar.width * spar.outside**3 / 12.0
    return np.pi / 64.0 * (spar.outside**4 - spar.inside**4)


def _foam(sheet: Sheet, out: float) -> Member:
    lead, trail = edges(corners(sheet), out)
    material = MATERIALS[sheet.material]
    kept = [
        j.efficiency
        for j in sheet.joints.values()
        if j.along == "chord" and abs(out - abs(j.out)) < 2e-3
    ]
    width, thick = trail - lead, sheet.thickness
    return Member(
        "foam",
        material.modulus,
        material.strength * min(kept, default=1.0),
        width * thick,
        width * thick**3 / 12.0,
        0.0,
        thick,
    )


def _spars(sheet: Sheet, out: float) -> list[Member]:
    """The spars that pass a station of the right half, at their height over the sheet's plane."""
    found = []
    for name, spar in sheet.spars.items():
        material = MATERIALS[spar.material]
        # A spar away from the centreline of a mirrored sheet has an image on the left.
        middles = {spar.right, -spar.right} if is_mirrored(sheet) else {spar.right}
        plane = sheet.up + out * np.tan(sheet.dihedral)
        plane -= (spar.aft - sheet.aft) * np.tan(sheet.incidence)
        rise = out * np.tan(sheet.dihedral)  # a spar follows the dihedral of its sheet
        for middle in middles:
            if abs(out - middle) < 0.5 * spar.length:
                found.append(
                    Member(
                        name,
                        material.modulus,
                        material.strength,
                        section_area(spar),
                        second_moment(spar),
                        spar.up + rise - plane,
                        spar.outside,
                    )
                )
    return found


def members(sheet: Sheet, out: float = 0.0) -> list[Member]:
    """Foam and spars that carry bending at a station [m] from the centreline."""
    border = corners(sheet)[:, 1]
    near, far = float(border.min()), float(border.max())
    inside = 1e-4 * (far - near)
    out = min(max(out, near + inside), far - inside)
    return [_foam(sheet, out), *_spars(sheet, out)]


def root_section(sheet: Sheet) -> Section:
    return bearing(members(sheet))


def root_strength(sheet: Sheet) -> float:
    """Bending moment at the centreline that breaks the sheet and its spars [N m]."""
    return root_section(sheet).strength
