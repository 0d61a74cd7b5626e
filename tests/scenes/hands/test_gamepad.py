"""The gamepad through the real pygame, moved by SDL's virtual device."""

from __future__ import annotations

import pytest
from virtual_stick import VirtualStick

from firstthrow.scenes.hands.gamepad import Gamepad, with_dead_zone
from firstthrow.scenes.hands.hands import HAT, Axis, Hands, Switch
from firstthrow.scenes.hands.person import Thumbs
from firstthrow.sim.describe.config import ConfigError

FRAME = 1.0 / 60.0


def hands(**changes) -> Hands:
    known = {
        "name": "test",
        "about": "test",
        "throttle": Axis(index=2, rests_at="none"),
        "roll": Axis(index=0, dead_zone="10 %"),
        "pitch": Axis(index=1, invert=True),
        "yaw": Axis(index=3),
        "buttons": {"release": 0, "again": 1},
    }
    return Hands.model_validate(known | changes)


@pytest.fixture
def stick_and_pad():
    pad = Gamepad(hands())
    stick = VirtualStick()
    assert "plugged" in until(pad, lambda happened: "plugged" in happened)
    yield stick, pad
    if pad.connected:
        stick.unplug()
    pad.close()


def until(pad, met) -> list[str]:
    """Polls until a condition on all that happened so far is met; at most 200 frames."""
    happened: list[str] = []
    for _ in range(200):
        happened += pad.poll()
        if met(happened):
            return happened
    raise AssertionError(f"never met; happened: {happened}")


def test_dead_zone_is_zero_inside_and_full_at_the_end():
    assert with_dead_zone(0.09, 0.1) == 0.0
    assert with_dead_zone(-0.1, 0.1) == 0.0
    assert with_dead_zone(1.0, 0.1) == 1.0
    assert with_dead_zone(-0.55, 0.1) == pytest.approx(-0.5)


def test_axes_reach_the_sticks_inverted_and_with_their_dead_zone(stick_and_pad):
    stick, pad = stick_and_pad
    stick.axis(0, 0.55)
    stick.axis(1, 0.8)
    stick.axis(3, -0.25)
    until(pad, lambda _: len(pad.alive) == 3)
    sticks = pad.sticks(FRAME)
    assert sticks.roll == pytest.approx(0.5, abs=0.01)
    assert sticks.pitch == pytest.approx(-0.8, abs=0.01)
    assert sticks.yaw == pytest.approx(-0.25, abs=0.01)


def arm(stick, pad) -> None:
    """As the person does it: every stick moved and let go, throttle low."""
    for axis in (0, 1, 3):
        stick.axis(axis, 0.4)
    stick.axis(2, -1.0)
    until(pad, lambda _: pad.armed)
    for axis in (0, 1, 3):
        stick.axis(axis, 0.0)
    until(pad, lambda _: abs(pad.device.get_axis(3)) < 0.01)


def test_the_motor_waits_for_all_axes_and_a_throttle_that_has_been_low(stick_and_pad):
    stick, pad = stick_and_pad
    assert pad.sticks(FRAME).throttle == 0.0  # an axis that reads zero is not half throttle
    stick.axis(2, -1.0)
    until(pad, lambda _: 2 in pad.alive)
    assert pad.waiting() == ("move roll", "move pitch", "move yaw")
    assert not pad.armed
    for axis in (0, 1, 3):
        stick.axis(axis, 0.3)
    stick.axis(2, 0.5)
    until(pad, lambda _: len(pad.alive) == 4)
    assert pad.waiting() == ("throttle low",)
    assert pad.sticks(FRAME).throttle == 0.0
    stick.axis(2, -1.0)
    until(pad, lambda _: pad.armed)
    assert pad.waiting() == ()
    assert pad.sticks(FRAME).throttle == 0.0
    stick.axis(2, 0.5)
    until(pad, lambda _: pad.sticks(FRAME).throttle > 0.7)
    assert pad.sticks(FRAME).throttle == pytest.approx(0.75, abs=0.01)


def test_buttons_ask_for_their_actions_once(stick_and_pad):
    stick, pad = stick_and_pad
    stick.button(1, True)
    assert until(pad, lambda happened: "again" in happened).count("again") == 1
    assert pad.poll() == []


def test_unplugging_is_told_and_leaves_sticks_in_the_middle(stick_and_pad):
    stick, pad = stick_and_pad
    arm(stick, pad)
    stick.axis(2, 1.0)
    stick.axis(0, 1.0)
    until(pad, lambda _: pad.sticks(FRAME).throttle > 0.9)
    stick.unplug()
    until(pad, lambda happened: "unplugged" in happened)
    assert pad.sticks(FRAME) == (0.0, 0.0, 0.0, 0.0, False)
    again = VirtualStick()
    until(pad, lambda happened: "plugged" in happened)
    assert not pad.armed
    again.unplug()
    until(pad, lambda happened: "unplugged" in happened)


def test_when_one_goes_another_that_is_there_is_taken(stick_and_pad):
    stick, pad = stick_and_pad
    other = VirtualStick()
    for _ in range(5):
        pad.poll()
    first = pad.device.get_instance_id()
    stick.unplug()
    until(pad, lambda happened: "plugged" in happened)
    assert pad.device.get_instance_id() != first
    other.axis(0, -1.0)
    until(pad, lambda _: pad.sticks(FRAME).roll == -1.0)
    other.unplug()
    until(pad, lambda happened: "unplugged" in happened)


def test_a_sprung_throttle_moves_the_power_and_leaves_it():
    pad = Gamepad(hands(throttle_spring=True, throttle=Axis(index=2, invert=True)))
    stick = VirtualStick()
    until(pad, lambda happened: "plugged" in happened)
    for axis in (0, 1, 3):
        stick.axis(axis, 0.4)
    until(pad, lambda _: len(pad.alive) == 3)
    stick.axis(2, 0.4)  # inverted: pulled down
    until(pad, lambda _: pad.armed)
    assert pad.sticks(FRAME).throttle == 0.0
    stick.axis(2, -1.0)
    until(pad, lambda _: pad.device.get_axis(2) < -0.9)
    for _ in range(30):
        pushed = pad.sticks(FRAME).throttle
    stick.axis(2, 0.0)
    until(pad, lambda _: abs(pad.device.get_axis(2)) < 0.01)
    assert 0.2 < pushed < 0.6
    assert pad.sticks(FRAME).throttle == pushed
    stick.unplug()
    until(pad, lambda happened: "unplugged" in happened)
    pad.close()


def test_whoever_moved_last_has_the_sticks():
    thumbs = Thumbs(hands(), hands())
    stick = VirtualStick()
    until(thumbs, lambda happened: "plugged" in happened)
    assert thumbs.source == "keyboard"
    stick.axis(0, 1.0)
    until(thumbs, lambda _: thumbs.sticks(FRAME, set()).roll == 1.0)
    assert thumbs.source == "gamepad"
    assert thumbs.sticks(FRAME, {"roll_left"}).roll < 0.0
    assert thumbs.source == "keyboard"
    stick.axis(0, -1.0)
    until(thumbs, lambda _: thumbs.sticks(FRAME, set()).roll == -1.0)
    assert thumbs.source == "gamepad"
    stick.unplug()
    until(thumbs, lambda happened: "unplugged" in happened)
    assert thumbs.source == "keyboard"
    thumbs.close()


def test_an_axis_is_read_between_its_own_ends(stick_and_pad):
    """A transmitter that sends from -0.8 to 0.6 with its middle at 0.1 gives full stick."""
    stick, pad = stick_and_pad
    pad.assign(hands(roll=Axis(index=0, low=-0.8, centre=0.1, high=0.6)))
    for place, wanted in ((0.6, 1.0), (0.35, 0.5), (0.1, 0.0), (-0.35, -0.5), (-0.8, -1.0)):
        stick.axis(0, place)
        until(pad, lambda _, at=place: abs(pad.device.get_axis(0) - at) < 0.01)
        assert pad.sticks(FRAME).roll == pytest.approx(wanted, abs=0.01)


def test_a_switch_sets_the_rates_and_another_acts_once(stick_and_pad):
    stick, pad = stick_and_pad
    switches = {"low_rates": Switch(index=4), "again": Switch(index=5, above=False)}
    pad.assign(hands(switches=switches, buttons={}))
    stick.axis(4, 1.0)
    until(pad, lambda _: pad.low_rates)
    stick.axis(4, -1.0)
    until(pad, lambda _: not pad.low_rates)
    stick.axis(5, 1.0)
    until(pad, lambda _: 5 in pad.alive)
    stick.axis(5, -1.0)
    assert until(pad, lambda happened: "again" in happened).count("again") == 1
    assert pad.poll() == []


def test_a_key_changes_the_rates_until_the_switch_is_moved():
    thumbs = Thumbs(hands(), hands(switches={"low_rates": Switch(index=4)}))
    stick = VirtualStick()

    def polled(count: int = 5) -> None:
        for _ in range(count):
            for action in thumbs.poll():
                thumbs.press(action)

    polled()
    for place, low in ((0.9, True), (-0.9, False)):
        stick.axis(4, place)
        polled()
        assert (thumbs.keyboard.low_rates, thumbs.gamepad.low_rates) == (low, low)
    thumbs.press("low_rates")
    polled()
    assert thumbs.keyboard.low_rates
    stick.axis(4, 0.9)
    polled()
    assert thumbs.keyboard.low_rates  # as the switch says, too
    stick.axis(4, -0.9)
    polled()
    assert not thumbs.keyboard.low_rates
    stick.unplug()
    until(thumbs, lambda happened: "unplugged" in happened)
    thumbs.close()


def test_a_hat_gives_four_buttons():
    pad = Gamepad(hands(buttons={"trim_up": HAT, "trim_right": HAT + 1}))
    stick = VirtualStick(hats=1)
    until(pad, lambda happened: "plugged" in happened)
    stick.hat(0, 1)
    until(pad, lambda happened: "trim_up" in happened)
    stick.hat(0, 2)
    until(pad, lambda happened: "trim_right" in happened)
    stick.unplug()
    until(pad, lambda happened: "unplugged" in happened)
    pad.close()


def test_of_several_devices_one_is_chosen(stick_and_pad):
    stick, pad = stick_and_pad
    other = VirtualStick(axes=4, buttons=2)
    until(pad, lambda _: len(pad.devices) == 2)
    assert [device.axes for device in pad.devices] == [6, 4]
    assert pad.choose(pad.devices[1].number)
    other.axis(0, -1.0)
    stick.axis(0, 1.0)
    until(pad, lambda _: pad.sticks(FRAME).roll == -1.0)
    assert not pad.choose(99)
    other.unplug()
    until(pad, lambda happened: "plugged" in happened)
    assert len(pad.devices) == 1


def test_a_device_gets_its_own_profile_and_a_bad_one_is_told():
    own = hands(name="own", mode=1)
    pad = Gamepad(hands(), lambda name, guid: own)
    stick = VirtualStick()
    until(pad, lambda happened: "plugged" in happened)
    assert pad.hands is own

    def broken(name, guid):
        raise ConfigError(["own.toml:3: roll.index: wanted a number"])

    pad.profile = broken
    pad.choose(pad.devices[0].number)
    assert pad.hands.name == "test"
    assert "own.toml:3" in pad.trouble
    stick.unplug()
    until(pad, lambda happened: "unplugged" in happened)
    pad.close()
