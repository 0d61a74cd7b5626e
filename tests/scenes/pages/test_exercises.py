"""The exercises in the window: done by hands that are known, as a person does them."""

from __future__ import annotations

import time
from types import SimpleNamespace

import numpy as np
import pytest
from bodies import shipped
from virtual_stick import VirtualStick

from firstthrow.scenes.hands import own_hands
from firstthrow.scenes.hands.hands import Axis, load_hands
from firstthrow.scenes.hands.person import Thumbs
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.skills import SKILLS, hands
from firstthrow.sim.paper.page import Line, Words
from firstthrow.sim.study.hands.element import FRAME
from firstthrow.sim.study.hands.simulated import Pilot, do_all
from firstthrow.sim.study.subject import Subject

pytestmark = pytest.mark.window
STANDS = 1.0  # [s] before a key goes on from a page
SKILL = SKILLS["club"]._replace(remnant=0.25, wander=0.0)


@pytest.fixture
def screen(display, tmp_path, monkeypatch):
    """The page in a window that draws nothing."""
    from firstthrow.scenes.pages.exercises_screen import ExercisesScreen

    monkeypatch.setattr(own_hands, "path", lambda: tmp_path / "hands.json")
    monkeypatch.setattr(ExercisesScreen, "resize", lambda self: None)
    paper = SimpleNamespace(show=lambda page: None)
    monkeypatch.setattr(ExercisesScreen, "sheet", paper, raising=False)
    airframe = shipped("pantry")
    thumbs = SimpleNamespace(
        straight=None, source="keyboard", restart=lambda: None, held=lambda sticks: sticks
    )
    app = SimpleNamespace(
        sound=(airframe, STANDARD),
        models={"": build(airframe, STANDARD)},
        fault="",
        thumbs=thumbs,
        keeps=True,
    )
    page = ExercisesScreen(app)
    yield page
    page.close()


def told(page) -> str:
    return " ".join(part.text for part in page.page().parts if isinstance(part, Words))


def worked_out(page) -> None:
    end = time.monotonic() + 120.0
    while page.work and time.monotonic() < end:
        time.sleep(0.01)
        page.frame(FRAME, Sticks())
    page.frame(STANDS, Sticks())


def test_three_exercises_frame_by_frame_and_their_result(screen):
    """What simulated hands do there is what they do without a window, and is kept."""
    worked_out(screen)
    assert "1 of 3" in told(screen)
    subject = Subject(screen.app.sound[0], STANDARD, screen.app.models[""])
    own = hands(SKILL, subject.model, subject.airframe, subject.airframe.launch.hand.throttle)
    screen.seed = 4
    for _ in range(3):
        screen.frame(STANDS, Sticks())
        assert screen.key("RETURN")
        pilot = Pilot(screen.doing, own, SKILL, 4)
        while screen.doing is not None:
            screen.frame(FRAME, pilot.sticks())
    for flown, alone in zip(screen.runs, do_all(subject, screen.steered, SKILL, 4), strict=True):
        np.testing.assert_array_equal(flown.sticks, alone.sticks)
    worked_out(screen)
    assert screen.found.delay_s.holds(SKILL.delay)
    assert "You answer after" in told(screen)
    assert "A screen is no field" in told(screen)
    kept = own_hands.kept().last
    assert (kept.measured, kept.device, kept.airframe) == (screen.found, "keyboard", "pantry")


def test_the_picture_answers_and_full_stick_is_told(screen):
    """The nose comes up with the stick, and that is no hand to be measured."""
    worked_out(screen)
    screen.frame(STANDS, Sticks())
    screen.key("RETURN")
    for _ in range(20):
        screen.frame(FRAME, Sticks(pitch=1.0))
    line = max((p for p in screen.page().parts if isinstance(p, Line)), key=lambda p: len(p.points))
    assert line.points[0][1] < 92.0  # the nose has come up above the line
    while screen.doing is not None:
        screen.frame(FRAME, Sticks(pitch=1.0))
    assert "The pitch stick was at its ends" in told(screen)
    assert not screen.runs


def test_who_does_nothing_is_told_after_the_first_exercise(screen):
    worked_out(screen)
    screen.frame(STANDS, Sticks())
    screen.key("RETURN")
    while screen.doing is not None:
        screen.frame(FRAME, Sticks())
    assert "hands that do nothing cannot be measured" in told(screen)


def by_gamepad(thumbs: Thumbs, stick: VirtualStick, wanted: Sticks) -> Sticks:
    """What the program reads once thumbs have brought a gamepad's sticks there."""
    hands = thumbs.gamepad.hands
    for axis, place in ((hands.pitch, wanted.pitch), (hands.roll, wanted.roll)):
        stick.axis(axis.index, -place if axis.invert else place)
    thumbs.poll()
    return thumbs.sticks(FRAME, set())


def test_a_gamepads_dead_zone_is_not_taken_for_the_eyes(screen):
    """With so wide a one that the sticks themselves would show hardly any small error seen."""
    worked_out(screen)
    wide = {"dead_zone": "12 %"}
    usual = load_hands("gamepad-mode-2").model_dump()
    wide = {name: Axis.model_validate(usual[name] | wide) for name in ("pitch", "roll")}
    thumbs = Thumbs(load_hands("keyboard"), load_hands("gamepad-mode-2").model_copy(update=wide))
    stick, screen.app.thumbs = VirtualStick(), thumbs
    skill = SKILL._replace(dead_zone=np.radians(1.5))
    airframe, model = screen.app.sound[0], screen.app.models[""]
    own = hands(skill, model, airframe, airframe.launch.hand.throttle)
    for place in (0.4, 0.0):
        for _ in range(5):
            by_gamepad(thumbs, stick, Sticks(place, place))
    screen.seed = 6
    passed = []
    for _ in range(3):
        screen.frame(STANDS, Sticks())
        screen.key("RETURN")
        pilot = Pilot(screen.doing, own, skill, 6)
        while screen.doing is not None:
            wanted = pilot.sticks()
            sticks = by_gamepad(thumbs, stick, wanted)
            passed.append((wanted.roll, sticks.roll))
            screen.frame(FRAME, sticks)
    stick.unplug()
    thumbs.close()
    wanted, read = np.array(passed).T
    assert np.all(read[np.abs(wanted) < 0.1] == 0.0)
    worked_out(screen)
    found = screen.found
    assert found.dead_zone_rad.holds(skill.dead_zone)
    assert found.delay_s.holds(skill.delay)
    assert found.gain_roll_per_rad.value == pytest.approx(own.gain_roll, rel=0.12)
    assert own_hands.kept().last.device == "gamepad"


def test_a_gamepad_that_goes_ends_the_exercise_in_words(screen):
    worked_out(screen)
    screen.unplugged()
    assert "1 of 3" in told(screen)  # nothing was begun
    screen.act("release")
    screen.frame(1.0, Sticks())
    screen.unplugged()
    assert "unplugged" in told(screen)
    assert "from the beginning" in told(screen)
    screen.frame(STANDS, Sticks())
    screen.act("release")
    assert "1 of 3" in told(screen)


def test_channels_that_are_mixed_already_are_refused(screen):
    screen.app.thumbs.straight = object()
    page = type(screen)(screen.app)
    while page.steered is None:
        page.frame(FRAME, Sticks())
    for _ in range(2):
        page.frame(STANDS, Sticks())
        page.key("RETURN")
    assert page.doing is None
    assert "mixed already" in told(page)
    assert "from the beginning" not in told(page)
    page.close()
