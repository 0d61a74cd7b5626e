"""A picture of every view and every page of the program, to be looked at one by one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from time import sleep

from firstthrow.scenes.flight.clock import FRAME
from firstthrow.scenes.flight.rehearsal import Rehearsal
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.hands.hands import load_hands
from firstthrow.scenes.pages.exercises_screen import SOONEST, ExercisesScreen
from firstthrow.scenes.window.film import pose_at
from firstthrow.scenes.window.pressing import SCREENS
from firstthrow.scenes.window.window import App
from firstthrow.scenes.world.camera import VIEWS
from firstthrow.scenes.world.snapshot import save
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.flight.skills import SKILLS, hands
from firstthrow.sim.study.hands.exercise import FRAMES, NAMES
from firstthrow.sim.study.hands.simulated import Pilot

FLOWN = 3.0  # [s] of the flight that the pages are shown over


def views(app, folder: Path, time: float) -> Iterator[str]:
    """Of a replay's window at a time [s]: each view, the free one, the page of keys, the bar.
    Yields the names of the files as they are written."""
    for name in (*VIEWS, "free"):
        app.eyes.free = name == "free"
        app.view_name = VIEWS[0] if app.eyes.free else name
        pose_at(app, time)
        app.rehearsal.seek(time)
        yield _kept(app, folder, f"view-{name.replace(' ', '-')}")
    app.eyes.free, app.view_name = False, VIEWS[0]
    app.with_timeline = True
    yield _kept(app, folder, "replay")
    app.helping = True
    yield _kept(app, folder, "replay-keys")
    app.helping = False


def flight_pages(airframe, field, folder: Path, size: tuple[int, int]) -> Iterator[str]:
    """Of the window of a flight: start, count, flight, pause, keys, each page, launch drill, end.
    Yields the names of the files as they are written."""
    rehearsal = Rehearsal(airframe, field)
    app = App(rehearsal, load_hands("keyboard"), size, settings=Settings(unseen=True))
    try:
        app.frame(FRAME)
        yield _kept(app, folder, "flight-start")
        if rehearsal.held:
            app.act("countdown")
            app.frame(FRAME)
            yield _kept(app, folder, "flight-count")
        rehearsal.pilot = Steady()
        app.act("countdown")
        rehearsal.release()
        for _ in range(round(FLOWN / FRAME)):
            app.frame(FRAME)
        yield _kept(app, folder, "flight")
        for action, name in (("pause", "flight-paused"), ("help", "keys")):
            app.act(action)
            yield _kept(app, folder, name)
            app.act(action)
        app.act("bench")
        yield _kept(app, folder, "bench")
        app.act("bench")
        rehearsal.pilot = None
        for name, kind in SCREENS.items():
            app.show(kind)
            app.frame(FRAME)
            if isinstance(app.screen, ExercisesScreen):
                yield from _exercises(app, app.screen, folder)
            else:
                yield _kept(app, folder, f"page-{name}")
            app.leave()
        app.act("first_ten")
        yield _kept(app, folder, "launch-drill")
        app.act("first_ten")
        if airframe.launch.thrown is None:  # on its wheels it would wait for throttle for ever
            rehearsal.pilot = Steady()
        rehearsal.release()
        while not rehearsal.over and rehearsal.flight.time < 60.0:
            app.frame(0.2)
        yield _kept(app, folder, "flight-over")
        yield from _after_a_flight(app, folder)
    finally:
        app.close()


def _exercises(app, page: ExercisesScreen, folder: Path) -> Iterator[str]:
    """What comes, each exercise half done, and what was measured: of simulated hands."""
    _wait(page)
    yield _kept(app, folder, "page-exercises")
    airframe, _ = app.sound
    skill = SKILLS["club"]._replace(wander=0.0, remnant=0.25)
    own = hands(skill, app.models[""], airframe, launch_throttle(airframe))
    for name in NAMES if not page.trouble else ():
        page.frame(SOONEST, Sticks())
        page.act("release")
        if page.doing is None:
            return
        pilot, half = Pilot(page.doing, own, skill, page.seed), FRAMES // 2
        while page.doing is not None:
            page.frame(FRAME, pilot.sticks())
            if page.doing is not None and page.doing.frame == half:
                yield _kept(app, folder, f"page-exercise-{name}")
    _wait(page)
    yield _kept(app, folder, "page-exercises-result")


def _wait(page: ExercisesScreen) -> None:
    """For what is worked out beside the window."""
    while page.work:
        sleep(FRAME)
        page.frame(FRAME, Sticks())


def _after_a_flight(app, folder: Path) -> Iterator[str]:
    """Its cause on the card, and its last seconds again, slowly; worked out here and now."""
    after = app.aids.after
    if not after.is_there:
        return
    after.explaining.work_out(after.flown())
    yield _kept(app, folder, "flight-explained")
    app.act("look_back")
    for share in (0.3, 0.8):
        screen = app.screen
        screen.replay.seek(screen.start + share * (screen.end - screen.start))
        screen.paused = True
        app.frame(FRAME)
        yield _kept(app, folder, f"looking-back-{share:.0%}".rstrip("%"))
    app.leave()


def _kept(app, folder: Path, name: str) -> str:
    app.words_at = -1e9
    app.draw(0.0)
    save(app.window, folder / f"{name}.png")
    app.window.flip()
    return f"{name}.png"
