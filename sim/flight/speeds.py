"""The words for speeds: what stalled means, the stall speed, and the speeds named after it.

One word, one meaning, everywhere: in `weigh`, `trim`, `check`, `odds`, the instruments, the
debrief and on the bench sheet. The multiples are common practice, no source, unless said.
"""

from __future__ import annotations

from math import cos, sin

import numpy as np
from scipy.optimize import brentq

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.polar import polar
from firstthrow.sim.flight.steady import linear
from firstthrow.sim.kernels.layout import MAX_SURFACES, SEPARATED
from firstthrow.sim.once import once_for

STALLED = 0.5  # share of the flat sheets separated beyond which it counts as stalled

# Multiples of the stall speed.
LEAST_THROW = 1.1  # a throw below it sinks before the motor has pulled it faster
SLOWEST_SAFE = 1.2  # never flown slower: a gust or a late hand still leaves lift; touch-down
APPROACH = 1.3  # the glide home, where glides and their modes are told
CRUISE = 1.4  # where it is usually flown: level flight, its modes, its servo loads


def neutral_stall_speed(model: Model) -> float:
    """Least speed of level flight at one g, surfaces neutral, no propeller, moments ignored [m/s].

    By the largest lift that is still attached: a plate broadside lifts too, but does not fly.
    """
    found = polar(model, np.radians(np.arange(2.0, 50.0, 1.0)))
    most = found.lift[found.separated <= STALLED].max()
    return float(
        np.sqrt(
            2.0
            * model.record.mass
            * model.record.gravity
            / (model.record.density * found.area * most)
        )
    )


@once_for(16)
def held_stall_speed(model: Model, airframe: Airframe) -> float | None:
    """The stall speed [m/s]: the slowest at which the airframe, balanced as it is, can be held
    level with the pitch control it has, on the air alone.

    None when its surfaces hold it at no incidence. The largest attached lift of all incidences at
    which some stick position brings the pitching moment to nothing.
    """
    straight, m = linear(mixer(airframe)), model.record
    best = 0.0
    for alpha in np.radians(np.arange(1.0, 45.0, 0.5)):
        air = -10.0 * np.array([cos(alpha), 0.0, sin(alpha)])

        def load(back: float, air=air) -> tuple[np.ndarray, np.ndarray]:
            asked = straight.command(Sticks(pitch=back))
            return air_load(model, air, surfaces=asked[:MAX_SURFACES])

        if load(-1.0)[0][4] * load(1.0)[0][4] > 0.0:
            continue
        force, report = load(brentq(lambda x, load=load: load(x)[0][4], -1.0, 1.0))
        if report[SEPARATED] <= STALLED:
            best = max(best, force[0] * sin(alpha) - force[2] * cos(alpha))
    if best <= 0.0:
        return None
    return float(10.0 * np.sqrt(m.mass * m.gravity / best))


def stall_speed(model: Model, airframe: Airframe) -> float:
    """The held one; that of the plain polar where nothing holds the pitch [m/s]."""
    return held_stall_speed(model, airframe) or neutral_stall_speed(model)
