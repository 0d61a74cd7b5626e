"""From the command to the first flown step, to the first picture, and to the help."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time

from benchmarks.ready import Line

FIRST = """
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.pilot import hands_off
airframe = load_airframe(find("airframes", "pantry"))
fly(airframe, load_field(find("fields", "water-meadow")), hands_off(0.5), 0.05)
"""

# as far as to the picture that is drawn before the rest of the program is loaded
PICTURE = """
import os
from pyglet import gl
from pyglet.window import Window
def end(window):
    gl.glFinish()
    os._exit(0)
Window.flip = end
from firstthrow.scenes.commands.cli import main
main(["fly", "pantry"])
"""


def _taken(words: list[str], cache: str) -> float:
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, *words],
        env=os.environ | {"FIRSTTHROW_CACHE": cache},
        capture_output=True,
        check=True,
    )
    return time.perf_counter() - start


def start() -> list[Line]:
    with tempfile.TemporaryDirectory() as cache:
        cold = _taken(["-c", FIRST], cache)
        cached = sorted(_taken(["-c", FIRST], cache) for _ in range(5))[2]
        drawn = _pictures(cache)
        told = sorted(
            _taken(["-m", "firstthrow.scenes.commands.cli", "--help"], cache) for _ in range(5)
        )[2]
    return [
        Line("first flight, compiling", f"{cold:.1f} s", "< 6 s", cold < 6.0),
        Line("first flight, cached", f"{cached:.2f} s", "< 1 s", cached < 1.0),
        *drawn,
        Line("firstthrow --help", f"{told:.2f} s", "< 0.3 s", told < 0.3),
    ]


def _pictures(cache: str) -> list[Line]:
    """With a display only: while nothing of the picture is kept, and when it is."""
    if not os.environ.get("DISPLAY"):
        return []
    first = _taken(["-c", PICTURE], cache)
    kept = sorted(_taken(["-c", PICTURE], cache) for _ in range(5))[2]
    return [
        Line("first picture, made", f"{first:.1f} s", "", None),
        Line("first picture, kept", f"{kept:.2f} s", "< 0.8 s", kept < 0.8),
    ]
