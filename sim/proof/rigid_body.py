"""Rigid bodies that turn and fall: closed forms, and an integration made apart.

The brick: 8 x 4 x 2.25 in, 5 lb; rates in body axes.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from firstthrow.sim.describe.atmosphere import density
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.integrate import STEP
from firstthrow.sim.proof.bodies import Motion, lump, plate_model
from firstthrow.sim.proof.check import Check, Curve, Line, Sure
from firstthrow.sim.units import FOOT, GRAVITY, INCH, POUND

SIZE = np.array([8.0, 4.0, 2.25]) * INCH
MASS = 5.0 * POUND
INERTIA = MASS / 12.0 * (SIZE @ SIZE - SIZE**2)
START = np.radians([10.0, 20.0, 30.0])
RATE, ATTITUDE = slice(10, 13), slice(3, 7)
POUND_FORCE_FOOT = POUND * GRAVITY * FOOT
BRICK = "NASA/TM-2015-218675 case {} set-up (from memory); {}"


def upward(time: np.ndarray, value: np.ndarray) -> np.ndarray:
    """Times at which a sampled value rises through zero."""
    k = np.flatnonzero((value[:-1] < 0.0) & (value[1:] >= 0.0))
    return time[k] - value[k] * (time[k + 1] - time[k]) / (value[k + 1] - value[k])


@lru_cache
def brick() -> np.ndarray:
    """States of 30 s of the torque-free brick at the program's step."""
    return Motion(lump(MASS, INERTIA), START).run(30.0)


def brick_rates(*times: float) -> np.ndarray:
    """p, q, r [deg/s] at each time."""
    return np.degrees([brick()[round(time / STEP), RATE] for time in times]).ravel()


def period() -> np.ndarray:
    time = STEP * np.arange(len(brick()))
    return np.diff(upward(time, -brick()[:, 11]))[:1]  # falling through zero, twice in 30 s


def invariants() -> list[float]:
    """Twice the energy [lbf ft] and angular momentum [slug ft2/s]: both in the same unit."""
    rates = brick()[0, RATE]
    found = np.array([rates**2 @ INERTIA, np.linalg.norm(rates * INERTIA)])
    return list(found / POUND_FORCE_FOOT)


def attitudes() -> np.ndarray:
    """Quaternions at 5 and 10 s, their sign the one of the published."""
    found = []
    for time, wanted in zip((5.0, 10.0), QUATERNIONS, strict=True):
        one = brick()[round(time / STEP), ATTITUDE]
        found.append(one * np.sign(one @ wanted))
    return np.concatenate(found)


@lru_cache
def damped(h: float = 1.0 / 60.0) -> np.ndarray:
    """The compiled derivative with rate damping added, by the same tableau written out here.

    The program has no damping coefficients on purpose, so these come in from outside; its own
    step is held to fourth order in the tests.
    """
    area, span, chord = 0.22222 * FOOT**2, 0.33333 * FOOT, 0.66667 * FOOT
    length = np.array([span, chord, span])
    motion = Motion(lump(MASS, INERTIA, gravity=GRAVITY), START, height=9144.0)

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
    return np.degrees(np.array(found)[:, RATE])


def damped_at(*times: float) -> np.ndarray:
    """p, q, r [deg/s] at each time."""
    return np.array([damped()[round(time * 60.0)] for time in times]).ravel()


def dropped() -> list[float]:
    """Height after 30 s [m], of a lump that does not turn and of one that tumbles."""
    still = Motion(lump(MASS, INERTIA, gravity=GRAVITY), height=9144.0).run(30.0, 0.1)
    turning = Motion(lump(MASS, INERTIA, gravity=GRAVITY), START, height=9144.0).run(30.0, 0.01)
    return [-still[-1, 2], -turning[-1, 2]]


@lru_cache
def intermediate() -> np.ndarray:
    """71 s of a body that starts about its middle axis, 40 steps a second."""
    return Motion(lump(1.0, (1.0, 2.0, 3.0)), (0.001, 1.0, 0.001)).run(71.0, 1.0 / 40.0)


def flips() -> np.ndarray:
    path = intermediate()
    return np.diff(upward(np.arange(len(path)) / 40.0, -path[:, 11]))[:1]


def top() -> np.ndarray:
    path = Motion(lump(1.0, (2.0, 2.0, 1.0)), (0.3, 0.0, 2.0)).run(5.0, 0.01)
    return path[[100, 500], 10:12].ravel()


@lru_cache
def flat_fall() -> np.ndarray:
    """A plate of 0.5 kg and 0.05 m2 of drag area falling flat, without the air it carries along,
    which the closed form has not."""
    model = plate_model(2.0)
    record = model.record.copy()
    record.mass = 0.5
    record.mass_inverse[:3, :3] = np.eye(3) / record.mass
    drag = -air_load(model, np.array([0.0, 0.0, -1.0]))[0][2]
    record.density *= 0.5 * 1.225 * 0.05 / drag
    return Motion(model.with_body(record), height=200.0).run(4.0)


FALL_TIMES = (1.0, 2.0, 4.0)


def fall_speeds() -> np.ndarray:
    return flat_fall()[np.rint(np.array(FALL_TIMES) / STEP).astype(int), 9]


def fall_ways() -> np.ndarray:
    return 200.0 + flat_fall()[np.rint(np.array(FALL_TIMES) / STEP).astype(int), 2]


def _each(names: tuple[str, ...], *times: float) -> tuple[str, ...]:
    return tuple(f"{name} at {time:g} s" for time in times for name in names)


QUATERNIONS = (
    (-0.010659, -0.025219, 0.372972, 0.927438),
    (-0.838406, 0.542763, -0.047888, 0.013811),
)
PQR = ("p", "q", "r")
CHECKS = (
    Check(
        "B01",
        "rates of a brick without torque, start 10, 20, 30 deg/s [deg/s]",
        (-16.939, 9.632, 33.407, -2.419, -23.553, 28.129),
        lambda: brick_rates(5.0, 10.0),
        BRICK.format(2, "Jacobi's elliptic functions"),
        Sure.DERIVED,
        absolute=0.01,
        at=_each(PQR, 5.0, 10.0),
    ),
    Check(
        "B03",
        "the same later [deg/s]",
        (-5.423, 22.716, 28.608, 12.618, -17.397, 31.12),
        lambda: brick_rates(20.0, 30.0),
        BRICK.format(2, "Jacobi's elliptic functions"),
        Sure.DERIVED,
        absolute=0.02,
        at=_each(PQR, 20.0, 30.0),
    ),
    Check(
        "B05",
        "period of the brick's rates [s]",
        (17.3845,),
        period,
        "4 K(m)/lambda, m = 0.335898, lambda = 0.399322 1/s",
        Sure.DERIVED,
        absolute=0.001,
    ),
    Check(
        "B06",
        "what the brick keeps",
        (0.00278695, 0.00435901),
        invariants,
        "invariants",
        Sure.DERIVED,
        relative=1e-5,
        at=("twice the energy [lbf ft]", "angular momentum [slug ft2/s]"),
    ),
    Check(
        "B07",
        "attitude of the brick as a quaternion",
        QUATERNIONS[0] + QUATERNIONS[1],
        attitudes,
        "an eighth-order integration at 1e-12",
        Sure.DERIVED,
        absolute=1e-4,
        at=_each(("w", "x", "y", "z"), 5.0, 10.0),
    ),
    Check(
        "B08",
        "rates of a damped brick falling from 9144 m [deg/s]",
        (-1.178, 18.88, 26.76, -4.103, 3.168, 21.681, -0.116, -0.044, 8.362),
        lambda: damped_at(2.0, 5.0, 10.0),
        BRICK.format(3, "Clp = Cmq = Cnr = -1, integrated apart from this program"),
        Sure.DERIVED,
        relative=0.01,
        absolute=0.05,
        at=_each(PQR, 2.0, 5.0, 10.0),
    ),
    Check(
        "B09",
        "the same, yaw rate later [deg/s]",
        (1.543, 0.117),
        lambda: damped_at(15.0, 20.0)[2::3],
        BRICK.format(3, "integrated apart from this program"),
        Sure.DERIVED,
        relative=0.02,
        absolute=0.01,
        at=(15, 20),
        of="time [s]",
    ),
    Check(
        "B10",
        "height after 30 s of a fall from 9144 m without air [m]",
        (4731.01, 4731.01),
        dropped,
        "h - g t^2/2",
        Sure.DERIVED,
        absolute=0.01,
        at=("not turning", "tumbling"),
    ),
    Check(
        "B12",
        "rates of a body started about its middle axis [rad/s]",
        (-0.11733, 0.99309, 0.06774, -0.99853, -0.05425, 0.5765, -0.10532, -0.99444, 0.06081),
        lambda: intermediate()[[400, 600, 800], RATE].ravel(),
        "Jacobi's elliptic functions; growth rate 0.57735",
        Sure.DERIVED,
        absolute=1e-4,
        at=_each(PQR, 10.0, 15.0, 20.0),
    ),
    Check(
        "B13",
        "time of a whole flip of it [s]",
        (55.0617,),
        flips,
        "4 K(m)/lambda",
        Sure.DERIVED,
        absolute=0.01,
    ),
    Check(
        "B14",
        "rates of a symmetric top [rad/s]",
        (0.16209, -0.25244, 0.0851, 0.28768),
        top,
        "w1 + i w2 turns at (Ia-It)/It w3 = -1.0; given to five digits",
        Sure.DERIVED,
        absolute=6e-6,
        at=_each(("w1", "w2"), 1.0, 5.0),
    ),
    Check(
        "G07.speed",
        "speed of a plate of 0.5 kg, drag area 0.05 m2, that falls flat [m/s]",
        (8.223, 11.563, 12.602),
        fall_speeds,
        "v = vt tanh(gt/vt)",
        Sure.DERIVED,
        relative=1e-4,
        at=FALL_TIMES,
        of="time [s]",
    ),
    Check(
        "G07.way",
        "how far it has fallen [m]",
        (4.479, 14.71, 39.33),
        fall_ways,
        "z = (vt^2/g) ln cosh(gt/vt)",
        Sure.DERIVED,
        relative=2e-4,
        at=FALL_TIMES,
        of="time [s]",
    ),
)


def _speed() -> list[Line]:
    path = flat_fall()[::24]
    return [Line("as flown", 24 * STEP * np.arange(len(path)), path[:, 9])]


CURVES = (Curve("A plate that falls flat", "time [s]", "speed [m/s]", ("G07.speed",), _speed),)
