"""Air by height, and the wind near the ground."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import lump, shipped
from checks import compare, rows

from firstthrow.sim.build.model import build
from firstthrow.sim.describe import atmosphere
from firstthrow.sim.describe.field import Field
from firstthrow.sim.kernels import wind

pytestmark = pytest.mark.kernel

ROWS = rows("atmosphere")


def test_density():
    row = ROWS["I01"]
    compare("I01", row["values"], [atmosphere.density(h) for h in row["at"]], relative=5e-4)


def test_viscosity():
    row = ROWS["I02"]
    found = [atmosphere.viscosity(atmosphere.standard_temperature(h)) for h in row["at"]]
    compare("I02", row["values"], found, relative=1e-3)
    compare(
        "I03", ROWS["I03"]["values"], [atmosphere.viscosity(288.15) / atmosphere.density(0.0)], 5e-4
    )


def test_temperature_and_pressure():
    height = 6356766.0 * 1000.0 / (6356766.0 + 1000.0)  # geopotential
    found = [atmosphere.standard_temperature(height), atmosphere.pressure(height)]
    compare("I04", ROWS["I04"]["values"], found, relative=2e-4)


def test_sound():
    row = ROWS["I05"]
    compare("I05", row["values"], [atmosphere.sound_speed(t) for t in row["at"]], relative=1e-5)
    assert atmosphere.sound_speed() == atmosphere.sound_speed(288.15)


def test_warm_air_is_thin():
    assert atmosphere.density(0.0, 308.15) == pytest.approx(1.225 * 288.15 / 308.15, rel=1e-4)


def test_wind_profile():
    row = ROWS["T07"]
    compare("T07", row["values"], [wind.profile(h, 0.03) for h in row["at"]], relative=1e-3)
    assert wind.profile(0.03, 0.03) == 0.0
    assert wind.profile(-2.0, 0.03) == 0.0


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
