"""What the commands share: what is said while they work."""

from __future__ import annotations

import sys
import time
from contextlib import contextmanager
from importlib import import_module

import pytest
from bodies import copied

from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.shared import at_work


@pytest.mark.parametrize("terminal", [True, False])
def test_long_work_is_told_of_on_a_terminal_only(capsys, monkeypatch, terminal):
    """What is done and for how long already; nothing of it is left once it is done."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: terminal)
    with at_work("Checking pantry", after=0.02):
        time.sleep(0.5)
    out, err = capsys.readouterr()
    assert out == ""
    shown, _, after = err.rpartition("Checking pantry (00:00)")
    assert bool(shown or after) == terminal
    if terminal:
        assert after.endswith("\r")
        assert not after.strip()


def test_short_work_goes_without_a_word(capsys, monkeypatch):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with at_work("Checking pantry", after=60.0):
        pass
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("command", "done"),
    [
        ("polar", ["Turning own-pantry in the air"]),
        ("directions", ["Moving the surfaces of own-pantry"]),
        ("plan", ["Looking for the balance of own-pantry", "Drawing own-pantry"]),
    ],
)
def test_commands_that_take_long_say_what_they_do(monkeypatch, brief, tmp_path, command, done):
    said = []

    @contextmanager
    def noted(what):
        said.append(what)
        yield

    module = import_module(f"firstthrow.scenes.commands.{command}")
    monkeypatch.setattr(module, "at_work", noted)
    monkeypatch.chdir(tmp_path)
    assert main([command, copied("pantry", tmp_path)]) == 0
    assert said == done
