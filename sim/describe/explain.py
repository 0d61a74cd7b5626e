"""Every key of a file in words, with an example; and a file's keys as a template to fill in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, TypeAdapter

from firstthrow.sim.describe.keys import (
    annotation_of,
    example,
    mapped,
    model_of,
    quantity_kind,
    words_of,
)
from firstthrow.sim.describe.write import toml_value, written
from firstthrow.sim.units import choices

NAME = "NAME"  # stands for the name of an entry, which the builder chooses


@dataclass(frozen=True)
class Explained:
    """A key: where it stands, what it is, what may be written, what holds without it."""

    file: str  # the kind of file
    path: tuple[str, ...]
    words: str
    wanted: str
    usual: str  # as it is written; empty where there is none
    needed: bool
    example: str  # a line of TOML; empty for a table
    keys: tuple[str, ...]  # of a table

    @property
    def place(self) -> str:
        return ".".join(self.path)


def explained(files: Mapping[str, type[BaseModel]]) -> list[Explained]:
    """Every key of every kind of file, in the order of the files."""
    return [row for name, model in files.items() for row in _rows(name, model, ())]


def matching(rows: Sequence[Explained], asked: str) -> list[Explained]:
    """The keys that are meant: by their whole path, else by a part of it, else by the key alone.

    Names that the builder has chosen, such as `sheets.slab.bow`, may stand in the path or be
    left out.
    """
    wanted = tuple(part.strip() for part in asked.split("."))
    for fits in (_whole, _in_order, _with_names, _last):
        found = [row for row in rows if fits(row.path, wanted)]
        if found:
            return found
    return []


def template(model: type[BaseModel], names: Mapping[str, str], head: str) -> str:
    """A file of this kind with every key as a comment to fill in: its example and its words."""
    lines = [f"# {row}".rstrip() for row in head.split("\n")]
    _fill(model, (), names, lines)
    return "\n".join(lines) + "\n"


def _rows(file: str, model: type[BaseModel], path: tuple[str, ...]) -> Iterator[Explained]:
    for key, info in model.model_fields.items():
        annotation = annotation_of(model, key)
        entries = mapped(annotation)
        inner = model_of(annotation if entries is None else entries)
        here = (*path, key)
        usual = _usual(model, key)
        words = info.description or ""
        if inner is None:
            line = f"{key} = {sample(model, key)}"
            wanted = _wanted(annotation)
            yield Explained(file, here, words, wanted, usual, info.is_required(), line, ())
            continue
        doc = _doc(inner)
        told = f"{words}. {doc}" if doc else words
        wanted = "a table" if entries is None else f"tables by name, [{'.'.join(here)}.{NAME}]"
        keys = tuple(inner.model_fields)
        yield Explained(file, here, told, wanted, "", info.is_required(), "", keys)
        yield from _rows(file, inner, here if entries is None else (*here, NAME))


def _doc(model: type[BaseModel]) -> str:
    """What a description says of itself, in one line; empty where it says nothing of its own."""
    return " ".join((vars(model).get("__doc__") or "").split())


def sample(model: type[BaseModel], key: str) -> str:
    """An example of a value as TOML: the key's own, else what it usually is unless that is
    nothing, else its kind's."""
    info, shown = model.model_fields[key], example(model, key)
    usual, value = _usual(model, key), info.get_default(call_default_factory=True)
    takes_usual = usual and not info.examples and (value or shown == "...")
    return usual if takes_usual else toml_value(shown)


def _usual(model: type[BaseModel], key: str) -> str:
    """What holds where the key is not said, as it is written; empty for nothing and for tables."""
    info = model.model_fields[key]
    if info.is_required():
        return ""
    value = info.get_default(call_default_factory=True)
    if value in (None, "", ()) or isinstance(value, (BaseModel, dict)):
        return ""
    return toml_value(written(value, annotation_of(model, key)))


def _wanted(annotation: Any) -> str:
    """What may be written, in words."""
    kind, enum = quantity_kind(annotation), words_of(annotation)
    if kind:
        pair = " x a length" if kind.noun.endswith("pitch") else ""
        return f"{kind.noun}{pair}, in {choices(kind)}"
    if enum:
        return _either([word.value for word in enum])
    schema = TypeAdapter(annotation).json_schema()
    for part in (schema, *schema.get("anyOf", ())):
        if "enum" in part:
            return _either(part["enum"])
        kinds = part.get("type", [])
        words = [_PLAIN[one] for one in ([kinds] if isinstance(kinds, str) else kinds)]
        if words:
            return " or ".join(words) + _bounds(part)
    return "a list"


_PLAIN = {
    "boolean": "true or false",
    "integer": "a whole number",
    "number": "a plain number",
    "string": "text in quotes",
    "array": "a list",
    "object": "a table of entries by name",
    "null": "nothing",
}


def _bounds(schema: dict[str, Any]) -> str:
    low, high = schema.get("minimum"), schema.get("maximum")
    return f" from {low:g} to {high:g}" if low is not None and high is not None else ""


def _either(words: Sequence[str]) -> str:
    told = [f'"{word}"' for word in words]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} or {told[-1]}"


def _whole(path: tuple[str, ...], wanted: tuple[str, ...]) -> bool:
    return len(path) == len(wanted) and all(
        a in (NAME, b) for a, b in zip(path, wanted, strict=True)
    )


def _in_order(path: tuple[str, ...], wanted: tuple[str, ...]) -> bool:
    """The same last key, the others in this order."""
    rest = iter(path)
    return path[-1] == wanted[-1] and all(part in rest for part in wanted)


def _with_names(path: tuple[str, ...], wanted: tuple[str, ...]) -> bool:
    """The same, with names of the builder's own passed over."""
    known = tuple(part for part in wanted if part in path)
    named = len(wanted) - len(known) <= path.count(NAME)
    return named and path[-1] == wanted[-1] and _in_order(path, known)


def _last(path: tuple[str, ...], wanted: tuple[str, ...]) -> bool:
    return path[-1] == wanted[-1]


def _fill(
    model: type[BaseModel], path: tuple[str, ...], names: Mapping[str, str], lines: list[str]
) -> None:
    tables = []
    for key, info in model.model_fields.items():
        annotation = annotation_of(model, key)
        entries = mapped(annotation)
        inner = model_of(annotation if entries is None else entries)
        if inner is not None:
            tables.append((key, inner, entries is not None))
            continue
        lines.append(f"# {key} = {sample(model, key)}  # {info.description}")
    for key, inner, named in tables:
        here = (*path, key, names.get(key, "first")) if named else (*path, key)
        told = f"  # {model.model_fields[key].description}"
        lines += ["", f"# [{'.'.join(here)}]{told}"]
        _fill(inner, here, names, lines)
