"""What Python hands to machine code: kinds of arguments, and a call by numba's convention."""

from __future__ import annotations

import ctypes
import hashlib
from collections.abc import Callable

import numpy as np

NUMBERS = {"d": ctypes.c_double, "q": ctypes.c_int64, "?": ctypes.c_uint8}
_FAILED = ctypes.c_void_p()  # where a kernel that fails leaves word; none does
_KNOWN: dict[int, tuple[np.dtype, str]] = {}  # types of items by identity: a record's is long


def _item(dtype: np.dtype) -> str:
    """A short name for a type of items, the same in every process."""
    found = _KNOWN.get(id(dtype))
    if found is None:
        text = repr(dtype.descr if dtype.names else dtype.str)
        name = hashlib.sha256(text.encode()).hexdigest()[:8] if dtype.names else dtype.str
        found = _KNOWN[id(dtype)] = (dtype, name)  # held, so that no identity is used twice
    return found[1]


def kind(value):
    """What must be equal for one machine code to serve."""
    if isinstance(value, np.ndarray):
        return _item(value.dtype), value.ndim, value.flags.c_contiguous
    if isinstance(value, float):
        return "d"
    if isinstance(value, tuple):
        return (type(value).__name__, *[kind(one) for one in value])
    if isinstance(value, (bool, np.bool_)):
        return "?"
    if isinstance(value, (int, np.integer)):
        return "q"
    if isinstance(value, np.void):
        return "record", _item(value.dtype)
    raise TypeError(f"{type(value).__name__} is nothing that a kernel takes")


def _handed(values, into: list) -> None:
    """Arguments as numba's own calls hand them over: arrays as owner, parent, items, bytes of
    each, place, shape and strides; tuples item by item; records by their place."""
    for value in values:
        if isinstance(value, np.ndarray):
            into += (None, None, value.size, value.itemsize, value.ctypes.data)
            into += value.shape
            into += value.strides
        elif isinstance(value, tuple):
            _handed(value, into)
        elif isinstance(value, np.void):
            into.append(np.asarray(value).ctypes.data)  # of the record itself: no copy
        elif isinstance(value, np.bool_):
            into.append(bool(value))
        else:
            into.append(value)


def _slots(kinds) -> list:
    """The types of what `_handed` gives."""
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
        _handed(arguments, given)
        if code(ctypes.byref(found), failed, *given):
            raise ArithmeticError("a kernel failed")
        if not names:
            return None
        values = [getattr(found, name) for name in names]
        values = [bool(v) if flag else v for v, flag in zip(values, flags, strict=True)]
        return tuple(values) if returns[0] == "(" else values[0]

    return call
