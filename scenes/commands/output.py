"""Files that commands write: names checked before anything is worked out, none written over
without --force."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import TextIO

from firstthrow.sim.describe.replace import to_write

DRAWINGS = (".png", ".pdf", ".svg")
TABLES = (".csv",)


def add_force(command: argparse.ArgumentParser) -> None:
    command.add_argument("--force", action="store_true", help="write over a file that is there")


def problems(option: str, name: str | None, suffixes: tuple[str, ...], force: bool) -> list[str]:
    """Why a file cannot be written under this name, if it cannot: none for no name."""
    if not name:
        return [] if name is None else [f"{option}: wanted a file's name"]
    path = Path(name)
    if path.suffix.lower() not in suffixes:
        wanted = " or ".join(filter(None, (", ".join(suffixes[:-1]), suffixes[-1])))
        return [f"{option} {name}: wanted a name that ends in {wanted}"]
    return [f"{option} {problem}" for problem in taken(path, force)]


def taken(path: Path, force: bool) -> list[str]:
    """Why the path is not free, if it is not; a link to nowhere is not, either."""
    if path.is_dir():
        return [f"{path}: is a folder"]
    if os.path.lexists(path) and not force:
        return [f"{path}: is there already; --force writes over it"]
    return []


def check(
    chosen: argparse.Namespace, option: str = "--plot", suffixes: tuple[str, ...] = DRAWINGS
) -> None:
    """Of the file that an option names. Raises ConfigError."""
    from firstthrow.sim.describe.config import ConfigError

    name = getattr(chosen, option.lstrip("-"))
    found = problems(option, name, suffixes, chosen.force)
    if found:
        raise ConfigError(found)


def make_room(name: str | None) -> None:
    """The folder of a file to be written. Raises OSError."""
    if name:
        Path(name).parent.mkdir(parents=True, exist_ok=True)


def opened(name: str | Path, force: bool) -> TextIO:
    """A text file to write, with its folder; FileExistsError when another program was first."""
    make_room(str(name))
    return to_write(name, "w" if force else "x", "utf-8", "")
