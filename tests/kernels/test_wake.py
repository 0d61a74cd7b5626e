"""The fin behind a stalled slab."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped_model

from firstthrow.sim.build.model import Model
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.moving import scratch
from firstthrow.sim.kernels.separation import SHARE, shelter

SLIP = np.radians(3.0)
SPEED = 10.0  # [m/s]


def load(model: Model, degrees: float, slip: float) -> np.ndarray:
    a = np.radians(degrees)
    air = -SPEED * np.array([np.cos(a) * np.cos(slip), np.sin(slip), np.sin(a) * np.cos(slip)])
    return air_load(model, air)[0]


def stiffness(name: str, degrees: float) -> float:
    """Yaw moment per sideslip about the centre of gravity, over that at 5 degrees."""
    model = shipped_model(name)
    found = [load(model, at, SLIP)[5] - load(model, at, -SLIP)[5] for at in (degrees, 5.0)]
    return found[0] / found[1]


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "pantry-swept"])
def test_the_fin_loses_its_flow_behind_a_stalled_slab(name):
    """The edge of the wake runs from the leading edge with the wind: at 35 degrees the tip of a
    fin stands in it once the fin is lower than 0.7 of its way behind."""
    found = [stiffness(name, degrees) for degrees in (10.0, 20.0, 25.0, 35.0, 50.0)]
    print(name, np.round(found, 2))
    assert found[0] > 0.9
    assert found[0] >= found[1] >= found[2]
    assert found[3] < 0.4
    assert found[4] < 0.3


def test_a_fin_on_the_windward_side_keeps_its_flow():
    """Stalled upside down, the fin below stands in the wind."""
    assert stiffness("pantry", -30.0) > 0.8


@pytest.mark.parametrize("degrees", [15.0, 30.0, 60.0, 100.0, 150.0])
def test_left_and_right_are_alike_in_the_wake(degrees):
    """Of the sheets alone: what is fitted to them does not lie on the centreline."""
    model = shipped_model("pantry")
    record = model.record.copy()
    record.fitting_drag[:] = 0.0
    bare = model.with_body(record)
    one, other = load(bare, degrees, SLIP), load(bare, degrees, -SLIP)
    mirror = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])
    assert np.abs(one - mirror * other).max() < 1e-6 * np.abs(one).max()


def test_the_wake_comes_and_goes_without_a_jump():
    round_ = np.arange(-180.0, 180.5, 1.0)
    yaw = np.array([load(shipped_model(), at, SLIP)[5] for at in round_])
    assert np.abs(np.diff(yaw)).max() < 0.12 * np.ptp(yaw)


def test_air_in_a_wake_without_flow_keeps_a_direction():
    """The least that the table of unknowns allows: a hundredth of the speed is left all the same,
    since compiled quotients of nothing by nothing are no numbers."""
    record, space = shipped_model("pantry").record.copy(), scratch()[0]
    record.wake_left = 0.0
    n = record.n_strips
    space.u[:n] = space.w[:n] = SPEED
    space.plate[SHARE, :n] = 1.0
    shelter(record, space)
    speeds = np.hypot(space.u[:n], space.w[:n]) / np.hypot(SPEED, SPEED)
    assert speeds.max() == 1.0
    assert 0.009 < speeds.min() < 0.02
