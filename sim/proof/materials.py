"""Foams, tubes and beams: what they bear, and what they weigh."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.strength import Member, section, stresses
from firstthrow.sim.build.unknown_kinds import EPS_STRENGTH
from firstthrow.sim.build.weights import section_area
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.proof.check import Check, Curve, Line, Sure
from firstthrow.sim.units import from_mm, grams

BULLETIN = "ASTM C578-10 minima (a maker's bulletin of 2011)"
# Types of the standard: density [kg/m3], least flexural strength [MPa].
EPS_TYPES = {"I": (15, 0.173), "VIII": (18, 0.208), "II": (22, 0.240), "IX": (29, 0.345)}
XPS_TYPES = {
    "X": (21, 0.276),
    "IV": (25, 0.345),
    "VI": (29, 0.414),
    "VII": (35, 0.517),
    "V": (48, 0.690),
}
# Modulus in bending by suppliers' tables after ASTM C578-92 [MPa].
EPS_MODULUS = {"VIII": (1.72, 2.14), "IX": (3.17, 3.45)}
XPS_MODULUS = (8.0, 30.0)  # round the 15 to 20 MPa in compression of EN 13164 sheets; derived
XPS, EPS = ("XPS", "light XPS"), ("EPS", "dense EPS")
FOAMS = XPS + EPS


def least_strength(name: str) -> float:
    """What the standard asks of the foam's density, between the types of its kind [MPa]."""
    types = XPS_TYPES if "XPS" in name else EPS_TYPES
    density, strength = np.array(sorted(types.values())).T
    return float(np.interp(MATERIALS[name].density, density, strength))


def modulus_of_standard(name: str) -> tuple[float, float]:
    if "XPS" in name:
        return XPS_MODULUS
    return EPS_MODULUS["VIII" if name == "EPS" else "IX"]


MODULI = {name: modulus_of_standard(name) for name in FOAMS}


def middle(low: float, high: float) -> float:
    return 0.5 * (low + high)


# EPS 12, 15, 19 of ASTM D6817: density [kg/m3], least flexural strength [MPa].
GEOFOAM = ((11.2, 0.069), (14.4, 0.172), (18.4, 0.207))
# Moduli [MPa]: middle of the suppliers' table after C578, least of D6817.
TWO_MODULI = {"EPS 15": (2.5, 1.38), "EPS 22": (5.0, 2.35)}


def least_of_geofoam() -> float:
    """What D6817 asks of the density of our EPS [MPa]."""
    density, strength = np.array(GEOFOAM).T
    return float(np.interp(MATERIALS["EPS"].density, density, strength))


TUBES = ((4.32, 2.75, 13.3), (5.84, 3.5, 25.6))  # outside and bore [mm], mass by length [g/m]


def tube_masses() -> list[float]:
    """Of carbon tubes [g/m]."""
    tube = load_airframe(find("airframes", "glasshouse")).sheets["slab"].spars["tube"]
    density = MATERIALS["carbon tube"].density
    found = []
    for outside, bore, _ in TUBES:
        sizes = {"outside": from_mm(outside), "inside": from_mm(bore)}
        found.append(grams(section_area(tube.model_copy(update=sizes)) * density))
    return found


BOARD = from_mm(4.8)  # of a foam board sold as 5 mm; the weighing does not say


def board_masses() -> list[float]:
    """Of foam boards, light and heavy [g/m2]."""
    return [grams(MATERIALS[n].density * BOARD) for n in ("foam board", "heavy foam board")]


def composite_beam() -> list[float]:
    """Wood 4 x 6 in on a steel plate 4 x 0.5 in, 60 k-in: axis [in] and stresses [psi]."""
    wood = Member("wood", 1.5e6, 1e9, 24.0, 4 * 6**3 / 12, 3.5, 6.0)
    steel = Member("steel", 30e6, 1e9, 2.0, 4 * 0.5**3 / 12, 0.25, 0.5)
    return [section([wood, steel]).axis, *np.ravel(stresses([wood, steel], 60e3))]


CHECKS = (
    Check(
        "C578.strength",
        "flexural strength of foams over the least that the standard asks of their density",
        (1.0, 1.0, 1.0, 1.0),
        lambda: [1e-6 * MATERIALS[name].strength / least_strength(name) for name in FOAMS],
        BULLETIN,
        Sure.COPY,
        relative=0.1,
        at=FOAMS,
    ),
    Check(
        "C578.modulus.EPS",
        "modulus of EPS in bending, middle of the range of its type [MPa]",
        tuple(middle(*MODULI[name]) for name in EPS),
        lambda: [1e-6 * MATERIALS[name].modulus for name in EPS],
        "suppliers' tables after ASTM C578-92: 1.72 to 2.14 and 3.17 to 3.45",
        Sure.COPY,
        relative=0.11,
        at=EPS,
    ),
    Check(
        "EN13164.modulus.XPS",
        "modulus of XPS in bending, middle of 8 to 30 [MPa]",
        tuple(middle(*MODULI[name]) for name in XPS),
        lambda: [1e-6 * MATERIALS[name].modulus for name in XPS],
        "range round the 15 to 20 MPa in compression of EN 13164 product sheets",
        Sure.DERIVED,
        absolute=11.0,
        at=XPS,
    ),
    Check(
        "D6817.strength",
        "strength of EPS over the least of another standard at its density, within its spread",
        (1.0,),
        lambda: [1e-6 * MATERIALS["EPS"].strength / least_of_geofoam()],
        "ASTM D6817 minima, two data-sheet pages",
        Sure.COPY,
        relative=float(np.expm1(EPS_STRENGTH)),
    ),
    Check(
        "D6817.modulus",
        "spread that is told of EPS: half the factor between the moduli of two standards",
        tuple(0.5 * float(np.log(one / other)) for one, other in TWO_MODULI.values()),
        lambda: [EPS_STRENGTH] * len(TWO_MODULI),
        "ASTM D6817 minima of stress at 1 %; a suppliers' table after ASTM C578-92, middle of its "
        "range",
        Sure.DERIVED,
        absolute=0.06,
        at=tuple(TWO_MODULI),
    ),
    Check(
        "tube",
        "pultruded carbon tube: density [kg/m3], modulus [GPa]",
        (1500.0, 127.0),
        lambda: [
            MATERIALS["carbon tube"].density,
            1e-9 * MATERIALS["carbon tube"].modulus,
        ],
        "a supplier's sheet",
        Sure.COPY,
        relative=1e-6,
        at=("density", "flexural modulus"),
    ),
    Check(
        "tube.mass",
        "mass of carbon tube by its length [g/m]",
        tuple(mass for _, _, mass in TUBES),
        tube_masses,
        "a supplier's sheet; bores fitted to it",
        Sure.COPY,
        relative=0.1,
        at=tuple(f"{outside:g} mm outside, {bore:g} mm bore" for outside, bore, _ in TUBES),
    ),
    Check(
        "Z03",
        "mass of craft foam board, light and heavy, 4.8 mm thick [g/m2]",
        (295.0, 605.0),
        board_masses,
        "builders' weighing (an article of 2013): 0.19 and 0.39 g/sq in, thickness not told",
        Sure.PUBLISHED,
        relative=0.08,
        at=("light", "heavy"),
        missed="boards of one name differ by that much: ours are other makes, the light one a "
        "seventh heavier, the heavy one a third lighter; a board that was weighed has its own mass "
        "in the file",
        band=(-3.7, 1.9),
    ),
    Check(
        "beam",
        "wood beam reinforced by a steel plate: axis [in] and stresses [psi]",
        (1.469, -1310.0, 251.0, 5030.0, 7620.0),
        composite_beam,
        "Gere and Timoshenko, Mechanics of Materials, ch. 6, to the digits printed",
        Sure.MEMORY,
        relative=0.005,
        at=("axis from the bottom", "wood, top", "wood, bottom", "steel, top", "steel, bottom"),
    ),
)


def _standard() -> list[Line]:
    found = []
    for name, types in (("XPS", XPS_TYPES), ("EPS", EPS_TYPES)):
        density, strength = np.array(sorted(types.values())).T
        found.append(Line(f"{name}, least of the standard", density, strength))
    return found


def _ours() -> list[Line]:
    return [
        Line(
            f"{names[0]}, as the program has it",
            [MATERIALS[name].density for name in names],
            [1e-6 * MATERIALS[name].strength for name in names],
        )
        for names in (XPS, EPS)
    ]


CURVES = (
    Curve(
        "Foams: points as the program has them, lines the least of the standard",
        "density [kg/m3]",
        "flexural strength [MPa]",
        (),
        _standard,
        _ours,
    ),
)
