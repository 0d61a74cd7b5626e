"""What a picture is made of, kept between runs: plain numbers, checked when they are read.

They lie beside the compiled code (see `sim.kernels.machine.numbers`) under the name of what they
are and a hash of what they were made from: their key, the sources of this folder, and numpy's
version. Where none can be kept, or one is not whole, they are made anew.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from firstthrow.sim.kernels.compiled import CACHE
from firstthrow.sim.kernels.machine import numbers
from firstthrow.sim.kernels.machine.kept import whole

MOST = 12  # of one name; the oldest go
DAMAGED = "A picture kept here is damaged: making it anew."
Made = TypeVar("Made")
_AHEAD: dict[Path, bytes] = {}  # what was read before it was asked for


@functools.cache
def _sources() -> bytes:
    return numbers.sources([Path(__file__).parent])


def kept(name: str, key: tuple, make: Callable[[], Made], *kinds: type) -> Made:
    """What was kept of a name for a `key` of numbers and words, or else what `make` makes, to be
    kept: arrays, numbers and words, in tuples and in named tuples of these `kinds`. Its arrays are
    not to be written to."""
    found = at_hand(name, key, *kinds)
    if found is None:
        found = make()
        keep(name, key, found)
    return found


def at_hand(name: str, key: tuple, *kinds: type) -> Any:
    """The same, or None where nothing is kept."""
    if CACHE is None:
        return None
    path = _path(CACHE, name, key)
    read = _AHEAD.pop(path, None)
    return numbers.unpacked(read, *kinds) if read else numbers.at_hand(path, DAMAGED, *kinds)


def ahead(name: str, key: tuple) -> None:
    """Reads and checks what is kept before it is asked for: the longest part of it, which goes
    beside other work."""
    if CACHE is not None:
        path = _path(CACHE, name, key)
        content = whole(path, DAMAGED)
        if content is not None:
            _AHEAD[path] = content


def keep(name: str, key: tuple, made: object) -> None:
    """For the next time, where there is a folder for it and room."""
    if CACHE is not None:
        numbers.keep(_path(CACHE, name, key), made, MOST)


def _path(folder: Path, name: str, key: tuple) -> Path:
    return numbers.place(folder, name, _sources(), key, "scene")
