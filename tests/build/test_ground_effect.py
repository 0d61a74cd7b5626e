"""The ground's images under the lattice."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model, shipped
from checks import compare
from odd import lift

from firstthrow.sim.build.model import build
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.proof.gusts import slope


def test_far_ground_is_no_ground():
    """The image of the loading falls off with the square of the height."""
    free = slope(2.0, None)
    gaps = [slope(2.0, h) - free for h in (4.0, 8.0)]
    assert 0.0 < gaps[1] < gaps[0] < 0.003 * free
    assert gaps[0] / gaps[1] == pytest.approx(4.0, rel=0.1)


def test_flight_fades_it_in_without_a_step():
    model = plate_model(2.0)
    air = -10.0 * np.array([np.cos(0.05), 0.0, np.sin(0.05)])
    span = float(model.record.span)
    heights = span * np.geomspace(0.04, 2.0, 120)
    lift = np.array([-air_load(model, air, height=h)[0][2] for h in heights])
    assert np.all(np.diff(lift) <= 1e-12)
    assert np.abs(np.diff(lift)).max() < 0.05 * lift[-1]
    assert lift[-1] == pytest.approx(-air_load(model, air)[0][2], rel=1e-12)
    assert lift[0] > 1.5 * lift[-1]


def test_ground_effect_knows_how_low_the_sheets_lie(written):
    """The same slab 200 mm under its datum: as near to the ground, as much lift."""
    low = written(
        ("[sheets.slab]\n", '[sheets.slab]\nup = "-200 mm"\n'),
        ('aft = "222 mm"\nup = "3 mm"', 'aft = "222 mm"\nup = "-197 mm"'),
    )
    one, other = build(low, STANDARD), build(shipped(), STANDARD)
    for height in (0.08, 0.15, 0.3, 0.6):
        compare(
            f"lift {height} m over the ground",
            lift(other, height=height, alpha=0.1),
            lift(one, height=height + 0.2, alpha=0.1),
            relative=0.04,
        )
    assert np.abs(one.body.response).max() < 1.5 * np.abs(other.body.response).max()
