"""What a flight changes step by step, and what it is told: the arrays of one flight; and the
scratch memory of derivative and integrator, one record, so that no step allocates."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.kernels.layout import (
    CHANNELS,
    COMMAND_SIZE,
    GUST_SIZE,
    LATE,
    MAX_MOTORS,
    MAX_STRIPS,
    MAX_SURFACES,
    REPORT_SIZE,
    SIZE,
)
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
    late: np.ndarray  # (LATE, MAX_STRIPS) what is separated; zeros: as if it had flown so for long
    # (3, SIZE + 1) rates at the start of the step before, and its length [s], 0: there was none;
    # those at its end, and 1 where they will do for the next start; of each surface, how its
    # hinge moment changed, the angles that both rates are for, and what these lack of its mean.
    before: np.ndarray


def moving() -> Moving:
    """A flight in which nothing has happened yet; all zeros."""
    return Moving(
        np.zeros(SIZE),
        np.zeros(COMMAND_SIZE),
        np.zeros(GUST_SIZE),
        np.zeros(REPORT_SIZE),
        np.zeros(1, EVENTS),
        np.zeros((LATE, MAX_STRIPS)),
        np.zeros((3, SIZE + 1)),
    )


SCRATCH = record_type(
    [
        # Of the strips; first, and whole vectors long, so that loops over strips go in lanes: the
        # compiler wants their distances to be multiples of a vector.
        ("stream", "f8", (3, MAX_STRIPS)),  # what the propellers add, body axes [m/s]
        # The part of the stream's flow through a sheet and of that turned by its surfaces that a
        # round stream cannot hold, 0..1; and its swirl along the normal, bounded already [m/s].
        ("lost", "f8", (2, MAX_STRIPS)),
        ("swirl", "f8", (MAX_STRIPS,)),
        # The flow at every strip: aft along it, along its normal, along its span [m/s].
        ("u", "f8", (MAX_STRIPS,)),
        ("w", "f8", (MAX_STRIPS,)),
        ("side", "f8", (MAX_STRIPS,)),
        ("along", "f8", (MAX_STRIPS,)),  # in its plane, below 0 from behind [m/s]
        ("turn", "f8", (MAX_STRIPS,)),  # about its span: how the wash grows aft [rad/s]
        ("roll", "f8", (MAX_STRIPS,)),  # about its chord [rad/s]
        ("spin", "f8", (MAX_STRIPS,)),  # about its normal [rad/s]
        ("sideways", "f8", (MAX_STRIPS,)),  # 0 met along its chord .. 1 met along its span
        # Of each strip's surface, 0 where it has none: angle, effective angle [rad], its sine; and
        # the angle that the leading edge feels.
        ("turned", "f8", (MAX_STRIPS,)),
        ("works", "f8", (MAX_STRIPS,)),
        ("tilts", "f8", (MAX_STRIPS,)),
        ("bent", "f8", (MAX_STRIPS,)),
        ("share", "f8", (MAX_STRIPS,)),  # what is separated, as it lags behind the flow
        ("plate", "f8", (CHANNELS, MAX_STRIPS)),  # read from the plate tables, see `section`
        ("wash", "f8", (3, MAX_STRIPS)),  # inputs of the lattice's response
        # Its outputs: four per strip, for flow from AHEAD and from BEHIND; then, by strip, those
        # for where its own comes from.
        ("loads", "f8", (2, 4 * MAX_STRIPS)),
        ("replies", "f8", (4, MAX_STRIPS)),
        # Loads of the strips: force along the normal and aft [N], moment nose up, couple about the
        # chord, hinge moment [N m].
        ("normal", "f8", (MAX_STRIPS,)),
        ("aft", "f8", (MAX_STRIPS,)),
        ("moment", "f8", (MAX_STRIPS,)),
        ("couple", "f8", (MAX_STRIPS,)),
        ("hinge", "f8", (MAX_STRIPS,)),
        ("total", "f8", (8,)),  # force [N], moment [N m], root bending right and left [N m]
        # How the air's velocity changes per metre along the way ahead, and which way that is.
        ("gradient", "f8", (3,)),  # body axes [1/s]
        ("ahead", "f8", (3,)),
        ("lagging", "f8"),  # whether what is separated lags behind the flow
        ("unusual", "f8"),  # above 0 where any strip is separated, or met along its span
        ("effective", "f8", (MAX_SURFACES,)),  # effective angle of each surface [rad]
        ("sine", "f8", (MAX_SURFACES,)),  # of its own angle
        ("before", "f8", (MAX_SURFACES,)),  # hinge moments of the pass before, see `settled`
        # Of a step: slope of one stage, the weighted sum of all so far, the state of the next.
        ("stages", "f8", (3, SIZE)),
        ("squares", "f8", (MAX_MOTORS,)),  # mean square of each motor's current [A2]
        # Of the surfaces: where a long step has brought them; what they are in the mean over it;
        ("angles", "f8", (MAX_SURFACES,)),
        ("means", "f8", (MAX_SURFACES,)),
        ("taken", "f8", (3, MAX_SURFACES)),  # what stands for that at its start and end, and lacks
        ("moments", "f8", (MAX_SURFACES,)),  # of the hinges at its start [N m]
    ]
)


def scratch() -> np.ndarray:
    """(1,) SCRATCH."""
    return np.zeros(1, SCRATCH)
