"""`firstthrow sticks` with a virtual device."""

from __future__ import annotations

import io
import json

import pytest
from virtual_stick import VirtualStick

from scenes.cli import main
from scenes.command_sticks import bar


@pytest.fixture
def stick(tmp_path, monkeypatch):
    """Plugged in before the command starts, its profile in a folder of its own."""
    import pygame

    from scenes import gamepad  # sets what SDL needs before pygame opens anything

    assert gamepad.pygame is pygame
    monkeypatch.setattr("platformdirs.user_config_path", lambda *a, **k: tmp_path)
    pygame.display.init()
    pygame.joystick.init()
    monkeypatch.setattr(pygame.joystick, "quit", lambda: None)  # it stays plugged in
    yield VirtualStick(axes=5, buttons=3)


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


def test_a_wrong_number_is_refused(stick, capsys):
    assert main(["sticks", "--device", "7"]) == 1
    assert "there are 1" in capsys.readouterr().err
    stick.unplug()
