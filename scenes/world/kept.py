"""What a picture is made of, kept between runs: plain numbers, checked when they are read.

They lie beside the compiled code (see `sim.kernels.machine.kept`) under the name of what they are
and a hash of what they were made from: their key, the sources of this folder, and numpy's version.
Nothing of a file is ever run. Where none can be kept, or one is not whole, they are made anew.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from firstthrow.sim.kernels.compiled import CACHE
from firstthrow.sim.kernels.machine.kept import put, whole

MOST = 12  # of one name; the oldest go
DAMAGED = "A picture kept here is damaged: making it anew."
Made = TypeVar("Made")


@functools.cache
def _sources() -> bytes:
    digest = hashlib.sha256(np.__version__.encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    if getattr(sys, "frozen", False):  # the folder without Python: one file holds all sources
        told = Path(sys.executable).stat()
        digest.update(f"{told.st_size} {told.st_mtime_ns}".encode())
    return digest.digest()


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
    content = whole(_path(CACHE, name, key), DAMAGED) if CACHE is not None else None
    return unpacked(content, *kinds) if content is not None else None


def keep(name: str, key: tuple, made: object) -> None:
    """For the next time, where there is a folder for it and room."""
    if CACHE is None:
        return
    with contextlib.suppress(OSError):
        put(_path(CACHE, name, key), packed(made))
        found = sorted(CACHE.glob(f"{name}-*.scene"), key=lambda path: path.stat().st_mtime)
        for path in found[:-MOST]:
            path.unlink(missing_ok=True)


def _path(folder: Path, name: str, key: tuple) -> Path:
    told = hashlib.sha256(_sources() + repr(key).encode()).hexdigest()[:16]
    return folder / f"{name}-{told}.scene"


def packed(made: object) -> bytes:
    """A line of JSON that says what is where, and the bytes of all arrays one after the other."""
    arrays: list[bytes] = []
    head = json.dumps(_told(made, arrays, [0]))
    return head.encode() + b"\n" + b"".join(arrays)


def _told(made: Any, arrays: list[bytes], at: list[int]) -> Any:
    """As JSON has it: an array as a mapping, a tuple as a list that begins with its kind."""
    if isinstance(made, np.ndarray):
        data = np.ascontiguousarray(made).tobytes()
        arrays.append(data)
        start, at[0] = at[0], at[0] + len(data)
        return {"kind": made.dtype.str, "shape": made.shape, "at": start}
    if isinstance(made, tuple):
        name = type(made).__name__ if hasattr(made, "_fields") else ""
        return [name, *(_told(one, arrays, at) for one in made)]
    return made.item() if isinstance(made, np.generic) else made


def unpacked(content: bytes, *kinds: type) -> Any:
    """What was `packed`, named tuples being of these `kinds`."""
    known = {kind.__name__: kind for kind in kinds}
    end = content.index(b"\n")
    return _made(json.loads(content[:end]), content, end + 1, known)


def _made(told: Any, content: bytes, start: int, known: dict[str, type]) -> Any:
    if isinstance(told, dict):
        kind, shape = np.dtype(told["kind"]), told["shape"]
        flat = np.frombuffer(content, kind, int(np.prod(shape)), start + told["at"])
        return flat.reshape(shape)
    if isinstance(told, list):
        name, *rest = told
        parts = tuple(_made(one, content, start, known) for one in rest)
        return known[name](*parts) if name else parts
    return told
