"""The words for speeds: what stalled means, the stall speed, and the speeds named after it.

One word, one meaning, everywhere: in `weigh`, `trim`, `check`, `odds`, the instruments, the
debrief and on the bench sheet. The multiples are common practice, no source, unless said.
"""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.build.strips import CannotFly
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.evaluate import FREE
from firstthrow.sim.flight.polar import polar
from firstthrow.sim.kernels.circuit import SAFE
from firstthrow.sim.kernels.held import SPEED, most_held_lift
from firstthrow.sim.kernels.layout import ATTITUDE, MAX_SURFACES, REPORT_SIZE, SIZE
from firstthrow.sim.kernels.moving import scratch
from firstthrow.sim.once import once_for

STALLED = 0.5  # share of the flat sheets separated beyond which it counts as stalled

# Multiples of the stall speed.
SLOW = 1.1  # in the air below it: said to be slow, a gust may take the rest
LEAST_THROW = 1.1  # a throw below it sinks before the motor has pulled it faster
SLOWEST_SAFE = SAFE  # never flown slower: a gust or a late hand still leaves lift; touch-down
APPROACH = 1.3  # the glide home, where glides and their modes are told
CRUISE = 1.4  # where it is usually flown: level flight, its modes, its servo loads

ALPHAS = np.radians(np.arange(1.0, 45.0, 0.5))  # incidences that are tried
BACKS = np.linspace(-1.0, 1.0, 21)  # stick positions between which angles are straight lines


def margin_percent(times: float) -> float:
    """The margin of so many times the stall speed [%]."""
    return round(100.0 * (times - 1.0), 9)


def neutral_stall_speed(model: Model) -> float:
    """Least speed of level flight at one g, surfaces neutral, no propeller, moments ignored [m/s].

    By the largest lift that is still attached: a plate broadside lifts too, but does not fly.
    Raises CannotFly where none lifts it, as with a part whose drag outweighs all lift.
    """
    found = polar(model, np.radians(np.arange(2.0, 50.0, 1.0)))
    most = found.lift[found.separated <= STALLED].max(initial=0.0)
    if most <= 0.0:
        raise CannotFly("it cannot fly: no angle of attack lifts it; look at its largest parts")
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
    straight, m = mixer(airframe).without_expo(), model.record
    angles = np.array([straight.command(Sticks(pitch=x))[:MAX_SURFACES] for x in BACKS])
    state, report = np.zeros(SIZE), np.zeros(REPORT_SIZE)
    state[ATTITUDE] = 1.0
    lift = most_held_lift(
        model.body, state, np.zeros(3), FREE, ALPHAS, angles, STALLED, report, scratch()
    )
    if lift <= 0.0:
        return None
    return float(SPEED * np.sqrt(m.mass * m.gravity / lift))


def stall_speed(model: Model, airframe: Airframe) -> float:
    """The held one; that of the plain polar where nothing holds the pitch [m/s]."""
    return held_stall_speed(model, airframe) or neutral_stall_speed(model)
