"""Descriptions as the builder writes them: quantities as texts with a unit, tables with comments.

The way back from SI; `config` is the way in.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic import BaseModel

from firstthrow.sim.describe.field_notes import notes
from firstthrow.sim.units import to_unit

UNITS = {
    "a length": "mm",
    "a mass": "g",
    "an angle": "deg",
    "a speed": "m/s",
    "a time": "ms",
    "the time of 60 degrees": "s",
    "a current": "A",
    "a voltage": "V",
    "a resistance": "mohm",
    "a pack capacity": "mAh",
    "a motor's speed per volt": "rpm/V",
    "a moment": "kgcm",
    "a stiffness": "N/mm",
    "a percentage": "%",
    "a temperature": "C",
}
DIGITS = 4  # significant ones of a number


def number(value: float) -> str:
    """Without a trailing nought or an exponent: 350, 0.63, 12000."""
    return f"{float(f'{value:.{DIGITS}g}') + 0.0:.12f}".rstrip("0").rstrip(".")


def written(value: Any, schema: dict[str, Any]) -> Any:
    """A value as it stands in a file, by the JSON schema of its key."""
    kinds = [schema, *schema.get("anyOf", ())]
    told = next((k["description"] for k in kinds if "pattern" in k), "")
    if told.startswith("diameter x pitch") and isinstance(value, (tuple, list)):
        return "x".join(number(to_unit(v, "in")) for v in value) + " in"
    noun = next((noun for noun in UNITS if f"{noun} with its unit" in told), None)
    if noun and isinstance(value, (int, float)) and not isinstance(value, bool):
        return f"{number(to_unit(value, UNITS[noun]))} {UNITS[noun]}"
    if isinstance(value, (tuple, list)):
        inner = next((k["items"] for k in kinds if isinstance(k.get("items"), dict)), None)
        pair = next((k["prefixItems"] for k in kinds if "prefixItems" in k), None)
        if pair:
            return [written(v, kind) for v, kind in zip(value, pair, strict=True)]
        return [written(v, inner or {}) for v in value]
    return value


def toml(described: BaseModel, head: str, titles: dict[str, str]) -> str:
    """A description as a commented TOML file.

    head: lines of comment at the top; titles: a comment above the first table of a kind. What
    equals its default is left out. A key's comment stands at its first use.
    """
    lines = [*(f"# {row}".rstrip() for row in head.split("\n")), ""]
    _table(described, (), lines, set(), titles)
    return "\n".join(lines).rstrip() + "\n"


def _table(
    described: BaseModel,
    path: tuple[str, ...],
    lines: list[str],
    said: set[str],
    titles: dict[str, str],
) -> None:
    properties = type(described).model_json_schema()["properties"]
    tables: list[tuple[str, Any]] = []
    for key, value in given(described):
        if isinstance(value, (BaseModel, dict)):
            tables.append((key, value))
            continue
        lines.append(
            f"{key} = {_value(written(value, properties[key]))}"
            + _comment(type(described), key, said)
        )
    for key, value in tables:
        if _is_small(value):
            lines.append(f"{key} = {_inline(value)}{_comment(type(described), key, said)}")
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
            _table(entry, here, lines, said, titles)


def _comment(model: type[BaseModel], key: str, said: set[str]) -> str:
    """Each comment once in a file."""
    note = notes(model).get(key, "")
    mark = f"{model.__name__}.{key}"
    if not note or mark in said:
        return ""
    said.add(mark)
    return f"  # {note}"


def given(described: BaseModel) -> list[tuple[str, Any]]:
    """Keys and values that are not what they would be without being said."""
    found = []
    for key, field in type(described).model_fields.items():
        value = getattr(described, key)
        usual = None if field.is_required() else field.get_default(call_default_factory=True)
        if value is not None and (field.is_required() or value != usual):
            found.append((key, value))
    return found


def _is_small(value: Any) -> bool:
    """Whether a table goes on one line: a handful of plain values."""
    if not isinstance(value, BaseModel):
        return False
    plain = not any(isinstance(v, (BaseModel, dict)) for _, v in given(value))
    return plain and len(given(value)) <= 3


def _inline(described: BaseModel) -> str:
    properties = type(described).model_json_schema()["properties"]
    pairs = [f"{key} = {_value(written(v, properties[key]))}" for key, v in given(described)]
    return "{ " + ", ".join(pairs) + " }" if pairs else "{}"


def _value(value: Any) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_value(part) for part in value) + "]"
    if isinstance(value, float):
        return number(value)
    return json.dumps(value, ensure_ascii=False)
