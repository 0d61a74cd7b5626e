"""Turbulence near the ground, gusts carried past a plate, and the ground's own lift."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.special import j0

from firstthrow.sim.build.lattice import response
from firstthrow.sim.build.model import build
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.kernels import gusts
from firstthrow.sim.kernels.layout import GUST_RATE, GUST_SIZE
from firstthrow.sim.proof.bodies import Motion, plate_model, rectangle
from firstthrow.sim.proof.check import Check, Curve, Line, Sure
from firstthrow.sim.units import FOOT, from_unit

SPEED, HEIGHT = 10.0, 30.0  # of the flight through the turbulence [m/s, m]
EVERY, SECONDS = 0.05, 30000.0
REDUCED = (0.05, 0.1, 0.2, 0.3)
LEVEL = "MIL-F-8785C (1980), low-altitude model"
SPANS = (0.15, 0.3, 0.6)
# Share of the downwash that the ground takes off, by height over span: sigma.
GROUND_SHARE = (0.374, 0.187, 0.058)


@lru_cache
def breezy():
    """The record of an airframe over a breezy meadow."""
    field = load_field(find("fields", "water-meadow-breeze"))
    return build(load_airframe(find("airframes", "pantry")), field).record


@lru_cache
def history(step: float = EVERY, seconds: float = SECONDS) -> np.ndarray:
    """(steps, 4) gusts along and across the wind, down, and roll, met in flight."""
    record = breezy()
    noise = np.random.default_rng(5).standard_normal((round(seconds / step), gusts.NOISE_SIZE))
    found = np.empty((len(noise), 4))
    gusts.series(record, HEIGHT, SPEED, noise, step, np.zeros(GUST_SIZE), found)
    cos, sin = record.wind_from_cos, record.wind_from_sin
    along = found[:, 0] * cos + found[:, 1] * sin
    across = -found[:, 0] * sin + found[:, 1] * cos
    return np.column_stack([along, across, found[:, 2], found[:, 3]])


def intensities() -> tuple[float, float]:
    """Along the ground, and up and down, in that wind [m/s]."""
    strong, weak = gusts.intensities(HEIGHT, float(breezy().gust_wind))
    return float(strong), float(weak)


def correlation(axis: int, lag: int) -> float:
    """Of a gust with itself so many steps later."""
    one = history()[:, axis] - history()[:, axis].mean()
    return float((one[:-lag] * one[lag:]).mean() / one.var())


def correlations() -> list[float]:
    """After the time in which a length of turbulence is flown through."""
    long, short = gusts.scale_lengths(HEIGHT)
    return [
        correlation(axis, round(length / SPEED / EVERY))
        for axis, length in enumerate((long, long, short))
    ]


def roll_gust() -> list[float]:
    """Its standard deviation over that of the published filter, from its transfer function."""
    span, (_, weak) = float(breezy().span), intensities()
    gain = weak * np.sqrt(0.8 / SPEED) * (np.pi / (4 * span)) ** (1 / 6) / HEIGHT ** (1 / 3)
    wanted = gain * np.sqrt(np.pi / 2.0 / (4.0 * span / (np.pi * SPEED)))
    return [float(history()[:, 3].std() / wanted)]


def lengths(height: float, wind: float) -> list[float]:
    """Both lengths [m], both intensities [m/s], the vertical one first."""
    long, short = gusts.scale_lengths(height)
    strong, weak = gusts.intensities(height, wind)
    return [long, short, weak, strong]


def at_100_feet() -> list[float]:
    """Length [ft] and intensity [kt] in a wind of 15 kt."""
    long, _ = gusts.scale_lengths(100.0 * FOOT)
    return [long / FOOT, gusts.intensities(100.0 * FOOT, 15.0)[0]]


def at_the_top() -> list[float]:
    """At 1000 ft: both lengths [ft], and the one intensity over the other."""
    top = from_unit(1e3, "ft")
    long, short = gusts.scale_lengths(top)
    strong, weak = gusts.intensities(top, 7.0)
    return [long / FOOT, short / FOOT, strong / weak]


def lift_in_gust(gust: float, rate: float, speed: float) -> float:
    """Upward force [N] on a wide plate held level in a stream, in a gust from below of which
    velocity and rate of change at mid-chord are given."""
    motion = Motion(plate_model(60.0))
    record = motion.body.record.copy()
    record[0].wind_north = record[0].wind_east = record[0].still = 0.0
    motion.body = motion.body._replace(record=record)
    motion.state[2], motion.state[7] = -200.0, speed
    motion.gust[2], motion.gust[GUST_RATE + 2] = -gust, -rate
    found = motion.rates_of(motion.state)[7:13]
    mass = np.linalg.inv(record[0].mass_inverse)
    return -float((mass @ found)[2]) + float(record[0].mass * record[0].gravity)


def sine_gust(reduced: float) -> float:
    """Amplitude of the lift over the steady one, k = omega b / U about mid-chord."""
    speed, chord = 9.0, 0.2
    rate = reduced * speed / (0.5 * chord)
    level = lift_in_gust(0.0, 0.0, speed)
    steady = lift_in_gust(0.1, 0.0, speed) - level
    quarter = lift_in_gust(0.0, 0.1 * rate, speed) - level
    return float(np.hypot(steady, quarter) / steady)


@lru_cache
def slope(ratio: float, height: float | None) -> float:
    """Lift slope of a rectangular plate of unit chord at a height in spans."""
    heights = np.empty(0) if height is None else np.array([height * ratio])
    strips = rectangle(ratio, 10)
    reply = response(strips, ground_heights=heights)[0 if height is None else 2]
    n = len(strips.chord)
    circulation = reply.reshape(n, 4, n, 3)[:, 0, :, 0].sum(axis=1)
    return float(2.0 * circulation @ strips.width / strips.area.sum())


def lifting_line(share: float, ratio: float = 8.0) -> float:
    """Slope where the ground takes a share off the induced part: 1/a = 1/a2 + (1 - s)/(pi AR)."""
    return 1.0 / (1.0 / slope(ratio, None) - share / (np.pi * ratio))


CHECKS = (
    Check(
        "T01",
        "turbulence at 10 m, wind of 15 kt at 20 ft",
        (67.4, 10.0, 0.772, 1.457),
        lambda: lengths(10.0, from_unit(15.0, "kt")),
        LEVEL + "; formula quoted in public notes, numbers worked out from it",
        Sure.COPY,
        relative=0.002,
        at=("length along [m]", "length up [m]", "up [m/s]", "along [m/s]"),
    ),
    Check(
        "T02",
        "turbulence at 30 m, wind of 30 kt at 20 ft",
        (152.5, 30.0, 1.543, 2.653),
        lambda: lengths(30.0, from_unit(30.0, "kt")),
        LEVEL + "; formula quoted in public notes, numbers worked out from it",
        Sure.COPY,
        relative=0.002,
        at=("length along [m]", "length up [m]", "up [m/s]", "along [m/s]"),
    ),
    Check(
        "T03",
        "turbulence at 100 ft, wind of 15 kt at 20 ft",
        (505.2, 2.574),
        at_100_feet,
        LEVEL,
        Sure.COPY,
        relative=0.001,
        at=("length along [ft]", "along [kt]"),
    ),
    Check(
        "T04",
        "turbulence at 1000 ft: alike along and up",
        (1e3, 1e3, 1.0),
        at_the_top,
        "MIL-F-8785C (1980): 0.177 + 0.823 = 1",
        Sure.DERIVED,
        relative=1e-6,
        at=("length along [ft]", "length up [ft]", "along over up"),
    ),
    Check(
        "T05",
        "length of turbulence at 5 m [m]",
        (36.6,),
        lambda: [gusts.scale_lengths(5.0)[0]],
        "a public test protocol quotes about 37 m for the same formula",
        Sure.COPY,
        absolute=1.0,
    ),
    Check(
        "T10.size",
        "gusts met in eight hours of flight, standard deviation over what was asked for",
        (1.0, 1.0, 1.0),
        lambda: (
            history()[:, :3].std(axis=0) / (intensities()[0], intensities()[0], intensities()[1])
        ),
        "definition of the filters",
        Sure.DERIVED,
        relative=0.05,
        at=("along", "across", "up and down"),
    ),
    Check(
        "T10.lag",
        "correlation of those gusts with themselves a length of turbulence later",
        (0.3679, 0.1839, 0.1839),
        correlations,
        "Dryden: along e^(-t/T), across and up e^(-t/T) (1 - t/2T), at t = T",
        Sure.DERIVED,
        absolute=0.05,
        at=("along", "across", "up and down"),
    ),
    Check(
        "T11",
        "air that rolls: standard deviation over that of the published filter",
        (1.0,),
        roll_gust,
        LEVEL + ", its transfer function integrated here",
        Sure.DERIVED,
        relative=0.05,
    ),
    Check(
        "S01",
        "lift in a sine gust carried past a plate, amplitude over the steady one",
        tuple(float(j0(k)) for k in REDUCED),
        lambda: [sine_gust(k) for k in REDUCED],
        "Sears (1941) without the lag of the wake: J0(k)",
        Sure.DERIVED,
        relative=0.03,
        at=REDUCED,
        of="reduced frequency",
    ),
    Check(
        "W01",
        "lift slope near the ground, aspect ratio 8, over that of a lifting line",
        (1.0, 1.0, 1.0),
        lambda: [
            slope(8.0, height) / lifting_line(share)
            for height, share in zip(SPANS, GROUND_SHARE, strict=True)
        ],
        "sigma = exp(-2.48 (2 h/b)^0.768), fit to Wieselsberger's influence, NACA TM 77 (1922), as "
        "textbooks print it",
        Sure.MEMORY,
        relative=0.03,
        at=SPANS,
        of="height over span",
    ),
)


def _lag() -> list[Line]:
    lags = np.arange(1, 600, 12)
    length = gusts.scale_lengths(HEIGHT)[0]
    return [
        Line(name, lags * EVERY * SPEED / length, [correlation(axis, int(lag)) for lag in lags])
        for axis, name in enumerate(("along the wind", "across"))
    ]


def _lag_points() -> list[Line]:
    t = np.array([0.25, 0.5, 1.0, 1.5])
    return [
        Line("along the wind", t, np.exp(-t)),
        Line("across", t, np.exp(-t) * (1.0 - 0.5 * t)),
    ]


def _sine() -> list[Line]:
    reduced = np.linspace(0.02, 0.4, 20)
    return [Line("as flown", reduced, [sine_gust(k) for k in reduced])]


def _ground() -> list[Line]:
    heights = np.array([0.12, 0.15, 0.2, 0.3, 0.45, 0.6, 0.8])
    return [Line("lattice", heights, [slope(8.0, h) for h in heights])]


def _ground_points() -> list[Line]:
    return [Line("lattice", SPANS, [lifting_line(share) for share in GROUND_SHARE])]


CURVES = (
    Curve(
        "Gusts met in flight, and the filters they should be of",
        "lengths of turbulence flown through",
        "correlation",
        (),
        _lag,
        _lag_points,
    ),
    Curve(
        "Lift in a sine gust",
        "reduced frequency",
        "over the steady lift",
        ("S01",),
        _sine,
    ),
    Curve(
        "Lift slope near the ground, aspect ratio 8",
        "height over span",
        "lift slope [1/rad]",
        (),
        _ground,
        _ground_points,
    ),
)
