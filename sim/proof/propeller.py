"""Measured propellers, and the same by blade elements from their printed sizes.

Coefficients by the usual definitions, n in rev/s: CT = T/(rho n^2 D^4), CP = P/(rho n^3 D^5).
Measured values: looked up in the named database, just the rows used. Blade widths and thicknesses
were not measured: estimates, one for all of a family, from memory. The section's constants were
set once for all propellers with these and further rows of the same database in view, so the gaps
show the spread of one section over many propellers.
"""

from __future__ import annotations

from functools import lru_cache, partial
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build import propeller
from firstthrow.sim.build.powertrain import propeller_rows
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.kernels import drive
from firstthrow.sim.proof.bodies import motor
from firstthrow.sim.proof.check import Check, Curve, Line, Sure
from firstthrow.sim.units import from_mm, from_rpm, from_unit


class Size(NamedTuple):
    """As printed [in]; blade width at 0.75 R over R, and thickness over width, estimated."""

    diameter: float
    pitch: float
    width: float
    thickness: float

    @property
    def metres(self) -> tuple[float, float, int, float, float]:
        """Diameter, pitch, blades, blade width, blade thickness [m]."""
        diameter, pitch = from_unit(self.diameter, "in"), from_unit(self.pitch, "in")
        width = 0.5 * self.width * diameter
        return diameter, pitch, 2, width, self.thickness * width


FLAT_FACE = "Clark Y 5868-9"
# 15 degrees less the 1.55 of a chord line from the trailing edge to a nose raised 0.3 of the
# thickness over the flat face (Clark Y: 3.5 of 11.7, from memory), derived.
CHORD_LINE = "Clark Y 5868-9, 15 deg to the chord line"
THIN = partial(Size, width=0.135, thickness=0.11)
SLOW = partial(Size, width=0.2, thickness=0.11)
CLARK = partial(Size, width=0.132, thickness=0.09)
SIZES = {
    "10x5 thin electric": THIN(10, 5),
    "8x4 thin electric": THIN(8, 4),
    "17x12 thin electric": THIN(17, 12),
    "19x12 thin electric": THIN(19, 12),
    "10x4.7 slow-fly": SLOW(10, 4.7),
    FLAT_FACE: CLARK(9, 5.68),
    CHORD_LINE: CLARK(9, 5.07),
}
DATABASE = "UIUC Propeller Database, volume 1"
SECOND = (
    "UIUC Propeller Database, volume 2 (AIAA 2014-2151), nine-inch model of the blade of "
    "NACA TR 640"
)


class Measured(NamedTuple):
    """One measured value of one of SIZES; `wanted` is relative, of largest eta absolute."""

    row: str
    name: str
    quantity: str
    ratio: float | None  # advance ratio
    rpm: float
    value: float
    wanted: float = 0.1
    band: tuple[float, float] = (-1.0, 1.0)  # of the gap, in parts of what is wanted
    missed: str = ""


SMALL = "drag too small at the smallest Reynolds number: one section serves all propellers"
STEEP = "measured lift rises more steeply with load than that of one section for all propellers"
LIGHT = (
    "drag too small and lift too large at little load: one section and planform serve all "
    "propellers"
)
FACE = (
    "15 degrees taken to the flat face as quoted: less zero-lift angle was measured than the "
    "section gives. To the chord line it fits; which was meant could not be looked up"
)
MEASURED = (
    Measured("R01", "10x5 thin electric", "CT", 0.0, 6146, 0.0983),
    Measured("R01", "10x5 thin electric", "CP", 0.0, 6146, 0.0374),
    Measured("R02", "10x4.7 slow-fly", "CT", 0.0, 6226, 0.1286),
    Measured("R02", "10x4.7 slow-fly", "CP", 0.0, 6226, 0.0524),
    Measured("R03", "8x4 thin electric", "CT", 0.0, 6197, 0.0961),
    Measured("R03", "8x4 thin electric", "CP", 0.0, 6197, 0.0401, band=(-1.2, -0.9), missed=SMALL),
    Measured("R04", "17x12 thin electric", "CT", 0.0, 3290, 0.0915),
    Measured("R04", "17x12 thin electric", "CP", 0.0, 3290, 0.053),
    Measured("R05", "19x12 thin electric", "CT", 0.0, 3007, 0.0972),
    Measured("R05", "19x12 thin electric", "CP", 0.0, 3007, 0.0399),
    Measured("R06", "10x5 thin electric", "CT", 0.406, 6005, 0.0474),
    Measured("R06", "10x5 thin electric", "CP", 0.406, 6005, 0.0304),
    Measured("R06", "10x5 thin electric", "eta", 0.406, 6005, 0.633),
    Measured("R07", "10x5 thin electric", "J at zero thrust", None, 6018, 0.67),
    Measured("R07", "10x4.7 slow-fly", "J at zero thrust", None, 6020, 0.658),
    Measured("R08", "10x5 thin electric", "largest eta", None, 6018, 0.658, wanted=0.02),
    Measured("R08", "10x4.7 slow-fly", "largest eta", None, 6023, 0.652, wanted=0.02),
    Measured(
        "R08",
        "8x4 thin electric",
        "largest eta",
        None,
        6007,
        0.6,
        wanted=0.02,
        band=(1.5, 3.0),
        missed=SMALL,
    ),
    Measured(
        "R08",
        "19x12 thin electric",
        "largest eta",
        None,
        3007,
        0.735,
        wanted=0.02,
        band=(1.0, 2.5),
        missed=LIGHT,
    ),
    Measured("R09", FLAT_FACE, "CT", 0.0, 6193, 0.0882),
    Measured("R09", FLAT_FACE, "CP", 0.0, 6193, 0.0369, band=(1.3, 1.6), missed=FACE),
    Measured("R10", FLAT_FACE, "CT", 0.471, 6004, 0.0417, band=(3.1, 3.4), missed=FACE),
    Measured("R10", FLAT_FACE, "CP", 0.471, 6004, 0.0306, band=(2.4, 2.7), missed=FACE),
    Measured("R10", FLAT_FACE, "eta", 0.471, 6004, 0.641),
    Measured("R11", FLAT_FACE, "J at zero thrust", None, 6068, 0.674, band=(1.5, 1.8), missed=FACE),
    Measured("R09", CHORD_LINE, "CT", 0.0, 6193, 0.0882),
    Measured("R09", CHORD_LINE, "CP", 0.0, 6193, 0.0369),
    Measured("R10", CHORD_LINE, "CT", 0.471, 6004, 0.0417),
    Measured("R10", CHORD_LINE, "CP", 0.471, 6004, 0.0306),
    Measured("R10", CHORD_LINE, "eta", 0.471, 6004, 0.641),
    Measured("R11", CHORD_LINE, "J at zero thrust", None, 6068, 0.674),
    Measured("sweep", "10x4.7 slow-fly", "CT", 0.24, 6023, 0.0932),
    Measured("sweep", "10x4.7 slow-fly", "CP", 0.24, 6023, 0.0469),
    Measured("sweep", "10x4.7 slow-fly", "CT", 0.453, 6023, 0.0532),
    Measured("sweep", "10x4.7 slow-fly", "CP", 0.453, 6023, 0.037),
    Measured("sweep", "8x4 thin electric", "CT", 0.299, 6007, 0.0596),
    Measured("sweep", "8x4 thin electric", "CP", 0.299, 6007, 0.0359),
    Measured("sweep", "19x12 thin electric", "CT", 0.307, 2991, 0.0816),
    Measured("sweep", "19x12 thin electric", "CP", 0.307, 2991, 0.043),
    Measured("sweep", "19x12 thin electric", "CT", 0.507, 3007, 0.0548),
    Measured("sweep", "19x12 thin electric", "CP", 0.507, 3007, 0.0379),
    Measured(
        "sweep", "10x5 thin electric", "CT", 0.194, 6005, 0.0868, band=(-1.2, -0.9), missed=STEEP
    ),
    Measured("sweep", "10x5 thin electric", "CP", 0.194, 6005, 0.0396),
)
SWEEP = np.linspace(0.1, 1.1, 2001)  # advance ratio


@lru_cache
def table_of(size: Size, rpm: float | None = None) -> propeller.PropellerTable:
    """Of a size; with a rotor speed at that speed's Reynolds number, else at the usual one."""
    if rpm is None:
        return propeller.table(*size.metres)
    speed = 0.75 * 0.5 * size.metres[0] * from_rpm(rpm)
    return propeller.table(*size.metres, reynolds_speed=speed)


def computed(table: propeller.PropellerTable, quantity: str, ratio: float | None) -> float:
    """One quantity of a measurement, as the table has it."""
    if ratio is not None:
        thrust, power = propeller.coefficients(table, ratio)
        return float({"CT": thrust, "CP": power, "eta": ratio * thrust / power}[quantity])
    thrust, power = propeller.coefficients(table, SWEEP)
    if quantity == "J at zero thrust":
        return float(np.interp(0.0, -thrust, SWEEP))
    pulling = thrust > 0.0
    return float(np.max(SWEEP[pulling] * thrust[pulling] / power[pulling]))


WORDS = {
    "CT": "thrust coefficient",
    "CP": "power coefficient",
    "eta": "efficiency",
    "largest eta": "largest efficiency",
    "J at zero thrust": "advance ratio without thrust",
}


def _measured(one: Measured) -> Check:
    relative = one.quantity != "largest eta"
    place = "" if one.ratio is None else f"advance ratio {one.ratio:g}, "
    source = SECOND if "Clark" in one.name else DATABASE
    between = "; interpolated" if one.quantity == "J at zero thrust" else ""
    ratio = "" if one.ratio is None else f" J {one.ratio:g}"
    return Check(
        f"{one.row} {one.name} {one.quantity}{ratio}",
        f"{one.name}: {WORDS[one.quantity]}",
        (one.value,),
        lambda: (computed(table_of(SIZES[one.name]), one.quantity, one.ratio),),
        source + between,
        Sure.OPEN,
        relative=one.wanted if relative else 0.0,
        absolute=0.0 if relative else one.wanted,
        at=(f"{place}{one.rpm} rpm",),
        missed=one.missed,
        band=one.band,
    )


NEAR_BEST = (0.453, 0.6)  # advance ratios, of the largest efficiency and half way to no thrust


def across(*ratios: float) -> list[float]:
    """Force in the disc of the 10x4.7 at 12 m/s, for a degree of incidence [N]."""
    usual = next(iter(load_airframe(find("airframes", "pantry")).motors.values()))
    diameter, pitch, blades, _, thickness = SIZES["10x4.7 slow-fly"].metres
    size = {"size": (diameter, pitch), "blades": blades, "blade_thickness": thickness}
    blade = usual.propeller.model_copy(update=size | {"blade_width": from_mm(21.0)})
    rows = propeller_rows(usual.model_copy(update={"propeller": blade}))
    body, speed = motor(7.4, rows[None], diameter), 12.0
    found = []
    for ratio in ratios:
        rotor = 2.0 * np.pi * speed / (ratio * diameter)
        _, _, _, _, slope = drive.propeller(body, 0, speed, rotor)
        found.append(0.5 * float(slope) * speed * np.radians(1.0))
    return found


def slow_turning() -> list[float]:
    """What of the thrust coefficient is lost between 6528 and 2377 rpm."""
    slow, fast = (
        propeller.coefficients(table_of(SIZES["10x4.7 slow-fly"], rpm), 0.0)[0]
        for rpm in (2377.0, 6528.0)
    )
    return [float(1.0 - slow / fast)]


CHECKS = (
    *(_measured(one) for one in MEASURED),
    Check(
        "Q04",
        "10x4.7 slow-fly at 12 m/s: force in its disc for a degree of incidence [N]",
        (0.0067, 0.0067),
        lambda: across(*NEAR_BEST),
        "deYoung, J. Aircraft 2(3) 1965, for little thrust: 4.25 s sin(b + 8 deg) / (1 + 2 s)",
        Sure.MEMORY,
        relative=0.4,
        at=NEAR_BEST,
        of="advance ratio",
    ),
    Check(
        "slow turning",
        "10x4.7 slow-fly: thrust coefficient lost from 6528 to 2377 rpm",
        (0.185,),
        slow_turning,
        DATABASE + ": 0.1299 and 0.1059",
        Sure.OPEN,
        relative=0.5,
        missed="a slow propeller loses more of its thrust than the section's drag alone takes; "
        "flight is at the faster end",
        band=(-2.0, -1.0),
    ),
)
DRAWN = ("10x5 thin electric", "8x4 thin electric", "10x4.7 slow-fly", "19x12 thin electric")


def _lines(quantity: str) -> list[Line]:
    found = []
    for name in DRAWN:
        ratios = np.linspace(0.0, 0.65, 40)
        values = [computed(table_of(SIZES[name]), quantity, j) for j in ratios]
        found.append(Line(name, ratios, values))
    return found


def points(quantity: str) -> list[Line]:
    """Measured values of the propellers that are drawn, in the order of their lines."""
    return [
        Line(name, [j for j, _ in rows], [value for _, value in rows])
        for name in DRAWN
        if (
            rows := [
                (one.ratio, one.value)
                for one in MEASURED
                if one.name == name and one.quantity == quantity and one.ratio is not None
            ]
        )
    ]


CURVES = tuple(
    Curve(
        f"Four propellers: {WORDS[quantity]}, measured and computed",
        "advance ratio",
        WORDS[quantity],
        (),
        partial(_lines, quantity),
        partial(points, quantity),
    )
    for quantity in ("CT", "CP")
)
