"""From the command to the first flown step: compiling, cached, and the help."""

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
        told = sorted(
            _taken(["-m", "firstthrow.scenes.commands.cli", "--help"], cache) for _ in range(5)
        )[2]
    return [
        Line("first flight, compiling", f"{cold:.1f} s", "< 6 s", cold < 6.0),
        Line("first flight, cached", f"{cached:.2f} s", "< 1 s", cached < 1.0),
        Line("firstthrow --help", f"{told:.2f} s", "< 0.3 s", told < 0.3),
    ]
