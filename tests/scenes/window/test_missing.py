"""Libraries of the system that are not there: a sentence that names the package, and no more."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

HIDDEN = """
import sys
import pyglet.lib
real = pyglet.lib.loader.load_library
def load(*names, **more):
    if names and names[0] == sys.argv[1]:
        raise ImportError(f'Library "{names[0]}" not found.')
    return real(*names, **more)
pyglet.lib.loader.load_library = pyglet.lib.load_library = load
from firstthrow.scenes.commands.showing.sight import display_problem, no_window
problem = display_problem()
print(no_window(problem) if problem else "none")
"""


@pytest.mark.window
@pytest.mark.parametrize(
    ("library", "package"),
    [
        ("X11", "libx11-6"),
        ("GL", "libgl1"),
        ("fontconfig", "libfontconfig1"),
        ("Xrender", "libxrender1"),
        ("freetype", "libfreetype6"),
    ],
)
def test_a_library_that_is_not_there(display, library, package):
    done = subprocess.run(
        [sys.executable, "-c", HIDDEN, library],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "DISPLAY": display},
    )
    assert done.stdout == (
        f"No window can be opened (the library lib{library} is missing; "
        f"on Debian: sudo apt-get install {package})\n"
    )


@pytest.mark.window
def test_a_machine_with_all_of_them(display):
    done = subprocess.run(
        [sys.executable, "-c", HIDDEN, "nothing"],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "DISPLAY": display},
    )
    assert done.stdout == "none\n"
