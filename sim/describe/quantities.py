"""The types of quantities in descriptions: a text with its unit in the file, an SI float when read.

Each is a kind of quantity with the bounds within which its values make sense.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import (
    BeforeValidator,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    WithJsonSchema,
)
from pydantic import Field as Key
from pydantic_core import CoreSchema, PydanticCustomError
from pydantic_core.core_schema import no_info_before_validator_function

from firstthrow.sim.numerals import NUMBER, shown
from firstthrow.sim.units import (
    ANGLE,
    ANGULAR_SPEED,
    CAPACITY,
    CURRENT,
    FORCE,
    FRACTION,
    LENGTH,
    MASS,
    MOMENT,
    PROPELLER,
    RESISTANCE,
    SPEED,
    SPEED_PER_VOLT,
    STIFFNESS,
    SWEEP_TIME,
    TEMPERATURE,
    TIME,
    VOLTAGE,
    Kind,
    choices,
    only_unit,
    read,
    read_propeller,
)


class Bounds(NamedTuple):
    """Limits in SI, and how to say them."""

    low: float
    high: float
    low_open: bool  # the lower limit itself is refused
    text: str

    def problem(self, value: float) -> str:
        """What is wrong with a value; empty when nothing is."""
        inside = self.low <= value <= self.high and not (self.low_open and value == self.low)
        if inside:
            return ""
        if self.low > 0.0 and value <= 0.0:
            return "must be more than 0"
        return "must be 0 or more" if self.low == 0.0 and value < 0.0 else self.text


def _between(low: str, high: str, kind: Kind) -> Bounds:
    """Limits as a builder writes them."""
    return Bounds(read(low, kind), read(high, kind), False, f"must lie between {low} and {high}")


@dataclass(frozen=True)
class Quantity:
    """Beside `float` in an annotation: a value read from a quoted quantity within bounds."""

    kind: Kind
    bounds: Bounds

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return no_info_before_validator_function(_worded(self._read), handler(source))

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return _schema(self.kind)

    def _read(self, text: object) -> float:
        value = read(text, self.kind)
        wrong = self.bounds.problem(value)
        if wrong:
            raise ValueError(f"{shown(text)}: {wrong}")
        return value


def _worded(validate: Callable[[object], Any]) -> Callable[[object], Any]:
    """Hand the sentence of a ValueError on as it is, without pydantic's own prefix."""

    def worded(text: object) -> Any:
        try:
            return validate(text)
        except ValueError as problem:
            raise PydanticCustomError("quantity", "{text}", {"text": str(problem)}) from None

    return worded


def _schema(kind: Kind) -> dict[str, Any]:
    """A decimal comma fits as well: whether the file writes it so is not seen from one key."""
    least = next((n for n in (1, 100) if only_unit(n, kind)), None)
    bare = "" if least is None else rf"|[0-9]{{{len(str(least))},}}(\.[0-9]*)?"
    schema: dict[str, Any] = {
        "type": "string",
        "pattern": rf"^\s*({_COMMA_TOO}\s*({_spelt(kind)}){bare})\s*$",
        "description": f"{kind.noun} with its unit: {choices(kind)}",
        "examples": [kind.example],
    }
    return schema | ({"type": ["string", "number"], "minimum": least} if least else {})


_COMMA_TOO = NUMBER.replace(r"\.", "[.,]")


def _spelt(kind: Kind) -> str:
    return "|".join(re.escape(unit) for unit in (*kind.units, *kind.spellings))


def read_cells(text: object) -> object:
    """Cells in series as they stand on a pack: "3S", "3", "3S1P"; what is no text stays. Raises
    ValueError with a sentence."""
    if not isinstance(text, str):
        return text
    said = re.fullmatch(r"\s*([0-9]{1,2})(?:\s*[sS](?:\s*([0-9]+)\s*[pP])?)?\s*", text)
    if said is None:
        raise ValueError(f"{shown(text)}: write the number of cells in series, such as 3 or '3S'")
    if said[2] not in (None, "1"):
        raise ValueError(
            f"{shown(text)}: write cells = {said[1]}, and capacity and limit of all {said[2]} "
            "strands together"
        )
    return int(said[1])


def _turns(text: object) -> object:
    """The short words of the trade, too."""
    spoken = {"cw": "clockwise", "ccw": "anticlockwise", "counterclockwise": "anticlockwise"}
    return spoken.get(text.lower(), text) if isinstance(text, str) else text


_TURN = _between("-360 deg", "360 deg", ANGLE)
_THROW = _between("0 deg", "90 deg", ANGLE)
_SOME_THROW = Bounds(0.0, math.pi / 2, True, "must be more than 0 and at most 90 deg")
_SHARE = _between("0 %", "100 %", FRACTION)


def _quantity(kind: Kind, low: str, high: str) -> Quantity:
    return Quantity(kind, _between(low, high, kind))


# What is possible, with room: where the physics was seen to stay sound, far beyond what is built.
Length = Annotated[float, _quantity(LENGTH, "-20 m", "20 m")]
PositiveLength = Annotated[float, _quantity(LENGTH, "0.01 mm", "20 m")]
NonNegativeLength = Annotated[float, _quantity(LENGTH, "0 mm", "20 m")]
Extent = Annotated[float, _quantity(LENGTH, "10 mm", "20 m")]  # of a sheet
SurfaceChord = Annotated[float, _quantity(LENGTH, "2 mm", "5 m")]
Thickness = Annotated[float, _quantity(LENGTH, "0.1 mm", "300 mm")]
Lever = Annotated[float, _quantity(LENGTH, "1 mm", "300 mm")]
BladeWidth = Annotated[float, _quantity(LENGTH, "1 mm", "300 mm")]
BladeThickness = Annotated[float, _quantity(LENGTH, "0.1 mm", "100 mm")]
HandHeight = Annotated[float, _quantity(LENGTH, "10 mm", "20 m")]
Elevation = Annotated[float, _quantity(LENGTH, "-500 m", "6000 m")]
Roughness = Annotated[float, _quantity(LENGTH, "0.01 mm", "3 m")]
Distance = Annotated[float, _quantity(LENGTH, "1 m", "20000 m")]
Mass = Annotated[float, _quantity(MASS, "0.001 g", "200 kg")]
PropellerMass = Annotated[float, _quantity(MASS, "0.1 g", "20 kg")]
Angle = Annotated[float, Quantity(ANGLE, _TURN)]
Throw = Annotated[float, Quantity(ANGLE, _THROW)]
PositiveThrow = Annotated[float, Quantity(ANGLE, _SOME_THROW)]
AngularSpeedPerVolt = Annotated[float, _quantity(SPEED_PER_VOLT, "10 rpm/V", "20000 rpm/V")]
Capacity = Annotated[float, _quantity(CAPACITY, "10 mAh", "500 Ah")]  # ampere seconds
Current = Annotated[float, _quantity(CURRENT, "0 A", "2000 A")]
PositiveCurrent = Annotated[float, _quantity(CURRENT, "1 mA", "2000 A")]
Voltage = Annotated[float, _quantity(VOLTAGE, "1 V", "100 V")]
CellVoltage = Annotated[float, _quantity(VOLTAGE, "0.1 V", "4.3 V")]
Resistance = Annotated[float, _quantity(RESISTANCE, "0.01 mohm", "20 ohm")]
Moment = Annotated[float, _quantity(MOMENT, "0.01 kgcm", "2000 kgcm")]
Speed = Annotated[float, _quantity(SPEED, "0 m/s", "60 m/s")]
SignedSpeed = Annotated[float, _quantity(SPEED, "-60 m/s", "60 m/s")]
PositiveSpeed = Annotated[float, _quantity(SPEED, "0.01 m/s", "100 m/s")]
WindSpeed = Annotated[float, _quantity(SPEED, "0 m/s", "40 m/s")]
SignedWind = Annotated[float, _quantity(SPEED, "-40 m/s", "40 m/s")]
Stiffness = Annotated[float, _quantity(STIFFNESS, "0.001 N/mm", "10000 N/mm")]
Time = Annotated[float, _quantity(TIME, "0 s", "100000 s")]
PositiveTime = Annotated[float, _quantity(TIME, "10 ms", "3600 s")]
Delay = Annotated[float, _quantity(TIME, "0 ms", "1000 ms")]
SweepTime = Annotated[float, _quantity(SWEEP_TIME, "0.01 s", "10 s")]
Temperature = Annotated[float, _quantity(TEMPERATURE, "-50 C", "60 C")]
Fraction = Annotated[float, Quantity(FRACTION, _SHARE)]
SignedFraction = Annotated[float, _quantity(FRACTION, "-100 %", "100 %")]
Factor = Annotated[float, _quantity(FRACTION, "30 %", "300 %")]
AngularSpeed = Annotated[float, _quantity(ANGULAR_SPEED, "1 rpm", "200000 rpm")]
Force = Annotated[float, _quantity(FORCE, "0.001 N", "20000 N")]
PropellerSize = Annotated[
    tuple[float, float],
    PROPELLER,
    BeforeValidator(_worded(read_propeller)),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": rf"^\s*{_COMMA_TOO} ?({_spelt(LENGTH)})? ?[x×X*] ?{_COMMA_TOO} ?"
            rf"({_spelt(LENGTH)})?\s*$",
            "description": "diameter x pitch with a unit of length; 8x4 alone is in inches",
            "examples": [PROPELLER.example],
        }
    ),
]
Cells = Annotated[
    int,
    BeforeValidator(_worded(read_cells)),
    Key(ge=1, le=14, strict=True),
    WithJsonSchema(
        {
            "type": ["integer", "string"],
            "minimum": 1,
            "maximum": 14,
            "pattern": r"^\s*[0-9]{1,2}(\s*[sS](\s*1\s*[pP])?)?\s*$",
            "description": "in series: 3 or '3S'",
            "examples": [3],
        }
    ),
]
Turns = Annotated[
    Literal["clockwise", "anticlockwise"],
    BeforeValidator(_turns),
    WithJsonSchema({"enum": ["clockwise", "anticlockwise", "cw", "ccw"], "type": "string"}),
]


def one_of(choices: type[Enum]) -> WithJsonSchema:
    """For an enum among the keys: editors see its words where it stands."""
    return WithJsonSchema({"enum": [choice.value for choice in choices], "type": "string"})
