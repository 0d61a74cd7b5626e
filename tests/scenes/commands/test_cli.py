"""The command line as a person meets it: words, exit codes, JSON, records left behind."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from firstthrow.scenes.commands import cli, fly
from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.debrief import finding_lines
from firstthrow.sim.flight import compiling, named_pilot
from firstthrow.sim.flight.record import load

ROOT = Path(__file__).parents[3]
JSON_KEYS = [
    "outcome",
    "outcome_text",
    "flight_time_s",
    "distance_m",
    "max_height_m",
    "min_airspeed_m_s",
    "max_load_factor",
    "pack_used_mAh",
    "record",
]
WEIGH_KEYS = {
    "mass_kg",
    "cg_m",
    "cg_percent_mac",
    "mean_chord_m",
    "neutral_point_percent_mac",
    "static_margin_percent",
    "inertia_kg_m2",
    "wing_loading_kg_m2",
    "parts",
}


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path, monkeypatch):
    """Flights go to a folder of the test's own."""
    monkeypatch.chdir(tmp_path)


def told(capsys, *words: str) -> tuple[int, str, str]:
    """Exit code, standard output, standard error of one command."""
    try:
        code = main(words)
    except SystemExit as leaving:
        code = leaving.code
    said = capsys.readouterr()
    return code, said.out, said.err


def refused(capsys, *words: str) -> str:
    code, out, err = told(capsys, *words)
    assert (code, out) == (2, "")
    return err


def test_help_names_the_commands_and_loads_nothing_heavy():
    seen = (
        "import sys; from firstthrow.scenes.commands.cli import main\n"
        "try: main(['fly', '--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'numba', 'pydantic', 'matplotlib', 'pyglet', 'pygame', 'scipy'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", seen], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stderr == "[]\n"
    for option in (
        "--field",
        "--hands",
        "--launch",
        "--pilot",
        "--seconds",
        "--seed",
        "--record",
        "--no-window",
        "--set",
        "--json",
    ):
        assert option in done.stdout


def test_help_speaks_of_views_as_the_window_does(capsys):
    with pytest.raises(SystemExit):
        main(["film", "--help"])
    told = capsys.readouterr().out
    assert "{standing,towed,riding,tail,free}" in told
    for word in ("chase", "nose", "ghost"):  # names of before, that still work
        assert word not in told


def test_no_command_shows_the_help(capsys):
    err = refused(capsys)
    for name in ("fly", "weigh", "debrief"):
        assert f"\n    {name} " in err


def test_unknown_airframe(capsys):
    assert refused(capsys, "weigh", "pantri") == (
        "pantri: no airframe of that name; did you mean 'pantry'? "
        "known: allotment, glasshouse, pantry, pantry-swept\n"
    )


@pytest.mark.parametrize("name", ["", ".", "/"])
@pytest.mark.parametrize(
    "words", [("debrief",), ("film",), ("replay",), ("fly", "pantry", "--no-window", "--tracing")]
)
def test_a_record_without_a_name_is_said(capsys, words, name):
    err = refused(capsys, *words, name)
    assert err == f"{Path(name)}: is a folder, wanted a record's file\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("weigh", ""), "'': wanted one of allotment, glasshouse, pantry, pantry-swept\n"),
        (("fly", "pantry", "--no-window", "--record", ""), "--record: wanted a file's name\n"),
    ],
)
def test_an_empty_name_is_no_folder(capsys, words, said):
    assert refused(capsys, *words) == said


def test_every_problem_of_the_input_on_its_own_line(capsys):
    err = refused(
        capsys, "fly", "--no-window", "--set", "items.pack.aft=95", "--set", "items.pak.mass=1 g"
    )
    assert err == (
        "--set items.pak.mass: no 'pak' in items; did you mean 'pack'?\n"
        "--set items.pack.aft: 95: say a unit and put it in quotes, such as '95 mm'\n"
    )
    assert not Path("flights").exists()


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (
            ("fly", "--pilot", "nobody"),
            "--pilot nobody: no such file; wanted hands-off, steady, human or a CSV file; "
            "or thumbs, in the window\n",
        ),
        (("fly", "--launch", "ground"), "--launch ground: pantry has no [launch.ground]\n"),
        (("debrief", "gone.csv"), "gone.csv: cannot be read: No such file or directory\n"),
        (
            ("debrief", "gone.csv", "--out", "page.txt"),
            "--out page.txt: wanted a name that ends in .html, .pdf or .png\n",
        ),
        (
            ("fly", "--no-window", "--record", "flight.json"),
            "--record flight.json: wanted a name that ends in .csv\n",
        ),
        (
            ("power", "pantry", "--plot", "p.jpg"),
            "--plot p.jpg: wanted a name that ends in .png, .pdf or .svg\n",
        ),
        (
            ("polar", "pantry", "--plot", "folder"),
            "--plot folder: wanted a name that ends in .png, .pdf or .svg\n",
        ),
        (
            ("surfaces", "pantry", "--plot", "p"),
            "--plot p: wanted a name that ends in .png, .pdf or .svg\n",
        ),
        (
            ("polar", "pantry", "--up", "200 deg"),
            "--up: '200 deg': wanted between -90 deg and 90 deg\n",
        ),
        (("power", "pantry", "--want-thrust", "0 N"), "--want-thrust: 0 N: wanted more than 0\n"),
        (
            ("power", "pantry", "--measured", "current=9,5 A"),
            "--measured 9,5: a decimal comma: wanted a point, 9.5\n",
        ),
        (
            ("power", "pantry", "--measured", "current=9 A,current=8 A"),
            "--measured current: given twice\n",
        ),
        (
            (
                "sweep",
                "pantry",
                "--vary",
                "items.pack.aft=0..10mm",
                "--vary",
                "items.pack.aft=1..2mm",
            ),
            "--vary items.pack.aft: given twice\n",
        ),
        (("weigh", "."), ".: is a directory\n"),
        (("weigh", "/dev/null"), "/dev/null: not a file that can be read\n"),
        (
            ("fly", "--no-window", "--record", "plot.png"),
            "--record plot.png: wanted a name that ends in .csv\n",
        ),
        (
            ("fly", "--no-window", "--scatter", "arm", "--drill"),
            "--scatter and --drill: for the window only, wanted without --no-window\n",
        ),
    ],
)
def test_wrong_input_in_one_sentence(capsys, monkeypatch, words, text):
    monkeypatch.delenv("DISPLAY", raising=False)
    assert _without_notes(refused(capsys, *words)) == text


def _without_notes(err: str) -> str:
    """Standard error without the sentences about a missing display and a cold cache."""
    lines = err.splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith(("There is no", "Preparing")))


@pytest.mark.parametrize(
    ("words", "last"),
    [
        (
            ("fly", "--seconds", "0"),
            "argument --seconds: '0': wanted more than 0 and at most 3600 seconds",
        ),
        (
            ("fly", "--seconds", "long"),
            "argument --seconds: 'long': wanted more than 0 and at most 3600 seconds",
        ),
        (("fly", "--launch", "rail"), "argument --launch: invalid choice: 'rail' (choose from"),
    ],
)
def test_wrong_options(capsys, words, last):
    err = refused(capsys, *words)
    assert err.splitlines()[-1].startswith(f"firstthrow fly: error: {last}")


@pytest.mark.parametrize("name", ["file/flight.csv", "flight.json"])
def test_a_record_that_cannot_be_is_refused_before_the_window_opens(capsys, monkeypatch, name):
    monkeypatch.setattr(fly, "first_sight", lambda *what: pytest.fail("opened"))
    Path("file").touch()
    err = _without_notes(refused(capsys, "fly", "--record", name))
    assert err.startswith(
        ("--record file/flight.csv: its folder", "--record flight.json: wanted a name")
    )
    assert len(err.splitlines()) == 1


def test_records_are_closed_when_the_window_fails(capsys, monkeypatch):
    def run(*what, record_factory, **how):
        record_factory()
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(fly, "first_sight", lambda *what: (True, None))
    monkeypatch.setattr(fly, "_run_window", run)
    code, _, err = told(capsys, "fly", "--record", "a.csv")
    assert code == 1
    assert "No space left" in err
    assert load("a.csv").meta["outcome"]["word"] == "stopped"


def test_flight_without_a_window_as_json(capsys):
    words = ("fly", "--no-window", "--seconds", "2", "--record", "out/a.csv", "--json")
    code, out, err = told(capsys, *words)
    answer = json.loads(out)
    assert code == 0
    assert list(answer) == JSON_KEYS
    assert answer["outcome"] == "time-up"
    assert answer["flight_time_s"] == pytest.approx(2.0, abs=0.02)
    assert answer["record"] == str(Path("out/a.csv"))
    assert answer["max_height_m"] > 1.0
    record = load(answer["record"])
    times = record.column("time_s")
    assert len(times[times >= 0.0]) / 2.0 >= 50.0  # rows a second
    assert record.meta["pilot"] == "steady"
    assert record.meta["outcome"]["text"] == answer["outcome_text"]
    assert Path("out/a.png").stat().st_size > 10_000
    assert "Plot page: " in err


def test_the_same_flight_twice_is_the_same(capsys):
    words = (
        "fly",
        "--no-window",
        "--seconds",
        "1.5",
        "--json",
        "--seed",
        "4",
        "--field",
        "water-meadow-breeze",
    )
    one, two = (json.loads(told(capsys, *words, "--record", n)[1]) for n in ("a.csv", "b.csv"))
    assert {**one, "record": ""} == {**two, "record": ""}
    assert Path("a.csv").read_bytes() == Path("b.csv").read_bytes()


def test_flight_and_debrief_say_the_same(capsys):
    code, out, _ = told(capsys, "fly", "--no-window", "--seconds", "1")
    assert code == 0
    *said, numbers, place = out.splitlines()
    assert said[0].startswith("Why: ")
    assert " - Still flying after 1 s." in said
    assert numbers.startswith("1.0 s of flight, ")
    (record,) = Path("flights").glob("pantry-*.csv")
    assert place == f"Record: {record}"
    code, again, err = told(capsys, "debrief", str(record), "--out", "page.pdf")
    assert code == 0
    # The verdict in a sentence comes first, then what the flight said: cures may stand between.
    verdict, *rest = again.splitlines()
    assert verdict.startswith("Still flying at the end")
    assert [line for line in rest if line in said] == said
    assert err == "Plot page: page.pdf\n"  # what it is doing is for terminals
    assert Path("page.pdf").read_bytes().startswith(b"%PDF")
    quick = told(capsys, "debrief", str(record), "--out", "quick.png", "--no-refly")[1]
    assert quick.splitlines() == [verdict, *finding_lines(load(record))]


def test_overrides_reach_the_flight_and_the_record(capsys):
    words = ("fly", "--no-window", "--seconds", "0.5", "--record", "a.csv")
    told(capsys, *words, "--set", 'items.pack.mass="160 g"', "--seed", "7")
    meta = load("a.csv").meta
    assert meta["overrides"] == ['items.pack.mass="160 g"']
    assert meta["seed"] == 7
    assert meta["field"] == "water-meadow"


def test_a_timeline_flies(capsys):
    Path("sticks.csv").write_text("time_s,roll,pitch,yaw,throttle\n0,0,0.1,0,0.6\n1,0.5,0,0,0.6\n")
    words = ("fly", "--no-window", "--seconds", "1", "--record", "a.csv", "--pilot", "sticks.csv")
    assert told(capsys, *words)[0] == 0
    record = load("a.csv")
    time_s, roll = record.column("time_s"), record.column("stick_roll")
    middle = abs(time_s - 0.5) < 0.1
    assert roll[middle] == pytest.approx(0.5 * time_s[middle], abs=0.02)


def test_without_a_display_the_steady_pilot_flies(capsys, monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    code, out, err = told(capsys, "fly", "--seconds", "1", "--json", "--record", "a.csv")
    assert code == 0
    assert err.splitlines()[0] == (
        "There is no display (DISPLAY is not set): the steady pilot flies without a window."
    )
    assert json.loads(out)["outcome"] == "time-up"
    assert load("a.csv").meta["pilot"] == "steady"


def test_a_display_that_does_not_answer():
    """In a process of its own: once a window has been open, its display is remembered."""
    words = ("fly", "--pilot", "hands-off", "--seconds", "0.5", "--json")
    run = subprocess.run(
        [sys.executable, "-m", "firstthrow.scenes.commands.cli", *words],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "DISPLAY": ":77"},
    )
    assert run.stderr.splitlines()[0] == (
        "There is no display (nothing answers at :77): 'hands-off' flies without a window."
    )


@pytest.mark.parametrize(("cold", "lines"), [(compiling.STAGES[-1:], 1), ((), 0)])
def test_compiling_is_announced(capsys, monkeypatch, cold, lines):
    monkeypatch.setattr(compiling, "missing", lambda: cold)
    words = ("fly", "--no-window", "--seconds", "0.2", "--json")
    err = told(capsys, *words)[2].splitlines()
    assert err.count("Preparing the physics for this machine, once...") == lines


def test_closing_the_window_before_the_throw(capsys, monkeypatch):
    monkeypatch.setattr(fly, "first_sight", lambda *what: (True, None))
    monkeypatch.setattr(fly, "_run_window", lambda *what, **how: [])
    code, out, err = told(capsys, "fly", "--json")
    answer = json.loads(out)
    assert code == 0
    assert list(answer) == JSON_KEYS
    assert (answer["outcome"], answer["record"]) == ("stopped", None)
    assert err.endswith("Nothing was flown.\n")
    assert not Path("flights").exists()


def test_window_gets_what_was_asked_for(capsys, monkeypatch):
    """The window itself has its own tests; here: what it is handed, what becomes of its records."""
    handed = {}

    def run(airframe, field, hands, **rest):
        handed.update(rest, airframe=airframe, field=field, hands=hands)
        rest["record_factory"]().close(None)
        rest["record_factory"]()  # left open, as by a window that was torn down
        return []

    monkeypatch.setattr(fly, "first_sight", lambda *what: (True, None))
    monkeypatch.setattr(fly, "_run_window", run)
    words = ("fly", "--seed", "9", "--seconds", "30", "--record", "a.csv", "--hands", "keyboard")
    code, out, _ = told(capsys, *words)
    assert code == 0
    assert handed["airframe"].name == "pantry"
    assert handed["hands"].name == "keyboard"
    assert (handed["pilot"], handed["seed"], handed["seconds"]) == (None, 9, 30.0)
    assert sorted(path.name for path in Path().glob("a*.csv")) == ["a-2.csv", "a.csv"]
    assert load("a-2.csv").meta["outcome"]["word"] == "stopped"
    assert "The flight was stopped before it ended." in out


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_and_a_polite_kill_close_the_record(capsys, monkeypatch, how):
    class Interrupted(named_pilot.Steady):
        def __call__(self, reading):
            if reading.time_s > 1.0:
                signal.raise_signal(how)
            return super().__call__(reading)

    monkeypatch.setattr(named_pilot, "Steady", Interrupted)
    before = signal.getsignal(signal.SIGTERM)
    keyboard = signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored in background
    code, out, err = told(capsys, "fly", "--no-window", "--record", "a.csv", "--json")
    signal.signal(signal.SIGINT, keyboard)
    answer = json.loads(out)
    assert code == 0
    assert answer["outcome"] == "stopped"
    assert answer["outcome_text"] == "The flight was stopped before it ended."
    assert answer["flight_time_s"] == pytest.approx(1.0, abs=0.05)
    assert load("a.csv").meta["outcome"]["word"] == "stopped"
    assert "Stopped.\n" in err
    assert signal.getsignal(signal.SIGTERM) == before


def test_weigh_as_json(capsys):
    code, out, _ = told(capsys, "weigh", "pantry", "--json")
    weighed = json.loads(out)
    assert code == 0
    assert set(weighed) >= WEIGH_KEYS
    assert weighed["mass_kg"] == pytest.approx(sum(p["mass_kg"] for p in weighed["parts"]))
    assert {"name", "mass_kg", "place_m", "source"} == set(weighed["parts"][0])


def test_weigh_as_a_table_with_an_override(capsys):
    def grams(*words: str) -> float:
        code, out, _ = told(capsys, "weigh", "pantry", *words)
        assert code in (0, 3)  # heavier, it may leave its band
        (line,) = [line for line in out.splitlines() if line.startswith("  mass ")]
        return float(line.split()[1])

    assert grams("--set", "items.pack.mass=168 g") - grams() == pytest.approx(50.0, abs=1.0)
    table = told(capsys, "weigh", "pantry")[1]
    for words in ("static margin", "neutral point", "mm aft", "g/dm2", "% of the mean chord"):
        assert words in table


def test_a_negative_seed_is_refused(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["fly", "--seed", "-1"])
    assert ended.value.code == 2
    assert "wanted a whole number" in capsys.readouterr().err


def test_what_cannot_be_encoded_is_replaced(monkeypatch):
    """On a terminal of ASCII alone a unit such as the degree sign becomes a question mark."""
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    assert main(["schema"]) == 0
    sys.stdout.flush()
    assert b"|?|rad" in raw.getvalue()


def made(asked: str = "") -> dict:
    """What the command line knows by then: commands by their names."""
    parser = cli._parser(asked)
    return next(one.choices for one in parser._actions if isinstance(one.choices, dict))


def test_a_command_that_is_asked_for_is_made_alone_as_among_all():
    every = made()
    assert len(every) == len(cli.EVERY) > 20
    for name, one in every.items():
        alone = made(name)
        assert list(alone) == [name]
        assert alone[name].format_help() == one.format_help()
    assert list(made("flyx")) == list(made("")) == list(every)
