"""Attached flow over thin plates: slopes of lift, moment and damping, flaps, hinges, bows."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from firstthrow.sim.build.lattice import CHORDWISE, response, side_edges
from firstthrow.sim.build.model import build
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.polar import reference
from firstthrow.sim.kernels.layout import AHEAD
from firstthrow.sim.proof.bodies import plate_airframe, plate_model, rectangle
from firstthrow.sim.proof.check import Check, Curve, Line, Sure

WIDE = 400.0  # aspect ratio that stands for two dimensions
OTHER = "a vortex-lattice solution made apart from this program, extrapolated"
THIN = "thin-aerofoil pressure integrated"


@lru_cache
def flown(ratio: float) -> dict[str, float]:
    """Coefficients of a plate over its area and chord through the whole set-up and the kernels,
    balance at mid-chord."""
    model, speed, small = plate_model(ratio), 10.0, 1e-4
    area, chord, _ = reference(model)
    span = ratio * chord
    pressure = 0.5 * model.record.density * speed**2 * area

    def load(alpha: float = 0.0, rates=(0.0, 0.0, 0.0)) -> np.ndarray:
        flow = -speed * np.array([np.cos(alpha), 0.0, np.sin(alpha)])
        return air_load(model, flow, rates)[0] / (pressure * small)

    steep = load(small)
    slope, moment = -steep[2], steep[4] / chord
    pitch = load(rates=(0.0, small * 2.0 * speed / chord, 0.0))
    roll = load(rates=(small * 2.0 * speed / span, 0.0, 0.0))
    lift = -pitch[2] + 0.5 * slope  # about the quarter chord the plate also heaves, by q c / 4
    return {
        "slope": slope,
        "centre": 0.5 - moment / slope,
        "Clp": roll[3] / span,
        "Cmq mid": pitch[4] / chord,
        "Cmq quarter": pitch[4] / chord + 0.5 * moment - 0.25 * lift,
        "CLq": lift,
    }


def by_ratio(quantity: str, *ratios: float) -> Callable[[], list[float]]:
    """Of plates as they fly."""
    return lambda: [flown(float(ratio))[quantity] for ratio in ratios]


@lru_cache
def section(flap: float, chordwise: int = CHORDWISE) -> np.ndarray:
    """(4, 3) section coefficients in the middle of a very wide plate."""
    strips = rectangle(WIDE, 4, flap)
    n = len(strips.chord)
    return 2.0 * response(strips, chordwise)[AHEAD].reshape(n, 4, n, 3)[n // 2].sum(axis=1)


def flapped(flap: float, chordwise: int = CHORDWISE) -> dict[str, float]:
    """Of a flap along all the span."""
    middle = section(flap, chordwise)
    return {
        "tau": middle[0, 2] / middle[0, 0],
        "cm": middle[1, 2] - 0.25 * middle[0, 2],
        # Positive trailing edge down in the sources, trailing edge up in the program.
        "Ch alpha": -middle[3, 0] / flap**2,
        "Ch delta": -middle[3, 2] / flap**2,
    }


FLAPS = (0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5)


def by_flap(quantity: str) -> Callable[[], list[float]]:
    return lambda: [flapped(flap)[quantity] for flap in FLAPS]


def pitching_section() -> list[float]:
    """Of a very wide plate: moment about the quarter chord, about mid-chord, and lift."""
    middle = section(0.0)
    lift = middle[0, 1] + 0.5 * middle[0, 0]
    return [middle[1, 1] + 0.5 * middle[1, 0] - 0.25 * lift, middle[1, 1], lift]


def bowed() -> list[float]:
    """Zero-lift angle and moment about the quarter chord over the bow, of a plate of aspect
    ratio 200 whose board is hollow by a hundredth of its chord."""
    share, chord = 0.01, 0.2
    plate = plate_airframe(200.0, chord)
    sheet = plate.sheets["plate"].model_copy(update={"bow": share * chord})
    model = build(plate.model_copy(update={"sheets": {"plate": sheet}}), STANDARD)
    pressure = 0.5 * model.record.density * 10.0**2 * model.strips.area.sum()
    level, up = (
        air_load(model, -10.0 * np.array([np.cos(a), 0.0, np.sin(a)]))[0] / pressure
        for a in (0.0, 0.01)
    )
    zero = -0.01 * level[2] / (up[2] - level[2])
    ahead = model.balance.place[0] / chord - 0.25
    return [zero / share, (level[4] / chord + ahead * level[2]) / share]


RATIO = "aspect ratio"
FLAP = "flap over chord"
CHECKS = (
    Check(
        "P13",
        "lift slope of a rectangular plate [1/rad]",
        (1.46, 2.474, 3.145, 3.612, 4.215),
        by_ratio("slope", 1, 2, 3, 4, 6),
        "another vortex lattice; agrees with Tuck 1993 at aspect ratio 1 (1.460227, from memory) "
        "and with his formula for wide plates at 6 and 8",
        Sure.DERIVED,
        relative=0.02,
        at=(1, 2, 3, 4, 6),
        of=RATIO,
    ),
    Check(
        "P14",
        "lift slope of a rectangular plate, mean of what was measured [1/rad]",
        (2.51, 3.17, 3.94, 4.24),
        by_ratio("slope", 2, 3, 5, 6),
        "digitised set quoted from Branlard 2011 and 2017",
        Sure.COPY,
        relative=0.10,
        at=(2, 3, 5, 6),
        of=RATIO,
    ),
    Check(
        "P16",
        "lift slope of a slender plate against pi AR / 2 [1/rad]",
        (0.7854,),
        by_ratio("slope", 0.5),
        "R. T. Jones, NACA TR 835 (1946)",
        Sure.MEMORY,
        relative=0.02,
        at=(0.5,),
        of=RATIO,
    ),
    Check(
        "P17",
        "suction of both side edges, Kv",
        (2.574, 2.136, 1.551),
        lambda: [side_edges(rectangle(ratio)).sum() / ratio for ratio in (0.5, 1.0, 2.0)],
        "suction analogy (NASA TN D-3767, 1966; side edges: Lamar 1974), numbers by another "
        "vortex lattice",
        Sure.DERIVED,
        relative=0.03,
        at=(0.5, 1, 2),
        of=RATIO,
    ),
    Check(
        "F03",
        "aerodynamic centre of a rectangular plate [chords]",
        (0.11, 0.167, 0.209, 0.225, 0.232, 0.239),
        by_ratio("centre", 0.5, 1, 2, 3, 4, 6),
        OTHER,
        Sure.DERIVED,
        absolute=0.01,
        at=(0.5, 1, 2, 3, 4, 6),
        of=RATIO,
    ),
    Check(
        "F04",
        "lift by flap angle over lift by angle of attack, in two dimensions",
        (0.3958, 0.4805, 0.5498, 0.609, 0.6607, 0.7478, 0.8183),
        by_flap("tau"),
        "Glauert, R&M 1095: tau = (pi - th + sin th)/pi, cos th = 2E-1",
        Sure.DERIVED,
        relative=0.005,
        at=FLAPS,
        of=FLAP,
    ),
    Check(
        "F05",
        "moment about the quarter chord by flap angle, in two dimensions [1/rad]",
        (-0.54, -0.607, -0.64, -0.6495, -0.6416, -0.5879, -0.5),
        by_flap("cm"),
        "Glauert: -0.5 sin th (1 - cos th)",
        Sure.DERIVED,
        relative=0.005,
        at=FLAPS,
        of=FLAP,
        missed="0.6 % off at a flap of half the chord: the lift of the 12 stations along the "
        "chord is a quarter of a per cent low there, and its arm is long",
        band=(-1.0, 1.2),
    ),
    Check(
        "F06",
        "hinge moment by angle of attack, in two dimensions [1/rad]",
        (-0.345, -0.427, -0.499, -0.565, -0.627, -0.745, -0.858),
        by_flap("Ch alpha"),
        THIN,
        Sure.DERIVED,
        relative=0.01,
        at=FLAPS,
        of=FLAP,
    ),
    Check(
        "F07",
        "hinge moment by flap angle, in two dimensions [1/rad]",
        (-0.884, -0.903, -0.923, -0.944, -0.965, -1.013, -1.066),
        by_flap("Ch delta"),
        THIN,
        Sure.DERIVED,
        relative=0.01,
        at=FLAPS,
        of=FLAP,
    ),
    Check(
        "D03",
        "roll damping by p b / 2 V",
        (-0.098, -0.19, -0.336, -0.44),
        by_ratio("Clp", 1, 2, 4, 6),
        OTHER,
        Sure.DERIVED,
        relative=0.03,
        at=(1, 2, 4, 6),
        of=RATIO,
    ),
    Check(
        "D07",
        "pitch damping about the quarter chord by q c / 2 V",
        (-0.465, -0.585, -0.671, -0.705),
        by_ratio("Cmq quarter", 1, 2, 4, 6),
        OTHER,
        Sure.DERIVED,
        relative=0.03,
        at=(1, 2, 4, 6),
        of=RATIO,
    ),
    Check(
        "D08",
        "pitch damping about mid-chord by q c / 2 V",
        (-0.283, -0.276, -0.219, -0.179),
        by_ratio("Cmq mid", 1, 2, 4, 6),
        OTHER,
        Sure.DERIVED,
        relative=0.03,
        at=(1, 2, 4, 6),
        of=RATIO,
    ),
    Check(
        "D09",
        "lift by pitching about the quarter chord, by q c / 2 V",
        (1.703, 2.676, 3.743, 4.309),
        by_ratio("CLq", 1, 2, 4, 6),
        OTHER,
        Sure.DERIVED,
        relative=0.03,
        at=(1, 2, 4, 6),
        of=RATIO,
    ),
    Check(
        "D07.2D",
        "moments and lift of an endless plate that pitches, by q c / 2 V",
        (-0.7854, 0.0, 6.2832),
        pitching_section,
        "thin-aerofoil theory: -pi/4, 0, 2 pi",
        Sure.DERIVED,
        relative=0.005,
        absolute=0.004,
        at=("moment about the quarter chord", "moment about mid-chord", "lift"),
    ),
    Check(
        "G01",
        "an endless board bowed along its chord, over the bow in chords",
        (2.0, 3.1416),
        bowed,
        "parabolic camber line: Glauert, Elements of Aerofoil and Airscrew Theory, ch. 7, "
        "A0 = alpha, A1 = 4 r for z = 4 r x (1 - x); worked out here from the textbook's series; "
        "the tips of a plate of aspect ratio 200 take 2 % of the moment",
        Sure.DERIVED,
        relative=0.03,
        at=("zero-lift angle [rad]", "moment about the quarter chord"),
    ),
)


def _slopes() -> list[Line]:
    ratios = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0)
    return [Line("as flown", ratios, [flown(ratio)["slope"] for ratio in ratios])]


def _centres() -> list[Line]:
    ratios = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0)
    return [Line("as flown", ratios, [flown(ratio)["centre"] for ratio in ratios])]


def _damping() -> list[Line]:
    ratios = (1.0, 2.0, 3.0, 4.0, 6.0)
    names = {"Clp": "roll", "Cmq quarter": "pitch, quarter chord", "Cmq mid": "pitch, mid-chord"}
    return [Line(words, ratios, [flown(r)[key] for r in ratios]) for key, words in names.items()]


def _flaps() -> list[Line]:
    return [Line("lattice", FLAPS, by_flap("tau")())]


CURVES = (
    Curve(
        "Lift slope of rectangular plates",
        RATIO,
        "lift slope [1/rad]",
        ("P14", "P13", "P16"),
        _slopes,
    ),
    Curve(
        "Aerodynamic centre of rectangular plates",
        RATIO,
        "chords from the leading edge",
        ("F03",),
        _centres,
    ),
    Curve(
        "Damping of rectangular plates",
        RATIO,
        "moment coefficient by rate",
        ("D03", "D07", "D08"),
        _damping,
    ),
    Curve(
        "What a flap does in two dimensions",
        FLAP,
        "of the lift by angle of attack",
        ("F04",),
        _flaps,
    ),
)
