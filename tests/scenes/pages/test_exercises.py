"""The exercises in the window: done by hands that are known, as a person does them."""

from __future__ import annotations

import time
from types import SimpleNamespace

import numpy as np
import pytest
from bodies import shipped

from firstthrow.scenes.hands import own_hands
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


def test_the_picture_answers_and_what_is_lost_is_said(screen):
    """The nose comes up with the stick; in the next exercise full stick rolls it over."""
    worked_out(screen)
    screen.frame(STANDS, Sticks())
    screen.key("RETURN")
    for _ in range(20):
        screen.frame(FRAME, Sticks(pitch=1.0))
    line = max((p for p in screen.page().parts if isinstance(p, Line)), key=lambda p: len(p.points))
    assert line.points[0][1] < 92.0  # the nose has come up above the line
    while screen.doing is not None:
        screen.frame(FRAME, Sticks())
    screen.frame(STANDS, Sticks())
    screen.key("RETURN")
    while screen.doing is not None:
        screen.frame(FRAME, Sticks(roll=1.0))
    assert "Lost after" in told(screen)


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
