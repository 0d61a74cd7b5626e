"""What the reports cost: processor seconds of a whole command, its kernels compiled already."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

from benchmarks.ready import Line

ASKED = {  # [s]
    "trim": 0.5,
    "power": 0.6,
    "weigh": 0.7,
    "check": 2.0,
    "benchsheet": 2.5,
    "debrief": 2.5,
}
WRITES_NONE = "PYTHONDONTWRITEBYTECODE"  # whose sources are then compiled in every process
TURNS = 3  # the least of so many counts: others on the machine only ever add


def _used(words: list[str], folder: str) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        [sys.executable, "-m", "firstthrow.scenes.commands.cli", *words],
        cwd=folder,
        env={name: value for name, value in os.environ.items() if name != WRITES_NONE}
        | {"PYTHONPYCACHEPREFIX": str(Path(folder) / "bytecode")},
        capture_output=True,
        check=False,  # a no-go is an answer
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def commands() -> list[Line]:
    """Every report of the shipped slab, and the debrief of a flight of it."""
    with tempfile.TemporaryDirectory() as folder:
        flight, sheet = str(Path(folder) / "flight.csv"), str(Path(folder) / "sheet.pdf")
        _used(["fly", "pantry", "--no-window", "--seconds", "8", "--record", flight], folder)
        words = {name: [name, "pantry"] for name in ASKED}
        words["debrief"] = ["debrief", flight]
        words["benchsheet"] += ["--out", sheet, "--force"]
        taken: dict[str, list[float]] = {name: [] for name in ASKED}
        for _ in range(1 + TURNS):  # the first compiles
            for name, said in words.items():
                taken[name].append(_used(said, folder))
    best = {name: min(times[1:]) for name, times in taken.items()}
    return [
        Line(f"firstthrow {name}", f"{best[name]:.2f} s of CPU", f"< {asked} s", best[name] < asked)
        for name, asked in ASKED.items()
    ]
