"""`firstthrow sticks` with a virtual device."""

from __future__ import annotations

import io
import json
import queue

import pytest
from virtual_stick import VirtualStick

from firstthrow.scenes.commands import sticks
from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.sticks import bar
from firstthrow.scenes.hands.profiles import load_profile


@pytest.fixture
def stick(tmp_path, monkeypatch):
    """Plugged in before the command starts, its profile in a folder of its own."""
    import pygame

    from firstthrow.scenes.hands import gamepad

    assert gamepad.pygame is pygame
    monkeypatch.setattr("platformdirs.user_config_path", lambda *a, **k: tmp_path)
    pygame.display.init()
    pygame.joystick.init()
    monkeypatch.setattr(pygame.joystick, "quit", lambda: None)  # it stays plugged in
    return VirtualStick(axes=5, buttons=3)


def test_a_bar_grows_from_the_middle():
    assert bar(0.0).count("#") == 0
    assert bar(1.0).index("|") < bar(1.0).index("#")
    assert bar(-0.5).index("#") < bar(-0.5).index("|")
    assert bar(1.0).count("#") == 15
    assert len({len(bar(x)) for x in (-1.0, -0.3, 0.0, 0.7, 1.0)}) == 1


def test_once_as_json(stick, capsys):
    assert main(["sticks", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    device = answer["devices"][0]
    assert (device["axes"], device["buttons"], device["in_use"]) == (5, 3, True)
    assert device["profile"] is None
    assert len(answer["raw"]) == 5
    assert answer["sends"] == "sticks"
    assert answer["armed"] is False
    stick.unplug()


def test_bars_show_what_the_device_reads(stick, capsys):
    stick.axis(2, 1.0)
    assert main(["sticks", "--seconds", "0.5"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 6
    assert "motor not armed" in lines[0]
    assert "+1.00  roll" in lines[3]
    assert lines[3].count("#") > 10
    stick.unplug()


def test_the_guide_on_the_command_line_asks_and_changes_nothing_in_vain(stick, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("\n\n"))
    assert main(["sticks", "--assign", "--seconds", "0.6"]) == 1
    told = capsys.readouterr().err
    assert "Let go of everything" in told
    assert "fewer than two axes" in told
    assert "nothing is changed" in told
    stick.unplug()


class Person:
    """Moves the device and types while the command runs: one move at each of its pauses."""

    def __init__(self, moves):
        self.moves, self.lines, self.now = iter(moves), queue.Queue(), 0.0

    def monotonic(self) -> float:
        return self.now

    def sleep(self, seconds: float) -> None:
        self.now += seconds
        move = next(self.moves, None)
        if move is not None:
            move()


def test_the_guide_on_the_command_line_assigns_and_keeps(stick, capsys, monkeypatch):
    moves = []

    def wait(frames: int) -> None:
        moves.extend([lambda: None] * frames)

    def to(axis: int, place: float) -> None:
        moves.append(lambda: stick.axis(axis, place))
        wait(5)

    def typed(line: str) -> None:
        moves.append(lambda: person.lines.put(line))
        wait(8)

    wait(40)  # while devices announce themselves
    typed("")
    for axis in range(4):
        for place in (-1.0, 1.0, -1.0 if axis == 2 else 0.0):
            to(axis, place)
    typed("")
    typed("")
    to(2, 1.0)
    wait(25)
    for axis, place in ((0, 1.0), (1, 1.0), (3, -1.0)):
        to(axis, place)
        wait(25)
        to(axis, 0.0)
    moves.append(lambda: stick.button(1, True))
    wait(5)
    typed("f")
    typed("")
    person = Person(moves)
    monkeypatch.setattr(sticks, "time", person)
    monkeypatch.setattr(sticks, "_typed", lambda: person.lines)
    assert main(["sticks", "--assign", "--mode", "1", "--seconds", "60"]) == 0
    told = capsys.readouterr()
    assert told.out.startswith("Kept: ")
    assert "YAW" in told.err
    from firstthrow.scenes.hands.gamepad import pygame

    device = pygame.joystick.Joystick(0)
    hands = load_profile(device.get_name(), device.get_guid())
    assert (hands.roll.index, hands.pitch.index, hands.throttle.index, hands.mode) == (0, 1, 2, 1)
    assert hands.yaw.invert
    assert hands.buttons == {"release": 1}
    stick.unplug()


def test_a_wrong_number_is_refused(stick, capsys):
    assert main(["sticks", "--device", "7"]) == 2
    assert "--device 7: wanted 1 to 1" in capsys.readouterr().err
    stick.unplug()
    for option, wrong in (
        ("--device", "0"),
        ("--device", "1.5"),
        ("--seconds", "nan"),
        ("--seconds", "-1"),
    ):  # whatever is plugged in
        with pytest.raises(SystemExit) as refused:
            main(["sticks", option, wrong])
        assert refused.value.code == 2
        assert f"{option}: '{wrong}': wanted" in capsys.readouterr().err
