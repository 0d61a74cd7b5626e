"""What the commands share: what is said while they work."""

from __future__ import annotations

import sys
import time

import pytest

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
