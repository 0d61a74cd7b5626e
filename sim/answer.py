"""What a study answers with: named fields, SI, the unit in each name; and the same as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import Enum
from math import isfinite
from typing import Any, ClassVar

import numpy as np


@dataclass(frozen=True)
class Answer:
    """Base of every answer: a frozen dataclass whose field names are the keys of its JSON.

    A field named in `left_out_when_none` has no key where it does not apply; any other None is
    JSON's null.
    """

    left_out_when_none: ClassVar[frozenset[str]] = frozenset()

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
