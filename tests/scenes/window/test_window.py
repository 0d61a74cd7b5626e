"""The real window, driven by real key events and a virtual joystick, judged by its pixels.

Frames are asked for one by one with a stated length, so that nothing depends on the machine's
speed; where the X server must pass something on, the tests wait for the condition.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from driven import FRAME, Driven, changed, horizon_tilt, throw
from virtual_stick import VirtualStick

from firstthrow.scenes.world.meshes import to_body
from firstthrow.sim.build.shape import pieces
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import find, load_airframe, load_field

pytestmark = pytest.mark.window


@pytest.fixture(scope="module")
def window(display):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import TITLE, App

    airframe = load_airframe(find("airframes", "pantry"))
    rehearsal = Rehearsal(airframe, load_field(find("fields", "water-meadow")))
    app = App(rehearsal, load_hands("keyboard"))
    for click in ("on_mouse_press", "on_mouse_release"):  # before the first picture
        app.window.dispatch_event(click, 600, 300, 1, 0)
    driven = Driven(app, TITLE)
    yield driven
    driven.app.close()


@pytest.fixture
def hand(window):
    """The window with the airframe in the hand, seen by the standing pilot, notices away."""
    app = window.app
    app.rehearsal.clock.rate = 1.0
    app.view_name, app.instruments = "standing", True
    app.act("again")
    window.frames(2)
    yield window
    for name in ("Up", "Down", "Left", "Right", "w", "s", "a", "d"):
        window.key_up(name)
    window.until(lambda: not app.keys, "all keys are up")


def test_the_airframe_is_on_screen_where_it_flies(hand):
    app = hand.app
    app.instruments = False
    with_airframe = hand.picture()
    kept = app.picture.fixed_list, app.picture.part_lists
    column, row = hand.pixel(np.zeros(3))

    class Nothing:
        @staticmethod
        def draw(mode):
            """Leaves the airframe out of the picture."""

    app.picture.fixed_list = Nothing
    app.picture.part_lists = [Nothing] * len(kept[1])
    without = hand.picture()
    app.picture.fixed_list, app.picture.part_lists = kept
    spots = changed(with_airframe, without)
    near = spots[np.abs(spots[:, 0] - row) < 60]
    assert len(near) > 300
    assert near[:, 1].mean() == pytest.approx(column, abs=25)
    wide = np.ptp(near[:, 1])
    assert 80 < wide < 220  # 0.7 m seen from 4 m


def test_outdoors_at_a_glance(hand):
    hand.app.instruments = False
    picture = hand.picture()
    sky, grass = picture[40:120, 900:1250], picture[500:690, 60:560]
    assert sky[..., 2].mean() > sky[..., 0].mean() + 30
    assert grass[..., 1].mean() > grass[..., 2].mean() + 50
    assert grass[..., 1].mean() > grass[..., 0].mean() + 15


@pytest.mark.parametrize(("key", "sign"), [("Right", 1.0), ("Left", -1.0)])
def test_on_board_the_horizon_tilts_with_the_bank(hand, key, sign):
    app = hand.app
    throw(hand)
    hand.key("v")
    hand.key("v")
    hand.until(lambda: app.view_name == "riding", "V changes the view")
    app.instruments = False
    hand.key_down(key)
    hand.until(
        lambda: app.rehearsal.over or sign * app.rehearsal.reading.roll_deg > 22.0, "it banks"
    )
    hand.key_up(key)
    assert not app.rehearsal.over, app.rehearsal.flight.outcome
    tilt, bank = horizon_tilt(hand.picture()), app.rehearsal.reading.roll_deg
    assert sign * bank > 20.0
    assert tilt == pytest.approx(bank, abs=7.0)


def test_the_elevon_moves_in_the_picture(hand):
    app = hand.app
    hand.key("v")
    hand.until(lambda: app.view_name == "towed", "V changes the view")
    app.instruments = False
    hand.frames(5)
    level = hand.picture()
    before = app.rehearsal.reading.surface_elevon_left_deg
    hand.key_down("Down")
    hand.until(
        lambda: app.rehearsal.reading.surface_elevon_left_deg < before - 8.0,
        "stick back brings the left elevon up",
    )
    pulled = hand.picture()
    airframe = app.rehearsal.airframe
    cg = balance(parts(airframe)).place
    left = next(p for p in pieces(airframe) if p.surface == 0)
    corners = np.array([hand.pixel(c) for c in to_body(left.corners, cg)])
    low, high = corners.min(axis=0) - 12, corners.max(axis=0) + 12
    spots = changed(level, pulled)[:, ::-1]
    inside = ((spots > low) & (spots < high)).all(axis=1)
    assert inside.sum() > 150
    nose = np.array(hand.pixel(to_body(np.array([0.05, -0.2, 0.0]), cg)))
    assert not (np.abs(spots - nose) < 12).all(axis=1).any()


def test_the_throttle_key_turns_the_propeller(hand):
    app = hand.app
    assert app.rehearsal.reading.motor_motor_rpm < 50.0
    hand.key_down("w")
    hand.until(lambda: app.rehearsal.reading.motor_motor_rpm > 3000.0, "the motor runs")
    assert app.rehearsal.held


def test_one_key_and_it_is_back_in_the_hand(hand):
    app = hand.app
    throw(hand)
    hand.key_down("Up")
    hand.until(lambda: app.rehearsal.over, "it flies into the ground", frame=0.1)
    hand.key_up("Up")
    assert app.rehearsal.flight.outcome.word in ("broke", "propeller-strike", "folded")
    assert app._card().title
    count = len(app.rehearsal.finished)
    for _ in range(5):
        hand.key("r")
        hand.until(lambda: app.rehearsal.held, "R brings it back")
        hand.frames(1)
        assert app.rehearsal.reading.throttle == 0.0
        hand.key("space")
        hand.until(lambda: app.rehearsal.flown, "and it can be thrown again")
    assert len(app.rehearsal.finished) == count + 4  # the throws that R stopped


def test_pause_stops_time_and_picture_and_goes_on(hand):
    app = hand.app
    throw(hand)
    hand.frames(20)
    hand.key("p")
    hand.until(lambda: app.rehearsal.clock.paused, "P pauses")
    stood, first = app.rehearsal.flight.time, hand.picture()
    hand.frames(30)
    assert app.rehearsal.flight.time == stood
    assert app._card().title == "Paused"
    ahead = slice(0, 560), slice(500, 780)  # where it flies; the eye may still settle
    assert np.abs(first - hand.picture())[ahead].mean() < 8.0
    hand.key("p")
    hand.until(lambda: app.rehearsal.flight.time > stood, "P goes on")


def test_slow_motion_and_a_stalled_window(hand):
    app = hand.app
    throw(hand)
    hand.key("t")
    hand.until(lambda: app.rehearsal.clock.rate == 0.5, "T slows time")
    before = app.rehearsal.flight.time
    hand.frames(12)
    assert app.rehearsal.flight.time - before == pytest.approx(0.1, abs=0.006)
    before = app.rehearsal.flight.time
    app.frame(30.0)  # the window was away for half a minute
    assert app.rehearsal.flight.time - before < 0.02
    from firstthrow.scenes.words import what_it_says

    assert what_it_says.TIME_RUNS_SLOW not in what_it_says.words(app)[1]
    for _ in range(3):  # and a machine that always takes so long says so
        app.frame(0.4)
    assert what_it_says.TIME_RUNS_SLOW in what_it_says.words(app)[1]
    assert what_it_says.TIME_RUNS_SLOW in app.panels.warned  # and shows it


def test_help_shows_the_bindings_and_holds_the_flight(hand):
    app = hand.app
    plain = hand.picture()
    hand.key("F1")
    hand.until(lambda: app.helping, "F1 shows the keys")
    shown = hand.picture()
    paper = (np.abs(shown - np.array([245, 240, 226])).max(axis=2) < 4).sum()
    assert paper > 3 * (np.abs(plain - np.array([245, 240, 226])).max(axis=2) < 4).sum() / 2
    assert app.rehearsal.clock.paused
    hand.key("F1")
    hand.until(lambda: not app.helping and not app.rehearsal.clock.paused, "F1 closes the page")


def test_the_page_of_keys_is_whole_in_a_narrow_window(hand):
    app = hand.app
    hand.key("F1")
    hand.until(lambda: app.helping, "F1 shows the keys")
    app.window.set_size(900, 600)
    hand.until(lambda: app.canvas.width == 900, "the window is narrow")
    hand.frames(1)
    paper, pages = app.panels.cards.rect, app.panels.cards.pages
    app.window.set_size(1280, 720)
    hand.until(lambda: app.canvas.width == 1280, "and wide again")
    hand.key("F1")
    hand.until(lambda: not app.helping, "closed")
    assert paper.x > 0.0
    assert 300.0 < paper.width < 900.0
    assert pages > 1  # rather than smaller text


def test_help_leaves_a_pause_as_it_was_and_keeps_other_keys_off(hand):
    app = hand.app
    hand.key("p")
    hand.until(lambda: app.rehearsal.clock.paused, "P pauses")
    for shown in (True, False):
        hand.key("F1")
        hand.until(lambda s=shown: app.helping == s, "F1 opens the page, and closes it")
    assert app.rehearsal.clock.paused
    hand.key("F1")
    hand.until(lambda: app.helping, "once more")
    throws = app.rehearsal.throws
    for name in ("p", "r", "w", "equal"):
        hand.key(name)
    hand.until(lambda: app.scale > 1.0, "the keys have come")
    assert app.rehearsal.clock.paused
    assert app.rehearsal.throws == throws
    assert app.rehearsal.sticks.throttle == 0.0
    hand.key("minus")
    hand.key("F1")
    hand.until(lambda: not app.helping and app.scale == 1.0, "closed")


def test_a_window_hidden_behind_a_page_stays_paused_when_the_page_goes(hand):
    app = hand.app
    for name in ("F1", "F2"):
        app.act("again")
        throw(hand, 0.1)
        hand.key(name)
        hand.until(lambda: app.screen is not None or app.helping, "a page lies over the flight")
        app.window.dispatch_event("on_hide")
        hand.key(name)
        hand.until(lambda: app.screen is None and not app.helping, "it is left")
        stood = app.rehearsal.flight.time
        hand.frames(5)
        assert app.rehearsal.flight.time == stood
        assert "hidden" in app._card().lines[0]


def test_a_key_reaches_the_surfaces_with_the_next_frame(hand):
    from pyglet.window import key

    app = hand.app
    hand.frames(3)
    rest = app.rehearsal.reading.surface_elevon_left_asked_deg
    app.window.dispatch_event("on_key_press", key.DOWN, 0)
    app.frame(FRAME)
    assert app.rehearsal.reading.stick_pitch > 0.0
    delay = max(servo.delay for servo in app.rehearsal.airframe.servos.values())
    for _ in range(math.ceil(delay / FRAME)):  # the servo's own, part of the physics
        app.frame(FRAME)
    assert app.rehearsal.reading.surface_elevon_left_asked_deg < rest
    app.window.dispatch_event("on_key_release", key.DOWN, 0)
    hand.until(lambda: not app.keys, "the key comes up")


def test_larger_text_and_another_size_of_window(hand):
    app = hand.app
    small = app.panels.places["air"]
    hand.key("equal")
    hand.until(lambda: app.scale == 1.25, "= makes text larger")
    assert app.panels.places["air"].width == pytest.approx(1.25 * small.width)
    hand.key("minus")
    hand.until(lambda: app.scale == 1.0, "- makes text smaller")
    app.window.set_size(1000, 600)
    hand.until(lambda: app.canvas.width == 1000, "the picture follows the window")
    assert hand.picture().shape == (600, 1000, 3)
    app.window.set_size(1280, 720)
    hand.until(lambda: app.canvas.width == 1280, "and back")


def test_a_window_of_any_size(hand):
    """Dragged to next to nothing, and to a wall: it goes on, with and without the page of keys."""
    app = hand.app
    before, canvas = app.window.get_size(), app.canvas
    for size in ((1, 1), (30, 20), (39, 500), (1200, 3), (2000, 1300)):
        app.window.set_size(*size)
        app.helping = not app.helping
        hand.frames(3)
        wide, tall = app.window.get_size()
        assert wide >= 320
        assert tall >= 240
        assert app.panels.width == wide
        assert app.canvas is canvas  # shaders for every size would be kept for good
        assert (canvas.width, canvas.height) == app.window.get_framebuffer_size()
    app.helping = False
    app.window.set_size(*before)
    hand.frames(2)


def test_a_joystick_flies_a_whole_flight_and_its_going_pauses(hand):
    """Through SDL and pygame as from hardware: throttle, throw, roll, unplug."""
    app = hand.app
    stick = VirtualStick()
    pad = app.thumbs.gamepad
    hand.until(lambda: pad.connected, "the joystick is found")
    layout = pad.hands
    for axis in (layout.roll, layout.pitch, layout.yaw, layout.throttle):
        stick.axis(axis.index, 0.5)
    hand.until(lambda: pad.armed, "all axes moved and throttle down arm it")
    for axis in (layout.roll, layout.pitch, layout.yaw):
        stick.axis(axis.index, 0.0)
    stick.axis(layout.throttle.index, -1.0 if layout.throttle.invert else 1.0)
    hand.until(lambda: app.rehearsal.reading.throttle > 0.4, "its throttle runs the motor")
    stick.axis(layout.throttle.index, 0.0)
    assert app.thumbs.source == "gamepad"
    told = " ".join(app._card().lines)
    assert f"button {layout.buttons['release']} throws" in told
    assert "Throttle stick up" in told
    assert "Space" not in told
    stick.button(layout.buttons["release"], True)
    hand.until(lambda: app.rehearsal.flown, "its button throws")
    stick.button(layout.buttons["release"], False)
    stick.axis(layout.roll.index, 0.7)
    hand.until(lambda: app.rehearsal.reading.roll_deg > 15.0, "stick right rolls right")
    angles = app.rehearsal.reading
    assert angles.surface_elevon_left_deg > angles.surface_elevon_right_deg + 5.0
    stick.axis(layout.pitch.index, -1.0)
    stick.axis(layout.throttle.index, 1.0 if layout.throttle.invert else -1.0)
    hand.until(lambda: app.rehearsal.over, "and down to the ground", frame=0.05)
    assert app.rehearsal.flight.time > 0.5
    stick.button(layout.buttons["again"], True)
    hand.until(lambda: app.rehearsal.held, "its button brings it back to the hand")
    stick.button(layout.buttons["again"], False)
    stick.unplug()
    hand.until(lambda: app.rehearsal.clock.paused, "unplugging pauses")
    assert "unplugged" in app.waiting.because
    assert "throttle shut, low rates" in app.waiting.because
    assert app.rehearsal.sticks.throttle == 0.0
    assert app.thumbs.source == "keyboard"


def test_escape_leaves(hand):
    app = hand.app
    hand.key("F1")
    hand.until(lambda: app.helping, "F1 shows the keys")
    hand.key("Escape")
    hand.until(lambda: not app.helping, "Escape closes what is open")
    assert app.running
    hand.key("Escape")
    hand.until(lambda: app.asking, "then it asks")
    assert app.rehearsal.clock.paused
    assert app._card().title == "Leave?"
    hand.key("p")
    hand.until(lambda: not app.asking, "any other key stays")
    assert not app.rehearsal.clock.paused  # and does nothing else
    for asked in (True, False):
        hand.key("Escape")
        if asked:
            hand.until(lambda: app.asking, "it asks again")
    with pytest.raises(AssertionError, match="never"):  # frames come to nothing once it has left
        hand.until(lambda: False, "it goes on", most=0.3)
    assert not hand.app.running
    hand.app.running = True
