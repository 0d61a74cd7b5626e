"""The window that `firstthrow fly` opens: before all else, where it is known what is to be seen.

The look of the last starts is kept with all that it came from: the options, the files that they
name, and the sources that worked it out. A start to which all of that applies has its picture at
once, and reads its files after it: they are what they were when they were found to be right.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from firstthrow import configs
from firstthrow.scenes.commands.shared import say
from firstthrow.scenes.window.held_back import held_back

if TYPE_CHECKING:
    from firstthrow.scenes.window.early import Early
    from firstthrow.scenes.window.look import Look

# With any of these there is more that can be refused, or somebody else to be shown.
ELSE = ("fault", "no_window", "pilot", "practice", "record", "scatter", "tracing")
# What a look is worked out by; what draws it is told apart by `world.kept`.
SOURCES = (
    "sim",
    "sim/describe",
    "sim/build",
    "sim/flight",
    "scenes/flight",
    "scenes/hands",
    "scenes/window",
    "scenes/commands",
    "scenes/commands/showing",
)


def key_of(chosen: argparse.Namespace) -> tuple | None:
    """What the look of these options comes from; None where it is not known before it is read."""
    if any(getattr(chosen, name) for name in ELSE):
        return None
    from firstthrow.scenes.hands.own_folder import window_file

    files = [window_file()]
    named = (("airframes", chosen.airframe), ("fields", chosen.field), ("hands", chosen.hands))
    for kind, name in named:  # wherever `config.find` may find it
        folders = Path("configs"), Path(configs.__file__).parent
        files += [Path(name), *(folder / kind / f"{name}.toml" for folder in folders)]
    options = sorted(
        (name, repr(value)) for name, value in vars(chosen).items() if name != "command"
    )
    root = Path(__file__).parents[3]
    sources = [path for folder in SOURCES for path in sorted((root / folder).glob("*.py"))]
    stamps = [(path.name, path.stat().st_size, path.stat().st_mtime_ns) for path in sources]
    return ([_digest(path) for path in files], options, stamps)


def _digest(path: Path) -> str:
    """Of what a file holds; of none where there is no such file."""
    import hashlib

    try:  # a pipe has no end that one could read to
        return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
    except (OSError, ValueError):
        return ""


def seen_before(key: tuple | None) -> Early | None:
    """A look that was kept, shown already; None without any."""
    if key is None:
        return None
    from firstthrow.scenes.window.aside import Aside

    with held_back():
        reading = Aside(lambda: _kept(key))
        problem = _no_display() or _tried(_load_driver)
        look = reading.given()
    return _shown(look)[0] if look and not problem else None


def _kept(key: tuple) -> Look | None:
    """The look that was kept, and what its picture is made of brought in."""
    from firstthrow.scenes.window.look import KINDS, Look, kept_parts
    from firstthrow.scenes.world.kept import ahead, at_hand

    look = at_hand("look", key, *KINDS)
    if not isinstance(look, Look):
        return None
    for name, parts in kept_parts(look):
        ahead(name, parts)
    return look


def _load_driver() -> None:
    """pyglet's own unseen window, with which the driver comes."""
    import pyglet.window  # noqa: F401


def first_sight(
    chosen: argparse.Namespace, key: tuple | None, airframe, field, looks
) -> tuple[bool, Early | None]:
    """Whether there is a window, or else why there is none is said; and the same of what is
    described, its look being kept. None where nothing can be kept: then the physics has to be
    compiled first, and a window would stand still for as long."""
    if chosen.no_window:
        return False, None
    from firstthrow.scenes.window.look import looked
    from firstthrow.scenes.world.kept import CACHE, keep

    if CACHE is None:
        early, problem = None, display_problem()
    else:
        look = looked(airframe, field, chosen.launch, looks)
        if key is not None:
            keep("look", key, look)
        early, problem = _shown(look)
    if problem:
        who = "the steady pilot" if chosen.pilot in (None, "thumbs") else f"'{chosen.pilot}'"
        say(f"{no_window(problem)}: {who} flies without a window.")
    return not problem, early


def _shown(look: Look) -> tuple[Early | None, str]:
    """A look in its window, or None and why there is none."""
    problem = _no_display()
    if problem:
        return None, problem
    from firstthrow.scenes.window.early import Early
    from firstthrow.scenes.window.opening import open_window

    opened: list = []
    with contextlib.ExitStack() as undone:
        with held_back():
            problem = _tried(lambda: opened.append(open_window()))
            if problem:
                return None, problem
            undone.callback(opened[0].close)
        early = Early(look, opened[0])
        problem = _tried(_find_letters)
        if problem:
            return None, problem
        undone.pop_all()
    return early, ""


def no_window(problem: str) -> str:
    """Why there will be no window, for the head of a sentence."""
    what = "No window can be opened" if "missing" in problem else "There is no display"
    return f"{what} ({problem})"


def display_problem() -> str:
    """Why no window with OpenGL 3.3 can be opened, found by opening one unseen; empty if it can."""
    return _no_display() or _tried(_open_unseen) or _tried(_find_letters)


def _no_display() -> str:
    display = os.environ.get("DISPLAY")
    if sys.platform.startswith("linux") and not display:
        return "DISPLAY is not set"
    from firstthrow.scenes.window.missing import missing

    try:
        from pyglet.display import get_display

        get_display()
    except Exception as error:
        lost = missing(error)
        if lost:
            return lost
        return f"nothing answers at {display}" if display else "the system offers none"
    return ""


def _tried(step: Callable[[], object]) -> str:
    """Why a step fails that needs the system's libraries; empty if it does not."""
    from firstthrow.scenes.window.missing import missing

    try:
        step()
    except Exception as error:  # each system and driver has its own
        return missing(error) or f"no OpenGL 3.3: {str(error).strip() or type(error).__name__}"
    return ""


def _open_unseen() -> None:
    import pyglet

    from firstthrow.scenes.window.opening import needed

    pyglet.window.Window(16, 16, visible=False, config=needed()).close()


def _find_letters() -> None:
    """What words need, and pyglet looks for with the first of them."""
    if sys.platform.startswith("linux"):
        from pyglet.font.fontconfig import get_fontconfig

        get_fontconfig()
