"""Stall and bending at the root, by the air's load, the wing's weight and the air it moves."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model, shipped_model
from checks import compare
from odd import ELEVON

from firstthrow.sim.build.model import build
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import air_load, rates_of
from firstthrow.sim.kernels.layout import BENDING, COMMAND_SIZE, SEPARATED, SIZE


def test_a_sheet_of_one_piece_stalls_and_folds_as_well(written):
    one = written(("[sheets.slab]\n", "[sheets.slab]\nmirrored = false\n"), (ELEVON, ""))
    model = build(one, STANDARD)
    for degrees, least, most in ((5.0, 0.0, 0.01), (30.0, 0.9, 1.0), (60.0, 0.9, 1.0)):
        a = np.radians(degrees)
        _, report = air_load(model, -10.0 * np.array([np.cos(a), 0.0, np.sin(a)]))
        assert least <= report[SEPARATED] <= most, degrees
    assert np.isfinite(model.record.root_strength)
    compare(
        "root strength",
        shipped_model().record.root_strength,
        model.record.root_strength,
        relative=1e-6,
    )
    state = np.zeros(SIZE)
    state[2], state[3], state[7], state[9] = -50.0, 1.0, 20.0, 3.0
    _, report = rates_of(model, state, np.zeros(COMMAND_SIZE))
    assert report[BENDING] > 0.05


def test_the_air_moved_along_bends_the_root():
    """A bare plate of aspect ratio 4 let go at rest: gravity and its own mass bend nothing, since
    both are spread alike, but the air it starts to move is spread as an ellipse.

    With the published apparent mass (A01, b/a 4) and each half's share of it 4/(3 pi) of the half
    span out, the root feels A a b/2 (1/4 - 2/(3 pi)); left out, it would be seven times that.
    """
    model = plate_model(4.0)
    m, half = model.record, 0.4
    apparent = 0.872 * m.density * 0.25 * np.pi * 0.2**2 * 0.8
    state = np.zeros(SIZE)
    state[2], state[3] = -50.0, 1.0
    rates, report = rates_of(model, state, np.zeros(COMMAND_SIZE))
    falls = m.gravity * m.mass / (m.mass + apparent)
    compare("m/s2", falls, rates[9], relative=0.01)
    wanted = apparent * falls * half * (0.25 - 2.0 / (3.0 * np.pi))
    found = report[BENDING] * m.root_strength
    compare("N m", wanted, found, absolute=0.03 * apparent * falls * half)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_lift_bends_the_root(side):
    """A bare plate of aspect ratio 4 pulling up: half its lift, less what its own mass and the
    air it moves take, all but the mass spread as an ellipse (4/(3 pi) of the half span out).

    A rectangle's lift is a little fuller than an ellipse: 4.5 % of its moment is left for that.
    """
    model, half = plate_model(4.0), 0.4
    m = model.record
    apparent = 0.872 * m.density * 0.25 * np.pi * 0.2**2 * 0.8
    state = np.zeros(SIZE)
    state[2], state[3], state[7], state[9] = -50.0, 1.0, 15.0, side * 1.0
    rates, report = rates_of(model, state, np.zeros(COMMAND_SIZE))
    lift = -air_load(model, -state[7:10])[0][2]
    inner, outer = half / 2.0, half * 4.0 / (3.0 * np.pi)
    up = 0.5 * lift * outer
    weight = 0.5 * m.mass * (m.gravity - rates[9]) * inner
    moved = -0.5 * apparent * rates[9] * outer
    found = report[BENDING] * m.root_strength
    compare("N m", abs(up - weight - moved), found, absolute=0.06 * abs(up))
    assert min(abs(weight), abs(moved)) > 0.12 * abs(up)  # so that each would be missed
