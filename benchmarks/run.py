"""Every measurement in one run: python benchmarks/run.py [--full]

Prints one table. Times are medians of runs taken in turns, so that ratios hold on a machine
that does other things as well; single times do not, and the load is printed.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
from collections.abc import Callable
from importlib import metadata
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
os.environ["NUMBA_NRT_STATS"] = "1"  # counts what compiled code allocates; read at its import

from benchmarks import commands, peak, peers, speed, start
from benchmarks.ready import Line, cruise


def main() -> int:
    """0 when every target is met, else 1."""
    parser = argparse.ArgumentParser(description="Measure the speed of Firstthrow.")
    parser.add_argument("--full", action="store_true", help="up to 100,000 flights: minutes")
    full = parser.parse_args().full
    print(_machine())
    sizes = (100, 1000, 10_000, 100_000) if full else (100, 1000, 4000)
    missed = 0
    at = cruise()
    step, line = speed.step_time(at)
    works: list[Callable[[], list[Line]]] = [
        lambda: [line],
        lambda: speed.live_frame(at),
        lambda: [speed.compiler_off(step)],
        lambda: peers.rigid_body_engine(at),
        lambda: peers.adaptive(at),
        speed.elements,
        lambda: speed.small_parts(at),
        lambda: speed.flights(at, sizes),
        start.start,
        commands.commands,
        lambda: peak.share(step),
    ]
    for work in works:
        for one in work():
            met = {True: "met", False: "MISSED", None: ""}[one.met]
            print(f"{one.what:<38} {one.value:<44} {one.target:<10} {met}".rstrip(), flush=True)
            missed += one.met is False
    print(_load())
    return 1 if missed else 0


def _machine() -> str:
    names = ("numpy", "scipy", "numba", "mujoco")
    versions = []
    for name in names:
        try:
            versions.append(f"{name} {metadata.version(name)}")
        except metadata.PackageNotFoundError:
            versions.append(f"{name} not installed")
    cores = os.cpu_count()
    return f"Python {platform.python_version()}, {', '.join(versions)}; {cores} cores; {_load()}"


def _load() -> str:
    if not hasattr(os, "getloadavg"):
        return "load unknown"
    return "load {:.1f} {:.1f} {:.1f}".format(*os.getloadavg())


if __name__ == "__main__":
    sys.exit(main())
