"""A file's text replaced as a whole, so that no reader ever meets half of it."""

from __future__ import annotations

import os
import time
from pathlib import Path

TRIES = 20  # where a reader locks the file
PAUSE = 0.05  # [s]


def replace(path: Path, text: str, mode: int = 0o666) -> None:
    """Writes the text beside the file and moves it over; through a link, to what it leads to.
    mode: who may read it, where the system knows such a thing.

    Where whoever reads a file locks it, it is tried for a second. Raises OSError, and leaves the
    file as it was, with the new text beside it when only the move failed.
    """
    path = Path(os.path.realpath(path))
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
