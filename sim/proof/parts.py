"""Drag of what is no sheet; and how sure a count of survivors is."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from firstthrow.sim.build.model import build
from firstthrow.sim.describe.airframe import Item
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.proof.bodies import plate_airframe
from firstthrow.sim.proof.check import Check, Sure
from firstthrow.sim.study.odds.launches import wilson

SPEED = 10.0  # [m/s]
CUBE = {"shape": "box", "length": "40 mm", "width": "40 mm", "height": "40 mm"}
WIRE = {"shape": "rod", "length": "300 mm", "diameter": "2 mm"}


@lru_cache
def bare():
    return build(plate_airframe(3.0), STANDARD)


def drag(area: float, **what) -> float:
    """Drag coefficient of a part hung under a plate, over an area of its own [m2]."""
    part = Item.model_validate({"mass": "0.001 g", "up": "-200 mm", **what})
    hung = build(plate_airframe(3.0).model_copy(update={"items": {"part": part}}), STANDARD)
    flow = np.array([-SPEED, 0.0, 0.0])
    load = air_load(hung, flow)[0] - air_load(bare(), flow)[0]
    return float(-load[0] / (0.5 * hung.record.density * SPEED**2 * area))


COUNTS = ((81, 263), (15, 148), (0, 20), (1, 29))

CHECKS = (
    Check(
        "cube",
        "drag coefficient of a cube over its face, 0.85 to 1.25",
        (1.05,),
        lambda: [drag(0.04**2, **CUBE)],
        "Hoerner, Fluid-Dynamic Drag (1965)",
        Sure.MEMORY,
        absolute=0.2,
    ),
    Check(
        "wire",
        "drag coefficient of a wire across the stream, 0.9 to 1.25",
        (1.075, 1.075),
        lambda: [drag(6e-4, along=way, **WIRE) for way in ("right", "up")],
        "Hoerner, Fluid-Dynamic Drag (1965): cylinders below the critical Reynolds number",
        Sure.MEMORY,
        absolute=0.175,
        at=("lying across", "upright"),
    ),
    Check(
        "wilson",
        "interval of 95 % of a share that was counted",
        (0.2553, 0.3662, 0.0624, 0.1605, 0.0, 0.1611, 0.0061, 0.1718),
        lambda: np.ravel([wilson(*count) for count in COUNTS]),
        "Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3",
        Sure.PUBLISHED,
        absolute=5e-5,
        at=tuple(f"{a} of {b}, {end}" for a, b in COUNTS for end in ("low", "high")),
    ),
)
