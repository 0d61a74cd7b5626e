"""What a description may hold at a path of keys: its tables, their keys, an example of a value."""

from __future__ import annotations

import functools
import json
import types
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, TypeAdapter

from firstthrow.sim.describe.toml_lines import KeyPath


def model_of(kind: Any) -> type[BaseModel] | None:
    """The description behind an annotation, through Annotated and optional; None if none."""
    kind = _plain(kind)
    return kind if isinstance(kind, type) and issubclass(kind, BaseModel) else None


def mapped(kind: Any) -> Any:
    """What the entries of a table of named entries are; None if the kind is no such table."""
    kind = _plain(kind)
    return get_args(kind)[1] if get_origin(kind) is dict else None


def children(kind: Any) -> list[str]:
    """The keys a description has."""
    model = model_of(kind)
    return list(model.model_fields) if model else []


def kind_of(model: type[BaseModel], path: KeyPath) -> Any:
    """The annotation at a path of keys; None where the path leaves the description."""
    kind: Any = model
    for key in path:
        inner = model_of(kind)
        if inner is not None:
            field = inner.model_fields.get(str(key))
            kind = field.annotation if field else None
        else:
            kind = mapped(kind)
        if kind is None:
            return None
    return kind


def example(kind: Any, key: str) -> str:
    """An example of a value as TOML, for a key of a description."""
    model = model_of(kind)
    if model is None or key not in model.model_fields:
        return '"..."'
    field = model.model_fields[key]
    annotated = (
        Annotated[(field.annotation, *field.metadata)] if field.metadata else field.annotation
    )
    return _example(annotated)


@functools.cache
def _example(annotation: Any) -> str:
    choices = get_args(_plain(annotation)) if get_origin(_plain(annotation)) is Literal else ()
    if choices:
        return json.dumps(choices[0])
    schema = TypeAdapter(annotation).json_schema()
    if "examples" in schema:
        return json.dumps(schema["examples"][0], ensure_ascii=False)
    plain = {"integer": "3", "number": "0.5", "boolean": "true"}
    return plain.get(schema.get("type", ""), '"..."')


def _plain(kind: Any) -> Any:
    """An annotation without Annotated and without None."""
    while True:
        if get_origin(kind) is Annotated:
            kind = get_args(kind)[0]
        elif get_origin(kind) in (Union, types.UnionType):
            parts = [part for part in get_args(kind) if part is not type(None)]
            if len(parts) != 1:
                return kind
            kind = parts[0]
        else:
            return kind
