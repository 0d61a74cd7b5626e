"""What a picture is made of is kept as it was made, and nothing else is believed."""

from __future__ import annotations

import pickle
import sys
from typing import NamedTuple

import numpy as np
import pytest

from firstthrow.scenes.world import kept as keeping
from firstthrow.scenes.world.kept import DAMAGED, MOST, kept
from firstthrow.sim.kernels.machine import kept as files
from firstthrow.sim.kernels.machine.numbers import unpacked


class Hill(NamedTuple):
    places: np.ndarray
    name: str
    steep: float | None


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(keeping, "CACHE", tmp_path)
    monkeypatch.setattr(files, "_told", set())
    return tmp_path


def hill() -> Hill:
    return Hill(np.arange(6.0).reshape(2, 3), "Knoll", None)


def same(one: Hill, other: Hill) -> bool:
    return one[1:] == other[1:] and np.array_equal(one.places, other.places)


def test_it_is_made_once_for_each_key(folder):
    made = []

    def make() -> Hill:
        made.append(1)
        return hill()

    for key in ((1.0, None), (1.0, None), (2.0, "noon")):
        assert same(kept("hill", key, make, Hill), hill())
    assert len(made) == 2


@pytest.mark.parametrize("bad", [b"", b"garbage " * 100, pickle.dumps(print)])
def test_a_damaged_picture_is_made_anew_and_said(folder, bad, capsys):
    for _ in range(2):
        kept("hill", (), hill, Hill)
    assert capsys.readouterr().err == ""
    (path,) = folder.iterdir()
    path.write_bytes(bad)
    assert same(kept("hill", (), hill, Hill), hill())
    assert capsys.readouterr().err == f"{DAMAGED}\n"
    assert same(unpacked(files.whole(path), Hill), hill())  # type: ignore[arg-type]


def test_without_a_folder_nothing_is_kept(monkeypatch):
    monkeypatch.setattr(keeping, "CACHE", None)
    assert same(kept("hill", (), hill, Hill), hill())


def test_a_folder_that_takes_nothing_stops_nobody(folder, monkeypatch):
    monkeypatch.setattr(keeping, "CACHE", folder / "gone")
    assert same(kept("hill", (), hill, Hill), hill())


def test_old_ones_go(folder):
    for key in range(MOST + 3):
        kept("hill", (key,), hill, Hill)
    kept("other", (), hill, Hill)
    assert len(list(folder.glob("hill-*"))) == MOST
    assert len(list(folder.glob("other-*"))) == 1


def test_another_program_without_sources_keeps_its_own(tmp_path, monkeypatch):
    program = tmp_path / "program"
    monkeypatch.setattr(sys, "frozen", True, raising=False)
    monkeypatch.setattr(sys, "executable", str(program))
    told = []
    for content in ("one", "another"):
        program.write_text(content)
        told.append(keeping._sources.__wrapped__())
    assert told[0] != told[1]
