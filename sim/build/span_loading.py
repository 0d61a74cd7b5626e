"""Bending along the span of a sheet: how it grows towards the root, and where it breaks first."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from firstthrow.sim.build.lattice import influence, lattice
from firstthrow.sim.build.strength import bearing, members
from firstthrow.sim.build.strips import Strips
from firstthrow.sim.describe.sheets import Sheet
from firstthrow.sim.once import once_for


@once_for(32)
def span_loading(strips: Strips, sheet: int) -> tuple[np.ndarray, np.ndarray]:
    """Stations [m] on the right half of a sheet, and bending moment there over that at the root.

    Of the attached load of even incidence on the lattice's strips; the relief by the sheet's own
    weight follows the same shape closely enough.
    """
    grid = lattice(strips)
    n, k = grid.vortex_at.shape
    matrix = influence(strips, grid, 1.0)
    strength = np.linalg.solve(matrix, -np.repeat(strips.normal[:, 2], k))
    lift = strength.reshape(n, k).sum(axis=1) * strips.width
    mine = (strips.sheet == sheet) & (strips.middle[:, 1] > 0.0)
    out, lift = strips.middle[mine, 1], lift[mine]
    stations = np.linspace(0.0, 0.9 * out.max(), 19)
    moment = np.array([np.sum(lift * np.maximum(0.0, out - y)) for y in stations])
    return stations, moment / moment[0]


def weakest(strips: Strips, sheets: Sequence[Sheet], sheet: Sheet) -> tuple[float, float]:
    """Station that breaks first, and its strength in terms of moment at the root [m], [N m].

    Of one of the sheets of an airframe, whose strips for the lattice are given. A sheet that
    does not reach to both sides of the centreline counts at its root alone.
    """
    index = next(k for k, other in enumerate(sheets) if other is sheet)
    own = strips.middle[strips.sheet == index, 1]
    root = bearing(members(sheet)).strength
    if not own.min() < 0.0 < own.max():
        return 0.0, root
    stations, share = span_loading(strips, index)
    joints = [abs(j.out) for j in sheet.joints.values() if j.along == "chord"]
    ends = [0.5 * spar.length + abs(spar.right) + 1e-3 for spar in sheet.spars.values()]
    extra = [y for y in (*joints, *ends) if 0.0 < y < stations[-1]]
    every = np.array([*stations, *extra])
    bears = np.array([bearing(members(sheet, y)).strength for y in every])
    bears /= np.maximum(np.interp(every, stations, share), 1e-6)
    first = int(np.argmin(bears))
    return float(every[first]), float(bears[first])
