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
    """What goes wrong with writing this file names it, and no other that is moved over it
    (".part" is in its name). What is wrong with another, such as a font, names that."""
    try:
        yield
    except OSError as error:
        if not error.filename or ".part" in Path(str(error.filename)).suffixes:
            error.filename = str(path)
            del error.filename2
        raise


class _Named(io.FileIO):
    def write(self, content) -> int:
        with naming(str(self.name)):
            return super().write(content)


def to_write(path: Path | str, mode: str, encoding: str, newline: str) -> io.TextIOWrapper:
    """A text file: new ("x"), written over ("w"), or gone on with ("a"); its errors name it."""
    raw = _Named(path, mode)
    return io.TextIOWrapper(io.BufferedWriter(raw), encoding=encoding, newline=newline)


def new(path: Path, content: bytes) -> None:
    """A new file, all of it or none: what has no room does not stay there cut short. Raises OSError
    that names it, FileExistsError where there is one already."""
    with naming(path):
        file = path.open("xb")
        try:
            with file:
                file.write(content)
        except OSError:
            path.unlink(missing_ok=True)
            raise


def trouble(error: Exception, in_short: bool = False) -> str:
    """In words, with the file it was about where it was about one; in short, without its folder."""
    if not isinstance(error, OSError):
        return str(error)
    told = error.strerror or " ".join(map(str, error.args))  # some libraries give words alone
    if not error.filename:
        return told
    return f"{Path(error.filename).name if in_short else error.filename}: {told}"


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
