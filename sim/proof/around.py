"""What acts on an airframe beside its own shape: air dragged along, a stream, an arm, hands."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.model import build
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.skills import SKILLS
from firstthrow.sim.kernels.drive import induced
from firstthrow.sim.proof.bodies import motor, plate_airframe
from firstthrow.sim.proof.check import Check, Sure
from firstthrow.sim.study.odds.arm import arm_speed

LOADING = 3.0  # [kg/m2]
PUPILS = ("beginner", "club", "expert")


def dragged_along(*chords: float) -> list[float]:
    """Air that a plate of aspect ratio 4 drags along in heave, over its own mass."""
    found = []
    for chord in chords:
        model = build(plate_airframe(4.0, chord), STANDARD)
        found.append(float(model.apparent[2, 2]) / (LOADING * 4.0 * chord**2))
    return found


def grown(*radii: float) -> list[float]:
    """Speed that a propeller adds so many radii behind it, over that in its disc: the middle of
    `pantry`'s slab, the motor moved ahead of it."""
    airframe = load_airframe(find("airframes", "pantry"))
    name, motor = next(iter(airframe.motors.items()))
    found = []
    for wanted in radii:
        first = build(airframe, STANDARD).record
        gap = wanted * first.motor_radius[0] - first.stream_behind[0, 0]
        moved = put(airframe, ("motors", name, "aft"), motor.aft - gap)
        record = build(moved, STANDARD).record
        found.append(float(record.stream_grown[0, 0]))
    return found


def stream_behind() -> list[float]:
    """Of a propeller at rest, 5 N from a disc of 0.254 m: speed [m/s] and pressure [Pa] a radius
    behind it, and the pressure far behind."""
    body = motor(7.4, diameter=0.254)
    added = float(induced(body.record[0], 0, 0.0, 5.0))
    near, far = (added * share for share in grown(1.0, 100.0))
    pressure = 0.5 * float(body.record[0].density)
    return [near, pressure * near**2, pressure * far**2]


def margins() -> list[float]:
    """Phase left of the loop that simulated hands close [deg]."""
    return [
        90.0 - float(np.degrees(SKILLS[who].crossover * (SKILLS[who].delay + SKILLS[who].lag)))
        for who in PUPILS
    ]


def energies(*masses: float) -> list[float]:
    return [0.5 * mass * arm_speed(mass) ** 2 for mass in masses]


CHECKS = (
    Check(
        "V01",
        "air dragged along in heave over the mass of a plate of 3 kg/m2, aspect ratio 4",
        (0.056, 0.112),
        lambda: dragged_along(0.2, 0.4),
        "the published table of apparent mass (A01), worked out from it",
        Sure.DERIVED,
        relative=0.02,
        at=(0.2, 0.4),
        of="chord [m]",
    ),
    Check(
        "J01",
        "speed behind a propeller at rest, over that which it adds in its disc",
        (1.447, 1.707, 1.894, 1.970),
        lambda: grown(0.5, 1.0, 2.0, 4.0),
        "1 + s / sqrt(s^2 + R^2), McCormick; vortex cylinder",
        Sure.DERIVED,
        relative=0.02,
        at=(0.5, 1, 2, 4),
        of="radii behind it",
    ),
    Check(
        "J02",
        "stream of 5 N from a disc of 0.254 m at rest: a radius behind it, and far behind",
        (10.83, 71.9, 98.7),
        stream_behind,
        "momentum theory and J01; far behind, thrust over disc area",
        Sure.DERIVED,
        relative=0.02,
        at=("speed [m/s]", "pressure [Pa]", "pressure far behind [Pa]"),
    ),
    Check(
        "N03",
        "energy that an arm gives to an airframe, 10 to 40 J",
        (25.0, 25.0, 25.0),
        lambda: energies(0.3, 0.6, 1.5),
        "Cross, Am. J. Phys. 72 (2004) 305, overarm throws",
        Sure.MEMORY,
        absolute=15.0,
        at=(0.3, 0.6, 1.5),
        of="mass [kg]",
    ),
    Check(
        "O01",
        "delay of the quickest simulated hands against the simplest reaction, to a light [s]",
        (0.19,),
        lambda: [SKILLS["expert"].delay],
        "course notes after Donders; college age",
        Sure.COPY,
        absolute=0.03,
    ),
    Check(
        "O02",
        "delay of the slowest simulated hands against recognising first, then reacting [s]",
        (0.384,),
        lambda: [SKILLS["beginner"].delay],
        "Laming (1968), in course notes",
        Sure.COPY,
        absolute=0.06,
    ),
    Check(
        "O04",
        "phase margin of simulated hands [deg]",
        (52.0, 43.0, 35.0),
        margins,
        "the crossover model: a quarter turn less crossover times delay and lag",
        Sure.DERIVED,
        absolute=1.0,
        at=PUPILS,
    ),
    Check(
        "O03",
        "delay and lag of simulated hands, beginner, club, expert, against trained pilots [s]",
        (0.36, 0.36, 0.36),
        lambda: [SKILLS[who].delay + SKILLS[who].lag for who in PUPILS],
        "McRuer and others, AFFDL-TR-65-15 (1965), element K/s",
        Sure.MEMORY,
        absolute=0.05,
        at=PUPILS,
        missed="a beginner is slower than any trained pilot, by 0.2 s; an expert is quicker than "
        "those of the report by a hundredth more than wanted, as meant for thumbs",
        band=(-1.5, 4.0),
    ),
)
