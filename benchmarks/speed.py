"""Our own speed: a live frame, a step, elements, flights a second, memory."""

from __future__ import annotations

import gc
import os
import resource
import subprocess
import sys
import time
import tracemalloc

import numpy as np

from benchmarks.ready import Cruise, Line, Stepper, cruise, in_flight, interleaved
from firstthrow.sim.build import model, propeller, strips
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.study.odds import launches
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject

FRAME = 1.0 / 60.0


def live_frame(at: Cruise) -> list[Line]:
    """The physics of 1/60 s as the window asks for it: 99th percentile against the frame."""
    flight, sticks = in_flight(at), Sticks(throttle=0.5)
    taken = []
    for _ in range(3000):
        start = time.perf_counter()
        flight.advance(FRAME, sticks)
        taken.append(time.perf_counter() - start)
        if flight.outcome or flight.time > 8.0:
            flight.start_at(at.state, at.sticks)
    part = 100.0 * float(np.percentile(taken[200:], 99)) / FRAME
    middle = 100.0 * float(np.median(taken[200:])) / FRAME
    return [
        Line("live frame, 99th percentile", f"{part:.2f} % of 1/60 s", "< 1 %", part < 1.0),
        Line("live frame, median", f"{middle:.2f} % of 1/60 s", "", None),
        *_allocations(at),
    ]


def _allocations(at: Cruise) -> list[Line]:
    """What the compiled steps allocate, and what stays behind of a thousand live frames."""
    from numba.core.runtime import rtsys

    counts = []
    for steps in (1, 241):  # what passing the arguments takes is in both
        stepper = Stepper(at, steps)
        stepper()
        before = rtsys.get_allocation_stats().alloc
        stepper()
        counts.append(rtsys.get_allocation_stats().alloc - before)
    inside = counts[1] - counts[0]
    flight, sticks = in_flight(at), Sticks(throttle=0.5)

    def frames() -> None:
        flight.start_at(at.state, at.sticks)
        for _ in range(300):
            flight.advance(FRAME, sticks)

    frames()  # libraries keep what they free first for the next time
    gc.collect()
    tracemalloc.start()
    frames()  # and tracing sees that once more
    start = tracemalloc.get_traced_memory()[0]
    frames()
    kept = tracemalloc.get_traced_memory()[0] - start
    tracemalloc.stop()
    return [
        Line("allocations of 240 compiled steps", f"{inside}", "0", inside == 0),
        Line("memory kept after 300 frames", f"{kept / 1024:.1f} KiB", "< 16 KiB", kept < 16384),
    ]


def step_time(at: Cruise) -> tuple[float, Line]:
    """Seconds of one Runge-Kutta step, attached flight."""
    (taken,) = interleaved(15, Stepper(at, 2000))
    each = taken / 2000
    n = int(at.model.record.n_strips)
    return each, Line(f"one step, {n} strips", f"{1e6 * each:.2f} us", "", None)


UNCOMPILED = """
import time
from benchmarks.ready import cruise, Stepper
stepper = Stepper(cruise(), 4)
stepper()
best = []
for _ in range(5):
    start = time.perf_counter(); stepper(); best.append((time.perf_counter() - start) / 4)
print(sorted(best)[2])
"""


def compiler_off(step: float) -> Line:
    told = subprocess.run(
        [sys.executable, "-c", UNCOMPILED],
        env=os.environ | {"NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    ratio = float(told.stdout) / step
    return Line("against the compiler off", f"{ratio:.0f} times", "> 400", ratio > 400.0)


def elements() -> list[Line]:
    """Time of a step over the number of strips of the same slab."""
    usual, lines, counts = strips.FLYING, [], []
    try:
        steppers = []
        for count in (2, 4, 6, 8, 10):
            strips.FLYING = count
            model._attached.cache_clear()  # it knows these sheets with the usual strips
            at = cruise()
            counts.append(int(at.model.record.n_strips))
            steppers.append(Stepper(at, 1000))
        times = interleaved(9, *steppers)
    finally:
        strips.FLYING = usual
        model._attached.cache_clear()
    micro = 1e6 * np.array(times) / 1000
    straight = np.polyval(np.polyfit(counts, micro, 1), counts)
    off = float(np.max(np.abs(micro - straight)) / micro.max())
    told = ", ".join(f"{n}: {t:.1f}" for n, t in zip(counts, micro, strict=True))
    lines.append(Line("us a step by strips", told, "", None))
    told = f"{100 * off:.0f} % of the largest"
    lines.append(Line("off a straight line by", told, "< 10 %", off < 0.1))
    return lines


def small_parts(at: Cruise) -> list[Line]:
    """What is asked for on every frame, and for every propeller at set-up."""
    fitted = next(iter(at.airframe.motors.values())).propeller
    size = (*fitted.size, fitted.blades, fitted.blade_width, fitted.blade_thickness)
    mix = mixer(at.airframe)
    table, command = interleaved(
        5,
        lambda: propeller.table(*size),
        lambda: [mix.command(at.sticks) for _ in range(200)],
    )
    micro = 1e6 * command / 200
    return [
        Line("a propeller's table", f"{1000 * table:.0f} ms", "< 200 ms", table < 0.2),
        Line("sticks to servos", f"{micro:.0f} us", "< 100 us", micro < 100.0),
    ]


def flights(at: Cruise, sizes: tuple[int, ...]) -> list[Line]:
    """Flights a second and memory over the number of flights; short ones, from the hand."""
    plan = launches.Plan(Scatter(), "human", 0.1, 0)
    ready = launches.setup(Subject(at.airframe, at.field), plan)
    launches.run([ready], plan, 64)
    rates, peaks = [], []
    for size in sizes:  # by the processor's time: the wall's would tell who else was busy
        start = time.process_time()
        launches.run([ready], plan, size)
        rates.append(size / (time.process_time() - start))
        peaks.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    told = ", ".join(f"{n}: {r:.0f}" for n, r in zip(sizes, rates, strict=True))
    spread = max(rates) / min(rates)
    grown = peaks[-1] - peaks[0]
    own = 8.0 * 9 * (sizes[-1] - sizes[0]) / 2**20  # what the results themselves need
    whole = launches.run([ready], plan._replace(seconds=8.0), 64)[0]
    start = time.perf_counter()
    launches.run([ready], plan._replace(seconds=8.0), 128)
    rate = 128 / (time.perf_counter() - start)
    return [
        Line(
            "flights of 8 s, all cores",
            f"{rate:.0f} flights/s ({whole.flown + 128} flown)",
            "",
            None,
        ),
        Line("short flights a CPU second, by number", told, "", None),
        Line("fastest over slowest of these", f"{spread:.2f}", "< 1.3", spread < 1.3),
        Line(
            "memory grown over these",
            f"{grown:.0f} MiB ({own:.0f} are results)",
            "< 40 MiB",
            grown < 40.0,
        ),
    ]
