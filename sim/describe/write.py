"""Descriptions as the builder writes them: quantities as texts with a unit, tables with comments.

The way back from SI; `config` is the way in.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any

from pydantic import BaseModel

from firstthrow.sim.describe.keys import annotation_of, listed, quantity_kind
from firstthrow.sim.units import Kind, to_unit

DIGITS = 4  # significant ones of a number


def number(value: float, digits: int = DIGITS) -> str:
    """Without a trailing nought or an exponent: 350, 0.63, 12000."""
    return f"{float(f'{value:.{digits}g}') + 0.0:.12f}".rstrip("0").rstrip(".")


UnitOf = Callable[[Kind], str]


def usual(kind: Kind) -> str:
    return kind.usual


def quantity_text(value: float | Sequence[float], kind: Kind, unit_of: UnitOf = usual) -> str:
    """An SI value in the unit of its kind that builders write: "350 mm", "9x5 in"."""
    sizes, unit = value if isinstance(value, Sequence) else (value,), unit_of(kind)
    digits = DIGITS + 1 if unit == "in" else DIGITS  # a tenth of a thousandth, as of a mm
    return "x".join(number(to_unit(size, unit), digits) for size in sizes) + f" {unit}"


def written(value: Any, annotation: Any, unit_of: UnitOf = usual) -> Any:
    """A value as it stands in a file, by the annotation of its key."""
    kind = quantity_kind(annotation)
    if value is None:
        return None
    if kind:
        return quantity_text(value, kind, unit_of)
    if isinstance(value, (tuple, list)):
        parts = listed(annotation, len(value))
        return [written(v, part, unit_of) for v, part in zip(value, parts, strict=True)]
    return value


def toml(described: BaseModel, head: str, titles: dict[str, str]) -> str:
    """A description as a commented TOML file.

    head: lines of comment at the top; titles: a comment above the first table of a kind. What
    equals its default is left out. What a key is stands behind it at its first use. An airframe
    is written in its own units.
    """
    said = getattr(described, "units", None)
    unit_of = said.unit_of if said else usual
    lines = [*(f"# {row}".rstrip() for row in head.split("\n")), ""]
    _table(described, (), lines, set(), titles, unit_of)
    return "\n".join(lines).rstrip() + "\n"


def _table(
    described: BaseModel,
    path: tuple[str, ...],
    lines: list[str],
    said: set[str],
    titles: dict[str, str],
    unit_of: UnitOf,
) -> None:
    tables: list[tuple[str, Any]] = []
    for key, value in given(described):
        if isinstance(value, (BaseModel, dict)):
            tables.append((key, value))
            continue
        lines.append(_pair(described, key, value, unit_of) + _comment(type(described), key, said))
    for key, value in tables:
        if _is_small(value):
            lines.append(f"{key} = {_inline(value, unit_of)}{_comment(type(described), key, said)}")
    for key, value in tables:
        if _is_small(value):
            continue
        if key in titles and key not in said:
            said.add(key)
            lines += ["", *(f"# {row}" for row in titles[key].split("\n"))]
        entries = value.items() if isinstance(value, dict) else [("", value)]
        for name, entry in entries:
            here = (*path, key, name) if name else (*path, key)
            if lines[-1] and not lines[-1].startswith("#"):
                lines.append("")
            head = f"[{'.'.join(here)}]"
            if any(not isinstance(v, (BaseModel, dict)) or _is_small(v) for _, v in given(entry)):
                lines.append(head)
            _table(entry, here, lines, said, titles, unit_of)


def _comment(model: type[BaseModel], key: str, said: set[str]) -> str:
    """Each comment once in a file."""
    note = model.model_fields[key].description
    mark = f"{model.__name__}.{key}"
    if not note or mark in said:
        return ""
    said.add(mark)
    return f"  # {note}"


def given(described: BaseModel) -> list[tuple[str, Any]]:
    """Keys and values that are not what they would be without being said."""
    found = []
    for key, info in type(described).model_fields.items():
        value = getattr(described, key)
        usual = None if info.is_required() else info.get_default(call_default_factory=True)
        if value is not None and (info.is_required() or value != usual):
            found.append((key, value))
    return found


def _is_small(value: Any) -> bool:
    """Whether a table goes on one line: a handful of plain values."""
    if not isinstance(value, BaseModel):
        return False
    plain = not any(isinstance(v, (BaseModel, dict)) for _, v in given(value))
    return plain and len(given(value)) <= 3


def _inline(described: BaseModel, unit_of: UnitOf) -> str:
    pairs = [_pair(described, key, value, unit_of) for key, value in given(described)]
    return "{ " + ", ".join(pairs) + " }" if pairs else "{}"


def _pair(described: BaseModel, key: str, value: Any, unit_of: UnitOf) -> str:
    return f"{key} = {toml_value(written(value, annotation_of(type(described), key), unit_of))}"


def toml_value(value: Any) -> str:
    """A value of a file as TOML."""
    if isinstance(value, list):
        return "[" + ", ".join(toml_value(part) for part in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml_value(part)}" for key, part in value.items()) + " }"
    if isinstance(value, float):
        return number(value)
    return json.dumps(value, ensure_ascii=False)
