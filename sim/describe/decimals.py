"""Decimal commas, where a file says that it writes them: read as points in every quantity."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import BaseModel
from pydantic import Field as Key

from firstthrow.sim.describe.keys import annotation_of as annotation
from firstthrow.sim.describe.keys import children, listed, mapped, model_of, quantity_kind
from firstthrow.sim.describe.problems import KeyPath, Problem

COMMA = "comma"
# Left out of what is dumped and written: it is about a file's text, and no value of what it says.
Decimals = Annotated[
    Literal["point", "comma"],
    Key(
        exclude=True,
        description='"comma" where this file writes "1,5 mm"; a point is then refused before '
        "three digits, as it could be one of thousands",
    ),
]

_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])|(?<![0-9]),(?=[0-9])")
_THOUSANDS = re.compile(r"[0-9]\.[0-9]{3}(?![0-9])")


def pointed(model: type[BaseModel], tree: dict[str, Any]) -> tuple[dict[str, Any], list[Problem]]:
    """The tree as one with decimal points, if it says that it has commas; and what could be read
    in two ways."""
    if tree.get("decimals") != COMMA or "decimals" not in children(model):
        return tree, []
    problems: list[Problem] = []
    rest = {key: value for key, value in tree.items() if key != "decimals"}
    return _pointed(model, rest, (), problems), problems


def _pointed(kind: Any, value: Any, path: KeyPath, problems: list[Problem]) -> Any:
    inner, entries = model_of(kind), mapped(kind)
    if isinstance(value, dict):
        known = children(kind)
        return {
            key: _pointed(
                annotation(inner, key) if inner and key in known else entries,
                part,
                (*path, key),
                problems,
            )
            for key, part in value.items()
        }
    if isinstance(value, list) and kind is not None:
        kinds = _kinds(kind, len(value))
        return [
            _pointed(k, part, (*path, n), problems)
            for n, (k, part) in enumerate(zip(kinds, value, strict=True))
        ]
    if isinstance(value, str) and quantity_kind(kind):
        if _THOUSANDS.search(value):
            told = f"{value!r}: a thousand, or a decimal? This file says that it writes commas"
            problems.append((path, told))
        elif value.count(",") == 1 and "." not in value:
            return _COMMA.sub(".", value)
    return value


def _kinds(kind: Any, count: int) -> Iterator[Any]:
    """What each entry of a list is; nothing is known of more entries than there may be."""
    try:
        known = listed(kind, count)
    except (IndexError, TypeError):
        known = []
    return iter([*known[:count], *[None] * (count - len(known))])
