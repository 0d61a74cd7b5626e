"""Rolling moment from sideslip: bare plates against a lattice whose wakes go with the wind."""

from __future__ import annotations

import numpy as np
import plain_lattice
import pytest
from checks import compare

from firstthrow.sim.proof.low_aspect import SLIP, slopes

SHAPES = {  # corners (aft, out) of the right half in root chords
    "AR 0.5": ((0, 0), (0, 0.25), (1, 0.25), (1, 0)),
    "AR 1": ((0, 0), (0, 0.5), (1, 0.5), (1, 0)),
    "AR 2": ((0, 0), (0, 1), (1, 1), (1, 0)),
    "AR 4": ((0, 0), (0, 2), (1, 2), (1, 0)),
    "AR 4, swept 30 degrees": ((0, 0), (1.155, 2), (2.155, 2), (1, 0)),
    "AR 3, swept 45 degrees": ((0, 0), (1.5, 1.5), (2.5, 1.5), (1, 0)),
}


def blown(corners, alpha: float, slip: float) -> tuple[float, float]:
    """C_L and C_l by the plain lattice, 16 strips a side."""
    (lead, _), (lead_tip, tip), (trail_tip, _), (trail, _) = corners
    plate = plain_lattice.Plate((lead, lead_tip), (trail, trail_tip), tip)
    found = plain_lattice.loads([plate], tip / 16.25, alpha, slip)
    area = tip * (trail - lead + trail_tip - lead_tip)
    return found.lift / area, found.roll / (area * 2.0 * tip)


@pytest.mark.parametrize("name", SHAPES)
def test_plates_roll_away_from_the_slip(name):
    """The wake stays straight behind the sheet in flight, so the plate of aspect ratio 4 rolls
    a third more than one whose wake is blown aside; slender ones agree."""
    alpha = np.radians(0.5)  # hardly any side-edge vortex lift
    lift, found = slopes(SHAPES[name], alpha)
    at_most = [blown(SHAPES[name], alpha, slip) for slip in (SLIP, -SLIP)]
    wanted = (at_most[0][1] - at_most[1][1]) / (2.0 * SLIP)
    compare(f"lift of {name}", at_most[0][0], lift, relative=0.04)
    compare(f"roll by slip of {name}", wanted, found, relative=0.4 if "4" in name else 0.15)


def test_slip_without_lift_does_not_roll_a_plate():
    assert abs(slopes(SHAPES["AR 2"], 0.0)[1]) < 1e-12
