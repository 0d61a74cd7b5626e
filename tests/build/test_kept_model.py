"""A model that was kept is the one that was worked out, of the same description only."""

from __future__ import annotations

import numpy as np
import pytest

from firstthrow.sim.build import model as building
from firstthrow.sim.build.model import DAMAGED, build, built
from firstthrow.sim.build.moved import altered
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.kernels.machine import kept as files


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr(building, "CACHE", tmp_path)
    monkeypatch.setattr(files, "_told", set())
    return tmp_path


def same(one, other) -> bool:
    """Value by value, to the bit and of the same kind."""
    if isinstance(one, tuple):
        alike = (same(mine, yours) for mine, yours in zip(one, other, strict=True))
        return type(one) is type(other) and all(alike)
    if isinstance(one, np.ndarray):
        told = (one.dtype, one.shape, one.tobytes())
        return told == (other.dtype, other.shape, other.tobytes())
    return type(one) is type(other) and one == other


@pytest.mark.parametrize("name", ["pantry", "allotment"])
def test_it_is_worked_out_once_and_the_same_to_the_bit(name, folder, monkeypatch):
    airframe = load_airframe(find("airframes", name))
    first = built(airframe, STANDARD)
    monkeypatch.setattr(building, "build", None)
    again = built(airframe, STANDARD)
    assert again is not first
    assert same(again, first)
    assert again.body.record.flags.writeable


def test_what_is_told_otherwise_is_another(folder):
    airframe = load_airframe(find("airframes", "pantry"))
    built(airframe, STANDARD)
    sheets = dict(reversed(airframe.sheets.items()))
    turned = airframe.model_copy(update={"sheets": sheets})  # strips lie in their order
    assert same(built(turned, STANDARD), build(turned, STANDARD))
    warm = STANDARD.model_copy(update={"temperature": 310.0})
    assert same(built(airframe, warm), build(airframe, warm))
    assert len(list(folder.iterdir())) == 3


def test_variants_take_no_place_of_what_a_builder_flies(folder, monkeypatch):
    """More of them than are kept: those that were made last are."""
    monkeypatch.setattr(building, "MOST", 2)
    airframe = load_airframe(find("airframes", "pantry"))
    own, asked = built(airframe, STANDARD), []
    for degrees in range(20, 24):
        warm = STANDARD.model_copy(update={"temperature": 273.15 + degrees})
        assert same(altered(own, (airframe, STANDARD), (airframe, warm)), build(airframe, warm))
        asked.append(warm)
    monkeypatch.setattr(building, "build", None)
    assert same(built(airframe, STANDARD), own)
    altered(own, (airframe, STANDARD), (airframe, asked[-1]))
    assert len(list(folder.iterdir())) == 3


def test_a_damaged_one_is_worked_out_anew_and_said(folder, capsys):
    airframe = load_airframe(find("airframes", "pantry"))
    first = built(airframe, STANDARD)
    (path,) = folder.iterdir()
    path.write_bytes(path.read_bytes()[:-9] + b"different")
    assert same(built(airframe, STANDARD), first)
    assert capsys.readouterr().err == f"{DAMAGED}\n"


def test_without_a_folder_nothing_is_kept(monkeypatch):
    monkeypatch.setattr(building, "CACHE", None)
    airframe = load_airframe(find("airframes", "pantry"))
    assert same(built(airframe, STANDARD), build(airframe, STANDARD))
