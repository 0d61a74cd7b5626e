"""Plain numbers kept between runs beside the compiled code, checked when they are read.

A file is named by what it is and a hash of what it was made from. Nothing of it is ever run:
arrays, numbers and words, in tuples and named tuples. Who keeps something says which sources it
hangs on (`sources`), so that an edit of any of them starts anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from firstthrow.sim.kernels.machine.kept import put, whole

WORD = 8  # bytes: numbers in machine code's reach lie on whole words


def sources(folders: Iterable[Path]) -> bytes:
    """A hash of all Python files in these folders, and of numpy's version."""
    digest = hashlib.sha256(np.__version__.encode())
    for folder in folders:
        for path in sorted(folder.glob("*.py")):
            digest.update(path.read_bytes())
    if getattr(sys, "frozen", False):  # the folder without Python: one file holds all sources
        told = Path(sys.executable).stat()
        digest.update(f"{told.st_size} {told.st_mtime_ns}".encode())
    return digest.digest()


def place(folder: Path, name: str, made_from: bytes, key: tuple, ending: str) -> Path:
    """Where it is kept what is made of a `key` of numbers and words by some sources."""
    told = hashlib.sha256(made_from + repr(key).encode()).hexdigest()[:16]
    return folder / f"{name}-{told}.{ending}"


def at_hand(path: Path, damaged: str, *kinds: type) -> Any:
    """What is kept there, named tuples being of these `kinds`; None where nothing whole is, and
    if it is not whole, that is said. What is asked for again is no longer among the oldest."""
    content = whole(path, damaged)
    if content is None:
        return None
    with contextlib.suppress(OSError):
        os.utime(path)
    return unpacked(content, *kinds)


def keep(path: Path, made: object, most: int) -> None:
    """For the next time, where there is room for it; of more than so many of a name the oldest
    go."""
    with contextlib.suppress(OSError):
        put(path, packed(made))
        alike = path.parent.glob(f"{path.name.rpartition('-')[0]}-*{path.suffix}")
        for old in sorted(alike, key=lambda one: one.stat().st_mtime)[:-most]:
            old.unlink(missing_ok=True)


def packed(made: object) -> bytes:
    """A line of JSON that says what is where, and the bytes of all arrays one after the other,
    each on a whole word."""
    arrays: list[bytes] = []
    head = json.dumps(_told(made, arrays, [0])).encode()
    return head + b" " * (-len(head) - 1 & WORD - 1) + b"\n" + b"".join(arrays)


def _told(made: Any, arrays: list[bytes], at: list[int]) -> Any:
    """As JSON has it: an array as a mapping, a tuple as a list that begins with its kind."""
    if isinstance(made, np.ndarray):
        data = np.ascontiguousarray(made).tobytes()
        arrays.append(data + bytes(-len(data) & WORD - 1))
        start, at[0] = at[0], at[0] + len(arrays[-1])
        return {"kind": made.dtype.str, "shape": made.shape, "at": start}
    if isinstance(made, tuple):
        name = type(made).__name__ if hasattr(made, "_fields") else ""
        return [name, *(_told(one, arrays, at) for one in made)]
    return made.item() if isinstance(made, np.generic) else made


def unpacked(content: bytes, *kinds: type) -> Any:
    """What was `packed`, named tuples being of these `kinds`. Its arrays are not to be written
    to."""
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
