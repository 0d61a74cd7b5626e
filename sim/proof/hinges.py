"""What the air presses on a surface's hinge, by the whole set-up."""

from __future__ import annotations

from functools import lru_cache
from math import radians

import numpy as np

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.drive import Servo
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.sheets import Surface
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.layout import HINGE, MAX_SURFACES
from firstthrow.sim.proof import lattice
from firstthrow.sim.proof.bodies import plate_airframe
from firstthrow.sim.proof.check import Check, Sure

SPEED, CHORD, SHARE, SPAN = 20.0, 0.25, 0.2, 0.35  # [m/s, m, of the chord, m of the flap]
HALF = 30.0  # of the whole flap's span [m]


def wide_airframe(gap: str) -> Airframe:
    """A plate of aspect ratio 240 with a flap of a fifth of its chord over the whole span."""
    flap = Surface.model_validate(
        {
            "role": "elevator",
            "chord": "50 mm",
            "inner": "0 mm",
            "outer": "3 m",
            "servo": "s",
            "arm": "10 mm",
            "horn": "10 mm",
            "travel": "30 deg",
            "gap": gap,
        }
    )
    servo = Servo.model_validate(
        {
            "speed": "0.1 s",
            "torque": "1 kgcm",
            "travel": "45 deg",
            "idle_current": "5 mA",
            "stall_current": "0.5 A",
        }
    )
    plate = plate_airframe(240.0, chord=CHORD)
    whole = flap.model_copy(update={"outer": HALF})  # further than a file may ask for
    sheet = plate.sheets["plate"].model_copy(update={"surfaces": {"flap": whole}})
    return plate.model_copy(update={"sheets": {"plate": sheet}, "servos": {"s": servo}})


@lru_cache
def wide() -> Model:
    return build(wide_airframe("taped"), STANDARD)


def hinge(alpha: float, delta: float) -> float:
    """Hinge moment of 0.35 m of its flap at 20 m/s [N m]; angles [rad]."""
    air = -SPEED * np.array([np.cos(alpha), 0.0, np.sin(alpha)])
    _, report = air_load(wide(), air, surfaces=[delta, delta] + [0.0] * (MAX_SURFACES - 2))
    return float(report[HINGE]) * SPAN / HALF


def theory(name: str) -> float:
    """Thin-aerofoil hinge moment of this flap [1/rad]: "F06" by incidence, "F07" by its angle."""
    row = next(check for check in lattice.CHECKS if check.name == name)
    return row.outside[row.at.index(SHARE)]


def shares() -> list[float]:
    """Of theory, by angle of attack and by flap angle, a degree of each."""
    pressure, small = 0.5 * 1.225 * SPEED**2, radians(1.0)
    size = pressure * (SHARE * CHORD) ** 2 * SPAN * small
    return [
        -hinge(small, 0.0) / (size * theory("F06")),
        -hinge(0.0, small) / (size * theory("F07")),
    ]


WORKED = 0.0691  # [N m] by thin-aerofoil theory, Ch_delta -0.923: 20 degrees of this flap
KEPT = 0.96  # of a flap's effect at 20 degrees, NACA TN 2080
CHECKS = (
    Check(
        "F08",
        "hinge moment of a taped flap of 20 % chord over thin-aerofoil theory",
        (0.65, 0.80),
        shares,
        "handbook practice, sealed plain flap: 0.5 to 0.8 and 0.7 to 0.9; here the middle half",
        Sure.MEMORY,
        absolute=0.075,
        at=("by angle of attack", "by flap angle"),
    ),
    Check(
        "F12",
        "hinge moment at 20 m/s of 0.35 m of that flap turned 20 degrees [N m]",
        (0.8 * KEPT * WORKED,),
        lambda: [hinge(0.0, radians(20.0))],
        "thin-aerofoil theory 0.0691, less what 20 degrees cost a flap (NACA TN 2080: 0.96), "
        "and 0.7 to 0.9 of that by handbook practice, from memory",
        Sure.MEMORY,
        relative=0.125,
    ),
)
