"""What the exercises let a person steer: the airframe's own small motions, step by step.

The linear motion about the steady flight that simulated hands are tuned at (`flight.skills`):
pitch by the pitch stick, bank by the stick that rolls, each half by itself, servos as quick. So
the element is known exactly, and a gain measured with it is a gain on this airframe.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import scipy

from firstthrow.sim.flight.modes import COORDINATES, LATERAL
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.skills import Motion, habitual, operating_point, stick_motion
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject

FRAME = 1.0 / 60.0  # of a look and a step [s], as simulated hands have
# Where pitch, its rate, bank and its rate stand among the coordinates.
ANGLES = [COORDINATES.index(name) for name in ("pitch", "bank")]
RATES = [COORDINATES.index(name) for name in ("q", "p")]


class Element(NamedTuple):
    """x(k + 1) = step x(k) + push u(k); u: (2,) pitch stick, roll stick."""

    motion: Motion
    step: np.ndarray  # (n, n)
    push: np.ndarray  # (n, 2)

    def answers(self, turn: np.ndarray) -> np.ndarray:
        """(2, 2, frequencies) angle and its rate, of pitch and of bank, per stick, where each
        frequency turns by so much in a frame: turn = e^(j w FRAME)."""
        n = len(self.step)
        found = np.linalg.solve(turn[:, None, None] * np.eye(n) - self.step, self.push)
        return np.array(
            [[found[:, ANGLES[k], k] for k in range(2)], [found[:, RATES[k], k] for k in range(2)]]
        )

    def crossover(self, axis: int, gain: float, lead: float) -> float | None:
        """Where hands of this gain and lead and the airframe make less than one first, going up
        the frequencies [rad/s]; axis 0 pitch, 1 bank. None where they never make one."""
        tried = np.geomspace(0.4, 15.0, 240)
        loop = np.array([abs(self.motion.response(w)[axis]) for w in tried])
        loop = np.log(loop * gain * np.hypot(1.0, lead * tried))
        if not np.any(loop >= 0.0):
            return None
        falls = np.flatnonzero((loop[:-1] >= 0.0) & (loop[1:] < 0.0))
        if not len(falls):
            return float(tried[-1])
        k = int(falls[0])
        share = loop[k] / (loop[k] - loop[k + 1])
        return float(tried[k] * (tried[k + 1] / tried[k]) ** share)


@once_for(8)
def element(subject: Subject) -> Element:
    """Raises ValueError for an airframe that has no steady flight, or that no stick turns."""
    used_to = habitual(subject.model, subject.airframe)
    trim = operating_point(*used_to, launch_throttle(subject.airframe))
    if trim is None:
        raise ValueError(f"{subject.airframe.name} has no steady flight to be steered about")
    whole = stick_motion(*used_to, trim)
    n = len(whole.matrix)
    lateral = np.concatenate([LATERAL, np.zeros(n - len(LATERAL), dtype=bool)])
    matrix = np.where(lateral[:, None] == lateral[None, :], whole.matrix, 0.0)
    push = np.where(lateral[:, None] == np.array([False, True]), whole.push, 0.0)
    if not np.all(np.abs(push).max(axis=0) > 1e-6):
        raise ValueError(f"{subject.airframe.name} has a stick that turns it neither way")
    both = np.zeros((n + 2, n + 2))
    both[:n, :n], both[:n, n:] = matrix, push
    exact = scipy.linalg.expm(FRAME * both)  # u held over the step
    return Element(Motion(matrix, push), exact[:n, :n], exact[:n, n:])
