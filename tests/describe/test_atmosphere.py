"""Air by height, and the wind near the ground."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import lump, shipped

from firstthrow.sim.build.model import build
from firstthrow.sim.describe import atmosphere
from firstthrow.sim.describe.field import Field
from firstthrow.sim.kernels import wind

pytestmark = pytest.mark.kernel


def test_warm_air_is_thin():
    assert atmosphere.density(0.0, 308.15) == pytest.approx(1.225 * 288.15 / 308.15, rel=1e-4)


def test_wind_blows_from_its_bearing():
    """An east wind moves air to the west; gusts add to it and die at the ground."""
    field = Field.model_validate(
        {
            "name": "windy",
            "about": "",
            "ground": {"radius": "100 m"},
            "wind": {"speed": "6 m/s", "from_bearing": "90 deg"},
        }
    )
    record = build(shipped(), field).record
    north, east, down = wind.wind(record, 10.0, np.zeros(3))
    assert (north, east, down) == pytest.approx((0.0, -6.0, 0.0), abs=1e-12)
    gust = np.array([1.0, 2.0, 3.0])
    added = np.array(wind.wind(record, 50.0, gust)) - wind.wind(record, 50.0, np.zeros(3))
    assert added == pytest.approx(gust, rel=1e-6)
    assert wind.wind(lump().record[0], 0.0, gust) == (0.0, 0.0, 0.0)
