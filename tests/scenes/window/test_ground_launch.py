"""A whole ground launch in the real window: it waits on its wheels, rolls, flies, lands."""

from __future__ import annotations

import pytest
from driven import Driven
from virtual_stick import VirtualStick

from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.scripted_pilot import Steady

pytestmark = pytest.mark.window

FRAME = 0.05
BALANCED = ("items.pack.aft=-130 mm", "items.nose_box.mass=340 g")
KEYS = {
    "roll": ("RIGHT", "LEFT", 0.1),
    "pitch": ("DOWN", "UP", 0.1),
    "yaw": ("D", "A", 0.1),
    "throttle": ("W", "S", 0.0),
}


class Hop(Steady):
    """Who holds the device: off the ground, and down again straight ahead."""

    HEIGHT, TURN = 3.0, 0.0


@pytest.fixture(scope="module")
def window(display):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import TITLE, App

    airframe = load_airframe(find("airframes", "glasshouse"), BALANCED)
    rehearsal = Rehearsal(airframe, load_field(find("fields", "water-meadow")))
    driven = Driven(App(rehearsal, load_hands("keyboard"), (480, 300)), TITLE)
    yield driven
    driven.app.close()


def flown(window, hold) -> None:
    """With `hold(wanted)` moving the device on each frame, from standing still to the end."""
    app, pilot, frames = window.app, Hop(), 0
    rehearsal = app.rehearsal
    while not rehearsal.over:
        wanted = pilot(rehearsal.reading)
        hold(wanted._replace(throttle=1.0) if rehearsal.standing else wanted)
        app.frame(FRAME)
        frames += 1
        assert frames * FRAME < 60.0, "it never took off, or never came down"


def press(window, symbol: str, down: bool) -> None:
    from pyglet.window import key

    name = "on_key_press" if down else "on_key_release"
    window.app.window.dispatch_event(name, getattr(key, symbol), 0)


def with_keys(window):
    """Every stick led to where it is wanted by the two keys that push it."""
    keys, down = window.app.thumbs.keyboard, set()

    def hold(wanted) -> None:
        for axis, (more, less, dead) in KEYS.items():
            place = keys.throttle if axis == "throttle" else getattr(keys, axis).place
            aim = getattr(wanted, axis)
            off = aim - place if abs(aim) > dead or axis == "throttle" else 0.0
            for symbol, push in ((more, off > 0.12), (less, off < -0.12)):
                if push != (symbol in down):
                    press(window, symbol, push)
                    down.symmetric_difference_update({symbol})

    return hold


def with_pad(stick: VirtualStick, layout):
    def hold(wanted) -> None:
        for axis in ("roll", "pitch", "yaw", "throttle"):
            used = getattr(layout, axis)
            place = getattr(wanted, axis)
            if axis == "throttle" and used.rests_at != "centre":
                place = 2.0 * place - 1.0
            elif axis == "throttle":
                place = 1.0 if place > 0.6 else -1.0 if place < 0.1 else 0.0
            stick.axis(used.index, -place if used.invert else place)

    return hold


def test_it_waits_on_its_wheels_and_the_card_says_what_to_do(window):
    app = window.app
    app.act("again")
    window.frames(90)  # longer than what counts as come to rest
    assert not app.rehearsal.over
    assert app.rehearsal.flight.time == 0.0
    card = app._card()
    assert card.title == "glasshouse, on the ground"
    assert "W" in card.lines[0]


@pytest.mark.parametrize("device", ["keyboard", "gamepad"])
def test_a_whole_ground_launch(window, device):
    app = window.app
    app.act("again")
    window.frames(2)
    stick = VirtualStick() if device == "gamepad" else None
    if stick is not None:
        pad = app.thumbs.gamepad
        window.until(lambda: pad.connected, "the gamepad is found")
        for place in (0.5, 0.0):
            for name in ("roll", "pitch", "yaw", "throttle"):
                stick.axis(getattr(pad.hands, name).index, place)
            window.frames(2)
        window.until(lambda: pad.armed, "all axes moved, throttle low")
        hold = with_pad(stick, pad.hands)
    else:
        hold = with_keys(window)
    app.act("again")
    flown(window, hold)
    rehearsal = app.rehearsal
    assert rehearsal.flight.outcome.word == "landed", rehearsal.flight.outcome
    assert app.thumbs.source == device
    assert rehearsal.top > 2.0
    assert rehearsal.flight.time > 6.0
    told = " ".join((*app._card().lines, *app._card().small))
    assert "from the first throttle" in told
    assert "at the release" not in told
    assert "back on its wheels" in told
    assert "in the air" not in told
    app.window.dispatch_event("on_deactivate")  # every key comes up
    if stick is not None:
        stick.unplug()
        window.until(lambda: not app.thumbs.gamepad.connected, "the gamepad goes")
