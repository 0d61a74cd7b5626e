"""The value of a description that lies farthest from the usual: where to look for a slip."""

from __future__ import annotations

from collections.abc import Iterator
from math import log
from typing import Any, NamedTuple

from pydantic import BaseModel

from firstthrow.sim.describe.keys import annotation_of, quantity_of
from firstthrow.sim.describe.problems import KeyPath, dotted
from firstthrow.sim.describe.write import quantity_text

WIDE = log(100.0)  # what is held closer than by such a factor is not where a slip shows
SUSPICIOUS = 0.75  # of the way from the middle of what is possible to its end


class Unusual(NamedTuple):
    path: KeyPath
    text: str  # as a builder writes it
    share: float  # of the way from the middle of what is possible to its end, by factors

    def __str__(self) -> str:
        return f"{dotted(self.path)} = {self.text}"


def most_unusual(description: BaseModel) -> Unusual | None:
    """The value nearest to an end of what is possible; None when none is near to one."""
    found = max(_shares(description, ()), key=lambda one: one.share, default=None)
    return found if found and found.share > SUSPICIOUS else None


def _shares(part: Any, path: KeyPath) -> Iterator[Unusual]:
    if isinstance(part, dict):
        for name, inner in part.items():
            yield from _shares(inner, (*path, name))
    if not isinstance(part, BaseModel):
        return
    for key in type(part).model_fields:
        value = getattr(part, key)
        quantity = quantity_of(annotation_of(type(part), key))
        if quantity is None:
            yield from _shares(value, (*path, key))
        elif isinstance(value, float) and value > 0.0 < quantity.bounds.low:
            low, high = log(quantity.bounds.low), log(quantity.bounds.high)
            if high - low < WIDE:
                continue
            share = abs(2.0 * (log(value) - low) / (high - low) - 1.0)
            yield Unusual((*path, key), quantity_text(value, quantity.kind), share)
