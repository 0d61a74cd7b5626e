"""A file's text replaced as a whole, so that no reader ever meets half of it.

What cannot be written is named: a full disk names no file by itself.
"""

from __future__ import annotations

import io
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

TRIES = 20  # where a reader locks the file
PAUSE = 0.05  # [s]


@contextmanager
def naming(path: Path | str) -> Iterator[None]:
    """What goes wrong with writing this file names it, and no other that is moved over it."""
    try:
        yield
    except OSError as error:
        error.filename = str(path)
        raise


class _Named(io.FileIO):
    def write(self, content) -> int:
        with naming(str(self.name)):
            return super().write(content)


def to_write(path: Path | str, over: bool, encoding: str, newline: str) -> io.TextIOWrapper:
    """A new text file, or with `over` whatever is there written over; its errors name it."""
    raw = _Named(path, "w" if over else "x")
    return io.TextIOWrapper(io.BufferedWriter(raw), encoding=encoding, newline=newline)


def trouble(error: Exception) -> str:
    """In words, with the file it was about where it was about one."""
    place = f"{error.filename}: " if isinstance(error, OSError) and error.filename else ""
    return f"{place}{getattr(error, 'strerror', None) or error}"


def replace(path: Path, text: str, mode: int = 0o666) -> None:
    """Writes the text beside the file and moves it over; through a link, to what it leads to.
    mode: who may read it, where the system knows such a thing.

    Where whoever reads a file locks it, it is tried for a second. Raises OSError, and leaves the
    file as it was, with the new text beside it when only the move failed.
    """
    path = Path(os.path.realpath(path))
    with naming(path):
        _replace(path, text, mode)


def _replace(path: Path, text: str, mode: int) -> None:
    beside = path.with_name(f"{path.name}.part")
    beside.unlink(missing_ok=True)
    number = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    try:
        with open(number, "wb") as file:
            file.write(text.encode("utf-8"))
    except OSError:  # such as a full disk
        beside.unlink(missing_ok=True)
        raise
    for last in range(TRIES, 0, -1):
        try:
            os.replace(beside, path)
            return
        except PermissionError:
            if last == 1:
                raise
            time.sleep(PAUSE)
