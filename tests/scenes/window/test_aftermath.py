"""After a crash, in the real window with pressed keys: the cause on the card, the slow look back,
the same throw put right, and the airframe's file."""

from __future__ import annotations

import time

import pytest
from bodies import shipped
from driven import Driven, changed

from firstthrow.scenes.window.explaining import WORKING
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.flight.trims import balanced_at
from firstthrow.sim.learn.aftermath.explained import Explained
from firstthrow.sim.learn.aftermath.remedy import Remedy
from firstthrow.sim.study.subject import Subject, subject_of

pytestmark = pytest.mark.window
FIELD = load_field(find("fields", "water-meadow"))


@pytest.fixture(scope="module")
def window(display):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import TITLE, App

    rehearsal = Rehearsal(shipped(), FIELD, model=subject_of(shipped(), FIELD).model)
    driven = Driven(App(rehearsal, load_hands("keyboard")), TITLE)
    driven.app.judging.unseen = True  # its work is not what is looked at here
    yield driven
    driven.app.close()


def patiently(window: Driven, met, what: str) -> None:
    """Few frames, so that the process beside the window has the machine: it may have to compile."""

    def rested():
        time.sleep(0.2)
        return met()

    window.until(rested, what, most=300.0)


def page(app) -> str:
    return type(app.screen).__name__


def crash(window: Driven, fault: str = "no-reflex") -> None:
    """Thrown by club hands: down within a second with the fault, stopped without one."""
    app = window.app
    app.set_fault(fault)
    app.rehearsal.pilot = Human(shipped(), FIELD, seed=3)
    if not fault:
        window.until(lambda: app.rehearsal.flown, "it flies")
        window.frames(20)
        app.rehearsal.stop()
    window.until(lambda: app.rehearsal.over, "it comes down", frame=0.1)
    app.rehearsal.pilot = None


def test_from_the_crash_to_the_same_throw_put_right_by_two_keys(window):
    """Outcome and throw are told at once, the cause when it is there, and no frame waits for it.
    Then one key shows the last seconds, and one throws it again."""
    app = window.app
    crash(window)
    window.frames(2)
    told = " ".join(app.card.lines)
    assert app.card.title == "Broke on the ground"
    assert "Thrown as planned: 8.1 m/s, nose 8 deg up." in told
    assert WORKING in told
    after = app.aids.after
    assert after.explaining.busy
    patiently(window, lambda: after.explaining.found, "a cause is found")
    window.frames(1)
    told = " ".join(app.card.lines)
    assert "The elevons stand without their reflex" in told
    assert "must stand 5 mm up, and stood in line" in told
    assert "1: see it slowly.  2: throw it again, put right." in told

    window.key("1")
    window.until(lambda: page(app) == "LookingBack", "1 shows it again")
    screen = app.screen
    assert screen.time < screen.end - 0.5
    screen.replay.seek(screen.start)
    window.frames(40)
    assert screen.start + 0.1 < screen.time < screen.start + 0.3  # a quarter as fast
    forces = after.explaining.forces
    assert {"weight", "lift", "drag", "thrust"} <= {p.name for p in forces.at(screen.time).pulls}
    screen.paused = True
    with_arrows = window.picture()
    after.explaining.forces = None
    spots = changed(with_arrows, window.picture())
    after.explaining.forces = forces
    _, tall = app.window.get_size()
    beside = screen.beside
    in_beside = (spots[:, 1] > beside.x) & (spots[:, 0] < tall - beside.y)
    assert in_beside.sum() > 300  # arrows in both pictures
    assert (~in_beside).sum() > 2000

    track = app.aids.track
    window.key("2")
    window.until(lambda: app.screen is None and app.rehearsal.held, "2 has it in the hand")
    assert app.fault == ""
    window.until(lambda: app.rehearsal.flown, "and throws it by itself")
    assert app.rehearsal.reading.throttle == pytest.approx(0.78, abs=0.01)
    assert app.aids.tracing_shown
    assert app.aids.last.track is track
    window.until(lambda: app.rehearsal.over or app.rehearsal.flight.time > 1.2, "it flies on")
    assert not app.rehearsal.over  # where it had crashed


def test_a_new_throw_ends_what_is_worked_out(window):
    app = window.app
    crash(window)
    window.frames(2)
    work = app.aids.after.explaining
    assert work.busy
    process = work.process
    window.key("r")
    window.until(lambda: app.rehearsal.held, "R puts it back in the hand")
    assert not process.is_alive()
    assert (work.flown, work.found, work.process) == (None, None, None)


def test_a_key_pressed_before_the_cause_is_there_waits_for_it(window):
    """And then does what it was pressed for; nothing is thrown meanwhile."""
    app = window.app
    crash(window)
    window.frames(1)
    work = app.aids.after.explaining
    window.key("2")
    window.until(lambda: app.aids.after.wanted, "2 is taken")
    assert app.rehearsal.over
    assert "as soon as the cause is there" in " ".join(app.card.lines)
    work.found = Explained("It was so.", None, (), Remedy("put right", shipped(), ("no-reflex",)))
    app.aids.after._answered(app.rehearsal)
    assert app.rehearsal.held
    assert app.fault == ""


def test_the_cure_goes_to_the_file_by_way_of_a_page_that_asks(window, tmp_path):
    """Comments stay; what is written is shown first, and nothing is before Enter."""
    app = window.app
    source = find("airframes", "pantry")
    own = tmp_path / "mine.toml"
    own.write_text(source.read_text(encoding="utf-8"), encoding="utf-8")
    app.bench.file = own
    crash(window, "")
    cured = balanced_at(shipped(), Subject(shipped()).cg - 0.01)
    work = app.aids.after.explaining
    work.close()
    work.found = Explained("It was so.", None, (), Remedy("move all forward", cured))
    window.key("3")
    window.until(lambda: page(app) == "WriteScreen", "3 asks")
    assert any(line.startswith("+") and "aft" in line for line in app.screen.lines)
    assert own.read_text(encoding="utf-8") == source.read_text(encoding="utf-8")
    window.key("Return")
    window.until(lambda: app.screen is None, "Enter writes")
    written = own.read_text(encoding="utf-8")
    assert written != source.read_text(encoding="utf-8")
    assert written.count("#") >= source.read_text(encoding="utf-8").count("#")
