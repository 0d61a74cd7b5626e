"""What cannot be written is told with its name: a disk that is full names no file by itself."""

from __future__ import annotations

import os
from contextlib import contextmanager
from errno import EFBIG, ENOENT

import pytest
from bodies import shipped
from synthetic import flight

from firstthrow.scenes.commands.output import opened
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.describe.edit import replaced
from firstthrow.sim.describe.replace import naming, new, replace, to_write, trouble
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Recorder, flight_meta, load
from firstthrow.sim.paper.page import Page, Words
from firstthrow.sim.paper.plots import debrief
from firstthrow.sim.paper.printing import write

resource = pytest.importorskip("resource", reason="only Unix limits the size of a file")
LONG = "so many words that they have no room " * 500
ROOM = 12_000  # [bytes] of any one file


@contextmanager
def little_room():
    """No file grows beyond ROOM: the system refuses to write more, as on a full disk."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (ROOM, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def streamed(path):
    with opened(path, False) as file:
        file.write(LONG)


def gone_on_with(path):
    path.write_text("begun")
    with to_write(path, "a", "utf-8", "") as file:
        file.write(LONG)


def painted(path):
    debrief.write(flight(), path)


def printed(path):
    write(Page((Words(1.0, 1.0, LONG),)), path)


WAYS = {
    "moved over.txt": lambda path: replace(path, LONG),
    "streamed.csv": streamed,
    "gone on with.csv": gone_on_with,
    "new.toml": lambda path: new(path, LONG.encode()),
    "painted.png": painted,
    "printed.pdf": printed,
    "printed.svg": printed,
}


@pytest.mark.parametrize("name", WAYS)
def test_what_a_full_disk_refuses_is_named(tmp_path, name):
    path = tmp_path / name
    with little_room(), pytest.raises(OSError, match=os.strerror(EFBIG)) as refused:
        WAYS[name](path)
    assert trouble(refused.value) == f"{path}: {os.strerror(EFBIG)}"


def test_a_backup_that_has_no_room_leaves_the_file_as_it_was(tmp_path):
    path = tmp_path / "my.toml"
    path.write_text(LONG)
    with little_room(), pytest.raises(OSError, match=os.strerror(EFBIG)) as refused:
        replaced(path, "short")
    assert trouble(refused.value).startswith(f"{path}.bak: ")
    assert trouble(refused.value, in_short=True).startswith("my.toml.bak: ")
    assert not (tmp_path / "my.toml.bak").exists()  # cut short, it would be taken for whole
    assert path.read_text() == LONG


def test_a_record_that_has_no_room_is_named_and_kept_as_far_as_it_went(tmp_path):
    field = load_field(find("fields", "water-meadow"))
    recorder = Recorder(tmp_path / "flight.csv", shipped(), flight_meta(field, launch="hand"))
    with little_room(), pytest.raises(OSError, match=os.strerror(EFBIG)) as refused:
        fly(shipped(), field, lambda _: Sticks(), 3.0, record=recorder)
    assert trouble(refused.value).startswith(f"{recorder.path}: ")
    with pytest.raises(OSError, match=os.strerror(EFBIG)), little_room():
        recorder.close(None)
    assert len(load(recorder.path).rows) > 10


def test_an_error_that_has_words_alone_keeps_them():
    error = OSError("encoder said no")
    assert trouble(error) == "encoder said no"
    error.filename = "x.mp4"  # as what writes it names it
    assert trouble(error) == "x.mp4: encoder said no"
    assert trouble(ValueError("odd")) == "odd"


def test_what_is_moved_over_a_file_names_the_file_alone(tmp_path):
    path = tmp_path / "taken"
    (path / "in").mkdir(parents=True)
    with pytest.raises((IsADirectoryError, PermissionError)) as refused:
        replace(path, "short")
    assert refused.value.filename == str(path)
    assert str(refused.value).endswith(f": '{path}'")
    film = tmp_path / "flight.mp4"
    with pytest.raises(FileNotFoundError) as refused, naming(film):
        (tmp_path / ".flight.part.mp4").open()
    assert trouble(refused.value) == f"{film}: {os.strerror(ENOENT)}"


def test_what_is_wrong_with_another_file_names_that(tmp_path):
    """A picture that cannot read a font."""
    font = tmp_path / "plain.ttf"
    with pytest.raises(FileNotFoundError) as refused, naming(tmp_path / "picture.png"):
        font.read_bytes()
    assert trouble(refused.value) == f"{font}: {os.strerror(ENOENT)}"
