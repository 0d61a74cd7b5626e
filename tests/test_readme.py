"""What the README says can be typed, and the folder is what it says."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from firstthrow.scenes.commands.cli import _parser

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = sorted(set(re.findall(r"`(firstthrow [^`]+)`", README)))
LINKS = re.findall(r"\]\(([^)]+)\)", README)


@pytest.mark.parametrize("line", [c for c in COMMANDS if "COMMAND" not in c])
def test_a_command_is_understood(line):
    words = shlex.split(line)[1:]
    chosen = _parser().parse_args(words)
    assert callable(chosen.command)


def test_every_command_is_told():
    listed = re.search(r"\{([a-z,]+)\}", _parser().format_usage())
    names = set(listed[1].split(",")) if listed else set()
    actions = [a for a in _parser()._actions if a.choices]
    names |= {name for action in actions for name in action.choices}
    told = {line.split()[1] for line in COMMANDS}
    assert names - told <= {"faults", "schema"}, names - told


@pytest.mark.parametrize("link", LINKS)
def test_a_picture_is_there(link):
    assert (ROOT / link).stat().st_size > 10_000


def test_shipped_airframes_are_told():
    shipped = {path.stem for path in (ROOT / "configs" / "airframes").glob("*.toml")}
    assert all(f"| `{name}` |" in README for name in shipped)


def test_the_install_lines_stand_once():
    """The continuous integration script runs the test line word for word."""
    lines = [line for line in README.splitlines() if line.startswith("python3 ")]
    assert len(lines) == 2
    assert lines[0].endswith("firstthrow fly")
    assert lines[1].endswith("pytest -n auto")
