"""The standard atmosphere, and wind by height."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.model import build
from firstthrow.sim.describe import atmosphere
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.kernels import wind
from firstthrow.sim.proof.bodies import plate_airframe
from firstthrow.sim.proof.check import Check, Curve, Line, Sure

HEIGHTS = (-1e3, 0.0, 500.0, 1e3, 1500.0, 2e3, 3e3)
STANDARDS = "ISO 2533 / US Standard Atmosphere 1976, by two general libraries"
HEIGHT = "height [m]"


def viscosities(*heights: float) -> list[float]:
    return [atmosphere.viscosity(atmosphere.standard_temperature(h)) for h in heights]


def at_a_kilometre() -> list[float]:
    """Temperature [K] and pressure [Pa] at 1000 m geometric."""
    height, earth = 1e3, 6356766.0  # its radius as the standard has it [m]
    geopotential = earth * height / (earth + height)
    return [atmosphere.standard_temperature(geopotential), atmosphere.pressure(geopotential)]


def in_the_record(*heights: float) -> list[float]:
    """Density of a field so high, as it flies [kg/m3]."""
    found = []
    for height in heights:
        ground = STANDARD.ground.model_copy(update={"elevation": height})
        high = STANDARD.model_copy(update={"ground": ground})
        found.append(float(build(plate_airframe(2.0), high).record.density))
    return found


CHECKS = (
    Check(
        "I01",
        "density of the air [kg/m3]",
        (1.34702, 1.225, 1.16727, 1.11166, 1.0581, 1.00655, 0.90925),
        lambda: [atmosphere.density(h) for h in HEIGHTS],
        STANDARDS,
        Sure.COPY,
        relative=5e-4,
        at=HEIGHTS,
        of=HEIGHT,
    ),
    Check(
        "I01.field",
        "density of the air over a high field, as it flies [kg/m3]",
        (1.05807, 0.90925),
        lambda: in_the_record(1500.0, 3e3),
        "ISO 2533:1975, table 1",
        Sure.MEMORY,
        relative=2e-4,
        at=(1500.0, 3e3),
        of=HEIGHT,
    ),
    Check(
        "I02",
        "viscosity of the air [Pa s]",
        (1.7894e-05, 1.7579e-05, 1.726e-05, 1.6938e-05),
        lambda: viscosities(0.0, 1e3, 2e3, 3e3),
        STANDARDS + " (Sutherland)",
        Sure.COPY,
        relative=1e-3,
        at=(0, 1e3, 2e3, 3e3),
        of=HEIGHT,
    ),
    Check(
        "I03",
        "kinematic viscosity at sea level [m2/s]",
        (1.4607e-05,),
        lambda: [atmosphere.viscosity(288.15) / atmosphere.density(0.0)],
        STANDARDS,
        Sure.COPY,
        relative=5e-4,
    ),
    Check(
        "I04",
        "air at 1000 m geometric",
        (281.651, 89876.3),
        at_a_kilometre,
        STANDARDS,
        Sure.COPY,
        relative=2e-4,
        at=("temperature [K]", "pressure [Pa]"),
    ),
    Check(
        "I05",
        "speed of sound [m/s]",
        (344.1113, 340.294, 336.4346, 328.5836),
        lambda: [atmosphere.sound_speed(t) for t in (294.651, 288.15, 281.651, 268.6592)],
        STANDARDS,
        Sure.COPY,
        relative=1e-5,
        at=(294.651, 288.15, 281.651, 268.6592),
        of="temperature [K]",
    ),
    Check(
        "T07",
        "wind over that at 10 m, over grass of roughness 0.03 m",
        (0.723, 1.119, 1.396),
        lambda: [wind.profile(h, 0.03) for h in (2.0, 20.0, 100.0)],
        "ln(z/z0)/ln(10/z0)",
        Sure.DERIVED,
        relative=1e-3,
        at=(2, 20, 100),
        of=HEIGHT,
    ),
)


def _wind() -> list[Line]:
    heights = np.linspace(0.1, 100.0, 60)
    return [Line("as flown", heights, [wind.profile(h, 0.03) for h in heights])]


CURVES = (Curve("Wind over grass", HEIGHT, "over that at 10 m", ("T07",), _wind),)
