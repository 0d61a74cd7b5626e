"""Numbers kept between runs come out as they went in, on whole words."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.kernels.machine.numbers import WORD, packed, unpacked


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
