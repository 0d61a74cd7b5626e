"""The window while the physics is compiled: a slow process stands in for the compiler."""

from __future__ import annotations

import subprocess
import sys
from multiprocessing import Pipe

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
    from firstthrow.scenes.flight.prepare import COMPLETE, READY

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

    left, made = [], []
    monkeypatch.setattr(preparing, "missing", lambda: tuple(left))
    airframe = load_airframe(find("airframes", "pantry"))
    asked = airframe, load_field(find("fields", "water-meadow"))

    def open_it(work, stages=STAGES):
        left[:] = stages
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
    from firstthrow.scenes.window import preparing

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
    window.key("o")
    window.until(lambda: preparing.HANDS_LATER in app.card.lines, "O says why there are none")
    get_ready = []
    app.aids.after.explaining.get_ready = get_ready.append
    app.aids.launching.counts = False
    throw(window)
    window.frames(2)
    assert get_ready == []  # which would compile what is compiled just now
    app.preparing.pipe.send("on")
    window.until(lambda: app.rehearsal.relief is app.relief, "hands take over")
    assert get_ready


def test_closing_the_window_ends_the_process(opened):
    window, _ = opened(when_told)
    window.frames(1)
    process = window.app.preparing.process
    assert process.is_alive()
    window.app.close()
    assert not process.is_alive()


def test_the_process_ends_early_where_the_window_is_gone():
    from firstthrow.scenes.flight.prepare import prepare

    airframe = load_airframe(find("airframes", "pantry"))
    ours, theirs = Pipe()
    ours.close()
    prepare(theirs, airframe, load_field(find("fields", "water-meadow")), None)
    assert theirs.closed


def test_the_process_has_no_window():
    from firstthrow.scenes.window.preparing import prepare

    asked = f"import sys, {prepare.__module__}; print(*sys.modules)"
    told = subprocess.check_output([sys.executable, "-c", asked], text=True)
    assert "pyglet" not in told


def test_where_the_process_is_lost_the_window_compiles(opened):
    """And simulated hands get ready in the hand."""
    window, _ = opened(lost)
    app, asked = window.app, []
    app.relief = asked.append
    window.until(lambda: not app.waits, "it can be thrown")
    window.until(lambda: asked, "hands get ready")
    window.frames(3)
    assert len(asked) == 1
    assert app.rehearsal.held


def test_a_mixed_transmitter_plugged_in_meanwhile_moves_its_own_servos(opened, monkeypatch):
    window, _ = opened(when_told)
    app = window.app
    monkeypatch.setattr(type(app.thumbs), "wants_channels", True)
    app.pressing.gamepad("plugged")
    app.preparing.pipe.send("on")
    window.until(lambda: not app.waits, "it can be thrown")
    assert app.rehearsal.straight is not None
    assert app.thumbs.straight is app.rehearsal.straight


def test_what_simulated_hands_lack_is_prepared_with_the_airframe_ready(opened, monkeypatch):
    """As after a first time that was ended before all was there; the display's going ends that,
    too."""
    from firstthrow.scenes.window import window as of_window

    window, _ = opened(when_told, stages=())
    window.frames(1)
    app, alive = window.app, []
    assert not app.waits
    assert app.rehearsal.relief is None
    process = app.preparing.process

    def at_once(*last):
        for act in last:
            act()
        alive.append(process.is_alive())

    monkeypatch.setattr(of_window, "when_display_goes", at_once)
    app.running = False
    app.loop()
    assert alive == [False]


def test_what_simulated_hands_lack_is_not_compiled_in_the_window(display, monkeypatch):
    """And they share the model of what is flown."""
    from firstthrow.scenes.flight.relief import Relief
    from firstthrow.scenes.window import preparing, run

    class Opened(Exception):
        pass

    def opens(unready, hands, rehearse, relief, *more, **also):
        model = rehearse().model
        assert relief.model is model
        raise Opened

    monkeypatch.setattr(preparing, "FirstApp", opens)
    monkeypatch.setattr(run, "missing", lambda: ())
    monkeypatch.setattr(run, "hands_missing", lambda: True)
    airframe = load_airframe(find("airframes", "pantry"))
    asked = airframe, load_field(find("fields", "water-meadow"))
    with pytest.raises(Opened):
        run.run(*asked, None, relief=Relief(*asked, None, 0))
