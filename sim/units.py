"""The builder's units and SI: the only conversion factors of the project.

A quantity is written in quotes with its unit, "700 mm". `read` turns it into an SI float and
refuses everything that could be misread; `to_unit` is the way out, by the unit's name. Where a
figure in SI is shown or printed, the short functions (`mm`, `grams`, `rpm`, ...) say its unit by
their name; they take numbers and arrays. Angles go by `math.radians` and `math.degrees`.

Source: factors for inch, foot, pound, ounce, pound-force, kilogram-force, statute mile, knot and
Fahrenheit as in NIST Special Publication 811 (2008), appendix B; the exact ones are exact here.
"""

from __future__ import annotations

import math
import re
from decimal import Context, Decimal
from typing import TYPE_CHECKING, TypeVar

from firstthrow.sim.numerals import PLAIN, number_in, pair, shown, split

if TYPE_CHECKING:
    import numpy as np

INCH, FOOT = 0.0254, 0.3048
MILE = 5280 * FOOT
NAUTICAL_MILE = 1852.0
POUND = 0.45359237
GRAVITY = 9.80665  # standard, defines kilogram-force and pound-force [m/s2]
OUNCE = POUND / 16
DEGREE = math.pi / 180
RPM = math.pi / 30
MINUTE, HOUR = 60.0, 3600.0
MAH = HOUR / 1000  # one milliampere hour [A s]
ZERO_CELSIUS = 273.15
LEAST_MAH = 100.0  # a bare capacity from here on is in mAh: no pack of the trade has 100 Ah
EXACT = Context(prec=40)  # figures: the product of two floats as they are printed has 34 at most


class Kind:
    """A kind of quantity: what it is called, its units as factors to SI, an example, and other ways
    to write a unit. No dataclass: loading those takes as long as all that the help needs of us."""

    def __init__(
        self,
        noun: str,
        units: dict[str, float],
        example: str,
        spellings: dict[str, str] | None = None,
    ) -> None:
        self.noun, self.units, self.example = noun, units, example
        self.spellings = spellings or {}

    @property
    def usual(self) -> str:
        """The unit that builders write most, the example's."""
        return self.example.split(" ", 1)[1]


LENGTH = Kind(
    "a length",
    {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": INCH, "ft": FOOT},
    "900 mm",
    {
        '"': "in",
        "”": "in",
        "″": "in",
        "inch": "in",
        "inches": "in",
        "foot": "ft",
        "feet": "ft",
        "'": "ft",
    },
)
MASS = Kind(
    "a mass",
    {"g": 1e-3, "kg": 1.0, "oz": OUNCE, "lb": POUND},
    "182 g",
    {"gram": "g", "grams": "g", "ounce": "oz", "ounces": "oz", "lbs": "lb"},
)
ANGLE = Kind("an angle", {"deg": DEGREE, "°": DEGREE, "rad": 1.0}, "35 deg")
ANGULAR_SPEED = Kind(
    "a rate of turning", {"rpm": RPM, "deg/s": DEGREE, "rad/s": 1.0}, "8000 rpm", {"RPM": "rpm"}
)
SPEED = Kind(
    "a speed",
    {
        "m/s": 1.0,
        "km/h": 1000 / HOUR,
        "mph": MILE / HOUR,
        "kt": NAUTICAL_MILE / HOUR,
        "ft/s": FOOT,
    },
    "8 m/s",
)
TIME = Kind("a time", {"ms": 1e-3, "s": 1.0, "min": MINUTE}, "20 ms")
SWEEP_TIME = Kind(
    "the time of 60 degrees",
    {"s": 1.0, "ms": 1e-3, "s/60deg": 1.0, "s/60 deg": 1.0},
    "0.10 s",
    {"sec": "s", "sec/60deg": "s", "sec/60°": "s", "s/60°": "s"},
)
CURRENT = Kind("a current", {"A": 1.0, "mA": 1e-3}, "20 A", {"amp": "A", "amps": "A"})
POWER = Kind("a power", {"W": 1.0, "kW": 1e3}, "120 W", {"watt": "W", "watts": "W"})
VOLTAGE = Kind("a voltage", {"V": 1.0, "mV": 1e-3}, "3.3 V")
RESISTANCE = Kind("a resistance", {"ohm": 1.0, "mohm": 1e-3, "Ω": 1.0, "mΩ": 1e-3}, "8 mohm")
CAPACITY = Kind(
    "a pack capacity", {"mAh": MAH, "Ah": HOUR}, "2200 mAh", {"mah": "mAh", "MAH": "mAh"}
)
SPEED_PER_VOLT = Kind(
    "a motor's speed per volt",
    {"rpm/V": RPM},
    "1400 rpm/V",
    dict.fromkeys(("kv", "kV", "KV", "Kv", "RPM/V"), "rpm/V"),
)
MOMENT = Kind(
    "a moment",
    {
        "N m": 1.0,
        "Nm": 1.0,
        "N cm": 1e-2,
        "Ncm": 1e-2,
        "N mm": 1e-3,
        "Nmm": 1e-3,
        "kg cm": GRAVITY * 1e-2,
        "kgcm": GRAVITY * 1e-2,
        "kgf cm": GRAVITY * 1e-2,
        "oz in": OUNCE * GRAVITY * INCH,
        "ozin": OUNCE * GRAVITY * INCH,
    },
    "1.2 kgcm",
    # As packets of servos have it, too, where "kg/cm" can only mean a moment.
    dict.fromkeys(("oz-in", "in-oz", "in oz", "oz.in", "oz/in"), "oz in")
    | dict.fromkeys(("kg-cm", "kg.cm", "kg/cm"), "kgcm")
    | {"N-cm": "N cm", "N-m": "N m"},
)
# What pulls is a force: a mass can only mean its weight there.
FORCE = Kind(
    "a force",
    {
        "N": 1.0,
        "gf": GRAVITY * 1e-3,
        "kgf": GRAVITY,
        "ozf": OUNCE * GRAVITY,
        "lbf": POUND * GRAVITY,
    },
    "2 N",
    {"g": "gf", "grams": "gf", "kg": "kgf", "oz": "ozf", "lb": "lbf", "lbs": "lbf"},
)
STIFFNESS = Kind(
    "a stiffness",
    {"N/mm": 1e3, "N/cm": 1e2, "N/m": 1.0, "lbf/in": POUND * GRAVITY / INCH},
    "2 N/mm",
)
DENSITY = Kind(
    "a density",
    {
        "kg/m3": 1.0,
        "kg/m³": 1.0,
        "g/cm3": 1e3,
        "g/cm³": 1e3,
        "lb/ft3": POUND / FOOT**3,
    },
    "33 kg/m3",
)
AREAL_MASS = Kind(
    "a mass per area", {"g/m2": 1e-3, "g/m²": 1e-3, "kg/m2": 1.0, "kg/m²": 1.0}, "420 g/m2"
)
LINEAR_MASS = Kind("a mass per length", {"g/m": 1e-3, "kg/m": 1.0}, "25 g/m")
STRESS = Kind(
    "a stress",
    {"Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9, "psi": POUND * GRAVITY / INCH**2},
    "0.4 MPa",
)
FRACTION = Kind("a percentage", {"%": 1e-2}, "40 %")
# Celsius and Fahrenheit have another zero: the factor is here, the zero in `_zero`.
TEMPERATURE = Kind(
    "a temperature", {"C": 1.0, "degC": 1.0, "°C": 1.0, "K": 1.0, "F": 5 / 9, "°F": 5 / 9}, "20 C"
)
# Two lengths in one text, which `read_propeller` reads.
PROPELLER = Kind("a propeller's diameter and pitch", LENGTH.units, "9x5 in")

KINDS = (
    LENGTH,
    MASS,
    ANGLE,
    ANGULAR_SPEED,
    SPEED,
    TIME,
    CURRENT,
    POWER,
    VOLTAGE,
    RESISTANCE,
    CAPACITY,
    SPEED_PER_VOLT,
    MOMENT,
    FORCE,
    STIFFNESS,
    DENSITY,
    AREAL_MASS,
    LINEAR_MASS,
    STRESS,
    FRACTION,
    TEMPERATURE,
)

Number = TypeVar("Number", float, "np.ndarray")


def mm(metres: Number) -> Number:
    return 1000.0 * metres


def from_mm(millimetres: Number) -> Number:
    return millimetres / 1000.0


def grams(kilograms: Number) -> Number:
    return 1000.0 * kilograms


def rpm(rad_s: Number) -> Number:
    return rad_s / RPM


def from_rpm(revolutions: Number) -> Number:
    """The angular speed [rad/s] of revolutions per minute."""
    return revolutions * RPM


def mah(coulombs: Number) -> Number:
    return coulombs / MAH


def from_mah(charge: Number) -> Number:
    """The charge [A s] of milliampere hours."""
    return charge * MAH


def km_h(m_s: Number) -> Number:
    return m_s * HOUR / 1000


def kgf(newtons: Number) -> Number:
    """What a force lifts at rest [kg]; of a weight, the mass."""
    return newtons / GRAVITY


def g_dm2(kg_m2: Number) -> Number:
    """Wing loading in the trade's unit."""
    return 10.0 * kg_m2


def milliohms(ohms: Number) -> Number:
    return 1000.0 * ohms


def amp_hours(coulombs: Number) -> Number:
    return coulombs / HOUR


def ms(seconds: Number) -> Number:
    return 1000.0 * seconds


def minutes(seconds: Number) -> Number:
    return seconds / MINUTE


MOST_INCHES, LEAST_MM = 30.0, 45.0  # of a propeller: a bare 8x4 is in inches, 230x115 in mm


def read(text: object, kind: Kind) -> float:
    """A quoted quantity in SI. Raises ValueError with a sentence that says what is wanted."""
    if isinstance(text, int | float) and not isinstance(text, bool) and only_unit(text, kind):
        text = str(text)
    if not isinstance(text, str):
        raise ValueError(_not_text(text, kind))
    number, unit = _split(text, kind)
    unit = kind.spellings.get(unit, unit)
    if unit not in kind.units:
        raise ValueError(f"{shown(text)}: {_wrong_unit(unit, kind)}")
    return _times(number, kind.units[unit]) + _zero(kind, unit)


def only_unit(number: float, kind: Kind) -> str:
    """The unit of a bare number that can mean one thing only; empty where it could mean more."""
    if kind is SPEED_PER_VOLT and number > 0.0:
        return "rpm/V"
    return "mAh" if kind is CAPACITY and number >= LEAST_MAH else ""


def to_unit(value: float, unit: str) -> float:
    """An SI value in another unit: to_unit(0.7, "mm") is 700. Raises KeyError if unknown."""
    for kind in KINDS:
        if unit in kind.units:
            return (value - _zero(kind, unit)) / kind.units[unit]
    raise KeyError(unit)


def from_unit(value: float, unit: str) -> float:
    """The SI value of a number in a unit: from_unit(700, "mm") is 0.7. KeyError if unknown."""
    for kind in KINDS:
        if unit in kind.units:
            return _times(value, kind.units[unit]) + _zero(kind, unit)
    raise KeyError(unit)


def read_propeller(text: object) -> tuple[float, float]:
    """'9x5 in' as (diameter, pitch) in metres. Raises ValueError with a sentence."""
    what, wanted = "diameter x pitch", "9x5 in"
    if not isinstance(text, str):
        raise ValueError(f"{shown(text)}: write {what} with a unit, such as '{wanted}'")
    across = pair(text, what, wanted).numbers[0]
    bare = "in" if across <= MOST_INCHES else "mm" if across >= LEAST_MM else ""
    diameter, pitch = read_pair(text, bare, what, wanted)
    if not 0.0 < diameter < 3.0 or not 0.0 < pitch < 3.0:
        raise ValueError(f"{shown(text)}: diameter and pitch must lie between 0 and 3 m")
    return diameter, pitch


def read_pair(text: str, bare: str, what: str, wanted: str) -> tuple[float, float]:
    """Two lengths [m]: '24 in x 18 in', '24x18 in', and '600x450' in the unit `bare`.

    Raises ValueError with a sentence, which offers two units where none is `bare`.
    """
    numbers, units = pair(text, what, wanted)
    found = []
    for number, said in zip(numbers, units, strict=True):
        unit = LENGTH.spellings.get(said.strip(), said.strip()) or bare
        if not unit:
            raise ValueError(
                f"{shown(text)}: say a unit, '{text.strip()} in' or '{text.strip()} mm'"
            )
        if unit not in LENGTH.units:
            raise ValueError(f"{shown(text)}: {_wrong_unit(unit, LENGTH)}")
        found.append(_times(number, LENGTH.units[unit]))
    return found[0], found[1]


def _split(text: str, kind: Kind) -> tuple[float, str]:
    number, said = split(text, kind.example)
    unit = said or only_unit(number, kind)
    if unit:
        return number, unit
    raise ValueError(f"{shown(text)}: say a unit, {_offered(text.strip(), kind)}")


def _times(number: float, factor: float) -> float:
    """The product rounded once, so that 700 mm is 0.7 and not 0.7000000000000001."""
    if not math.isfinite(number):
        return number
    return float(EXACT.multiply(Decimal(repr(float(number))), Decimal(repr(factor))))


def _not_text(value: object, kind: Kind) -> str:
    number = PLAIN.fullmatch(str(value))
    if number and not isinstance(value, bool):
        return f"{value}: say a unit and put it in quotes, {_offered(number[0], kind)}"
    return f"{shown(value)}: write a number and a unit in quotes, such as '{kind.example}'"


def _wrong_unit(unit: str, kind: Kind) -> str:
    other = next((k for k in KINDS if unit in k.units), None)
    if other is not None:
        return f"'{unit}' is {other.noun}; {kind.noun} is wanted, such as '{kind.example}'"
    alike = next((u for u in kind.units if u.lower() == unit.lower()), None)
    meant = f"; did you mean '{alike}'?" if alike else ""
    return f"'{unit}' is no unit of {_bare(kind)}: use {choices(kind)}{meant}"


def _offered(number: str, kind: Kind) -> str:
    """What a bare number may mean: both where it could be either."""
    if kind is CAPACITY:
        return f"'{number} Ah' or '{number} mAh'"
    return f"such as '{_meant(number, kind)}'"


def _meant(number: str, kind: Kind) -> str:
    """A bare number with the unit that a builder would most likely have meant."""
    if kind is FRACTION and abs(number_in(number)) <= 1.0:
        return f"{100 * number_in(number):g} %"
    return f"{number} {'in' if kind is LENGTH and '/' in number else kind.usual}"


def _bare(kind: Kind) -> str:
    return re.sub(r"^(a|an|the) ", "", kind.noun)


def choices(kind: Kind) -> str:
    """The units of a kind in words: mm, cm, m, in or ft."""
    plain = [u for u in kind.units if u.isascii()]
    return plain[0] if len(plain) == 1 else ", ".join(plain[:-1]) + " or " + plain[-1]


def _zero(kind: Kind, unit: str) -> float:
    if kind is not TEMPERATURE or unit == "K":
        return 0.0
    return ZERO_CELSIUS if "C" in unit else ZERO_CELSIUS - 32 * 5 / 9
