"""The types of quantities in descriptions: a text with its unit in the file, an SI float when read.

Each is a kind of quantity with the bounds within which its values make sense.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Annotated, Any, NamedTuple

from pydantic import BeforeValidator, GetCoreSchemaHandler, GetJsonSchemaHandler, WithJsonSchema
from pydantic_core import CoreSchema, PydanticCustomError
from pydantic_core.core_schema import no_info_before_validator_function

from firstthrow.sim.units import (
    ANGLE,
    ANGULAR_SPEED,
    CAPACITY,
    CURRENT,
    DIGITS,
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
    read,
    read_propeller,
    shown,
)


class Bounds(NamedTuple):
    """Limits in SI, and how to say them."""

    low: float
    high: float
    low_open: bool  # the lower limit itself is refused
    text: str


POSITIVE = Bounds(0.0, math.inf, True, "must be more than 0")
NOT_NEGATIVE = Bounds(0.0, math.inf, False, "must be 0 or more")


@dataclass(frozen=True)
class Quantity:
    """Beside `float` in an annotation: a value read from a quoted quantity within bounds."""

    kind: Kind
    bounds: Bounds | None = None

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return no_info_before_validator_function(_worded(self._read), handler(source))

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return _schema(self.kind)

    def _read(self, text: object) -> float:
        value, bounds = read(text, self.kind), self.bounds
        if bounds and not (bounds.low <= value <= bounds.high):
            raise ValueError(f"{shown(text)}: {bounds.text}")
        if bounds and bounds.low_open and value == bounds.low:
            raise ValueError(f"{shown(text)}: {bounds.text}")
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
    units = "|".join(re.escape(unit) for unit in kind.units)
    return {
        "type": "string",
        "pattern": rf"^\s*{DIGITS}\s*({units})\s*$",
        "description": f"{kind.noun} with its unit: {choices(kind)}",
        "examples": [kind.example],
    }


_TURN = Bounds(-2 * math.pi, 2 * math.pi, False, "must lie between -360 deg and 360 deg")
_THROW = Bounds(0.0, math.pi / 2, False, "must lie between 0 deg and 90 deg")
_SOME_THROW = Bounds(0.0, math.pi / 2, True, "must be more than 0 and at most 90 deg")
_SHARE = Bounds(0.0, 1.0, False, "must lie between 0 % and 100 %")
_SIGNED_SHARE = Bounds(-1.0, 1.0, False, "must lie between -100 % and 100 %")
_FACTOR = Bounds(0.3, 3.0, False, "must lie between 30 % and 300 %")
_WEATHER = Bounds(223.15, 333.15, False, "must lie between -50 C and 60 C")

Length = Annotated[float, Quantity(LENGTH)]
PositiveLength = Annotated[float, Quantity(LENGTH, POSITIVE)]
NonNegativeLength = Annotated[float, Quantity(LENGTH, NOT_NEGATIVE)]
Mass = Annotated[float, Quantity(MASS, POSITIVE)]
Angle = Annotated[float, Quantity(ANGLE, _TURN)]
Throw = Annotated[float, Quantity(ANGLE, _THROW)]
PositiveThrow = Annotated[float, Quantity(ANGLE, _SOME_THROW)]
AngularSpeedPerVolt = Annotated[float, Quantity(SPEED_PER_VOLT, POSITIVE)]
Capacity = Annotated[float, Quantity(CAPACITY, POSITIVE)]  # ampere seconds
Current = Annotated[float, Quantity(CURRENT, NOT_NEGATIVE)]
PositiveCurrent = Annotated[float, Quantity(CURRENT, POSITIVE)]
Voltage = Annotated[float, Quantity(VOLTAGE, POSITIVE)]
Resistance = Annotated[float, Quantity(RESISTANCE, POSITIVE)]
Moment = Annotated[float, Quantity(MOMENT, POSITIVE)]
Speed = Annotated[float, Quantity(SPEED, NOT_NEGATIVE)]
SignedSpeed = Annotated[float, Quantity(SPEED)]
PositiveSpeed = Annotated[float, Quantity(SPEED, POSITIVE)]
Stiffness = Annotated[float, Quantity(STIFFNESS, POSITIVE)]
Time = Annotated[float, Quantity(TIME, NOT_NEGATIVE)]
PositiveTime = Annotated[float, Quantity(TIME, POSITIVE)]
SweepTime = Annotated[float, Quantity(SWEEP_TIME, POSITIVE)]
Temperature = Annotated[float, Quantity(TEMPERATURE, _WEATHER)]
Fraction = Annotated[float, Quantity(FRACTION, _SHARE)]
SignedFraction = Annotated[float, Quantity(FRACTION, _SIGNED_SHARE)]
Factor = Annotated[float, Quantity(FRACTION, _FACTOR)]
AngularSpeed = Annotated[float, Quantity(ANGULAR_SPEED, POSITIVE)]
Force = Annotated[float, Quantity(FORCE, POSITIVE)]
PropellerSize = Annotated[
    tuple[float, float],
    PROPELLER,
    BeforeValidator(_worded(read_propeller)),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": rf"^\s*{DIGITS} ?[x×] ?{DIGITS} ?({'|'.join(PROPELLER.units)})\s*$",
            "description": "diameter x pitch with a unit of length",
            "examples": [PROPELLER.example],
        }
    ),
]


def one_of(choices: type[Enum]) -> WithJsonSchema:
    """For an enum among the keys: editors see its words where it stands."""
    return WithJsonSchema({"enum": [choice.value for choice in choices], "type": "string"})
