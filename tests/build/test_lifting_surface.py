"""The lattice as it must be: the same from behind, even along the span, whole when cut."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import meadow, rectangle, shipped_model
from checks import compare
from odd import ELEVON, lift, tail

from firstthrow.sim.build.lattice import response
from firstthrow.sim.build.model import build
from firstthrow.sim.build.strips import CannotFly
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.kernels.layout import AHEAD, BEHIND


def test_flow_from_behind_is_the_plate_turned_round():
    strips = rectangle(2.0)
    n = len(strips.chord)
    ahead, behind = response(strips)[[AHEAD, BEHIND]].reshape(2, n, 4, n, 3)
    # Times the speed along the chord, which is negative from behind, the force keeps its sign,
    # and its place moves to the other side of mid-chord.
    assert np.allclose(-behind[:, 0, :, 0], ahead[:, 0, :, 0], rtol=1e-9)
    assert np.allclose(behind[:, 1, :, 0], ahead[:, 1, :, 0], rtol=1e-9)


@pytest.mark.parametrize("ratio", [1.0, 4.0])
def test_span_loading_is_even(ratio):
    strips = rectangle(ratio)
    n = len(strips.chord)
    load = response(strips)[AHEAD].reshape(n, 4, n, 3)[:, 0, :, 0].sum(axis=1)
    assert np.allclose(load, load[::-1], rtol=1e-9)
    assert np.all(np.diff(load[n // 2 :]) < 0.0)


@pytest.mark.parametrize("at", [0.25, 0.35, 0.6, 0.9])
def test_an_elevon_cut_in_two_is_still_the_elevon(written, at):
    """Both parts together move the air as the whole does, and each has its share."""
    cut = 30.0 + at * 315.0
    parts = written((ELEVON, tail("near", 30, cut) + tail("far", cut, 345)))
    whole, two = shipped_model(), build(parts, meadow())
    down = np.radians(2.0)
    every = lift(whole, [down, down, 0, 0, 0, 0, 0, 0])
    compare("both", every, lift(two, [down] * 4 + [0.0] * 4), relative=0.02)
    near = lift(two, [down, down, 0, 0, 0, 0, 0, 0])
    far = lift(two, [0, 0, down, down, 0, 0, 0, 0])
    compare("shares add up", every, near + far, relative=0.02)
    assert min(near, far) > 0.45 * min(at, 1.0 - at) * every  # less towards the tip


def test_a_surface_too_narrow_to_fly_is_refused(written):
    with pytest.raises(CannotFly, match=r"surfaces\.far: too narrow"):
        build(written((ELEVON, tail("near", 30, 344) + tail("far", 344.5, 345))), STANDARD)
