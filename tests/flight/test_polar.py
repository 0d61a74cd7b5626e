"""`firstthrow polar`: the whole circle, in numbers and words."""

from __future__ import annotations

import json

import numpy as np
import pytest

from firstthrow.scenes.commands.cli import main


def report(capsys, *words: str) -> dict:
    assert main(["polar", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_json(capsys):
    found = report(capsys, "pantry")
    rows = {row["alpha_deg"]: row for row in found["polar"]}
    assert len(rows) == 361
    assert set(rows[0.0]) == {
        "alpha_deg",
        "CL",
        "CD",
        "Cm",
        "L_over_D",
        "centre_of_pressure_percent_mac",
    }
    assert rows[0.0]["centre_of_pressure_percent_mac"] is None  # no force, no place
    for alpha in (3.0, 20.0, 70.0, 140.0):  # a slab upside down is the same slab
        assert rows[alpha]["CL"] == pytest.approx(-rows[-alpha]["CL"], abs=1e-9)
        # Stalled, it shelters the fin one way up only.
        same = 1e-9 if alpha < 10.0 else 0.005
        assert rows[alpha]["CD"] == pytest.approx(rows[-alpha]["CD"], abs=same)
    # Past the stall the centre of pressure lies behind a third, broadside near the middle (the
    # parts, most of them ahead of it, are met as well).
    assert rows[45.0]["centre_of_pressure_percent_mac"] == pytest.approx(41.5, abs=2.0)
    assert rows[90.0]["centre_of_pressure_percent_mac"] == pytest.approx(50.0, abs=2.0)
    assert rows[180.0]["CL"] == pytest.approx(rows[-180.0]["CL"], abs=1e-9)


def test_reflex_lifts_the_nose(capsys):
    plain, up = report(capsys, "pantry"), report(capsys, "pantry", "--up", "6 deg")
    for one, other in zip(plain["polar"], up["polar"], strict=True):
        if abs(one["alpha_deg"]) <= 12.0:
            assert other["Cm"] > one["Cm"] + 0.03
            assert other["CL"] < one["CL"]


def test_table_and_plot(capsys, tmp_path):
    page = tmp_path / "polar.png"
    assert main(["polar", "allotment", "--plot", str(page)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("allotment, trailing edges 0.0 deg up")
    assert any(line.split()[:2] == ["10", "deg"] for line in lines)
    assert page.read_bytes()[:4] == b"\x89PNG"


def test_wrong_angle(capsys):
    assert main(["polar", "pantry", "--up", "6"]) == 2
    assert capsys.readouterr().err == "--up: '6': say a unit, such as '6 deg'\n"


def test_drag_is_never_pushed_forward(capsys):
    drag = np.array([row["CD"] for row in report(capsys, "glasshouse")["polar"]])
    assert drag.min() > 0.01
