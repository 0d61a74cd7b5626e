"""Times of the window's frames with everything shown: python benchmarks/frames.py [seconds]

Without a screen it draws through EGL, which has no vertical blank to wait for: the loop's own
pace is measured. Asked: 95 % of the frames within 1.5 times the median on an idle machine.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

import pyglet

if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
    pyglet.options.headless = True

SETTLE = 2.0  # [s] at the start that do not count: shaders, caches, first text
WITHIN, SHARE = 1.5, 0.95


def measure(seconds: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, str]:
    """Seconds from frame to frame, of work in each, of processor in each; and who draws."""
    from firstthrow.scenes.flight.clock import next_due
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
    starts, works, processor = [], [], []
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


def main() -> int:
    """0 when enough frames are near the median, else 1."""
    from firstthrow.sim.units import ms

    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 15.0
    gaps, works, processor, renderer = measure(seconds)
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
