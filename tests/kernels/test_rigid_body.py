"""Rigid-body motion by the program's own step against closed forms and an outside integration."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import Motion, lump
from checks import compare, rows

from firstthrow.sim.describe.atmosphere import density
from firstthrow.sim.kernels.integrate import STEP

pytestmark = pytest.mark.kernel

ROWS = rows("rigid_body")
FOOT, POUND, SLUG_FOOT2 = 0.3048, 0.45359237, 1.3558179483314004
SIZE = np.array([8.0, 4.0, 2.25]) * 0.0254
MASS = 5.0 * POUND
INERTIA = MASS / 12.0 * (SIZE @ SIZE - SIZE**2)
START = np.radians([10.0, 20.0, 30.0])
RATE, ATTITUDE = slice(10, 13), slice(3, 7)


def upward(time: np.ndarray, value: np.ndarray) -> np.ndarray:
    """Times at which a sampled value rises through zero."""
    k = np.flatnonzero((value[:-1] < 0.0) & (value[1:] >= 0.0))
    return time[k] - value[k] * (time[k + 1] - time[k]) / (value[k + 1] - value[k])


@pytest.fixture(scope="module")
def brick():
    """30 s of the torque-free brick at the program's step."""
    return Motion(lump(MASS, INERTIA), START).run(30.0)


@pytest.mark.parametrize(
    ("row", "allowed"), [("B01", 0.01), ("B02", 0.01), ("B03", 0.02), ("B04", 0.03)]
)
def test_torque_free_brick(brick, row, allowed):
    rates = np.degrees(brick[round(ROWS[row]["at"] / STEP), RATE])
    compare(f"{row} p, q, r deg/s", ROWS[row]["values"], rates, absolute=allowed)


def test_period_of_the_brick(brick):
    time = STEP * np.arange(len(brick))
    crossings = upward(time, -brick[:, 11])  # falling through zero, twice in 30 s
    compare("B05 period s", ROWS["B05"]["values"], np.diff(crossings)[:1], absolute=0.001)


def test_energy_and_momentum_are_kept(brick):
    rates = brick[:, RATE]
    energy = rates**2 @ INERTIA
    momentum = np.linalg.norm(rates * INERTIA, axis=1)
    wanted = ROWS["B06"]["values"]
    compare("B06", wanted, np.array([energy[0], momentum[0]]) / SLUG_FOOT2, relative=1e-5)
    for name, value in (("energy", energy), ("momentum", momentum)):
        drift = np.abs(value / value[0] - 1.0).max()
        print(f"B06 {name} drifts {drift:.1e} in 30 s")
        assert drift < 1e-9


def test_momentum_keeps_its_direction_in_the_field(brick):
    """The angular momentum turned by the attitude stays put: rates and quaternion agree."""
    w, x, y, z = brick[:, ATTITUDE].T
    h = brick[:, RATE] * INERTIA
    v = np.stack([x, y, z], axis=1)
    turned = h + 2.0 * np.cross(v, np.cross(v, h) + w[:, None] * h)
    gap = np.abs(turned - turned[0]).max() / np.linalg.norm(turned[0])
    print(f"angular momentum turns by {gap:.1e} in 30 s")
    assert gap < 1e-8
    assert np.abs(np.linalg.norm(brick[:, ATTITUDE], axis=1) - 1.0).max() < 1e-12


def test_attitude_of_the_brick(brick):
    for at, wanted in zip(ROWS["B07"]["at"], ROWS["B07"]["values"], strict=True):
        found = brick[round(at / STEP), ATTITUDE]
        wanted = np.array(wanted) * np.sign(found @ wanted)
        compare(f"B07 quaternion at {at:g} s", wanted, found, absolute=1e-4)


def damped_rates(h: float = 1.0 / 60.0) -> np.ndarray:
    """The compiled derivative with rate damping added, by the same tableau written out here.

    The program has no damping coefficients on purpose, so these come in from outside; its own
    step is held to fourth order below.
    """
    area, span, chord = 0.22222 * FOOT**2, 0.33333 * FOOT, 0.66667 * FOOT
    length = np.array([span, chord, span])
    motion = Motion(lump(MASS, INERTIA, gravity=9.80665), START, height=9144.0)

    def slope(state: np.ndarray) -> np.ndarray:
        rates = motion.rates_of(state)
        # q S l C (w l / 2 V) with q = rho V^2 / 2.
        speed = np.linalg.norm(state[7:10])
        torque = -0.25 * density(-state[2]) * speed * area * length**2 * state[RATE]
        rates[RATE] += torque / INERTIA
        return rates

    found = [motion.state.copy()]
    for _ in range(round(20.0 / h)):
        s = found[-1]
        a = slope(s)
        b = slope(s + 0.5 * h * a)
        c = slope(s + 0.5 * h * b)
        d = slope(s + h * c)
        found.append(s + h / 6.0 * (a + 2.0 * b + 2.0 * c + d))
    return np.array(found)[:, RATE]


def test_damped_brick():
    h = 1.0 / 60.0
    rates = np.degrees(damped_rates(h))
    found = [rates[round(at / h)] for at in ROWS["B08"]["at"]]
    compare("B08 p, q, r deg/s", ROWS["B08"]["values"], found, relative=0.01, absolute=0.05)
    found = [rates[round(at / h), 2] for at in ROWS["B09"]["at"]]
    compare("B09 r deg/s", ROWS["B09"]["values"], found, relative=0.02, absolute=0.01)


def test_dropped_body():
    path = Motion(lump(MASS, INERTIA, gravity=9.80665), height=9144.0).run(30.0, 0.1)
    compare("B10 height m", ROWS["B10"]["values"], [-path[-1, 2]], absolute=0.01)
    tumbling = Motion(lump(MASS, INERTIA, gravity=9.80665), START, height=9144.0).run(30.0, 0.01)
    compare("B10 height m, tumbling", ROWS["B10"]["values"], [-tumbling[-1, 2]], absolute=0.01)
    assert np.abs(tumbling[-1, :2]).max() < 1e-4


def test_intermediate_axis():
    h = 1.0 / 40.0
    path = Motion(lump(1.0, (1.0, 2.0, 3.0)), (0.001, 1.0, 0.001)).run(71.0, h)
    found = [path[round(at / h), RATE] for at in ROWS["B12"]["at"]]
    compare("B12 rates rad/s", ROWS["B12"]["values"], found, absolute=1e-4)
    down = upward(h * np.arange(len(path)), -path[:, 11])
    compare("B13 cycle s", ROWS["B13"]["values"], np.diff(down)[:1], absolute=0.01)


def test_symmetric_top():
    h = 1.0 / 100.0
    path = Motion(lump(1.0, (2.0, 2.0, 1.0)), (0.3, 0.0, 2.0)).run(5.0, h)
    found = [path[round(at / h), 10:12] for at in ROWS["B14"]["at"]]
    # The row is given to five digits.
    compare("B14 w1, w2 rad/s", ROWS["B14"]["values"], found, absolute=6e-6)
    time = h * np.arange(len(path))
    exact = 0.3 * np.stack([np.cos(time), -np.sin(time)], axis=1)
    assert np.abs(path[:, 10:12] - exact).max() < 1e-6


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


def test_order_of_the_step():
    """Halving the step divides the error by sixteen."""
    body = lump(MASS, INERTIA)
    rates = (6.0, 8.0, 10.0)
    exact = Motion(body, rates).run(1.0, 1.0 / 1280.0)[-1, 3:13]
    errors = [
        np.abs(Motion(body, rates).run(1.0, 1.0 / n)[-1, 3:13] - exact).max() for n in (40, 80, 160)
    ]
    order = np.log2(np.array(errors[:-1]) / errors[1:])
    print(f"order of the step {order.round(3)}")
    assert np.all(np.abs(order - 4.0) < 0.25)
