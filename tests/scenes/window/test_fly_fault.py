"""`fly --fault`: the fault flies, is said, and stands in the record; without and in the window."""

from __future__ import annotations

import json

import pytest

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.flight.record import load


def test_a_fault_flies_and_stands_in_the_record(tmp_path, capsys):
    rolls = {}
    stick = tmp_path / "right.csv"
    stick.write_text("time_s,roll,pitch,yaw,throttle\n0,0,0,0,0.6\n0.1,0.5,0,0,0.6\n")
    for fault in (None, "reversed-roll"):
        path = tmp_path / f"{fault}.csv"
        words = ["--fault", fault] if fault else []
        line = ["fly", "--no-window", "--seconds", "0.7", "--pilot", str(stick)]
        assert main([*line, "--record", str(path), *words]) == 0
        record = load(path)
        rolls[fault] = record.column("roll_deg")[-1]
        assert record.meta.get("fault") == fault
    assert rolls[None] > 5.0
    assert rolls["reversed-roll"] < -5.0
    assert "Fault card, reversed-roll" in capsys.readouterr().err


def test_an_unknown_fault_or_one_the_airframe_cannot_have_is_refused(tmp_path, capsys):
    assert main(["fly", "--no-window", "--fault", "reversed-rol"]) == 2
    assert "did you mean 'reversed-roll'" in capsys.readouterr().err
    assert main(["fly", "allotment", "--no-window", "--fault", "swapped-elevons"]) == 2
    assert "no elevons" in capsys.readouterr().err


def test_the_help_of_fly_speaks_of_it(capsys):
    with pytest.raises(SystemExit):
        main(["fly", "--help"])
    assert "--fault NAME" in capsys.readouterr().out


@pytest.mark.window
def test_in_the_window_too(display, tmp_path):
    path = tmp_path / "flown.csv"
    line = ["fly", "--pilot", "hands-off", "--seconds", "0.5", "--fault", "motor-reversed"]
    assert main([*line, "--record", str(path)]) == 0
    record = load(path)
    assert record.column("motor_motor_thrust_N")[-1] < 0.0
    assert json.loads(path.with_suffix(".json").read_text())["fault"] == "motor-reversed"
