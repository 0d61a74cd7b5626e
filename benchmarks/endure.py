"""What must last: kills, unplugs, closings, sizes, an hour of flight; counted and measured.

    python benchmarks/endure.py                      # a short share of each
    python benchmarks/endure.py kills --times 1000
    python benchmarks/endure.py unplugs --times 1000 # in one window: a display is needed
    python benchmarks/endure.py hour --times 60      # minutes of one flight

kills: a flight in the pace of the clock, killed at a random moment; asked: the record reads back,
at most 0.2 s of it lost. unplugs: a stick comes and goes while it is thrown and taken back.
closings: the window closed in every state it can be in. sizes: dragged about, no size too odd.
Exit code 1 when anything failed.
"""

from __future__ import annotations

import argparse
import importlib
import mmap
import os
import random
import signal
import struct
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from functools import partial
from pathlib import Path

from firstthrow.scenes.words import what_it_says
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import Flight, fly
from firstthrow.sim.flight.record import MOST_ROWS, Recorder, flight_meta, load
from firstthrow.sim.learn.sentence import verdict

sys.path[:0] = [str(Path(__file__).parents[1] / "tests")]  # where the stick without hardware is

FRAME = 1.0 / 60.0
MOST_LOST = 0.2  # [s] of a record
MOST_GROWN = 20.0  # [MB] of memory over all that is repeated
AT_ONCE = 8  # flights that are killed


def memory() -> float:
    """[MB] of this process now."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * mmap.PAGESIZE / 2**20


def pantry() -> tuple:
    return load_airframe(find("airframes", "pantry")), load_field(find("fields", "water-meadow"))


def kills(times: int, folder: Path) -> str:
    airframe, field = pantry()
    model = Flight(airframe, field).model
    Flight(airframe, field, model=model).advance(FRAME, Sticks())
    chance, worst = random.Random(1), 0.0
    for first in range(0, times, AT_ONCE):
        flying = []
        for k in range(min(AT_ONCE, times - first)):
            path, told = folder / f"{first + k}.csv", mmap.mmap(-1, 16)
            child = os.fork()
            if not child:
                flight = Flight(airframe, field, model=model)
                _fly_for_ever(flight, Recorder(path, airframe, flight_meta(field)), told)
            flying.append((child, path, told))
        for _, _, told in flying:
            while struct.unpack("d", told[:8])[0] == 0.0:
                time.sleep(0.01)
        for child, path, told in flying:
            time.sleep(chance.uniform(0.0, 0.3))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            record = load(path)
            worst = max(worst, struct.unpack("d", told[:8])[0] - record.rows[-1, 0])
            assert record.outcome is None
            assert verdict(record)
            path.unlink()
            path.with_suffix(".json").unlink()
    assert worst <= MOST_LOST, f"{worst:.2f} s of a record lost"
    return f"at most {worst:.3f} s of a record lost"


def _fly_for_ever(flight: Flight, recorder: Recorder, told: mmap.mmap) -> None:
    """In a process of its own, each row told as soon as it is written."""
    start = time.monotonic()
    flight.release()
    rows = 0
    while True:  # once it is over with the last reading
        flight.advance(FRAME, Sticks(throttle=0.5))
        rows += 1
        now = rows * FRAME
        recorder.write((now, *flight.reading()[1:]))
        told[:8] = struct.pack("d", now)
        time.sleep(max(0.0, start + now - time.monotonic()))


def hour(times: int, folder: Path) -> str:
    """One flight of so many minutes, round and round by a few simple rules, on a large pack."""
    airframe = load_airframe(find("airframes", "pantry"), ['pack.capacity="200 Ah"'])
    field = pantry()[1]

    def pilot(now) -> Sticks:
        return Sticks(
            roll=max(-0.5, min(0.5, (20.0 - now.roll_deg) / 60.0)),
            pitch=max(-0.5, min(0.5, (8.0 - now.pitch_deg) / 30.0)),
            throttle=0.75 if now.height_m < 60.0 else 0.35,
        )

    recorder = Recorder(folder / "hour.csv", airframe, flight_meta(field))
    used = []

    def watched(now) -> Sticks:
        if not len(used) or now.time_s > 10.0 * len(used):
            used.append(memory())
        return pilot(now)

    flight = fly(airframe, field, watched, 60.0 * times, launch="hand", record=recorder)
    recorder.close(flight.outcome)
    record = load(recorder.path)
    assert flight.end.word == "time-up", flight.end.text
    assert len(record.rows) <= MOST_ROWS
    grown = used[-1] - used[min(6, len(used) - 1)]
    assert grown < MOST_GROWN, f"{grown:.0f} MB more"
    return f"{flight.time / 60.0:.1f} minutes, {grown:+.1f} MB of memory"


def _window(folder: Path, records: bool = True, size=(480, 300)):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.flight.settings import Settings
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import App

    airframe, field = pantry()
    numbers = iter(range(10**9))
    started = time.monotonic_ns()

    def factory(**told):
        return Recorder(folder / f"w{started}-{next(numbers)}.csv", airframe, flight_meta(field))

    rehearsal = Rehearsal(airframe, field, record_factory=factory if records else None)
    return App(rehearsal, load_hands("keyboard"), size, settings=Settings(mute=True))


PLACES: dict[str, tuple[str, ...]] = {  # what is done before a stick goes, by name; numbers: frames
    "in the hand": (),
    "counting down": ("countdown", "20"),
    "in flight": ("release", "any"),
    "slowly": ("slower", "slower", "release", "any"),
    "on the bench": ("bench", "any"),
    "on the bench as it flies": ("bench", "release", "any"),
    "in simulated hands": ("hand_over", "release", "any"),
    "paused": ("release", "any", "pause", "2"),
    "on the ground": ("release", "end"),
    "seen again": ("release", "end", "look_back", "any"),
    "with the keys": ("release", "any", "help", "2"),
    "asked whether to leave": ("release", "any", "quit", "2"),
    "in the launch drill": ("first_ten", "release", "any"),
    "in a lesson": ("lessons", "take", "release", "any"),
    "in an exercise": ("exercises", "work", "take", "any"),
    "assigning": ("devices", "take", "any"),
    "drilled": ("release", "any", "drill", "any"),
    "on the page of faults": ("release", "any", "faults", "2"),
    "on the page of directions": ("directions", "2"),
    "on the evening's page": ("release", "any", "evening", "2"),
}


def _do(app, steps: tuple[str, ...], chance: random.Random) -> None:
    """Actions, frames, and what a page is asked; the flight goes on to its end for "end"."""
    for step in steps:
        if step.isdecimal() or step == "any":
            for _ in range(int(step) if step.isdecimal() else chance.randint(0, 6)):
                app.frame(FRAME)
        elif step == "end":
            while not app.rehearsal.over:
                app.frame(0.25)
        elif step == "work":
            while app.screen.work:
                app.frame(FRAME)
            app.frame(0.5)
        elif step == "take":
            app.screen.key("RETURN")
        else:
            app.act(step)


def _shown(app) -> str:
    """The words on the window itself."""
    card, (_, alarms, _) = app.card, what_it_says.words(app)
    return " ".join((*alarms, *(card.lines if card else ()), *(card.small if card else ())))


def unplugs(times: int, folder: Path) -> str:
    """In every place in turn, at a random moment; half of them come back before it is thrown
    again."""
    stick_of = importlib.import_module("virtual_stick").VirtualStick
    os.environ |= {"XDG_CONFIG_HOME": str(folder), "XDG_DATA_HOME": str(folder)}
    app, chance = _window(folder, size=(320, 200)), random.Random(7)
    pad, used, names = app.thumbs.gamepad, [], list(PLACES)
    try:
        for k in range(times):
            name = names[k % len(names)]
            stick = stick_of()
            app.frame(FRAME)
            assert pad.connected, f"{name}: not seen"
            stick.axis(chance.randrange(4), chance.uniform(-1.0, 1.0))
            _do(app, PLACES[name], chance)
            stick.unplug()
            app.frame(FRAME)
            assert not pad.connected, name
            assert app.thumbs.source == "keyboard", name
            assert app.waiting.paused, f"{name}: goes on"
            _out_of(app)
            app.frame(FRAME)
            assert app.rehearsal.over or "unplugged" in _shown(app), f"{name}: {_shown(app)!r}"
            if chance.random() < 0.5:
                stick = stick_of()
                app.frame(FRAME)
                assert app.rehearsal.over or "plugged in" in _shown(app), f"{name}: {_shown(app)!r}"
                stick.unplug()
                app.frame(FRAME)
                assert not pad.connected, name
            _begin_again(app)
            if k % 10 == 0:
                used.append(memory())
    finally:
        app.close()
    kept = sorted(folder.glob("w*.csv"))
    thrown = len(app.rehearsal.finished)
    assert len(kept) == thrown, f"{thrown} flights, {len(kept)} records"
    for path in kept:
        assert load(path).outcome is not None, path
    settled = len(used) // 4  # once every page has been open
    grown = used[-1] - used[settled]
    assert grown < MOST_GROWN, f"{grown:.0f} MB more"
    return (
        f"{len(PLACES)} places, {len(kept)} flights kept, {used[-1]:.0f} MB of memory, "
        f"{grown:+.1f} MB over the last three quarters"
    )


def _out_of(app) -> None:
    """Whatever page is open is left; the flight waits as it did."""
    if app.screen is not None:
        app.screen.key("ESCAPE")
        app.leave()
    if app.helping:
        app.act("help")
    app.stay()


def _begin_again(app) -> None:
    """In the hand, as the first time."""
    schooling, five = app.aids.schooling, app.aids.launching.five
    schooling.leave()
    if five is not None:
        app.act("first_ten")
    if app.bench.open:
        app.act("bench")
    if app.rehearsal.handed:
        app.act("hand_over")
    while app.rehearsal.clock.rate < 1.0:
        app.act("slower")
    app.act("again")
    app.frame(FRAME)
    assert app.rehearsal.held, "not in the hand"
    assert not app.rehearsal.clock.paused, "still waits"


def states() -> dict[str, tuple[str, ...]]:
    """What is done before the window is closed, by name; numbers are frames."""
    from firstthrow.scenes.window.pressing import SCREENS

    found: dict[str, tuple[str, ...]] = {
        "before the first picture": (),
        "in the hand": ("3",),
        "flying": ("3", "release", "20"),
        "paused": ("3", "release", "5", "pause", "2"),
        "over": ("3", "release", "400"),
        "with the keys": ("help", "2"),
        "asked whether to leave": ("quit", "2"),
    }
    return found | {f"on the page of {name}": ("release", "5", name, "3") for name in SCREENS}


def closings(times: int, folder: Path) -> str:
    """In every state, and clicked on before its first picture."""
    done = 0
    for name, steps in states().items():
        for _ in range(times):
            app = _window(folder)
            app.window.dispatch_event("on_mouse_press", 200, 150, 1, 0)
            app.window.dispatch_event("on_mouse_drag", 200, 150, 5, 5, 1, 0)
            app.window.dispatch_event("on_mouse_release", 205, 155, 1, 0)
            for step in steps:
                if step.isdecimal():
                    for _ in range(int(step)):
                        app.frame(FRAME)
                else:
                    app.act(step)
            app.window.dispatch_event("on_close")
            app.loop()
            assert app.window.context is None, name
            done += 1
    for path in folder.glob("w*.csv"):
        assert load(path).outcome is not None, path
    return f"{done} windows closed, {len(states())} states"


def sizes(times: int, folder: Path) -> str:
    """Tiny, huge, changing from frame to frame; jumps of the clock between."""
    chance, app, used = random.Random(3), _window(folder, records=False), []
    try:
        for k in range(times):
            wide, tall = (round(2.0 ** chance.uniform(0.0, 11.0)) for _ in range(2))
            app.window.set_size(max(1, wide), max(1, tall))
            if k % 3 == 0:
                app.act(chance.choice(["help", "view", "bigger", "smaller", "figures", "again"]))
            app.frame(chance.choice([FRAME, 0.0, -1.0, 30.0, 1e6]))
            if k % 10 == 0:
                app.window.set_size(480, 300)
                app.frame(FRAME)
                used.append(memory())
    finally:
        app.close()
    grown = used[-1] - used[min(5, len(used) - 1)]
    return f"{grown:+.1f} MB of memory"


KINDS: dict[str, tuple[Callable[[int, Path], str], int, str]] = {
    "kills": (kills, 16, "flights"),
    "unplugs": (unplugs, 20, "sticks"),
    "closings": (closings, 1, "times in each state"),
    "sizes": (sizes, 60, "sizes"),
    "hour": (hour, 5, "minutes"),
}


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("kinds", nargs="*", metavar="KIND", choices=[*KINDS, []], default=[])
    parser.add_argument("--times", metavar="N", type=int, help="of each kind (a short share)")
    chosen = parser.parse_args()
    failed = 0
    for name in chosen.kinds or KINDS:
        work, few, unit = KINDS[name]
        times, before = chosen.times or few, time.monotonic()
        with tempfile.TemporaryDirectory() as folder:
            try:
                told = partial(work, times)(Path(folder))
            except AssertionError as error:
                line = traceback.extract_tb(error.__traceback__)[-1]
                told, failed = f"FAILED: {error} ({line.name}: {line.line})", failed + 1
        took = time.monotonic() - before
        print(f"{name:<10}{times:>6} {unit} in {took:.0f} s: {told}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
