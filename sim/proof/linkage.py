"""Servo arms, rods and horns."""

from __future__ import annotations

from math import radians

import numpy as np

from firstthrow.sim.describe.linkage import horn_for, rocker_angles
from firstthrow.sim.proof.check import Check, Sure
from firstthrow.sim.units import mm

CHECKS = (
    Check(
        "F13",
        "horn for an arm of 8 mm, servo 60 degrees, surface 25 degrees [mm]",
        (16.4,),
        lambda: [mm(horn_for(0.008, radians(60.0), radians(25.0)))],
        "sine rule, example of builders among themselves",
        Sure.PRACTICE,
        relative=0.01,
    ),
    Check(
        "four-bar",
        "rocker of a four-bar, ground 100, crank 40 at 40 degrees, coupler 120, rocker 80 mm [deg]",
        (57.33, -98.01),
        lambda: np.degrees(rocker_angles(100.0, 40.0, 120.0, 80.0, radians(40.0))),
        "worked example of Norton, Design of Machinery, ch. 4 (Freudenstein's equation)",
        Sure.MEMORY,
        absolute=0.01,
        at=("open", "crossed"),
    ),
)
