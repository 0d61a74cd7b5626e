"""What kernels work on as their translation sees it: numbers, arrays, records, tuples."""

from __future__ import annotations

import struct
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

WORDS = {"d": "double", "q": "i64", "?": "i1"}  # what LLVM calls a number of each kind
KINDS = {"f8": "d", "i8": "q", "b1": "?"}  # by what numpy calls it
EIGHT = 8  # bytes of every number but of those that are true or false


class Number(NamedTuple):
    kind: str  # see WORDS
    text: str  # as LLVM writes it
    known: int | float | bool | None = None  # where it is known beforehand


class Array(NamedTuple):
    """Items at a place; strides in bytes; `fixed`: no kernel changes them."""

    item: np.dtype
    place: str
    shape: tuple[Number, ...]
    strides: tuple[Number, ...]
    fixed: bool = False


class Record(NamedTuple):
    """One item of an array of records."""

    item: np.dtype
    place: str


class Group(NamedTuple):
    """A tuple; `maker` is its class."""

    items: tuple
    maker: type


class Still(NamedTuple):
    """What is no number of a flight: a kernel, a module, a class, a table in the source."""

    what: object


Value = Number | Array | Record | Group | Still


def number(known: float | bool) -> Number:
    """One that is known beforehand."""
    if isinstance(known, (bool, np.bool_)):
        return Number("?", "true" if known else "false", bool(known))
    if isinstance(known, (int, np.integer)):
        return Number("q", str(int(known)), int(known))
    bits = struct.unpack("<Q", struct.pack("<d", known))[0]
    return Number("d", f"0x{bits:016X}", float(known))


def known(what: object) -> Value:
    """What the source names outside of a kernel."""
    if isinstance(what, (int, float, np.integer, np.bool_)):
        return number(what)
    return Still(what)


def kind_of(item: np.dtype) -> str:
    """Raises TypeError for items of a kind that kernels do not know."""
    found = KINDS.get(item.str[1:])
    if found is None:
        raise TypeError(f"no kernel knows items of the kind {item}")
    return found


def is_fixed(item: np.dtype) -> bool:
    """Whether no kernel changes such a record, see `parameters.record_type`."""
    return bool(item.metadata and item.metadata.get("fixed"))


def contiguous(item: np.dtype, place: str, shape: tuple[int, ...], fixed=False) -> Array:
    """An array whose shape is known, its items one after another."""
    strides, size = [], item.itemsize
    for length in reversed(shape):
        strides.append(number(size))
        size *= length
    return Array(item, place, tuple(map(number, shape)), tuple(reversed(strides)), fixed)


def mapped(value: Value, each: Callable[[str, str], str]) -> Value:
    """The same value with all that is told only in flight renamed: `each` of its kind in LLVM's
    words and its text. Numbers in it are taken for such even where they are known."""

    def length(one: Number) -> Number:
        return one if one.known is not None else Number("q", each("i64", one.text))

    if isinstance(value, Number):
        return Number(value.kind, each(WORDS[value.kind], value.text))
    if isinstance(value, Array):
        place = each("ptr", value.place)
        shape, strides = tuple(map(length, value.shape)), tuple(map(length, value.strides))
        return value._replace(place=place, shape=shape, strides=strides)
    if isinstance(value, Record):
        return Record(value.item, each("ptr", value.place))
    if isinstance(value, Group):
        return Group(tuple(mapped(one, each) for one in value.items), value.maker)
    return value


def operands(value: Value) -> list[tuple[str, str]]:
    """All that is told only in flight: kinds and texts."""
    found: list[tuple[str, str]] = []

    def note(word: str, text: str) -> str:
        found.append((word, text))
        return text

    mapped(value, note)
    return found


def _told(item: np.dtype) -> object:
    return id(item) if item.names else item.str  # records are long to compare


def sort(value: Value) -> tuple:
    """What must be equal for the same instructions to serve."""
    if isinstance(value, Number):
        return (value.kind,)
    if isinstance(value, Array):
        lengths = [one.known for one in (*value.shape, *value.strides)]
        return (_told(value.item), value.fixed, *lengths)
    if isinstance(value, Record):
        return ("record", _told(value.item))
    if isinstance(value, Group):
        return (value.maker, *[sort(one) for one in value.items])
    return ("still", id(value.what))


def given(example: object, name: Callable[[str], str]) -> tuple[Value, list[tuple[str, str]]]:
    """An argument as Python hands it over (see `calls`), by an example; and the operands that
    it is handed over as. `name` gives each a text."""
    found: list[tuple[str, str]] = []

    def one(word: str) -> str:
        found.append((word, name(word)))
        return found[-1][1]

    def value(example) -> Value:
        if isinstance(example, np.ndarray):
            place = one("ptr")
            shape = [Number("q", one("i64")) for _ in range(example.ndim)]
            strides = [Number("q", one("i64")) for _ in range(example.ndim)]
            if example.flags.c_contiguous and strides:
                strides[-1] = number(example.itemsize)
            return Array(example.dtype, place, tuple(shape), tuple(strides))
        if isinstance(example, np.void):
            return Record(example.dtype, one("ptr"))
        if isinstance(example, tuple):
            return Group(tuple(value(item) for item in example), type(example))
        if isinstance(example, (bool, np.bool_)):
            return Number("?", one("i1"))
        if isinstance(example, (int, np.integer)):
            return Number("q", one("i64"))
        if isinstance(example, float):
            return Number("d", one("double"))
        raise TypeError(f"{type(example).__name__} is nothing that a kernel takes")

    return value(example), found


def handed(value: Value, like: Value, as_kind: Callable[[Number, str], Number]) -> list:
    """The operands by which a value is handed over where another of its like is expected.

    Raises TypeError where it is of another kind.
    """
    if isinstance(value, Number) and isinstance(like, Number):
        one = as_kind(value, like.kind)
        return [(WORDS[one.kind], one.text)]
    if isinstance(value, Record) and isinstance(like, Record) and value.item == like.item:
        return [("ptr", value.place)]
    if isinstance(value, Group) and isinstance(like, Group):
        pairs = zip(value.items, like.items, strict=True)
        return [one for pair in pairs for one in handed(*pair, as_kind)]
    if isinstance(value, Array) and isinstance(like, Array) and len(value.shape) == len(like.shape):
        dense = like.strides[-1].known in (None, value.strides[-1].known)
        if dense and value.item == like.item:
            lengths = [("i64", one.text) for one in (*value.shape, *value.strides)]
            return [("ptr", value.place), *lengths]
    raise TypeError(f"{value} where one like {like} is expected")
