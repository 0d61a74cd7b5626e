"""What a description may hold at a path of keys: its tables, keys, kinds of values."""

from __future__ import annotations

import functools
import types
from enum import Enum
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, TypeAdapter

from firstthrow.sim.describe.problems import KeyPath
from firstthrow.sim.describe.quantities import Quantity
from firstthrow.sim.units import Kind


def model_of(annotation: Any) -> type[BaseModel] | None:
    """The description behind an annotation, through Annotated and optional; None if none."""
    bare = _bare(annotation)
    return bare if isinstance(bare, type) and issubclass(bare, BaseModel) else None


def mapped(annotation: Any) -> Any:
    """What the entries of a table of named entries are; None if it is no such table."""
    bare = _bare(annotation)
    return get_args(bare)[1] if get_origin(bare) is dict else None


def listed(annotation: Any, count: int) -> list[Any]:
    """What each of the `count` entries of a list is: all alike, or each its own."""
    parts = get_args(_bare(annotation))
    return [parts[0]] * count if parts[1:] == (...,) else list(parts)


def words_of(annotation: Any) -> type[Enum] | None:
    """The enum of which a value is one; None if it is none of an enum."""
    bare = _bare(annotation)
    return bare if isinstance(bare, type) and issubclass(bare, Enum) else None


def quantity_kind(annotation: Any) -> Kind | None:
    """The kind of quantity that a value is; None of what is no quantity."""
    for said in _layers(annotation)[1]:
        if isinstance(said, Quantity | Kind):
            return said.kind if isinstance(said, Quantity) else said
    return None


def quantity_of(annotation: Any) -> Quantity | None:
    """The quantity that a value is, with its bounds; None of what is none."""
    return next((said for said in _layers(annotation)[1] if isinstance(said, Quantity)), None)


def may_be_left_out(annotation: Any) -> bool:
    """Whether None is among what a value may be."""
    return _layers(annotation)[2]


def children(annotation: Any) -> list[str]:
    """The keys a description has."""
    model = model_of(annotation)
    return list(model.model_fields) if model else []


@functools.cache
def annotation_of(model: type[BaseModel], key: str) -> Any:
    """The annotation of a key with everything that is said beside it."""
    info = model.model_fields[key]
    return Annotated[(info.annotation, *info.metadata)] if info.metadata else info.annotation


def annotation_at(model: type[BaseModel], path: KeyPath) -> Any:
    """The annotation at a path of keys; None where the path leaves the description."""
    found: Any = model
    for key in path:
        inner = model_of(found)
        if inner is None:
            found = mapped(found)
        else:
            found = annotation_of(inner, str(key)) if key in inner.model_fields else None
        if found is None:
            return None
    return found


def example(annotation: Any, key: str) -> Any:
    """An example of a value as a file has it: the key's own, or of any value of its kind."""
    model = model_of(annotation)
    if model is None or key not in model.model_fields:
        return "..."
    own = model.model_fields[key].examples
    return own[0] if own else _example(annotation_of(model, key))


@functools.cache
def _example(annotation: Any) -> Any:
    bare = _bare(annotation)
    if get_origin(bare) is Literal:
        return get_args(bare)[0]
    words = words_of(bare)
    if words is not None:
        return next(iter(words)).value
    schema = TypeAdapter(annotation).json_schema()
    parts = (schema, *schema.get("anyOf", ()))
    known = [part["examples"][0] for part in parts if "examples" in part]
    if known:
        return known[0]
    plain = {"integer": 3, "number": 0.5, "boolean": True}
    kinds = [part.get("type") for part in parts if part.get("type") in plain]
    return plain[kinds[0]] if kinds else "..."


def _bare(annotation: Any) -> Any:
    return _layers(annotation)[0]


@functools.cache
def _layers(annotation: Any) -> tuple[Any, tuple[Any, ...], bool]:
    """An annotation without Annotated and without None, what Annotated said beside it, and whether
    None was there."""
    said: tuple[Any, ...] = ()
    optional = False
    while True:
        if get_origin(annotation) is Annotated:
            annotation, *beside = get_args(annotation)
            said += tuple(beside)
        elif get_origin(annotation) in (Union, types.UnionType):
            every = get_args(annotation)
            parts = [part for part in every if part is not type(None)]
            optional = optional or len(parts) < len(every)
            if len(parts) != 1:
                return annotation, said, optional
            annotation = parts[0]
        else:
            return annotation, said, optional
