"""A description back from its SI values, as a sidecar keeps them; the way there is `model_dump`.

The builder's quantities are read by `config`; here are plain numbers. They were checked when the
flight was started, but somebody may have edited them since.
"""

from __future__ import annotations

import functools
import tomllib
from math import isfinite
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.consistency import airframe_problems
from firstthrow.sim.describe.keys import (
    annotation_of,
    listed,
    mapped,
    may_be_left_out,
    model_of,
    quantity_kind,
    quantity_of,
    words_of,
)
from firstthrow.sim.describe.problems import dotted
from firstthrow.sim.describe.quantities import Quantity
from firstthrow.sim.describe.write import toml
from firstthrow.sim.numerals import shown

Model = TypeVar("Model", bound=BaseModel)


def restored(model: type[Model], tree: dict[str, Any]) -> Model:
    """The description whose `model_dump(mode="json")` is `tree`.

    Keys that the tree has not take their defaults, keys that the description has not are passed
    over: records of other versions can be read. Values are held to the same ends as in a file.
    Raises TypeError for what is no tree, ValueError, which says where, for everything else.
    """
    if not isinstance(tree, dict):
        raise TypeError(f"{model.__name__}: wanted a table of values")
    values = {}
    for name, info in model.model_fields.items():
        if name in tree:
            try:
                values[name] = _value(annotation_of(model, name), tree[name])
            except (TypeError, ValueError) as error:
                raise ValueError(f"{name}: {_reason(error)}") from None
        elif info.is_required():
            raise ValueError(f"{name}: missing")
    return model.model_construct(**values)


def checked(airframe: Airframe) -> Airframe:
    """The airframe, if its parts agree as those of a file must. Raises ValueError."""
    wrong = next(airframe_problems(tomllib.loads(toml(airframe, "", {}))), None)
    if wrong:
        raise ValueError(f"{dotted(wrong[0])}: {wrong[1]}")
    return airframe


def _reason(error: Exception) -> str:
    """In one line, whoever says it."""
    if isinstance(error, ValidationError):
        return str(error.errors(include_url=False)[0]["msg"])
    return str(error)


def _value(annotation: Any, value: Any) -> Any:
    inner, entries, words = model_of(annotation), mapped(annotation), words_of(annotation)
    quantity, kind = quantity_of(annotation), quantity_kind(annotation)
    if value is None:
        if not may_be_left_out(annotation):
            raise ValueError("wanted a value, found null")
        return None
    if inner is not None:
        return restored(inner, value)
    if entries is not None:
        if not isinstance(value, dict):
            raise TypeError("wanted a table of named entries")
        return {name: _value(entries, entry) for name, entry in value.items()}
    if words is not None:
        return words(value)
    if quantity is not None:
        return _figure(value, quantity)
    if kind is not None:  # a propeller's diameter and pitch
        return tuple(_figure(one) for one in value)
    if isinstance(value, list) and listed(annotation, 1):
        parts = listed(annotation, len(value))
        return tuple(_value(part, one) for part, one in zip(parts, value, strict=True))
    return _adapter(annotation).validate_python(value)


@functools.cache
def _adapter(annotation: Any) -> TypeAdapter:
    """Made once of each annotation: making it takes longer than what it does."""
    return TypeAdapter(annotation)


def _figure(value: Any, quantity: Quantity | None = None) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise ValueError(f"{shown(value)}: wanted a figure in SI")
    # A hair beyond, where a value at its end has been worked out.
    wrong = quantity.bounds.problem(value * (1.0 - 1e-9)) if quantity else ""
    if wrong and quantity and quantity.bounds.problem(value * (1.0 + 1e-9)):
        raise ValueError(f"{shown(value)} in SI: {wrong}")
    return float(value)
