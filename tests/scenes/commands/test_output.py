"""What commands write: nothing is written over without a word, short flights end in words."""

from __future__ import annotations

import os
import shutil
from datetime import datetime
from pathlib import Path

import pytest
from bodies import shipped
from PIL import Image
from test_cli import refused, told

from firstthrow.scenes.commands import fly
from firstthrow.sim.describe import replace as replacing
from firstthrow.sim.describe.config import find
from firstthrow.sim.flight import record
from firstthrow.sim.flight.outcome import Ending, Outcome


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


VARY = ("--vary", "items.pack.aft=50..60mm")
WRITING = [
    (("fly", "--no-window", "--record"), "a.csv"),
    (("weigh", "pantry", "--plot"), "a.png"),
    (("power", "pantry", "--plot"), "a.png"),
    (("polar", "pantry", "--plot"), "a.svg"),
    (("surfaces", "pantry", "--plot"), "a.pdf"),
    (("directions", "pantry", "--plot"), "a.png"),
    (("sweep", "pantry", *VARY, "--plot"), "a.png"),
    (("sweep", "pantry", *VARY, "--csv"), "a.csv"),
    (("odds", "pantry", "--plot"), "a.png"),
    (("odds", "pantry", "--csv"), "a.csv"),
    (("benchsheet", "pantry", "--out"), "a.pdf"),
    (("new", "mine", "--defaults", "--out"), "a.toml"),
    (("debrief", "gone.csv", "--out"), "a.html"),
    (("film", "gone.csv", "--out"), "a.mp4"),
    (("proof", "--out"), "a.html"),
    (("guide", "--out"), "a.html"),
]


@pytest.mark.parametrize(("words", "name"), WRITING, ids=lambda it: str(it[0]))
def test_nothing_is_written_over(capsys, words, name):
    """A file, what a link leads to, a link to nowhere: refused before anything is worked out."""
    Path(name).write_text("mine")
    link, lost = Path(f"link{Path(name).suffix}"), Path(f"lost{Path(name).suffix}")
    link.symlink_to(name)
    lost.symlink_to("nowhere")
    for taken in (name, str(link), str(lost)):
        err = refused(capsys, *words, taken)
        assert err.endswith(f"{taken}: is there already; --force writes over it\n")
    assert Path(name).read_text() == "mine"
    assert not Path("nowhere").exists()


@pytest.mark.parametrize("command", ["sweep", "odds"])
def test_a_table_does_not_go_over_the_airframes_file(capsys, command):
    shutil.copy(find("airframes", "pantry"), "mine.toml")
    before = Path("mine.toml").read_text()
    words = (command, "mine.toml", *VARY, "--csv", "mine.toml", "--force")
    err = refused(capsys, *words)
    assert err == "--csv mine.toml: wanted a name that ends in .csv\n"
    assert Path("mine.toml").read_text() == before


def test_force_means_it(capsys):
    Path("a.png").write_text("mine")
    assert told(capsys, "weigh", "pantry", "--plot", "a.png", "--force")[0] == 0
    assert size("a.png")[0] > 100
    Path("a.csv").write_text("mine")
    words = ("fly", "--no-window", "--seconds", "0.1", "--record", "a.csv")
    assert "is there already" in refused(capsys, *words)
    assert told(capsys, *words, "--force")[0] == 0
    assert len(record.load("a.csv").rows) > 6


@pytest.mark.parametrize("beside", ["a.json", "a.png"])
def test_what_goes_beside_a_record_is_not_written_over(capsys, beside):
    Path(beside).write_text("mine")
    err = refused(capsys, "fly", "--no-window", "--record", "a.csv")
    assert err == f"--record a.csv: {beside}: is there already; --force writes over it\n"
    assert Path(beside).read_text() == "mine"
    at = datetime(2031, 5, 4, 10, 20, 30)
    free = record.default_path("a", Path(), at)
    free.with_suffix(Path(beside).suffix).touch()
    assert record.default_path("a", Path(), at) == free.with_stem(f"{free.stem}-2")


def size(picture: str) -> tuple[int, int]:
    with Image.open(picture) as opened:
        return opened.size


def test_a_page_is_drawn_anew_but_not_over_a_photograph(capsys):
    words = ("fly", "--no-window", "--seconds", "0.2", "--record", "a.csv")
    assert told(capsys, *words)[0] == 0
    assert "Plot page: a.png" in told(capsys, "debrief", "a.csv", "--no-refly")[2]
    Image.new("RGB", (8, 8)).save("a.png")
    assert "Plot page: a-2.png" in told(capsys, "debrief", "a.csv", "--no-refly")[2]
    assert size("a.png") == (8, 8)


def test_two_programs_in_the_same_second(monkeypatch):
    """Both find the same name free; the second to open it takes another."""
    airframe = shipped()
    first = record.Recorder("a.csv", airframe, {})
    with pytest.raises(FileExistsError):
        record.Recorder("a.csv", airframe, {})

    class Chosen:
        record = None
        force = False

    free = iter(["a.csv", "b.csv"])
    monkeypatch.setattr(record, "default_path", lambda name: Path(next(free)))
    records = object.__new__(fly._Records)
    records.chosen, records.airframe = Chosen(), airframe
    records.meta, records.recorders = {}, []
    assert records.start().path == Path("b.csv")
    records.close()
    first.close(None)


def test_a_sidecar_that_a_reader_locks(monkeypatch):
    """Tried again; and when it stays locked, what was there stays as it was."""
    recorder = record.Recorder("a.csv", shipped(), {})
    real, calls = os.replace, []

    def locked(*paths):
        calls.append(paths)
        if len(calls) < 4:
            raise PermissionError(13, "Permission denied")
        real(*paths)

    monkeypatch.setattr(replacing, "PAUSE", 0.0)
    monkeypatch.setattr(os, "replace", locked)
    recorder.close(Outcome(Ending.LANDED, "It landed."))
    assert len(calls) == 4
    assert record.load("a.csv").outcome.word is Ending.LANDED

    def never(*paths):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "replace", real)
    other = record.Recorder("b.csv", shipped(), {})
    monkeypatch.setattr(os, "replace", never)
    other.close(Outcome(Ending.LANDED, "It landed."))
    assert record.load("b.csv").outcome is None


@pytest.mark.parametrize(
    "words",
    [
        ("--seconds", "0.01"),
        ("--pilot", "hands-off", "--set", "launch.hand.height=60 mm"),
    ],
)
def test_a_flight_that_is_over_at_once(capsys, words):
    code, out, err = told(capsys, "fly", "--no-window", "--record", "a.csv", *words)
    assert code == 0
    assert out.splitlines()[-1] == "Record: a.csv"
    assert "page" not in err
    assert told(capsys, "debrief", "a.csv", "--no-refly")[0] == 0
    assert told(capsys, "debrief", "a.csv", "--against", "a.csv")[0] == 0
