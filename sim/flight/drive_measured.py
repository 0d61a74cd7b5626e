"""What was measured standing still says of the propeller: thrust, torque and pitch apart.

The most likely corrections are those for which the squared gaps to the meters and to no
correction, each over its own spread, are least together (Bayes's rule for normal errors; as a
few steps of Gauss and Newton). What the meters do not decide stays what was believed before, and
its spread says so: pitch is told at rest from thrust and torque only as far as they part.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.unknown_kinds import What, guessed
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.drive_at_rest import Running, equilibrium, refitted

# How far a propeller nobody measured is off the blade elements, the pitch off the print on it.
BEFORE = {
    "propeller_thrust": guessed(What.THRUST),
    "propeller_torque": guessed(What.TORQUE),
    "propeller_pitch": guessed(What.PROPELLER_PITCH),
}
METERS = {"current": 0.03, "thrust": 0.03, "rpm": 0.01, "voltage": 0.01}  # of a reading
ROUNDS = 3
NUDGE = 0.03


class Correction(NamedTuple):
    """A factor as it stands in a file, and its standard deviation."""

    factor: float
    spread: float


def seen(running: Running) -> dict[str, float]:
    """What the builder's instruments would show: A, N, rad/s, V."""
    return {
        "current": running.pack_current,
        "thrust": running.thrust,
        "rpm": abs(running.rotor),
        "voltage": running.pack_voltage,
    }


def corrected(airframe: Airframe, factors: np.ndarray) -> Airframe:
    """With the airframe's own corrections times these, in the order of BEFORE."""
    known = airframe.corrections
    changed = {n: getattr(known, n) * float(f) for n, f in zip(BEFORE, factors, strict=True)}
    return airframe.model_copy(update={"corrections": known.model_copy(update=changed)})


def propeller_corrections(
    model: Model, airframe: Airframe, measured: dict[str, float], throttle: float = 1.0
) -> dict[str, Correction]:
    """By the names of the file's corrections, from readings by the names of METERS, in SI."""
    names = list(measured)
    before = np.array(list(BEFORE.values()))
    sure = np.array([METERS[name] for name in names])

    def gaps(logs: np.ndarray) -> np.ndarray:
        """Logarithms of measured over computed."""
        found = seen(equilibrium(refitted(model, corrected(airframe, np.exp(logs))), throttle))
        return np.array([np.log(measured[n] / max(found[n], 1e-6)) for n in names])

    logs = np.zeros(len(BEFORE))
    for _ in range(ROUNDS):
        gap = gaps(logs)
        slopes = np.column_stack([(gap - gaps(logs + row)) / NUDGE for row in NUDGE * np.eye(3)])
        weighed = slopes.T / sure**2
        spread = np.linalg.inv(weighed @ slopes + np.diag(before**-2.0))
        logs = spread @ (weighed @ (gap + slopes @ logs))
    whole = corrected(airframe, np.exp(logs)).corrections
    return {
        name: Correction(factor, float(factor * np.sqrt(spread[k, k])))
        for k, name in enumerate(BEFORE)
        for factor in [getattr(whole, name)]
    }
