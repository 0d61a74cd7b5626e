"""Times of the window's frames with everything shown: python benchmarks/frames.py [seconds]

`--bench` opens the bench; `--parts` tells what a picture costs with each part left out in turn.
Without a screen it draws through EGL, which has no vertical blank to wait for: the loop's own
pace is measured. Asked: 95 % of the frames within 1.5 times the median on an idle machine.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from contextlib import ExitStack
from pathlib import Path
from unittest.mock import patch

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

os.environ.setdefault("PYGLET_DEBUG_GL", "0")  # as the program has it

import pyglet
from pyglet import gl

if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
    pyglet.options.headless = True

SETTLE = 2.0  # [s] at the start that do not count: shaders, caches, first text
WITHIN, SHARE = 1.5, 0.95


def opened():
    """The window of a second flight, the first one its tracing."""
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.flight.settings import Settings
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import App
    from firstthrow.sim.describe.config import find, load_airframe, load_field
    from firstthrow.sim.flight.scripted_pilot import Steady

    airframe = load_airframe(find("airframes", "pantry"))
    rehearsal = Rehearsal(airframe, load_field(find("fields", "water-meadow-breeze")), Steady())
    app = App(rehearsal, load_hands("keyboard"), settings=Settings(mute=True))
    for _ in range(150):  # a flight to be the tracing
        app.frame(1.0 / 60.0)
    app.act("again")
    app.act("tracing")
    return app


def measure(seconds: float, bench: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray, str]:
    """Seconds from frame to frame, of work in each, of processor in each; and who draws."""
    from firstthrow.scenes.flight.clock import next_due
    from firstthrow.scenes.window.opening import look_often

    app = opened()
    rehearsal = app.rehearsal
    if bench:
        app.act("bench")
    starts, works, processor = [], [], []
    look_often()
    before = due = time.perf_counter()
    end = before + SETTLE + seconds
    try:
        while before < end and not rehearsal.over:  # as App.loop does, with the times kept
            start, used = time.perf_counter(), time.process_time()
            app.frame(start - before)
            before, now = start, time.perf_counter()
            starts.append(start)
            works.append(now - start)
            processor.append(time.process_time() - used)
            due = next_due(due, now, app.least_frame)
            time.sleep(max(0.0, due - now))
    finally:
        app.close()
    keep = np.array(starts) > starts[0] + SETTLE
    gaps = np.diff(np.array(starts)[keep])
    return gaps, np.array(works)[keep], np.array(processor)[keep], app.renderer


def parts(rounds: int, each: int = 6) -> dict[str, tuple[float, float]]:
    """[s] of processor of one standing picture with a part left out: in all threads, and in the
    one that asks for it. The lower quartile of many rounds, in which each has its turn."""
    from firstthrow.scenes.window.opening import look_often

    app = opened()
    for _ in range(120):
        app.frame(1.0 / 60.0)
    look_often()
    picture, aids = app.picture, app.aids
    left_out = {
        "nothing": (),
        "grass": ((picture, "_draw_grass"),),
        "sky": ((picture.sky, "draw"),),
        "clouds": ((picture.sky.cloud_list, "draw"),),
        "what stands": ((picture, "_draw_still"),),
        "water": ((picture.water, "draw"),),
        "foliage": ((picture.foliage, "draw"),),
        "shadow": ((picture, "_draw_shadow"),),
        "airframe": ((picture, "_draw_airframe"),),
        "tracing": ((aids, "_draw_tracing"),),
        "instruments": ((app.panels, "draw"),),
        "softening": ((app.canvas, "show"),),
        "the scene": ((picture, "draw"),),
        "everything": (
            (picture, "draw"),
            (aids, "draw"),
            (app.panels, "draw"),
            (app.canvas, "show"),
        ),
    }
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in left_out}
    for _ in range(rounds):
        for name, calls in left_out.items():
            with ExitStack() as stack:
                for owner, call in calls:
                    stack.enter_context(patch.object(owner, call, lambda *a, **k: None))
                gl.glFinish()
                used, own = time.process_time(), time.thread_time()
                for _ in range(each):
                    app.window.switch_to()
                    app.draw(0.0)
                    app.window.flip()
                gl.glFinish()
                times = time.process_time() - used, time.thread_time() - own
                found[name].append((times[0] / each, times[1] / each))
    app.close()
    return {name: tuple(np.quantile(rows, 0.25, axis=0)) for name, rows in found.items()}


def print_parts(rounds: int) -> None:
    from firstthrow.sim.units import ms

    print("left out         processor   in the first thread [ms a picture]")
    for name, (all_of_it, first) in parts(rounds).items():
        print(f"{name:16} {ms(all_of_it):9.1f} {ms(first):9.1f}")


def main() -> int:
    """0 when enough frames are near the median, else 1."""
    from firstthrow.sim.units import ms

    asked = argparse.ArgumentParser(description="Times of the window's frames.")
    asked.add_argument("seconds", type=float, nargs="?", default=15.0)
    asked.add_argument("--bench", action="store_true", help="with the bench open")
    asked.add_argument("--parts", action="store_true", help="each part left out in turn")
    args = asked.parse_args()
    if args.parts:
        print_parts(rounds=max(4, round(args.seconds)))
        return 0
    gaps, works, processor, renderer = measure(args.seconds, args.bench)
    middle = float(np.median(gaps))
    near = float(np.mean(gaps <= WITHIN * middle))
    print(f"{renderer}; 1280x720, streamer, tracing and instruments shown")
    print(f"frames                 {len(gaps)}, {1.0 / gaps.mean():.1f} a second")
    print(
        f"from frame to frame    median {ms(middle):.1f} ms, "
        f"95 % under {ms(np.quantile(gaps, 0.95)):.1f} ms"
    )
    print(
        f"work in a frame        median {ms(np.median(works)):.1f} ms, "
        f"processor {ms(np.median(processor)):.1f} ms in all threads"
    )
    met = near >= SHARE
    print(
        f"within {WITHIN} of the median  {100.0 * near:.1f} %    "
        f"{100.0 * SHARE:.0f} % asked    {'met' if met else 'MISSED'}"
    )
    if hasattr(os, "getloadavg"):
        print("load {:.1f} {:.1f} {:.1f}".format(*os.getloadavg()))
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
