"""Flying lessons in the real window: chosen by keys, flown, marked, kept, drawn on the field."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest
from bodies import shipped
from driven import Driven
from gate_pilot import GatePilot

from firstthrow.scenes.flight import lesson_log
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.hands import preferences
from firstthrow.scenes.hands.preferences import Preferences
from firstthrow.scenes.words import what_it_says
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.learn.school.lessons import BY_NAME, LESSONS, in_wind
from firstthrow.sim.learn.school.marking import Aimed, Mark
from firstthrow.sim.paper.page import Words
from firstthrow.sim.study.faults import FAULTS

pytestmark = pytest.mark.window
FRAME = 0.1


@pytest.fixture(scope="module")
def window(display, tmp_path_factory):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import TITLE, App

    folder = tmp_path_factory.mktemp("kept")
    patch = pytest.MonkeyPatch()
    patch.setattr(lesson_log, "path", lambda: folder / "lessons.json")
    patch.setattr(preferences, "path", lambda: folder / "window.toml")
    rehearsal = Rehearsal(shipped("pantry"), load_field(find("fields", "water-meadow")))
    settings = Settings(mute=True, preferences=Preferences())
    driven = Driven(App(rehearsal, load_hands("keyboard"), (480, 300), settings=settings), TITLE)
    yield driven
    driven.app.close()
    patch.undo()


def press(app, name: str) -> None:
    from pyglet.window import key

    app.window.dispatch_event("on_key_press", getattr(key, name), 0)
    app.frame(FRAME)


def begin(window, number: int) -> None:
    """By the keys a person presses: the page, down to the row, Enter."""
    app = window.app
    press(app, "F10")
    assert app.screen is not None
    for _ in range(len(LESSONS) + 1):
        if app.screen.at == number:
            break
        press(app, "DOWN")
    press(app, "RETURN")
    assert app.screen is None


def fly(window, monkeypatch, pilot) -> None:
    app = window.app
    monkeypatch.setattr(app.thumbs, "sticks", lambda seconds, keys: pilot(app.rehearsal.reading))
    app.act("release")
    for _ in range(round(40.0 / FRAME)):
        app.frame(FRAME)
        if app.aids.schooling.mark is not None:
            return
    pytest.fail(f"no mark after {app.rehearsal.flight.time:.1f} s of flight")


def words(app) -> str:
    return " ".join(part.text for part in app.screen.page().parts if isinstance(part, Words))


def test_a_lesson_by_keys_marked_kept_and_shown(window, monkeypatch):
    app, schooling = window.app, window.app.aids.schooling
    passed = Mark("straight", 80.0, True, True, True, (Aimed("gate 1", 0.4, 80.0),))
    lesson_log.keep("pantry", passed)
    begin(window, 2)
    assert "straight ahead" in app._card().title.lower()
    assert "lesson: straight ahead, gate 1 of 3" in app.aids.corner
    fly(window, monkeypatch, GatePilot(BY_NAME["straight"]))
    assert schooling.mark.passed
    assert app.rehearsal.clock.paused
    assert "2 of 3 in a row" in " ".join(app._card().lines)
    assert app.rehearsal.changed["lesson"] == "straight"  # for the record of the next flight
    assert lesson_log.kept()[-1].mark == schooling.mark.mark
    lesson_log.keep("pantry", passed)
    app.act("release")  # at the mark's card: once more
    assert app.rehearsal.held
    app.frame(FRAME)
    fly(window, monkeypatch, GatePilot(BY_NAME["straight"]))
    assert "4 in a row. Next: turn left." in " ".join(app._card().lines)
    press(app, "F10")
    assert app.screen.at == 3  # turn left is shown, and nothing was locked before
    assert "This evening" in words(app)
    app.leave()


def test_sticks_left_alone_have_no_mark_and_say_so(window, monkeypatch):
    begin(window, 1)
    app = window.app
    still = app.rehearsal.sticks._replace(throttle=0.8)
    fly(window, monkeypatch, lambda reading: still)
    assert app.aids.schooling.mark.mark == 0.0
    assert "left alone" in " ".join(app._card().lines)
    app.act("again")


def test_wind_and_fault_come_with_their_lessons_and_go(window, monkeypatch):
    app = window.app
    begin(window, 8)
    assert app.rehearsal.field.wind.speed == BY_NAME["wind"].wind
    begin(window, 9)
    assert app.rehearsal.field.wind.speed == 0.0
    assert app.fault
    app.frame(FRAME)
    line = FAULTS[app.fault].line
    _, alarms, corner = what_it_says.words(app)
    said = (app._card().title, *app._card().lines, *alarms, corner)
    assert not any(app.fault in text or line in text for text in said)  # it is to be found
    monkeypatch.setattr(app.aids.schooling, "mark", Mark("fault", 0.0, False, False, False, ()))
    assert app.fault in what_it_says.words(app)[2]
    assert line in " ".join(app._card().lines)
    monkeypatch.undo()
    begin(window, 0)
    assert not app.fault
    app.set_fault("slow-throw")  # one's own comes back
    begin(window, 1)
    assert not app.fault
    begin(window, 0)
    assert app.fault == "slow-throw"
    app.set_fault("")
    assert app.aids.schooling.lesson is None
    assert app.aids.schooling.corner == ""
    app.frame(FRAME)
    assert "lesson" not in app.rehearsal.changed


def test_gates_stand_in_the_picture_and_the_next_one_looks_different(window, monkeypatch):
    app = window.app
    monkeypatch.setattr(app, "_card", lambda: None)  # which would lie over it

    def picture():
        app.aids.launching.restart()
        app.eyes.afresh()
        window.frames(2)
        return window.picture()

    app.act("again")
    bare = picture()
    app.aids.schooling.begin("straight")
    app.frame(FRAME)
    first = picture()
    app.aids.schooling.attempt.met.append(0.0)
    second = picture()
    top = slice(0, 200)  # what is above the instruments
    assert np.abs(first - bare)[top].sum(axis=2).max() > 120
    assert np.abs(second - first)[top].sum(axis=2).max() > 60
    app.aids.schooling.leave()


def test_a_script_is_told_that_lessons_are_for_hands(window):
    app = window.app
    app.rehearsal.pilot = lambda reading: app.rehearsal.sticks
    app.aids.schooling.begin("left")
    assert "own hands" in " ".join(app._card().lines)
    app.act("pause")
    assert app._card().title == "Paused"
    app.rehearsal.pilot = None


def test_an_evening_ends_with_a_long_pause(tmp_path, monkeypatch):
    monkeypatch.setattr(lesson_log, "path", lambda: tmp_path / "lessons.json")
    for passed in (True, False, True, True):
        aims = (Aimed("gate 1", 0.2, 90.0),)
        lesson_log.keep("pantry", Mark("left", 90.0, passed, True, True, aims))
    (tmp_path / "lessons.json").write_text(
        (tmp_path / "lessons.json").read_text().replace('"mark": 90.0', '"mark": "x"', 1)
    )
    kept = lesson_log.kept()
    assert len(kept) == 3  # an entry that is none is passed over
    assert lesson_log.row(kept, "left") == 2
    old = kept[0]._replace(when=kept[0].when - timedelta(hours=5))
    now = datetime.now().astimezone()
    assert lesson_log.evening([old, *kept], now) == kept
    assert lesson_log.evening([old, *kept], now + timedelta(days=1)) == []


def test_the_wind_of_a_lesson_is_at_least_what_blows_anyway():
    calm = load_field(find("fields", "water-meadow"))
    windy = in_wind(BY_NAME["wind"], calm)
    assert windy.wind.speed == 4.0
    assert in_wind(BY_NAME["wind"], windy) is windy
    assert in_wind(LESSONS[0], calm) is calm
