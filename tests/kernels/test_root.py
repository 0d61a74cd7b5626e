"""Where a function crosses nothing: against a library's search, on what steps and corners do."""

from __future__ import annotations

from math import atan, exp

import pytest
from scipy.optimize import brentq

from firstthrow.sim.kernels.root import crossing


def corner(x: float) -> float:
    return (x - 0.3) * (50.0 if x > 0.3 else 0.02)


def step(x: float) -> float:
    """A servo's dead band: flat, then full speed."""
    return (-1.0 if x < 0.7312 else 1.0) * (0.1 + abs(x))


@pytest.mark.parametrize(
    "function", [lambda x: exp(x) - 2.0, lambda x: atan(40.0 * (x - 0.9)), corner, step]
)
@pytest.mark.parametrize("ends", [(-1.0, 1.0), (-0.2, 7.0)])
def test_crossing_is_where_brent_finds_it(function, ends):
    low, high = ends
    asked: list[float] = []

    def counted(x: float) -> float:
        asked.append(x)
        return function(x)

    found = crossing(counted, low, high, 1e-10)
    assert found == pytest.approx(brentq(function, low, high, xtol=1e-12), abs=2e-10)
    assert all(low <= x <= high for x in asked)
    assert len(asked) < 120


def test_an_end_may_be_the_crossing():
    assert crossing(lambda x: x, 0.0, 1.0, 1e-9) == 0.0
    assert crossing(lambda x: x - 1.0, 0.0, 1.0, 1e-9) == 1.0


def test_no_crossing_is_said():
    with pytest.raises(ValueError, match="between 1 and 2"):
        crossing(lambda x: x, 1.0, 2.0, 1e-9)
