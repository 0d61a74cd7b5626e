"""What is kept day after day in the person's own files: edited by hand, or met by a full disk."""

from __future__ import annotations

import errno
import io
import json
import os

import pytest

from firstthrow.scenes.flight import kept_list, lesson_log

FLOWN = {"when": "2026-05-14T19:00:00", "lesson": "left", "airframe": "pantry", "mark": 80.0}


@pytest.mark.parametrize(
    "changed",
    [{"lesson": ["left"]}, {"lesson": {}}, {"when": "0001-01-01"}, {"when": 5}, {"mark": []}],
)
def test_an_entry_that_is_none_is_passed_over(tmp_path, monkeypatch, changed):
    path = tmp_path / "lessons.json"
    monkeypatch.setattr(lesson_log, "path", lambda: path)
    whole = FLOWN | {"passed": True}
    path.write_text(json.dumps([whole | changed, whole]))
    assert [one.mark for one in lesson_log.kept()] == [80.0]


def test_a_file_that_is_no_list_is_moved_aside(tmp_path):
    path = tmp_path / "lessons.json"
    for content in (b"[" * 100_000, b"\xff", b'"x"', b""):
        path.write_bytes(content)
        with pytest.raises(ValueError):  # noqa: PT011 each kind has its own words
            kept_list.read(path)
        kept_list.add(path, {"mark": 1.0})
        assert [one["mark"] for one in kept_list.read(path)] == [1.0]
        assert path.with_suffix(".unread.json").read_bytes() == content


class Full(io.FileIO):
    """A file on a disk that has room for ten bytes."""

    def write(self, data):
        super().write(data[:10])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_full_disk_keeps_the_file_as_it_was(tmp_path, monkeypatch):
    path = tmp_path / "lessons.json"
    kept_list.add(path, {"mark": 1.0})
    before = path.read_bytes()
    monkeypatch.setattr("firstthrow.sim.describe.replace.open", Full, raising=False)
    with pytest.raises(OSError, match="No space left"):
        kept_list.add(path, {"mark": 2.0})
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == [path.name]
