"""The pantry slab with lines of its file changed, for airframes unlike the shipped ones."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.describe.config import find
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.layout import MAX_SURFACES

PANTRY = find("airframes", "pantry").read_text(encoding="utf-8")
ELEVON = PANTRY[PANTRY.index("[sheets.slab.surfaces.elevon]") : PANTRY.index("[sheets.fin]")]


def tail(name: str, inner: float, outer: float) -> str:
    """An elevon of the pantry slab between two stations [mm]."""
    return (
        ELEVON.replace("surfaces.elevon]", f"surfaces.{name}]")
        .replace('inner = "30 mm"', f'inner = "{inner} mm"')
        .replace('outer = "345 mm"', f'outer = "{outer} mm"')
    )


def lift(model, surfaces=(0.0,) * MAX_SURFACES, height: float = 1e3, alpha: float = 0.0) -> float:
    air = -10.0 * np.array([np.cos(alpha), 0.0, np.sin(alpha)])
    return -float(air_load(model, air, surfaces=surfaces, height=height)[0][2])
