"""The air of a field in the record."""

from __future__ import annotations

from bodies import shipped
from checks import compare

from firstthrow.sim.build.model import build
from firstthrow.sim.describe.field import STANDARD


def test_a_high_field_has_its_standard_air():
    """Density at 3000 m and at 1500 m [kg/m3]: ISO 2533:1975, table 1 (from memory)."""
    for height, wanted in ((3000.0, 0.90925), (1500.0, 1.05807)):
        ground = STANDARD.ground.model_copy(update={"elevation": height})
        high = STANDARD.model_copy(update={"ground": ground})
        compare(f"density at {height} m", wanted, build(shipped(), high).record.density, 2e-4)
