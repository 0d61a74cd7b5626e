"""Keys push sticks at a thumb's pace."""

from __future__ import annotations

import pytest

from firstthrow.scenes.hands.bindings import ACTIONS, BINDINGS, help_lines, key_words
from firstthrow.scenes.hands.keyboard import Keyboard

FRAME = 1.0 / 60.0


def held_for(keyboard: Keyboard, seconds: float, *actions: str):
    sticks = keyboard.sticks(0.0, set())
    for _ in range(round(seconds / FRAME)):
        sticks = keyboard.sticks(FRAME, set(actions))
    return sticks


def test_a_tap_is_small_and_a_press_is_full():
    tap = held_for(Keyboard(), 0.08, "pitch_back").pitch
    press = held_for(Keyboard(), 0.9, "pitch_back").pitch
    assert 0.03 < tap < 0.15
    assert press == 1.0


@pytest.mark.parametrize(
    ("action", "axis", "sign"),
    [
        ("roll_right", "roll", 1),
        ("roll_left", "roll", -1),
        ("pitch_back", "pitch", 1),
        ("pitch_forward", "pitch", -1),
        ("yaw_right", "yaw", 1),
        ("yaw_left", "yaw", -1),
    ],
)
def test_each_key_moves_its_own_axis_its_own_way(action, axis, sign):
    sticks = held_for(Keyboard(), 0.2, action)
    moved = {name: getattr(sticks, name) for name in ("roll", "pitch", "yaw", "throttle")}
    assert moved.pop(axis) * sign > 0.1
    assert set(moved.values()) == {0.0}


def test_letting_go_brings_the_stick_back_smoothly():
    keyboard = Keyboard()
    held_for(keyboard, 1.0, "roll_right")
    path = [keyboard.sticks(FRAME, set()).roll for _ in range(60)]
    assert all(a >= b for a, b in zip([1.0, *path], path, strict=False))
    assert path[0] > 0.5
    assert path[29] < 0.01
    assert path[-1] == 0.0


def test_the_opposite_key_crosses_the_middle_without_a_jump():
    keyboard = Keyboard()
    held_for(keyboard, 1.0, "roll_right")
    before, places = 1.0, []
    for _ in range(75):
        place = keyboard.sticks(FRAME, {"roll_left"}).roll
        assert abs(place - before) < 0.3
        places.append(place)
        before = place
    assert places[-1] < -0.5


def test_both_keys_at_once_are_neither():
    assert held_for(Keyboard(), 0.5, "roll_left", "roll_right").roll == 0.0


def test_throttle_stays_where_it_is_put_until_shut():
    keyboard = Keyboard()
    up = held_for(keyboard, 0.5, "throttle_up").throttle
    assert 0.2 < up < 0.6
    assert held_for(keyboard, 2.0).throttle == up
    keyboard.press("motor_off")
    assert keyboard.sticks(FRAME, set()).throttle == 0.0
    assert held_for(keyboard, 5.0, "throttle_up").throttle == 1.0
    assert held_for(keyboard, 5.0, "throttle_down").throttle == 0.0


def test_trims_and_rates_last_through_a_restart_and_throttle_does_not():
    keyboard = Keyboard()
    for action in ("trim_up", "trim_up", "trim_left", "low_rates"):
        keyboard.press(action)
    held_for(keyboard, 1.0, "throttle_up", "roll_right")
    keyboard.restart()
    sticks = keyboard.sticks(FRAME, set())
    assert sticks == (pytest.approx(-0.02), pytest.approx(0.04), 0.0, 0.0, False)


def test_a_gentler_pace_is_gentler():
    brisk = held_for(Keyboard(), 0.2, "pitch_back").pitch
    gentle = held_for(Keyboard(0.5), 0.2, "pitch_back").pitch
    assert gentle == pytest.approx(0.5 * brisk)


def test_the_speed_of_the_frames_does_not_matter():
    slow, fast = Keyboard(), Keyboard()
    for _ in range(6):
        a = slow.sticks(1.0 / 30.0, {"pitch_back"}).pitch
    for _ in range(24):
        b = fast.sticks(1.0 / 120.0, {"pitch_back"}).pitch
    assert a == pytest.approx(b, abs=0.05)


def test_every_key_and_every_action_stands_once_in_the_table():
    assert len({b.key for b in BINDINGS}) == len(BINDINGS)
    assert len({b.action for b in BINDINGS}) == len(BINDINGS)
    assert len(ACTIONS) == len(help_lines()) == len(BINDINGS)
    assert key_words("release") == "Space"
