"""Rolling moment from sideslip: bare plates against slender-wing theory and a lattice whose
wakes go with the wind."""

from __future__ import annotations

import numpy as np
import plain_lattice
import pytest
from bodies import plate_airframe
from checks import compare

from firstthrow.sim.build.model import build
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.sheets import Outline
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.polar import reference

CHORD = 0.2  # [m]
SLIP = np.radians(1.0)
SHAPES = {  # corners (aft, out) of the right half in root chords
    "AR 0.5": ((0, 0), (0, 0.25), (1, 0.25), (1, 0)),
    "AR 1": ((0, 0), (0, 0.5), (1, 0.5), (1, 0)),
    "AR 2": ((0, 0), (0, 1), (1, 1), (1, 0)),
    "AR 4": ((0, 0), (0, 2), (1, 2), (1, 0)),
    "AR 4, swept 30 degrees": ((0, 0), (1.155, 2), (2.155, 2), (1, 0)),
    "AR 3, swept 45 degrees": ((0, 0), (1.5, 1.5), (2.5, 1.5), (1, 0)),
}


def cornered(corners) -> Airframe:
    """A bare plate whose right half has corners (aft, out), in chords."""
    plain = plate_airframe(2.0, CHORD)
    outline = Outline.model_validate(
        {"corners": [[f"{CHORD * aft} m", f"{CHORD * out} m"] for aft, out in corners]}
    )
    sheet = plain.sheets["plate"].model_copy(update={"outline": outline})
    return plain.model_copy(update={"sheets": {"plate": sheet}})


def slopes(corners, alpha: float) -> tuple[float, float]:
    """C_L and d C_l / d beta [1/rad] of a bare plate, over area and span, as it flies."""
    model = build(cornered(corners), STANDARD)
    span = 2.0 * CHORD * max(out for _, out in corners)
    pressure = 50.0 * model.record.density * reference(model)[0]
    lift, loads = 0.0, []
    for slip in (SLIP, -SLIP):
        air = -10.0 * np.array([np.cos(alpha) * np.cos(slip), np.sin(slip), np.sin(alpha)])
        load = air_load(model, air)[0]
        loads.append(load[3] * np.cos(alpha) + load[5] * np.sin(alpha))
        lift -= 0.5 * load[2] / pressure
    return lift, float((loads[0] - loads[1]) / (2.0 * SLIP * pressure * span))


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


@pytest.mark.parametrize(("aspect", "near"), [(0.05, 0.15), (0.1, 0.1)])
def test_a_slender_rectangle_rolls_as_its_load_lies_ahead(aspect, near):
    """All the lift of a slender rectangle is at its leading edge (R. T. Jones, NACA TR 835,
    1946), and its chordwise vortices run the whole chord: d C_l / d beta = -C_L / A, derived.
    At A 0.05 it is missed by 13 %: strips are 400 times as long as wide, and the ends inset."""
    half = 0.5 * aspect
    lift, found = slopes(((0, 0), (0, half), (1, half), (1, 0)), np.radians(0.2))
    compare(f"slender rectangle, A {aspect}", -lift / aspect, found, relative=near)


@pytest.mark.parametrize("aspect", [0.2, 0.5])
def test_a_slender_delta_rolls_as_the_theory_says(aspect):
    """d C_l / d beta = -2/3 C_L / A (Ribner, NACA TR 908, 1948; from memory, and derived from
    Jones's loading of a slender delta)."""
    lift, found = slopes(((0, 0), (1, 0.25 * aspect), (1, 0)), np.radians(0.2))
    compare(f"slender delta, A {aspect}", -2.0 / 3.0 * lift / aspect, found, relative=0.1)


def test_slip_without_lift_does_not_roll_a_plate():
    assert abs(slopes(SHAPES["AR 2"], 0.0)[1]) < 1e-12
