"""The window while the physics is compiled: a slow process stands in for the compiler."""

from __future__ import annotations

import pytest
from driven import Driven, throw

from firstthrow.scenes.flight.rehearsal import Rehearsal
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.unready import Unready
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.compiling import STAGES


@pytest.mark.parametrize("name", ["pantry", "glasshouse"])
def test_it_is_held_or_stands_as_it_will_be_flown(name):
    """Asked without any physics."""
    airframe = load_airframe(find("airframes", name))
    field = load_field(find("fields", "water-meadow"))
    shown, flown = Unready(airframe, field), Rehearsal(airframe, field)
    assert (shown.held, shown.standing) == (flown.held, flown.standing)
    for column in ("height_m", "attitude_w", "attitude_x", "attitude_y", "attitude_z"):
        wanted = getattr(flown.reading, column)
        assert getattr(shown.reading, column) == pytest.approx(wanted, abs=1e-9), column


def when_told(pipe, airframe, field, launch) -> None:
    """The process: ready at the first word, complete at the second."""
    from firstthrow.scenes.window.preparing import COMPLETE, READY

    for answer in (READY, COMPLETE):
        pipe.recv()
        pipe.send(answer)
    pipe.recv()


def lost(pipe, airframe, field, launch) -> None:
    """A process that comes to nothing."""


@pytest.fixture
def opened(display, monkeypatch):
    """opened(work): the window with `work` beside it, and the stages that are missing."""
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window import preparing
    from firstthrow.scenes.window.window import TITLE

    left, made = list(STAGES), []
    monkeypatch.setattr(preparing, "missing", lambda: tuple(left))
    airframe = load_airframe(find("airframes", "pantry"))
    asked = airframe, load_field(find("fields", "water-meadow"))

    def open_it(work):
        app = preparing.FirstApp(
            Unready(*asked),
            load_hands("keyboard"),
            lambda: Rehearsal(*asked),
            relief=lambda reading: None,
            settings=Settings(mute=True, countdown=True),
            work=work,
        )
        made.append(app)
        return Driven(app, TITLE), left

    yield open_it
    for app in made:
        app.close()


def test_the_scene_is_there_while_the_physics_is_compiled(opened):
    window, left = opened(when_told)
    app = window.app
    app.judging.unseen = app.aids.after.explaining.unseen = True
    window.frames(2)
    assert app.card.title == "pantry, in the hand"
    begun, words = app.card.share, app.card.lines[0]
    assert words == f"Preparing the physics for this machine, once: {STAGES[0].words}."
    window.key("space")
    window.key("v")
    window.until(lambda: app.view_name == "towed", "V changes the view")
    assert app.rehearsal.held
    window.key_down("Left")
    window.until(lambda: app.eyes.free, "arrow keys look round")
    window.key_up("Left")
    window.key("F1")
    window.until(lambda: app.helping, "F1 tells the keys")
    window.key("F1")
    window.until(lambda: not app.helping, "F1 closes them")
    del left[:4]
    window.until(lambda: STAGES[4].words in app.card.lines[0], "the bar says what comes next")
    assert begun < 0.1 < STAGES[4].begins <= app.card.share < STAGES[5].begins
    app.preparing.pipe.send("on")
    window.until(lambda: not app.waits, "it can be thrown")
    assert app.rehearsal.relief is None  # which would be compiled in the window
    app.preparing.pipe.send("on")
    window.until(lambda: app.rehearsal.relief is app.relief, "hands take over")
    app.aids.launching.counts = False
    throw(window)


def test_closing_the_window_ends_the_process(opened):
    window, _ = opened(when_told)
    window.frames(1)
    process = window.app.preparing.process
    assert process.is_alive()
    window.app.close()
    assert not process.is_alive()


def test_where_the_process_is_lost_the_window_compiles(display):
    from firstthrow.scenes.window.preparing import Preparing

    preparing = Preparing()
    assert preparing.begin(lost, None, None, None)
    assert not preparing.ready
    preparing.process.join()
    preparing.frame(0.0)
    assert preparing.ready
    assert preparing.complete
