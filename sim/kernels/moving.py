"""What a flight changes step by step, and what it is told: the arrays of one flight."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.kernels.layout import COMMAND_SIZE, GUST_SIZE, MAX_MOTORS, REPORT_SIZE, SIZE
from firstthrow.sim.kernels.parameters import record_type

EVENTS = record_type(
    [
        ("word", "i8"),  # how the flight ended, see `integrate`
        ("value", "f8"),  # what goes with it
        ("time", "f8"),  # seconds since the start of the flight
        ("moved", "f8"),  # 1 once it has flown or rolled: before, rest is no landing
        ("rest", "f8"),  # how long it has been at rest [s]
        ("asleep", "f8"),  # how much longer the receiver restarts [s]
        ("overload", "f8", (MAX_MOTORS,)),  # of each motor's controller, see `controller` [s]
        ("dead", "f8", (MAX_MOTORS,)),  # 1 once it has burnt or cut out
    ]
)


class Moving(NamedTuple):
    state: np.ndarray  # (SIZE,)
    command: np.ndarray  # (COMMAND_SIZE,)
    gust: np.ndarray  # (GUST_SIZE,)
    report: np.ndarray  # (REPORT_SIZE,)
    events: np.ndarray  # (1,) EVENTS


def moving() -> Moving:
    """A flight in which nothing has happened yet; all zeros."""
    return Moving(
        np.zeros(SIZE),
        np.zeros(COMMAND_SIZE),
        np.zeros(GUST_SIZE),
        np.zeros(REPORT_SIZE),
        np.zeros(1, EVENTS),
    )
