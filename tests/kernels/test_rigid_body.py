"""Rigid-body motion by the program's own step: what is kept, turned axes, the order of the step."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import Motion, lump

from firstthrow.sim.proof.rigid_body import ATTITUDE, INERTIA, MASS, RATE, START, brick

pytestmark = pytest.mark.kernel


def test_energy_and_momentum_are_kept():
    rates = brick()[:, RATE]
    energy = rates**2 @ INERTIA
    momentum = np.linalg.norm(rates * INERTIA, axis=1)
    for name, value in (("energy", energy), ("momentum", momentum)):
        drift = np.abs(value / value[0] - 1.0).max()
        print(f"B06 {name} drifts {drift:.1e} in 30 s")
        assert drift < 1e-9


def test_momentum_keeps_its_direction_in_the_field():
    """The angular momentum turned by the attitude stays put: rates and quaternion agree."""
    w, x, y, z = brick()[:, ATTITUDE].T
    h = brick()[:, RATE] * INERTIA
    v = np.stack([x, y, z], axis=1)
    turned = h + 2.0 * np.cross(v, np.cross(v, h) + w[:, None] * h)
    gap = np.abs(turned - turned[0]).max() / np.linalg.norm(turned[0])
    print(f"angular momentum turns by {gap:.1e} in 30 s")
    assert gap < 1e-8
    assert np.abs(np.linalg.norm(brick()[:, ATTITUDE], axis=1) - 1.0).max() < 1e-12


def test_products_of_inertia_turn_the_body():
    """The same brick in axes turned by 30 degrees about y flies the same motion."""
    turn = np.array([[np.cos(0.5), 0.0, -np.sin(0.5)], [0, 1, 0], [np.sin(0.5), 0, np.cos(0.5)]])
    body = lump(MASS, INERTIA)
    body.record[0].inertia[:] = turn @ np.diag(INERTIA) @ turn.T
    body.record[0].mass_inverse[3:, 3:] = np.linalg.inv(body.record[0].inertia)
    h = 1.0 / 60.0
    plain = Motion(lump(MASS, INERTIA), START).run(10.0, h)
    turned = Motion(body, turn @ START).run(10.0, h)
    gap = np.abs(turned[:, RATE] @ turn - plain[:, RATE]).max()
    print(f"turned axes: {gap:.1e} rad/s apart")
    assert gap < 1e-8


@pytest.mark.parametrize(("by_slopes", "wanted"), [(False, 4.0), (True, 3.0)])
def test_order_of_the_step(by_slopes, wanted):
    """Halving the step divides the error by sixteen; by the slopes of steps before, by eight."""
    body = lump(MASS, INERTIA)
    rates = (6.0, 8.0, 10.0)
    exact = Motion(body, rates).run(1.0, 1.0 / 5120.0)[-1, 3:13]
    errors = [
        np.abs(Motion(body, rates).run(1.0, 1.0 / n, by_slopes)[-1, 3:13] - exact).max()
        for n in (160, 320, 640)
    ]
    order = np.log2(np.array(errors[:-1]) / errors[1:])
    print(f"order of the step {order.round(3)}")
    assert np.all(np.abs(order - wanted) < 0.25)
