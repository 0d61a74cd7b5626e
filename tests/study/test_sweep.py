"""Sweeps: what --vary means, points against single runs, tables, plots, wrong input."""

import csv
import io
import json
import os
from itertools import pairwise

import pytest

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build import model
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.sweep import RESULTS, Vary, points, sweep, vary, work_out, write_csv
from firstthrow.sim.study.weigh import weigh

PANTRY = find("airframes", "pantry")


def told(capsys, *words):
    try:
        code = main(words)
    except SystemExit as leaving:
        code = leaving.code
    said = capsys.readouterr()
    return code, said.out, said.err


@pytest.mark.parametrize(
    ("text", "key", "values", "unit"),
    [
        (
            "items.pack.aft=60..140mm:5",
            "items.pack.aft",
            ("60 mm", "80 mm", "100 mm", "120 mm", "140 mm"),
            "mm",
        ),
        ("a=-1.5 .. 1.5 deg:3", "a", ("-1.5 deg", "0 deg", "1.5 deg"), "deg"),
        ("a=1mm..2mm:2", "a", ("1 mm", "2 mm"), "mm"),
        ("pack.cells=2..5", "pack.cells", ("2", "3", "4", "5"), ""),
        ("a=5 %..10 %:2", "a", ("5 %", "10 %"), "%"),
        ("a=0.1..0.2s/60deg:2", "a", ("0.1 s/60deg", "0.2 s/60deg"), "s/60deg"),
        ("sheets.slab.edge=square,rounded", "sheets.slab.edge", ("square", "rounded"), ""),
        ("p=8x4 in, 9x5 in", "p", ("8x4 in", "9x5 in"), ""),
    ],
)
def test_what_vary_means(text, key, values, unit):
    assert vary(text) == Vary(key, values, unit)


def test_nine_points_when_not_said():
    found = vary("items.pack.aft=60..140mm")
    assert len(found.values) == 9
    assert found.numbers == tuple(range(60, 141, 10))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "items.pack.aft",
            "items.pack.aft: wanted KEY=LOW..HIGH UNIT[:COUNT], such as items.pack.aft=60..140mm:9",
        ),
        ("a=1..", "a=1..: wanted KEY=LOW..HIGH UNIT[:COUNT], such as items.pack.aft=60..140mm:9"),
        ("a=1mm..2cm", "a=1mm..2cm: 'mm' and 'cm': give both ends in one unit"),
        ("a=1..2mm:1", "a=1..2mm:1: 1: wanted 2 points or more"),
        ("a=1mm,,2mm", "a=1mm,,2mm: a value is missing beside a comma"),
    ],
)
def test_what_vary_refuses(text, said):
    with pytest.raises(ValueError) as error:  # noqa: PT011
        vary(text)
    assert str(error.value) == said


def test_points_run_through_every_combination():
    assert points([vary("a=1,2"), vary("b=x,y,z")]) == [
        ("1", "x"),
        ("1", "y"),
        ("1", "z"),
        ("2", "x"),
        ("2", "y"),
        ("2", "z"),
    ]
    with pytest.raises(ValueError, match="10000 points: wanted 2000 or fewer"):
        points([vary("a=1..2mm:100"), vary("b=1..2mm:100")])


def test_points_agree_with_single_runs():
    """The limits of the balance too are those of `weigh`: where launches survive."""
    results = ("static_margin_percent", "stall_speed_m_s", "mass_kg")
    results += ("cg_front_limit_m", "cg_rear_limit_m")
    row = work_out(str(PANTRY), (), ["items.pack.mass"], ["150 g"], results)
    alone = weigh(Subject(load_airframe(PANTRY, ["items.pack.mass=150 g"])))
    assert row.problem == ""
    for name in results:
        assert row.results[name] == pytest.approx(getattr(alone, name))


def test_margin_follows_the_pack_as_the_lever_rule_says():
    varied = [vary("items.pack.aft=-40..0mm:3")]
    rows = dict(sweep(PANTRY, varied, ("static_margin_percent",), workers=1))
    margins = [rows[k].results["static_margin_percent"] for k in range(3)]
    by_hand = -100.0 * 0.118 * 0.020 / (0.41498 * 0.350)
    for a, b in pairwise(margins):
        assert b - a == pytest.approx(by_hand, rel=2e-3)


def test_every_result_has_a_value_or_a_reason():
    names = tuple(RESULTS)
    row = work_out(str(PANTRY), (), ["items.pack.aft"], ["-35 mm"], names)
    assert row.problem == ""
    assert all(row.results[name] is not None for name in names), row
    assert row.results["launch_outcome"] in ("time-up", "landed")
    assert row.results["trim_elevator_deg"] < 0.0
    assert 0.0 < row.results["short_period_damping_ratio"] < 1.0
    assert 1.0 < row.results["sink_m_s"] < 5.0


def test_points_take_no_place_of_the_models_that_are_flown(monkeypatch, tmp_path):
    monkeypatch.setattr(model, "CACHE", tmp_path)
    monkeypatch.setattr(model, "MOST", 2)
    own = Subject(load_airframe(PANTRY)).model
    list(
        sweep(
            PANTRY, [vary("sheets.slab.thickness=5..7mm:4")], ("static_margin_percent",), workers=1
        )
    )
    monkeypatch.setattr(model, "build", None)
    again = Subject(load_airframe(PANTRY)).model
    assert again.body.record.tobytes() == own.body.record.tobytes()


def test_a_point_that_cannot_be_keeps_a_sentence():
    row = work_out(str(PANTRY), (), ["items.pack.mass"], ["-1 g"], ("mass_kg",))
    assert row.results == {"mass_kg": None}
    assert row.problem == "--set items.pack.mass: '-1 g': must be more than 0"


def test_processes_give_what_one_gives():
    varied = [vary("items.pack.aft=-40..0mm:5")]
    results = ("static_margin_percent", "cg_m")
    alone = dict(sweep(PANTRY, varied, results, workers=1))
    together = dict(sweep(PANTRY, varied, results, workers=2))
    assert sorted(together) == list(range(5))
    for at, row in alone.items():
        assert together[at].values == row.values
        # Sums over a lattice differ in the last digits with the number of threads.
        assert together[at].results == pytest.approx(row.results, rel=1e-9)


def test_csv_has_units_in_the_heading_and_no_nan():
    varied = [vary("items.pack.mass=-10..40g:2")]
    rows = [row for _, row in sorted(sweep(PANTRY, varied, ("mass_kg",), workers=1))]
    file = io.StringIO()
    write_csv(file, varied, ("mass_kg",), rows)
    head, first, second = list(csv.reader(io.StringIO(file.getvalue())))
    assert head == ["items.pack.mass [g]", "mass_kg", "problem"]
    assert first[:2] == ["-10", ""]
    assert first[2].endswith("must be more than 0")
    assert second == ["40", "0.336979", ""]


def test_command_writes_table_csv_plot_and_json(tmp_path, capsys):
    table, plot = tmp_path / "a" / "s.csv", tmp_path / "a" / "s.png"
    words = (
        "sweep",
        "pantry",
        "--vary",
        "items.pack.aft=-40..0mm:2",
        "--vary",
        "sheets.slab.edge=square,rounded",
        "--result",
        "static_margin_percent",
        "cg_m",
        "--csv",
        str(table),
        "--plot",
        str(plot),
    )
    code, out, err = told(capsys, *words)
    assert code == 0
    assert len(out.splitlines()) == 2 + 4
    assert "0/4 [" not in err  # the progress bar is for a terminal
    assert f"Table: {table}\nPlot: {plot}\n" in err
    assert len(table.read_text().splitlines()) == 1 + 4
    assert plot.stat().st_size > 10_000
    code, out, _ = told(capsys, *words, "--json", "--force")
    answer = json.loads(out)
    assert answer["varied"] == ["items.pack.aft", "sheets.slab.edge"]
    assert [row["values"]["items.pack.aft"] for row in answer["rows"]] == [
        "-40 mm",
        "-40 mm",
        "0 mm",
        "0 mm",
    ]
    assert answer["rows"][0]["static_margin_percent"] > answer["rows"][2]["static_margin_percent"]


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (
            ("--vary", "items.pak.aft=1..2mm"),
            "--vary items.pak.aft: no 'pak' in items; did you mean 'pack'?\n",
        ),
        (
            ("--vary", "items.pack.aft=1..2"),
            "--vary items.pack.aft: 1: say a unit and put it in quotes, such as '1 mm'\n",
        ),
        (
            ("--vary", "items.pack.aft=1..2mm", "--result", "stall_sped_m_s"),
            "--result stall_sped_m_s: no such result; did you mean 'stall_speed_m_s'?\n",
        ),
        (
            ("--vary", "items.pack.aft=1..2mm", "--plot", "a.txt"),
            "--plot a.txt: wanted a name that ends in .png, .pdf or .svg\n",
        ),
        (
            ("--vary", "items.pack.mass=80 g,-1 g,x g"),
            "--vary items.pack.mass: '-1 g': must be more than 0\n"
            "--vary items.pack.mass: 'x g': write a number and a unit, such as '182 g'\n",
        ),
        (
            ("--vary", "a=1..2mm", "--vary", "b=1..2mm", "--vary", "c=1..2mm", "--plot", "a.png"),
            "--plot: a plot shows one or two varied values\n",
        ),
    ],
)
def test_wrong_input(capsys, words, text):
    assert told(capsys, "sweep", "pantry", *words) == (2, "", text)


def test_nothing_but_problems_is_a_failure(tmp_path, capsys):
    """The trim of an airframe without elevons has a reason in every row."""
    text = PANTRY.read_text()
    start = text.index("[sheets.slab.surfaces.elevon]")
    path = tmp_path / "bare.toml"
    path.write_text(text[:start] + text[text.index("[sheets.fin]") :], encoding="utf-8")
    words = ("sweep", str(path), "--vary", "items.pack.aft=-40..0mm:2", "--result", "sink_m_s")
    code, out, _ = told(capsys, *words)
    assert code == 1
    assert "no surface takes pitch" in out
    assert "nan" not in out.lower().replace(os.sep, "")
