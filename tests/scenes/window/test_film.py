"""Pictures and films of a record, as a person gets them on a machine without a display."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import pytest
from PIL import Image

from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.window import film
from firstthrow.scenes.words.synth import RATE
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Recorder, flight_meta
from firstthrow.sim.flight.scripted_pilot import Steady

LONGEST = 600.0  # [s] until one that hangs is given up, on a machine busy with other things
ROOT = Path(__file__).parents[3]


@pytest.fixture(scope="module")
def flown(tmp_path_factory):
    airframe = load_airframe(find("airframes", "pantry"))
    field = load_field(find("fields", "water-meadow"))
    path = tmp_path_factory.mktemp("film") / "four.csv"
    recorder = Recorder(path, airframe, flight_meta(field, launch="hand", pilot="steady"))
    flight = fly(airframe, field, Steady(), 4.0, record=recorder)
    recorder.close(flight.outcome)
    return path


def filmed(*words, seconds: float = LONGEST) -> subprocess.CompletedProcess:
    bare = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    return subprocess.run(
        [sys.executable, "-m", "firstthrow.scenes.commands.cli", "film", *map(str, words)],
        cwd=ROOT,
        env=bare,
        capture_output=True,
        text=True,
        timeout=seconds,
        check=False,
    )


def test_a_picture_without_a_display(flown, tmp_path):
    shots = []
    for view in ("chase", "nose"):
        out = tmp_path / f"{view}.png"
        done = filmed(
            flown, "--out", out, "--view", view, "--from", 2, "--size", "640x360", "--plain"
        )
        assert done.returncode == 0, done.stderr
        shots.append(np.asarray(Image.open(out)).astype(int))
    assert shots[0].shape == (360, 640, 3)
    middle = shots[0][120:240, 220:420]
    assert ((middle.min(axis=2) > 170) & (middle[..., 0] >= middle[..., 2])).sum() > 200  # foam
    assert np.abs(shots[0] - shots[1]).mean() > 10.0
    sky = shots[1][10:60]
    assert sky[..., 2].mean() > sky[..., 0].mean() + 30


def test_a_film_in_mp4_moves_and_lasts_as_asked(flown, tmp_path):
    out = tmp_path / "flight.mp4"
    done = filmed(
        flown,
        "--out",
        out,
        "--view",
        "tail",
        "--from",
        1,
        "--to",
        2,
        "--size",
        "320x180",
        "--reduced-motion",
        "--fov",
        70,
    )
    assert done.returncode == 0, done.stderr
    assert list(tmp_path.iterdir()) == [out]  # nothing half done is left
    read = subprocess.run(
        [
            imageio_ffmpeg.get_ffmpeg_exe(),
            "-i",
            str(out),
            "-f",
            "rawvideo",
            "-pix_fmt",
            "rgb24",
            "-",
        ],
        capture_output=True,
        timeout=LONGEST,
        check=True,
    )
    assert b"320x180" in read.stderr
    assert b"30 fps" in read.stderr
    frames = np.frombuffer(read.stdout, dtype=np.uint8).reshape(-1, 180, 320, 3).astype(int)
    assert len(frames) == 31
    assert b"Audio: aac" in read.stderr
    heard = subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-i", str(out), "-f", "s16le", "-ac", "1", "-"],
        capture_output=True,
        timeout=LONGEST,
        check=True,
    )
    samples = np.frombuffer(heard.stdout, dtype=np.int16).astype(float)
    assert len(samples) / RATE == pytest.approx(1.0, abs=0.15)
    assert np.sqrt(np.mean(samples**2)) > 100.0  # the motor runs
    assert np.abs(frames[0] - frames[-1]).mean() > 2.0
    assert frames[0].std() > 20.0


def test_a_film_in_gif(flown, tmp_path):
    out = tmp_path / "flight.gif"
    done = filmed(flown, "--out", out, "--from", 0, "--to", 1, "--size", "320x180")
    assert done.returncode == 0, done.stderr
    with Image.open(out) as image:
        assert image.size == (320, 180)
        assert image.n_frames == 13
        assert image.info["duration"] == pytest.approx(80.0)
        first = np.asarray(image.convert("RGB")).astype(int)
        image.seek(12)
        last = np.asarray(image.convert("RGB")).astype(int)
    assert np.abs(first - last).max() > 60


def test_every_view_and_page_in_a_folder(flown, tmp_path):
    done = filmed(flown, "--all-views", tmp_path / "all", "--size", "800x500", seconds=600)
    assert done.returncode == 0, done.stderr
    names = {path.stem for path in (tmp_path / "all").iterdir()}
    views = {"view-standing", "view-towed", "view-riding", "view-tail", "view-free"}
    pages = {
        "replay",
        "replay-keys",
        "flight",
        "flight-start",
        "flight-paused",
        "flight-over",
        "flight-explained",
        "looking-back-30",
        "page-evening",
        "keys",
        "launch-drill",
        "page-directions",
        "page-drill",
        "page-faults",
        "page-devices",
    }
    assert views | pages <= names
    shots = [np.asarray(Image.open(p)).astype(int) for p in sorted((tmp_path / "all").iterdir())]
    for k, first in enumerate(shots):
        assert first.std() > 15.0
        for second in shots[k + 1 :]:
            assert np.abs(first - second).max() > 60


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--out", "film.avi"), "wanted a name that ends in .png, .mp4 or .gif"),
        (("--out", "x.png", "--from", "99"), "it has"),
        (
            (
                "--airframe",
                "allotment",
            ),
            "other motors or surfaces",
        ),
        (("--view", "moon"), "invalid choice"),
        (("--size", "12x9"), "wanted WIDTHxHEIGHT"),
    ],
)
def test_wrong_input_is_told_in_a_sentence(flown, words, told):
    done = filmed(flown, *words)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_a_machine_with_nothing_to_draw_with_is_told_so(monkeypatch):
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.setattr(film.sys, "platform", "linux")
    monkeypatch.setattr(film.ctypes.util, "find_library", lambda name: None)
    with pytest.raises(film.NoPictures, match="no display, and no EGL"):
        film.prepare()


def test_a_missing_encoder_is_told_with_what_brings_one(flown, tmp_path, monkeypatch, capsys):
    """Before anything is drawn; pictures and GIFs need none."""
    monkeypatch.setitem(sys.modules, "imageio_ffmpeg", None)
    assert main(["film", str(flown), "--out", str(tmp_path / "a.mp4")]) == 1
    told = capsys.readouterr().err
    assert "pip install imageio imageio-ffmpeg" in told
    assert ".gif" in told
    assert list(tmp_path.iterdir()) == []


def test_a_film_that_fails_leaves_no_half_file(tmp_path):
    def frames():
        yield np.zeros((90, 160, 3), dtype=np.uint8)
        raise OSError("the disk is full")

    for name in ("a.mp4", "a.gif"):
        with pytest.raises(OSError, match=name) as refused:
            film.write(frames(), tmp_path / name, lambda number: None)
        assert trouble(refused.value) == f"{tmp_path / name}: the disk is full"
    assert list(tmp_path.iterdir()) == []


ROLLED = """
import sys
from pathlib import Path
from firstthrow.scenes.window import gallery
from firstthrow.sim.describe.config import find, load_airframe, load_field

gallery.SCREENS = {}
airframe = load_airframe(find("airframes", "glasshouse"))
field = load_field(find("fields", "water-meadow"))
print(*gallery.flight_pages(airframe, field, Path(sys.argv[1]), (320, 180)))
"""


def test_pages_of_what_rolls_off_come_to_an_end(display, tmp_path):
    """On its wheels it waits for throttle, which a script has to give."""
    done = subprocess.run(
        [sys.executable, "-c", ROLLED, str(tmp_path)],
        env=os.environ | {"DISPLAY": display},
        capture_output=True,
        text=True,
        timeout=LONGEST,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "flight-over.png" in done.stdout.split()
