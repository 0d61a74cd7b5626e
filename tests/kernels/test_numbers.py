"""Numbers kept between runs come out as they went in, on whole words."""

from __future__ import annotations

import os
import stat
import threading
from typing import NamedTuple

import numpy as np
import pytest

from firstthrow.sim.kernels.machine.numbers import WORD, at_hand, keep, packed, unpacked


class Hill(NamedTuple):
    places: np.ndarray
    name: str
    steep: float | None


def test_what_is_packed_comes_out_the_same():
    hill = Hill(np.arange(6.0).reshape(2, 3), "Knoll", None)
    whole = (hill, (np.zeros((0, 3)), np.array([[1, 2]], dtype=np.uint8)), 0.1 + 0.2)
    found, (none, few), number = unpacked(packed(whole), Hill)
    assert isinstance(found, Hill)
    assert found[1:] == hill[1:]
    assert np.array_equal(found.places, hill.places)
    assert (number, none.shape, few.dtype, few.tolist()) == (0.1 + 0.2, (0, 3), np.uint8, [[1, 2]])


def test_every_array_begins_on_a_whole_word():
    for odd in range(9):
        whole = (" " * odd, np.zeros(odd, np.uint8), np.arange(3.0))
        found = unpacked(packed(whole))
        assert found[2].tolist() == [0.0, 1.0, 2.0]
        assert found[2].ctypes.data % WORD == 0


@pytest.fixture
def folder(tmp_path):
    """A folder such as is kept in."""
    tmp_path.chmod(0o700)
    return tmp_path


def test_what_is_asked_for_again_does_not_go_first(folder):
    paths = [folder / f"hill-{k}.numbers" for k in range(3)]
    for age, path in zip((20.0, 10.0), paths, strict=False):
        keep(path, (1.0,), 2)
        os.utime(path, (path.stat().st_mtime - age,) * 2)
    assert at_hand(paths[0], "damaged") == (1.0,)
    keep(paths[2], (3.0,), 2)
    assert [path.exists() for path in paths] == [True, False, True]


def test_threads_that_keep_the_same_do_not_undo_each_other(folder):
    for k in range(60):
        path, begin = folder / f"hill-{k}.numbers", threading.Barrier(2)

        def work(path=path, begin=begin):
            begin.wait()
            keep(path, (np.arange(3000.0),), 100)

        threads = [threading.Thread(target=work) for _ in range(2)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert at_hand(path, "damaged") is not None
        assert os.name != "posix" or stat.S_IMODE(path.stat().st_mode) == 0o600
    assert len(list(folder.iterdir())) == 60
