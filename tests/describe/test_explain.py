"""Every key of every file in words, with an example that the program reads; notes to fill in."""

from __future__ import annotations

import json
import tomllib

import pytest
from pydantic import TypeAdapter

from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.schema import models
from firstthrow.sim.describe.config import load
from firstthrow.sim.describe.explain import explained, matching
from firstthrow.sim.describe.keys import annotation_at
from firstthrow.sim.describe.notes import Notes, notes_problems

ROWS = explained(models())


def test_every_key_is_told_with_an_example_that_is_read():
    """An example goes through the check of its own key."""
    assert len(ROWS) > 250
    for row in ROWS:
        assert row.words, row.place
        if not row.keys:
            value = tomllib.loads(row.example)[row.path[-1]]
            TypeAdapter(annotation_at(models()[row.file], row.path)).validate_python(value)


@pytest.mark.parametrize(
    ("asked", "places"),
    [
        ("mixing.yaw_to_throttle", ["mixing.yaw_to_throttle"]),
        ("motors.yaw_to_throttle", ["mixing.yaw_to_throttle"]),
        ("sheets.slab.bow", ["sheets.NAME.bow"]),
        ("sheets.bow", ["sheets.NAME.bow"]),
        ("turns", ["motors.NAME.propeller.turns"]),
        ("hand.speed", ["launch.hand.speed"]),
        ("gusts.pulse", ["gusts.pulse"]),
        ("nonsense", []),
    ],
)
def test_the_key_that_is_meant(asked, places):
    assert [row.place for row in matching(ROWS, asked)] == places


def test_what_a_person_reads(capsys):
    assert main(["explain", "motors.yaw_to_throttle"]) == 0
    assert capsys.readouterr().out == (
        "mixing.yaw_to_throttle  (in an airframe file)\n"
        "  Two motors: how much more and less they run at full yaw\n"
        '  Write a percentage, in %; without it "0 %".\n'
        '  yaw_to_throttle = "15 %"\n'
    )
    assert main(["explain", "turn", "--json"]) == 2
    assert "did you mean 'turns'?" in capsys.readouterr().err
    assert main(["explain", "kv", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert row["needed"]
    assert row["example"] == 'kv = "1400 rpm/V"'


def test_notes_to_fill_in(tmp_path, capsys):
    """As printed it says nothing; without its marks it says everything, and is read."""
    with pytest.raises(SystemExit) as done:
        main(["reconcile", "--template"])
    assert done.value.code == 0
    text = capsys.readouterr().out
    assert tomllib.loads(text) == {}
    _, rest = text.split("#\n# about = ", 1)
    filled = "\n".join(line.removeprefix("# ") for line in f"# about = {rest}".splitlines())
    path = tmp_path / "notes.toml"
    path.write_text(filled, encoding="utf-8")
    notes = load(Notes, path, agreement=notes_problems)
    for key in Notes.model_fields:
        assert key in filled
    assert notes.steady["cruise"].up_trim == 0.002
    assert notes.log.columns["time"].name == "Time"


def test_the_version_is_said(capsys):
    with pytest.raises(SystemExit) as done:
        main(["--version"])
    assert done.value.code == 0
    assert capsys.readouterr().out.startswith("firstthrow")
