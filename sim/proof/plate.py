"""Flat plates: lift, drag and centre of pressure from along the flow to square to it."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from firstthrow.sim.build import section
from firstthrow.sim.flight.polar import Polar, polar
from firstthrow.sim.proof.bodies import plate_model
from firstthrow.sim.proof.check import Check, Curve, Line, Sure

WIDE = 1500.0  # aspect ratio that stands for two dimensions
ANGLES = tuple(range(0, 91, 3))  # [deg] of the lines that are drawn
LATTICE = "another ring lattice: potential part at 0.167 chord, side-edge part at 0.588 chord"
ECN = (
    "ECN-RX-01-004 (2001): CN = Cd90 [1/(0.56+0.44 sin a) - 0.41(1-exp(-17/AR))] sin a, Cd90 = 1.98"
)
MUELLER = "Pelletier and Mueller, J. Aircraft 37(5) 2000 (rounded readings of a graph)"
SPERA = (
    "NASA/CR-2008-215434: F1=1.190(1-(t/c)^2), F2=0.65+0.35exp(-(9/AR)^2.3), "
    "G1=2.3exp(-(0.65 t/c)^0.9), G2=0.52+0.48exp(-(6.5/AR)^1.1)"
)


@lru_cache
def flown(ratio: float, degrees: tuple[float, ...]) -> Polar:
    """The polar of a bare plate through the whole chain of set-up and kernels."""
    return polar(plate_model(ratio), np.radians(degrees))


def square_on(*ratios: float) -> list[float]:
    """Drag coefficients of plates square to the flow."""
    return [float(flown(ratio, (90.0,)).drag[0]) for ratio in ratios]


def centre(ratio: float, degrees: tuple[float, ...]) -> np.ndarray:
    """Centre of pressure in chords from the leading edge; the balance is at mid-chord."""
    found = flown(ratio, degrees)
    return 0.5 - found.moment / found.normal


def largest_lift_past_stall(ratio: float) -> float:
    """Of the separated flow, between 30 and 60 degrees."""
    degrees = np.radians(np.arange(30.0, 61.0))
    return float((section.normal_force(degrees, ratio) * np.cos(degrees)).max())


def left_of_suction() -> list[float]:
    """What of the drag is neither lift times the tangent nor friction: the worst of each plate."""
    degrees = (6.0, 10.0, 15.0, 20.0, 25.0, 30.0, 45.0, 60.0, 75.0)
    found = []
    for ratio in (1.0, 2.0, 6.0):
        one = flown(ratio, degrees)
        rest = one.drag - one.lift * np.tan(one.alpha) - flown(ratio, (0.0,)).drag[0]
        found.append(float(rest[np.argmax(np.abs(rest))]))
    return found


def sideways() -> list[float]:
    """Drag coefficients of a square plate along the flow, blown at from ahead and the side."""
    from firstthrow.sim.flight.evaluate import air_load

    force, _ = air_load(plate_model(1.0), np.array([0.0, 10.0, 0.0]))
    area, pressure = 0.2**2, 0.5 * plate_model(1.0).record.density * 10.0**2
    return [float(flown(1.0, (0.0,)).drag[0]), float(force[1] / (pressure * area))]


ALPHA = "angle of attack [deg]"
RATIO = "aspect ratio"
CHECKS = (
    Check(
        "P01",
        "drag coefficient of a square plate square to the flow",
        (1.17,),
        lambda: square_on(1.0),
        "Aeronautical Engineer's Data Book p. 95 (1.17); DNV-RP-H103 plate table (1.16)",
        Sure.PUBLISHED,
        absolute=0.06,
    ),
    Check(
        "P02",
        "drag coefficient of a plate of aspect ratio 5 square to the flow",
        (1.2,),
        lambda: square_on(5.0),
        "DNV-RP-H103 / RP-C205 plate table; the formula of ECN-RX-01-004 gives 1.195",
        Sure.COPY,
        absolute=0.07,
    ),
    Check(
        "P03",
        "drag coefficient of a plate of aspect ratio 10 square to the flow, 1.25 to 1.55",
        (1.4,),
        lambda: square_on(10.0),
        "formula 1.317 (ECN-RX-01-004), Hoerner 1.302 (from memory), DNV table 1.50",
        Sure.COPY,
        absolute=0.15,
    ),
    Check(
        "P04",
        "drag coefficient of an endless plate square to the flow, 1.90 to 2.05",
        (1.98,),
        lambda: square_on(WIDE),
        "Aeronautical Engineer's Data Book p. 95 (1.98); DNV 1.90; Hoerner 1.98",
        Sure.PUBLISHED,
        absolute=0.07,
    ),
    Check(
        "P06",
        "normal force coefficient of an endless plate past its stall",
        (1.269, 1.607, 1.822, 1.98),
        lambda: flown(WIDE, (30, 45, 60, 90)).normal,
        "Hoerner's formula past the stall, CN = 1/(0.222+0.283/sin a)",
        Sure.COPY,
        relative=0.1,
        at=(30, 45, 60, 90),
        of=ALPHA,
    ),
    Check(
        "P07",
        "normal force coefficient of a square plate past its stall",
        (1.033, 1.119, 1.168),
        lambda: flown(1.0, (45, 60, 90)).normal,
        ECN,
        Sure.COPY,
        relative=0.12,
        at=(45, 60, 90),
        of=ALPHA,
    ),
    Check(
        "P07.slender",
        "normal force coefficient of a plate of aspect ratio 0.5 past its stall",
        (1.119, 1.157, 1.168),
        lambda: flown(0.5, (60, 75, 90)).normal,
        ECN + "; the same as at aspect ratio 1 within 1e-6",
        Sure.COPY,
        relative=0.12,
        at=(60, 75, 90),
        of=ALPHA,
    ),
    Check(
        "P08",
        "normal force coefficient of a plate of aspect ratio 6 past its stall",
        (0.887, 1.067, 1.216),
        lambda: flown(6.0, (30, 45, 90)).normal,
        ECN,
        Sure.COPY,
        relative=0.15,
        at=(30, 45, 90),
        of=ALPHA,
    ),
    Check(
        "P09",
        "centre of pressure of a stalled plate [chords]",
        (0.383, 0.444, 0.5),
        lambda: centre(6.0, (30, 60, 90)),
        "Kirchhoff and Rayleigh, exact: 1/2 - (3/4) cos a/(4+pi sin a); "
        "Joessel's rule gives 0.348, 0.459, 0.500",
        Sure.DERIVED,
        absolute=0.05,
        at=(30, 60, 90),
        of=ALPHA,
    ),
    Check(
        "P11",
        "lift coefficient of a thin square plate, measured at Reynolds number 1.4e5",
        (0.25, 0.5, 0.7, 0.85),
        lambda: flown(1.0, (10, 15, 20, 25)).lift,
        MUELLER,
        Sure.COPY,
        absolute=0.08,
        at=(10, 15, 20, 25),
        of=ALPHA,
    ),
    Check(
        "P12",
        "drag coefficient of the same square plate, measured",
        (0.015, 0.06, 0.15, 0.28, 0.42),
        lambda: flown(1.0, (0, 10, 15, 20, 25)).drag,
        MUELLER,
        Sure.COPY,
        absolute=0.03,
        at=(0, 10, 15, 20, 25),
        of=ALPHA,
    ),
    Check(
        "P21",
        "lift coefficient of a square plate with the suction of its side edges only",
        (0.676,),
        lambda: flown(1.0, (20,)).lift,
        "Kp sin a cos^2 a + Kv,se cos a sin^2 a",
        Sure.DERIVED,
        relative=0.05,
        at=(20,),
        of=ALPHA,
    ),
    Check(
        "P25",
        "normal force coefficient of an endless plate at 45 degrees, 1.45 to 1.75",
        (1.6,),
        lambda: flown(WIDE, (45,)).normal,
        "NACA 0012 section of SAND80-2114 resolved square to the chord; Hoerner's plate formula",
        Sure.DERIVED,
        absolute=0.15,
        at=(45,),
        of=ALPHA,
    ),
    Check(
        "P26",
        "largest lift coefficient past the stall",
        (0.773, 0.774),
        lambda: [largest_lift_past_stall(ratio) for ratio in (1.0, 2.0)],
        SPERA,
        Sure.COPY,
        relative=0.1,
        at=(1, 2),
        of=RATIO,
    ),
    Check(
        "P26.cd",
        "drag coefficient square to the flow by the same fit",
        (1.196, 1.225),
        lambda: square_on(1.0, 2.0),
        SPERA,
        Sure.COPY,
        relative=0.1,
        at=(1, 2),
        of=RATIO,
    ),
    Check(
        "P28",
        "turbulent skin friction of one side",
        (0.0074, 0.0064, 0.0054),
        lambda: [0.5 * section.profile_drag(r, 0.0, "square") for r in (1e5, 2e5, 5e5)],
        "Prandtl; Prandtl and Schlichting",
        Sure.DERIVED,
        relative=0.06,
        at=(1e5, 2e5, 5e5),
        of="Reynolds number",
    ),
    Check(
        "P29",
        "drag coefficient of a thin square plate along the flow, 0.008 to 0.025",
        (0.0165, 0.0165),
        sideways,
        "range of P12, of another set of plates, and of P28",
        Sure.DERIVED,
        absolute=0.0085,
        at=("from ahead", "from the side"),
    ),
    Check(
        "P30",
        "drag less lift times tan a and friction: a sharp or square edge gives no suction",
        (0.0, 0.0, 0.0),
        left_of_suction,
        "identity of a force square to the plate, as P11 and P12 have it too",
        Sure.DERIVED,
        absolute=0.03,
        at=(1, 2, 6),
        of=RATIO,
    ),
    Check(
        "K04",
        "centre of pressure of a square plate, attached [chords]",
        (0.215, 0.253, 0.286, 0.313),
        lambda: centre(1.0, (5, 10, 15, 20)),
        LATTICE,
        Sure.DERIVED,
        absolute=0.02,
        at=(5, 10, 15, 20),
        of=ALPHA,
    ),
    Check(
        "K04.high",
        "centre of pressure of a square plate short of its stall [chords]",
        (0.338, 0.360),
        lambda: centre(1.0, (25, 30)),
        LATTICE,
        Sure.DERIVED,
        absolute=0.02,
        at=(25, 30),
        of=ALPHA,
    ),
    Check(
        "K01",
        "normal force coefficient of a square plate up to its stall",
        (0.72, 1.17, 1.39, 1.60),
        lambda: flown(1.0, (20, 30, 35, 40)).normal,
        "constants of another ring lattice: 1.460 sin a cos a + 2.136 sin^2 a; that it holds to "
        "35 to 40 degrees: Eiffel 1910 and the wind engineers' 1.7 a/40, both from memory",
        Sure.DERIVED,
        relative=0.12,
        at=(20, 30, 35, 40),
        of=ALPHA,
    ),
    Check(
        "F09",
        "what is left of a 25 % plain flap's effect at a large angle, over that at 10 degrees",
        (0.96, 0.75, 0.63, 0.58, 0.53),
        lambda: section.flap_factor(np.radians((20, 30, 40, 50, 60))),
        "NACA TN 2080 (1950), aspect ratio 3.1, digitised",
        Sure.COPY,
        absolute=0.08,
        at=(20, 30, 40, 50, 60),
        of="flap angle [deg]",
    ),
)


def _lift_and_drag() -> list[Line]:
    degrees = tuple(range(0, 46))
    found = flown(1.0, degrees)
    return [Line("lift", degrees, found.lift), Line("drag", degrees, found.drag)]


def _normal() -> list[Line]:
    names = {"endless": WIDE, "aspect ratio 6": 6.0, "aspect ratio 1": 1.0}
    return [Line(name, ANGLES, flown(ratio, ANGLES).normal) for name, ratio in names.items()]


def _centre() -> list[Line]:
    return [
        Line(f"aspect ratio {ratio:g}", ANGLES[1:], centre(ratio, ANGLES[1:]))
        for ratio in (1.0, 6.0)
    ]


def _flap() -> list[Line]:
    degrees = np.arange(10.0, 61.0)
    return [Line("as flown", degrees, section.flap_factor(np.radians(degrees)))]


CURVES = (
    Curve(
        "A thin square plate: lift and drag, measured and flown",
        ALPHA,
        "coefficient",
        ("P11", "P12"),
        _lift_and_drag,
    ),
    Curve(
        "Plates past their stall: normal force",
        ALPHA,
        "normal force coefficient",
        ("P06", "P08", "P07", "K01"),
        _normal,
    ),
    Curve(
        "Where the load acts: centre of pressure",
        ALPHA,
        "chords from the leading edge",
        ("K04", "K04.high", "P09"),
        _centre,
    ),
    Curve(
        "A flap at large angles",
        "flap angle [deg]",
        "effect over that at 10 degrees",
        ("F09",),
        _flap,
    ),
)
