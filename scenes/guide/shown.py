"""What the guide shows: commands with what they printed, drawings and pictures they wrote."""

from __future__ import annotations

import contextlib
import io
import shlex
from collections.abc import Callable, Sequence
from pathlib import Path

from firstthrow.sim.paper.html import framed as in_frame
from firstthrow.sim.paper.html import photograph, preformatted, svg

Main = Callable[[Sequence[str]], int]  # the command line: words in, exit code out
DONE, NO_GO = 0, 3


class NotShown(Exception):
    """A command of the guide failed; says which, and what it said."""


def ran(main: Main, line: str) -> str:
    """What a command prints, run here and now. Raises NotShown unless it answers."""
    out, errors = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
        code = main(shlex.split(line)[1:])
    if code not in (DONE, NO_GO):
        raise NotShown(f"{line}: {errors.getvalue().strip()}")
    return out.getvalue()


def command(main: Main, line: str, most: int = 40) -> str:
    """The command as typed and what it printed, as HTML; of a long answer the first lines."""
    lines = ran(main, line).rstrip().splitlines()
    if len(lines) > most:
        lines = [*lines[:most], "..."]
    return preformatted("\n".join([f"$ {line}", *lines]))


def drawing(path: Path, words: str, caption: str, side: bool = False) -> str:
    """An SVG file that a command wrote, inline."""
    return in_frame(svg(path.read_text(encoding="utf-8"), words), caption, side)


def picture(path: Path, words: str, caption: str, side: bool = False) -> str:
    """A PNG file that a command wrote, inline, as JPEG: a scene of grass is smaller so."""
    from PIL import Image

    held = io.BytesIO()
    with Image.open(path) as image:
        image.convert("RGB").save(held, "JPEG", quality=82)
    return photograph(held.getvalue(), "jpeg", words, caption, side)
