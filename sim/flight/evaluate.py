"""What the compiled physics says of one moment: loads of the air alone, rates of a whole state."""

from __future__ import annotations

import threading

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.moved import calmed
from firstthrow.sim.kernels.held import load
from firstthrow.sim.kernels.layout import (
    DEFLECTION,
    MAX_SURFACES,
    RATE,
    REPORT_SIZE,
    SIZE,
)
from firstthrow.sim.kernels.moving import scratch
from firstthrow.sim.kernels.settled import Moment, moment, settle

FREE = 1e3  # height at which the ground is not felt [m]


class _Own(threading.local):
    """What a thread works a moment out in: where its arrays are is asked once. Empty before each:
    the strips that an airframe has not are taken times 0, and 0 times NaN is NaN."""

    def __init__(self) -> None:
        self.at, self.scratch = moment(), scratch()
        self._bytes = [own.view(np.uint8) for own in (self.at.scratch, self.scratch)]

    def empty_moment(self) -> Moment:
        self._bytes[0].fill(0)
        return self.at

    def empty_scratch(self) -> np.ndarray:
        self._bytes[1].fill(0)
        return self.scratch


_OWN = _Own()


def air_load(
    model: Model,
    air: np.ndarray,
    rates=(0.0, 0.0, 0.0),
    surfaces=(0.0,) * MAX_SURFACES,
    height: float = FREE,
) -> tuple[np.ndarray, np.ndarray]:
    """Force and moment about the centre of gravity (6,), body axes, and the report.

    air: (3,) velocity of the air past the centre of gravity, body axes [m/s];
    rates: body rates [rad/s]; surfaces: angles by slot [rad]; height of the datum above the
    ground [m].
    """
    own, state, report = _OWN.empty_scratch(), np.zeros(SIZE), np.zeros(REPORT_SIZE)
    state[3] = 1.0
    state[RATE : RATE + 3] = rates
    report[DEFLECTION : DEFLECTION + len(surfaces)] = surfaces
    load(model.body, state, np.array(air, dtype=float), float(height), report, own)
    return own[0].total[:6].copy(), report


def rates_of(model: Model, state: np.ndarray, command: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rates of change of a whole state (SIZE,) in still air, whatever wind the model's field has,
    and the report."""
    at = _OWN.empty_moment()
    at.state[:], at.command[:] = state, command
    settle(calmed(model).body, at)
    return at.rates.copy(), at.report.copy()
