"""The builder's units and SI: the only conversion factors of the project.

A quantity is written in quotes with its unit, "700 mm". `read` turns it into an SI float and
refuses everything that could be misread; the annotated types at the end do the same inside the
descriptions. `to_unit` is the way out, for reports.

Source: factors for inch, foot, pound, ounce, pound-force, kilogram-force, statute mile, knot and
Fahrenheit as in NIST Special Publication 811 (2008), appendix B; the exact ones are exact here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from fractions import Fraction as Ratio
from typing import Annotated, Any, NamedTuple

from pydantic import BeforeValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

INCH = 0.0254
POUND = 0.45359237
GRAVITY = 9.80665  # standard, defines kilogram-force and pound-force [m/s2]
OUNCE = POUND / 16
DEGREE = math.pi / 180
ZERO_CELSIUS = 273.15


class Kind(NamedTuple):
    """A kind of quantity: what it is called, its units as factors to SI, and an example."""

    noun: str
    units: dict[str, float]
    example: str


LENGTH = Kind("a length", {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": INCH, "ft": 12 * INCH}, "900 mm")
MASS = Kind("a mass", {"g": 1e-3, "kg": 1.0, "oz": OUNCE, "lb": POUND}, "182 g")
ANGLE = Kind("an angle", {"deg": DEGREE, "°": DEGREE, "rad": 1.0}, "35 deg")
ANGULAR_SPEED = Kind(
    "a rate of turning", {"rpm": math.pi / 30, "deg/s": DEGREE, "rad/s": 1.0}, "8000 rpm"
)
SPEED = Kind(
    "a speed",
    {
        "m/s": 1.0,
        "km/h": 1 / 3.6,
        "mph": 1609.344 / 3600,
        "kt": 1852 / 3600,
        "ft/s": 12 * INCH,
    },
    "8 m/s",
)
TIME = Kind("a time", {"ms": 1e-3, "s": 1.0, "min": 60.0}, "20 ms")
SWEEP_TIME = Kind(
    "the time of 60 degrees", {"s": 1.0, "ms": 1e-3, "s/60deg": 1.0, "s/60 deg": 1.0}, "0.10 s"
)
CURRENT = Kind("a current", {"A": 1.0, "mA": 1e-3}, "20 A")
VOLTAGE = Kind("a voltage", {"V": 1.0, "mV": 1e-3}, "3.3 V")
RESISTANCE = Kind("a resistance", {"ohm": 1.0, "mohm": 1e-3, "Ω": 1.0, "mΩ": 1e-3}, "8 mohm")
CAPACITY = Kind("a pack capacity", {"mAh": 3.6, "Ah": 3600.0}, "2200 mAh")
SPEED_PER_VOLT = Kind("a motor's speed per volt", {"rpm/V": math.pi / 30}, "1400 rpm/V")
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
)
FORCE = Kind(
    "a force", {"N": 1.0, "gf": GRAVITY * 1e-3, "kgf": GRAVITY, "lbf": POUND * GRAVITY}, "2 N"
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
        "lb/ft3": POUND / (12 * INCH) ** 3,
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

KINDS = (
    LENGTH,
    MASS,
    ANGLE,
    ANGULAR_SPEED,
    SPEED,
    TIME,
    CURRENT,
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

_DIGITS = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_NUMBER = re.compile(_DIGITS)
_QUANTITY = re.compile(rf"({_DIGITS})[ \t\u00a0]*(.*)")
_PROPELLER = re.compile(rf"({_DIGITS}) ?[x×] ?({_DIGITS}) ?(.*)")


def read(text: object, kind: Kind) -> float:
    """A quoted quantity in SI. Raises ValueError with a sentence that says what is wanted."""
    if isinstance(text, bool) or not isinstance(text, str):
        raise ValueError(_not_text(text, kind))
    number, unit = _split(text, kind)
    if unit not in kind.units:
        raise ValueError(f"{shown(text)}: {_wrong_unit(unit, kind)}")
    return _times(number, kind.units[unit]) + _zero(kind, unit)


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
    wanted = "write diameter x pitch with a unit, such as '9x5 in'"
    if not isinstance(text, str):
        raise ValueError(f"{shown(text)}: {wanted}")
    _refuse_comma(text, "9x5.5 in")
    parts = _PROPELLER.fullmatch(text.strip())
    if parts is None:
        raise ValueError(f"{shown(text)}: {wanted}")
    unit = parts[3]
    if max(float(parts[1]), float(parts[2])) > 1e30:
        raise ValueError(f"{shown(text)}: too large a number")
    if not unit:
        raise ValueError(f"{shown(text)}: say a unit, such as '{text.strip()} in'")
    if unit not in LENGTH.units:
        raise ValueError(f"{shown(text)}: {_wrong_unit(unit, LENGTH)}")
    diameter, pitch = (_times(float(parts[i]), LENGTH.units[unit]) for i in (1, 2))
    if not 0.0 < diameter < 3.0 or not 0.0 < pitch < 3.0:
        raise ValueError(f"{shown(text)}: diameter and pitch must lie between 0 and 3 m")
    return diameter, pitch


def _split(text: str, kind: Kind) -> tuple[float, str]:
    _refuse_comma(text, kind.example)
    parts = _QUANTITY.fullmatch(text.strip())
    if parts is None:
        raise ValueError(f"{shown(text)}: write a number and a unit, such as '{kind.example}'")
    unit = re.sub(r"[ \t\u00a0·]+", " ", parts[2])
    if not unit:
        raise ValueError(f"{shown(text)}: say a unit, such as '{_meant(parts[1], kind)}'")
    number = float(parts[1])
    if abs(number) > 1e30:
        raise ValueError(f"{shown(text)}: too large a number")
    return number, unit


def _times(number: float, factor: float) -> float:
    """The product rounded once, so that 700 mm is 0.7 and not 0.7000000000000001."""
    if not math.isfinite(number):
        return number
    return float(Ratio(repr(float(number))) * Ratio(repr(factor)))


def _refuse_comma(text: str, example: str) -> None:
    if re.search(r"[0-9],|,[0-9]", text):
        raise ValueError(
            f"{shown(text)}: write the number with a decimal point and no comma, "
            f"such as '{example}'"
        )


def _not_text(value: object, kind: Kind) -> str:
    number = _NUMBER.fullmatch(str(value))
    if number and not isinstance(value, bool):
        return f"{value}: say a unit and put it in quotes, such as '{_meant(number[0], kind)}'"
    return f"{shown(value)}: write a number and a unit in quotes, such as '{kind.example}'"


def _wrong_unit(unit: str, kind: Kind) -> str:
    other = next((k for k in KINDS if unit in k.units), None)
    if other is not None:
        return f"'{unit}' is {other.noun}; {kind.noun} is wanted, such as '{kind.example}'"
    alike = next((u for u in kind.units if u.lower() == unit.lower()), None)
    meant = f"; did you mean '{alike}'?" if alike else ""
    return f"'{unit}' is no unit of {_bare(kind)}: use {_choices(kind)}{meant}"


def _meant(number: str, kind: Kind) -> str:
    """A bare number with the unit that a builder would most likely have meant."""
    if kind is FRACTION and abs(float(number)) <= 1.0:
        return f"{100 * float(number):g} %"
    return f"{number} {_QUANTITY.fullmatch(kind.example)[2]}"


def _bare(kind: Kind) -> str:
    return re.sub(r"^(a|an|the) ", "", kind.noun)


def _choices(kind: Kind) -> str:
    plain = [u for u in kind.units if u.isascii()]
    return plain[0] if len(plain) == 1 else ", ".join(plain[:-1]) + " or " + plain[-1]


def _zero(kind: Kind, unit: str) -> float:
    if kind is not TEMPERATURE or unit == "K":
        return 0.0
    return ZERO_CELSIUS if "C" in unit else ZERO_CELSIUS - 32 * 5 / 9


def shown(value: object) -> str:
    """A value as it may be quoted in a sentence."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    return repr(value) if isinstance(value, str) else str(value)


class Bounds(NamedTuple):
    """Limits in SI, and how to say them."""

    low: float
    high: float
    low_open: bool  # the lower limit itself is refused
    text: str


POSITIVE = Bounds(0.0, math.inf, True, "must be more than 0")
NOT_NEGATIVE = Bounds(0.0, math.inf, False, "must be 0 or more")


def quantity(kind: Kind, bounds: Bounds | None = None) -> Any:
    """A float type for descriptions that reads quoted quantities of the kind within bounds."""

    def validate(text: object) -> float:
        value = read(text, kind)
        if bounds and not (bounds.low <= value <= bounds.high):
            raise ValueError(f"{shown(text)}: {bounds.text}")
        if bounds and bounds.low_open and value == bounds.low:
            raise ValueError(f"{shown(text)}: {bounds.text}")
        return value

    return Annotated[float, BeforeValidator(_worded(validate)), WithJsonSchema(_schema(kind))]


def _worded(validate: Callable[[object], Any]) -> Callable[[object], Any]:
    """Hand the sentence of a ValueError on as it is, without pydantic's own prefix."""

    def worded(text: object) -> Any:
        try:
            return validate(text)
        except ValueError as problem:
            raise PydanticCustomError("quantity", "{text}", {"text": str(problem)}) from None

    return worded


def _schema(kind: Kind) -> dict[str, Any]:
    units = "|".join(re.escape(unit) for unit in kind.units)
    return {
        "type": "string",
        "pattern": rf"^\s*{_DIGITS}\s*({units})\s*$",
        "description": f"{kind.noun} with its unit: {_choices(kind)}",
        "examples": [kind.example],
    }


_TURN = Bounds(-2 * math.pi, 2 * math.pi, False, "must lie between -360 deg and 360 deg")
_THROW = Bounds(0.0, math.pi / 2, False, "must lie between 0 deg and 90 deg")
_SOME_THROW = Bounds(0.0, math.pi / 2, True, "must be more than 0 and at most 90 deg")
_SHARE = Bounds(0.0, 1.0, False, "must lie between 0 % and 100 %")
_SIGNED_SHARE = Bounds(-1.0, 1.0, False, "must lie between -100 % and 100 %")
_WEATHER = Bounds(223.15, 333.15, False, "must lie between -50 C and 60 C")

Length = quantity(LENGTH)
PositiveLength = quantity(LENGTH, POSITIVE)
NonNegativeLength = quantity(LENGTH, NOT_NEGATIVE)
Mass = quantity(MASS, POSITIVE)
LinearMass = quantity(LINEAR_MASS, POSITIVE)
ArealMass = quantity(AREAL_MASS, POSITIVE)
Density = quantity(DENSITY, POSITIVE)
Angle = quantity(ANGLE, _TURN)
Throw = quantity(ANGLE, _THROW)
PositiveThrow = quantity(ANGLE, _SOME_THROW)
AngularSpeedPerVolt = quantity(SPEED_PER_VOLT, POSITIVE)
Capacity = quantity(CAPACITY, POSITIVE)  # ampere seconds
Current = quantity(CURRENT, NOT_NEGATIVE)
PositiveCurrent = quantity(CURRENT, POSITIVE)
Voltage = quantity(VOLTAGE, POSITIVE)
Resistance = quantity(RESISTANCE, POSITIVE)
Moment = quantity(MOMENT, POSITIVE)
Speed = quantity(SPEED, NOT_NEGATIVE)
SignedSpeed = quantity(SPEED)
PositiveSpeed = quantity(SPEED, POSITIVE)
Stiffness = quantity(STIFFNESS, POSITIVE)
Stress = quantity(STRESS, POSITIVE)
Time = quantity(TIME, NOT_NEGATIVE)
PositiveTime = quantity(TIME, POSITIVE)
SweepTime = quantity(SWEEP_TIME, POSITIVE)
Temperature = quantity(TEMPERATURE, _WEATHER)
Fraction = quantity(FRACTION, _SHARE)
SignedFraction = quantity(FRACTION, _SIGNED_SHARE)
PropellerSize = Annotated[
    tuple[float, float],
    BeforeValidator(_worded(read_propeller)),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": rf"^\s*{_DIGITS} ?[x×] ?{_DIGITS} ?(mm|cm|m|in|ft)\s*$",
            "description": "diameter x pitch with a unit of length",
            "examples": ["9x5 in"],
        }
    ),
]
