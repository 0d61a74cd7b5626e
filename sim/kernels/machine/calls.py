"""What Python hands to machine code: kinds of arguments, and a call by numba's convention."""

from __future__ import annotations

import ctypes
import hashlib
from collections.abc import Callable

import numpy as np

NUMBERS = {"d": ctypes.c_double, "q": ctypes.c_int64, "?": ctypes.c_uint8}
_FAILED = ctypes.c_void_p()  # where a kernel that fails leaves word; none does
_KNOWN: dict[int, tuple[np.dtype, str]] = {}  # types of items by identity: a record's is long
_MANY = 64  # of them: a record that comes from another process brings a type of its own


def _item(dtype: np.dtype) -> str:
    """A short name for a type of items, the same in every process."""
    found = _KNOWN.get(id(dtype))
    if found is None:
        text = repr(dtype.descr if dtype.names else dtype.str)
        name = hashlib.sha256(text.encode()).hexdigest()[:8] if dtype.names else dtype.str
        if len(_KNOWN) >= _MANY:
            _KNOWN.clear()
        found = _KNOWN[id(dtype)] = (dtype, name)  # held, so that no identity is used twice
    return found[1]


_SEEN: dict[int, tuple[tuple, tuple, list]] = {}
_MOST_SEEN = 16  # as many bodies may be held by it after their time


def _seen(value: tuple) -> tuple[tuple, tuple, list]:
    """A named tuple, its kind, and what is handed over of it: worked out once for the very
    object, whose arrays stay where they are. It is held, so that no identity is used twice."""
    found = _SEEN.get(id(value))
    if found is None:
        kinds = [kind(one) for one in value]
        handed: list = []
        for one in value:
            _hand(one, handed)
        slots = zip(_slots(kinds), handed, strict=True)
        handed = [one if isinstance(one, slot) else slot(one) for slot, one in slots]
        if len(_SEEN) >= _MOST_SEEN:
            _SEEN.clear()
        found = _SEEN[id(value)] = value, (type(value).__name__, *kinds), handed
    return found


def kind(value):
    """What must be equal for one machine code to serve."""
    if isinstance(value, np.ndarray):
        return _item(value.dtype), value.ndim, value.flags.c_contiguous
    if isinstance(value, float):
        return "d"
    if type(value) is tuple:
        return ("tuple", *[kind(one) for one in value])
    if isinstance(value, tuple):
        return _seen(value)[1]
    if isinstance(value, (bool, np.bool_)):
        return "?"
    if isinstance(value, (int, np.integer)):
        return "q"
    if isinstance(value, np.void):
        return "record", _item(value.dtype)
    raise TypeError(f"{type(value).__name__} is nothing that a kernel takes")


def _place(array: np.ndarray) -> int:
    """Where its items are. numpy's own way takes five times as long, but for records, and serves
    what is read only, strided or empty."""
    if array.dtype.kind != "V":
        try:
            return ctypes.addressof(ctypes.c_char.from_buffer(array))
        except (TypeError, ValueError):
            pass
    return array.ctypes.data


def _hand(value, into: list) -> None:
    """An argument as numba's own calls hand it over: an array as owner, parent, items, bytes of
    each, place, shape and strides; a tuple item by item; a record by its place."""
    if isinstance(value, np.ndarray):
        into += (None, None, value.size, value.itemsize, _place(value))
        into += value.shape
        into += value.strides
    elif type(value) is tuple:
        for one in value:
            _hand(one, into)
    elif isinstance(value, tuple):
        into += _seen(value)[2]
    elif isinstance(value, np.void):
        into.append(np.asarray(value).ctypes.data)  # of the record itself: no copy
    elif isinstance(value, np.bool_):
        into.append(bool(value))
    else:
        into.append(value)


def _slots(kinds) -> list:
    """The types of what `_hand` gives."""
    found = []
    for one in kinds:
        if one in NUMBERS:
            found.append(NUMBERS[one])
        elif one[0] == "record":
            found.append(ctypes.c_void_p)
        elif isinstance(one[-1], bool):
            found += [ctypes.c_void_p] * 2 + [ctypes.c_int64] * 2 + [ctypes.c_void_p]
            found += [ctypes.c_int64] * (2 * one[1])
        else:
            found += _slots(one[1:])
    return found


def call_of(address: int, returns: str, example: tuple) -> Callable:
    """A call of the code at an address, by numba's convention: a status; what is returned and
    word of what failed by their places; then the arguments."""
    slots = _slots([kind(one) for one in example])
    prototype = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p, *slots)
    code, failed = prototype(address), ctypes.byref(_FAILED)
    letters = returns.lstrip("(")
    fields = [(f"n{n}", NUMBERS[letter]) for n, letter in enumerate(letters)]
    answer = type("Answer", (ctypes.Structure,), {"_fields_": fields or [("n", ctypes.c_void_p)]})
    names = [name for name, _ in fields]
    flags = [letter == "?" for letter in letters]

    def call(arguments):
        found = answer()
        given: list = []
        for one in arguments:
            _hand(one, given)
        if code(ctypes.byref(found), failed, *given):
            raise ArithmeticError("a kernel failed")
        if not names:
            return None
        values = [getattr(found, name) for name in names]
        values = [bool(v) if flag else v for v, flag in zip(values, flags, strict=True)]
        return tuple(values) if returns[0] == "(" else values[0]

    return call
