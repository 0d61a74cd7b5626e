"""Bare plates that fall: when they flutter and when they tumble; spins in the air."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from firstthrow.sim.build import section
from firstthrow.sim.build.model import Model, build, fill_mass
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.integrate import STEP
from firstthrow.sim.proof.bodies import Motion, plate_airframe, plate_model
from firstthrow.sim.proof.check import Check, Curve, Line, Sure
from firstthrow.sim.units import GRAVITY

CHORD = 0.2  # [m]
STARTS = ((0.8, 0.0), (0.2, 8.0), (1.2, 0.0))  # pitch [rad], rate [rad/s]
LONG = 10.0  # aspect ratio of a long strip
LIGHTEST, HEAVIEST = 0.5, 0.58  # Froude numbers between which the border is looked for
FROUDE = "sqrt(m / (density c^2 b))"
BELMONTE = (
    "Belmonte, Eisenberg and Moses, Phys. Rev. Lett. 81 (1998) 345, abstract: 0.67, between the "
    "walls of a tank; definition of the number from memory"
)


@lru_cache
def _built(ratio: float) -> Model:
    return build(plate_airframe(ratio, CHORD), STANDARD)


def strip(froude: float, ratio: float, ahead: float = 0.0, gravity: float = GRAVITY) -> Model:
    """A thin plate of a mass by Fr = sqrt(m / (density c^2 b)), with the inertia of an even one,
    balanced some chords ahead of its middle."""
    model = _built(ratio)
    record, span = model.record.copy(), ratio * CHORD
    mass = froude**2 * record.density * CHORD**2 * span
    inertia = mass / 12.0 * np.diag([span**2, CHORD**2, span**2 + CHORD**2])
    place = np.array([(0.5 - ahead) * CHORD, 0.0, 0.0])
    balance = model.balance._replace(mass=mass, place=place, inertia=inertia)
    fill_mass(record, balance, model.apparent)
    record.strip_place[0, : record.n_strips] += place[0] - model.balance.place[0]
    record.gravity = gravity
    return model.with_body(record)


def fall(model: Model, pitch: float, spin: float) -> tuple[float, float, float]:
    """Turns about the span, how far it swings [turns], and way down per way along, over the
    second half of 12 s."""
    motion = Motion(model, (0.0, spin, 0.0), height=500.0)
    motion.state[3], motion.state[5] = np.cos(0.5 * pitch), np.sin(0.5 * pitch)
    path = motion.run(12.0)
    late = path[len(path) // 2 :]
    turned = np.cumsum(late[:, 11]) * STEP / (2.0 * np.pi)
    way = late[-1, :3] - late[0, :3]
    found = turned[-1], np.ptp(turned), way[2] / max(np.hypot(way[0], way[1]), 1e-3)
    return float(found[0]), float(found[1]), float(found[2])


@lru_cache
def turns(froude: float, start: int = 0) -> float:
    """How often a long strip turns in six seconds of its fall."""
    return abs(fall(strip(froude, LONG), *STARTS[start])[0])


def border() -> list[float]:
    """Between the heaviest strip that flutters and the lightest that tumbles, from each start."""
    found = []
    for start in range(len(STARTS)):
        low, high = LIGHTEST, HEAVIEST
        if not turns(low, start) <= 1.0 < turns(high, start):
            found.append(float("nan"))  # no border between the two
            continue
        while high - low > 0.01:
            middle = 0.5 * (low + high)
            low, high = (low, middle) if turns(middle, start) > 1.0 else (middle, high)
        found.append(0.5 * (low + high))
    return found


def tumbles(*froudes: float) -> list[float]:
    """1 where a long strip tumbles, 0 where it does not."""
    return [float(turns(froude) > 1.0) for froude in froudes]


def spinning(*ratios: float) -> list[float]:
    """Moment on a plate that spins about mid-span, over that of crossflow drag."""
    found, rate = [], 20.0
    for ratio in ratios:
        model = plate_model(ratio)
        density = model.record.density
        moment = air_load(model, np.zeros(3), (0.0, rate, 0.0))[0][4]
        drag = section.normal_force(np.array(0.5 * np.pi), ratio)
        wanted = -drag * density * rate**2 * CHORD**4 / 64.0 * ratio * CHORD
        found.append(float(moment / wanted))
    return found


CHECKS = (
    Check(
        "U02",
        "border between fluttering and tumbling of a long strip that falls, 0.55 to 0.80",
        (0.67, 0.67, 0.67),
        border,
        BELMONTE,
        Sure.PUBLISHED,
        absolute=0.13,
        at=tuple(f"let go {pitch:g} rad nose up, {rate:g} rad/s" for pitch, rate in STARTS),
    ),
    Check(
        "U03",
        "whether a long strip heavier than that border tumbles: 1 yes, 0 no",
        (1.0, 1.0),
        lambda: tumbles(0.8, 1.0),
        BELMONTE,
        Sure.PUBLISHED,
        absolute=0.5,
        at=(0.8, 1.0),
        of=FROUDE,
        missed="from 0.8 on a falling strip soon settles flat here, where real ones tumble on: "
        "what keeps a plate tumbling is that its loads lag, and here only its stall does. "
        "An airframe balanced to fly does not fall like that",
        band=(-2.0, -2.0),
    ),
    Check(
        "U04",
        "moment on a plate that spins in still air, over that of crossflow drag",
        (1.0, 1.0),
        lambda: spinning(1.0, 4.0),
        "- CD density rate^2 c^4 / 64 by span, worked out here",
        Sure.DERIVED,
        relative=0.05,
        at=(1, 4),
        of="aspect ratio",
    ),
)


def _turns() -> list[Line]:
    froudes = (0.3, 0.4, 0.5, 0.54, 0.58, 0.62, 0.66, 0.7, 0.8, 1.0)
    return [Line("as it falls here", froudes, [turns(froude) for froude in froudes])]


def _measured() -> list[Line]:
    return [Line("as it falls here", (0.67,), (0.0,))]


CURVES = (
    Curve(
        "How often a long strip turns as it falls; the point: where tumbling was seen to begin",
        FROUDE,
        "turns in 6 s",
        (),
        _turns,
        _measured,
    ),
)
