"""What slabs are made of: foams, woods, metals, carbon, with where each number comes from.

Strength is the bending (flexural) strength and modulus the bending modulus, both along the
better direction of the sheet. Foam boards scatter by a quarter and more: weigh the sheet.
"""

from __future__ import annotations

from typing import NamedTuple


class Material(NamedTuple):
    density: float  # kg/m3
    strength: float  # bending [Pa]
    modulus: float  # in bending [Pa]
    source: str


_PULTRUDED = Material(
    1500.0,
    800e6,
    127e9,
    "pultruded: density and bending modulus from a supplier's sheet; strength from memory",
)
_SOLID = _PULTRUDED._replace(strength=1000e6, source="as the tube; strength from memory")

MATERIALS: dict[str, Material] = {
    "foam board": Material(
        70.0,
        2.5e6,
        150e6,
        "density: hobby measurements of 4.3-4.8 mm boards, 62-75 kg/m3; strength and modulus of "
        "the paper-faced board as a whole from memory",
    ),
    "heavy foam board": Material(
        90.0,
        3.0e6,
        180e6,
        "density: craft board, about 225 g per A1 of 5 mm; strength and modulus from memory",
    ),
    "XPS": Material(
        33.0,
        0.45e6,
        15e6,
        "density: EN 13164 product sheets, 28-35 kg/m3; strength between types VI and VII of "
        "ASTM C578-10; modulus in compression, EN 13164 product sheet below 50 mm",
    ),
    "light XPS": Material(
        25.0,
        0.345e6,
        10e6,
        "density and strength: ASTM C578-10 type IV minima; modulus from memory",
    ),
    "thin XPS": Material(
        36.0,
        0.5e6,
        15e6,
        "3-6 mm wall-lining foam: common practice, no source",
    ),
    "EPS": Material(
        18.0,
        0.208e6,
        1.9e6,
        "ASTM C578-10 type VIII minima; modulus 1.72-2.14 MPa from ASTM C578-92",
    ),
    "dense EPS": Material(
        29.0,
        0.345e6,
        3.3e6,
        "ASTM C578-10 type IX minima; modulus 3.17-3.45 MPa from ASTM C578-92",
    ),
    "EPP": Material(20.0, 0.15e6, 2.0e6, "from memory"),
    "balsa": Material(
        150.0,
        18e6,
        3.5e9,
        "density: 8-12 lb/ft3 is common stock (130-190 kg/m3); strength and modulus from memory",
    ),
    "light balsa": Material(
        100.0, 10e6, 2.0e9, "density: 6 lb/ft3 contest stock; strength and modulus from memory"
    ),
    "spruce": Material(430.0, 65e6, 10e9, "from memory"),
    "birch plywood": Material(
        670.0, 75e6, 10e9, "from memory: 640-700 kg/m3, 9-12 GPa along the face grain"
    ),
    "light plywood": Material(
        450.0, 35e6, 5e9, "density from memory, 400-500 kg/m3 (poplar); strength from memory"
    ),
    "carbon tube": _PULTRUDED,
    "carbon rod": _SOLID,
    "carbon strip": _SOLID,
    "glass-fibre rod": Material(1900.0, 600e6, 38e9, "from memory"),
    "aluminium": Material(2700.0, 250e6, 69e9, "from memory, alloy 6082"),
    "steel wire": Material(7850.0, 1500e6, 205e9, "from memory, spring (music) wire"),
    "hot-melt glue": Material(975.0, 3e6, 30e6, "density 950-1000 kg/m3 looked up; rest guessed"),
}
