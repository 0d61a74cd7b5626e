"""The air that a plate drags along when it accelerates."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.apparent import mass_matrix
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.kernels.layout import COMMAND_SIZE, SIZE
from firstthrow.sim.proof.bodies import plate_model, rectangle
from firstthrow.sim.proof.check import Check, Curve, Line, Sure

MIDDLE = np.array([0.5, 0.0, 0.0])
OBLONG = "long side over short side"


@lru_cache
def coefficients(ratio: float, half: int = 16, chordwise: int = 12) -> tuple[float, float, float]:
    """Normal, about the long axis, about the short axis, over their two-dimensional values."""
    m = mass_matrix(rectangle(ratio, half), MIDDLE, 1.0, chordwise)
    return (
        m[2, 2] / (0.25 * np.pi * ratio),
        m[4, 4] / (np.pi / 128.0 * ratio),
        m[3, 3] / (np.pi / 48.0 * ratio**3),
    )


def by_ratio(column: int, *ratios: float) -> list[float]:
    return [coefficients(float(ratio))[column] for ratio in ratios]


def endless() -> np.ndarray:
    """A very wide plate, per length that the rings cover: the tips are inset by 1.5 % of it."""
    return np.array(coefficients(400.0)[:2]) / (32.0 / 32.5)


def heave() -> list[float]:
    """What a plate of 0.2 by 0.4 m carries along as it is set up, over that of the table."""
    record = plate_model(2.0).record
    return [
        float(np.linalg.inv(record.mass_inverse)[2, 2] - record.mass)
        / (record.density * 0.25 * np.pi * 0.2**2 * 0.4)
    ]


class LetGo(NamedTuple):
    """Accelerations of a wide plate let go in flight and those of Theodorsen's, down [m/s2] and in
    pitch [rad/s2]; and what either of two damping terms, which cancel, would do to the pitch."""

    down: float
    pitch: float
    down_wanted: float
    pitch_wanted: float
    damping: float


def let_go(sink: float, pitch_rate: float) -> LetGo:
    ratio, chord, speed = 240.0, 0.2, 8.0
    model = plate_model(ratio)
    m, b, span = model.record, 0.5 * chord, ratio * chord
    state = np.zeros(SIZE)
    state[2], state[3] = -1e4, 1.0
    state[7], state[9], state[11] = speed, sink, pitch_rate
    rates, _ = rates_of(model, state, np.zeros(COMMAND_SIZE))
    lift = 2.0 * np.pi * m.density * speed * b * (sink + 0.5 * b * pitch_rate) * span
    carried = np.pi * m.density * b**2 * span
    down = m.mass * (m.gravity + speed * pitch_rate) - lift
    turn = np.pi * m.density * b**2 * speed * sink * span
    heavy = m.inertia[1, 1] + np.pi * m.density * b**4 / 8.0 * span
    damping = 0.5 * np.pi * m.density * b**3 * speed * pitch_rate * span
    return LetGo(rates[9], rates[11], down / (m.mass + carried), turn / heavy, damping / heavy)


def over_theodorsen(sink: float, pitch_rate: float) -> list[float]:
    found = let_go(sink, pitch_rate)
    return [found.down / found.down_wanted, found.pitch / found.pitch_wanted]


CHECKS = (
    Check(
        "A01",
        "mass of air carried along square to a plate, over rho (pi/4) a^2 b",
        (0.579, 0.69, 0.757, 0.83, 0.872, 0.897, 0.934, 0.947),
        lambda: by_ratio(0, 1, 1.5, 2, 3, 4, 5, 8, 10),
        "DNV-RP-C205 (RP-H103 Table A-2)",
        Sure.COPY,
        absolute=0.005,
        at=(1, 1.5, 2, 3, 4, 5, 8, 10),
        of=OBLONG,
    ),
    Check(
        "A02",
        "inertia of that air about the long mid axis, over rho (pi/128) a^4 b",
        (0.818, 0.908, 0.954, 0.982),
        lambda: by_ratio(1, 1, 2, 4, 10),
        "potential flow solved apart; in two dimensions 1",
        Sure.DERIVED,
        relative=0.01,
        at=(1, 2, 4, 10),
        of=OBLONG,
    ),
    Check(
        "A03",
        "inertia of that air about the short mid axis, over rho (pi/48) a^2 b^3",
        (0.307, 0.495, 0.684, 0.855),
        lambda: by_ratio(2, 1, 2, 4, 10),
        "potential flow solved apart",
        Sure.DERIVED,
        relative=0.01,
        at=(1, 2, 4, 10),
        of=OBLONG,
    ),
    Check(
        "A04",
        "the same of an endless plate, by length",
        (1.0, 1.0),
        endless,
        "Lamb; Brennen's review (1982)",
        Sure.DERIVED,
        relative=0.002,
        at=("mass over rho pi a^2/4", "inertia over rho pi a^4/128"),
    ),
    Check(
        "A05",
        "air carried along by a plate of 0.25 by 1.0 m [kg]",
        (0.0524,),
        lambda: [1.225 * coefficients(4.0)[0] * 0.25 * np.pi * 0.25**2],
        "A01 with its coefficient 0.872",
        Sure.DERIVED,
        relative=0.01,
    ),
    Check(
        "A01.flown",
        "mass of air carried along by a plate of 0.2 by 0.4 m as it is set up to fly",
        (0.757,),
        heave,
        "DNV-RP-C205 (RP-H103 Table A-2)",
        Sure.COPY,
        relative=0.02,
        at=(2,),
        of=OBLONG,
    ),
    Check(
        "A06",
        "accelerations of a wide plate let go at 8 m/s sinking 0.2 m/s, over theory",
        (1.0, 1.0),
        lambda: over_theodorsen(0.2, 0.0),
        "Theodorsen, NACA TR 496 (1935), about mid-chord, the wake long blown away",
        Sure.DERIVED,
        relative=0.025,
        at=("down", "nose up"),
    ),
)


def _mass() -> list[Line]:
    ratios = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0)
    return [Line("rings", ratios, by_ratio(0, *ratios))]


CURVES = (
    Curve("Air carried along by a plate", OBLONG, "over an endless plate's", ("A01",), _mass),
)
