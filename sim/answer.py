"""What a study answers with: named fields, SI, the unit in each name; and the same as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import FrozenInstanceError, dataclass, fields
from enum import Enum
from math import isfinite
from typing import Any, ClassVar, TypeVar, dataclass_transform

import numpy as np

Own = TypeVar("Own")


@dataclass_transform(frozen_default=True)
def frozen(cls: type[Own]) -> type[Own]:
    """Makes a frozen dataclass of what derives from `Answer`.

    The library writes and compiles every class's methods anew, which took a millisecond each, a
    tenth of a second for the answers behind one report; here they are those of `Answer`.
    """
    return dataclass(init=False, repr=False, eq=False)(cls)


@frozen
class Answer:
    """Base of every answer: a frozen dataclass whose field names are the keys of its JSON.

    A field named in `left_out_when_none` has no key where it does not apply; any other None is
    JSON's null.
    """

    left_out_when_none: ClassVar[frozenset[str]] = frozenset()

    def __init__(self, *values: Any, **named: Any) -> None:
        """By the order of the fields or by their names; raises TypeError as any call does."""
        cls, names = type(self), self._names()
        given = dict(zip(names, values, strict=False))
        wrong = [name for name in named if name in given or name not in names]
        if wrong or len(values) > len(names):
            raise TypeError(f"{cls.__name__} takes {', '.join(names)}, once each")
        given |= named
        lacking = [name for name in names if name not in given and not hasattr(cls, name)]
        if lacking:
            raise TypeError(f"{cls.__name__} lacks {', '.join(lacking)}")
        self.__dict__.update({name: given.get(name, getattr(cls, name, None)) for name in names})

    @classmethod
    def _names(cls) -> tuple[str, ...]:
        return cls.__match_args__

    def _values(self) -> tuple[Any, ...]:
        return tuple(getattr(self, name) for name in self._names())

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Answer) or type(other) is not type(self):
            return NotImplemented
        return self._values() == other._values()

    def __hash__(self) -> int:
        return hash(self._values())

    def __repr__(self) -> str:
        said = zip(self._names(), self._values(), strict=True)
        return f"{type(self).__qualname__}({', '.join(f'{n}={v!r}' for n, v in said)})"

    def __setattr__(self, name: str, value: object) -> None:
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> None:
        raise FrozenInstanceError(f"cannot delete field {name!r}")

    def as_json(self) -> dict[str, Any]:
        return {
            field.name: plain(value)
            for field in fields(self)
            if (value := getattr(self, field.name)) is not None
            or field.name not in self.left_out_when_none
        }


def plain(value: Any) -> Any:
    """What JSON can hold: answers and named tuples as objects, sequences and arrays as lists; a
    figure that is none, NaN or infinite, as null."""
    if isinstance(value, Answer):
        return value.as_json()
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(one) for key, one in value.items()}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return plain(value._asdict())
    if isinstance(value, tuple | list):
        return [plain(one) for one in value]
    if isinstance(value, float) and not isfinite(value):
        return None
    return value
