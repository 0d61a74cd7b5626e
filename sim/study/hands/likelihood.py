"""How likely it is that hands of some parameters moved the sticks as they were moved.

The human model of `kernels.human` is run backwards: muscles and trimming are taken off the sticks,
the errors seen a delay ago, with dead zone and lead, are taken off that; what is left is the
remnant. Its Fourier coefficients over the measured part are independent complex normal numbers
with the remnant's spectrum as their variance (Whittle's likelihood), and the way from remnant to
stick, through the closed loop with the airframe, gives the rest of the density. Only frequencies
up to MOST count: above, sticks and keys do what no model of a human says.
Source: Whittle, Arkiv foer Matematik 2 (1953); Brillinger, Time Series (1981), ch. 5; remnant in
proportion to the error: Levison, Baron and Kleinman, IEEE Trans. MMS-10 (1969); all from memory.

Crude: the dead zone in the closed loop is a share of the gain, that for normal errors of the power
seen; the remnant's power is taken as steady, though it follows the error.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import scipy

from firstthrow.sim.study.hands.element import FRAME, Element
from firstthrow.sim.study.hands.exercise import MEASURED, STEERED, Flown

MOST = 16.0  # [rad/s]
LEAST = 0.3

# Parameters, in this order; logarithms of those in LOGS.
(
    DELAY,  # [s]
    LAG,  # [s]
    DEAD_ZONE,  # [rad]
    REMNANT,  # over the error seen
    REMNANT_TIME,  # [s]
    GAIN_PITCH,  # stick per radian
    GAIN_ROLL,
    LEAD_PITCH,  # [s]
    LEAD_ROLL,
    TRIMMING,  # [1/s]
) = range(10)
LOGS = (LAG, REMNANT, REMNANT_TIME, GAIN_PITCH, GAIN_ROLL)
BOUNDS = (
    (0.05, 0.8),
    (np.log(0.01), np.log(0.8)),
    (0.0, 0.25),
    (np.log(0.02), np.log(10.0)),
    (np.log(0.03), np.log(3.0)),
    (np.log(0.02), np.log(20.0)),
    (np.log(0.02), np.log(20.0)),
    (-0.3, 1.2),
    (-0.3, 1.2),
    (0.0, 1.0),
)


class Heard:
    """What was seen and done in the exercises, one channel for each axis of each, transformed
    over the measured part at the frequencies that count."""

    def __init__(self, steered: Element, runs: Sequence[Flown]) -> None:
        parts = [(run, axis) for run in runs for axis in STEERED[run.kind]]
        self.axes = np.array([axis for _, axis in parts])
        self.sticks = np.array([run.sticks[:, axis] for run, axis in parts])
        errors = np.array([run.errors[:, axis] for run, axis in parts])
        rates = np.array([run.rates[:, axis] for run, axis in parts])
        frames = np.arange(errors.shape[1])
        self._error = scipy.interpolate.CubicSpline(frames, errors, axis=1)
        self._rate = scipy.interpolate.CubicSpline(frames, rates, axis=1)
        self.measured = frames[MEASURED:]
        self.errors = errors[:, MEASURED:]
        self.power = np.mean(self.errors**2, axis=1)  # (channels,) [rad2]
        count = len(self.measured)
        w = 2.0 * np.pi * np.arange(count // 2 + 1) / (count * FRAME)
        self.inside = (w >= LEAST) & (w <= MOST)
        self.back = np.exp(-1j * w[self.inside] * FRAME)  # a frame later
        angle, rate = steered.answers(1.0 / self.back)
        self.angle, self.rate = angle[self.axes], rate[self.axes]  # (channels, frequencies)
        # Most of what a search asks differs from what it asked last in other parameters.
        self.wanted = lru_cache(8)(self._wanted)
        self.seen = lru_cache(8)(self._seen)
        self.turned = lru_cache(8)(self._turned)

    def _heard(self, signal: np.ndarray) -> np.ndarray:
        """(channels, frequencies) Fourier coefficients of (channels, measured)."""
        whole = np.fft.rfft(signal, axis=1) / np.sqrt(signal.shape[1])
        return whole[:, self.inside]

    def _wanted(self, lag: float, trimming: float) -> np.ndarray:
        """The sticks without muscles and without trim."""
        step = -np.expm1(-FRAME / lag)
        wanted = scipy.signal.lfilter([1.0 / step, 1.0 - 1.0 / step], [1.0], self.sticks)
        free = scipy.signal.lfilter([1.0, -1.0], [1.0, trimming * FRAME - 1.0], wanted)
        return self._heard(free[:, MEASURED:])

    def _seen(self, delay: float, zone: float) -> np.ndarray:
        """The errors a delay ago, without what goes unseen."""
        error = self._error(self.measured - delay / FRAME)
        return self._heard(np.maximum(0.0, error - zone) + np.minimum(0.0, error + zone))

    def _turned(self, delay: float) -> np.ndarray:
        return self._heard(self._rate(self.measured - delay / FRAME))

    def answered(self, at: np.ndarray) -> np.ndarray:
        """(channels, frequencies) what hands of these parameters answer [rad]."""
        lead = at[LEAD_PITCH + self.axes][:, None]
        return self.seen(at[DELAY], at[DEAD_ZONE]) + lead * self.turned(at[DELAY])

    def sizes(self, at: np.ndarray) -> np.ndarray:
        """(channels, frequencies) of the size of the error answered, whichever its side [rad]."""
        errors = np.abs(self._error(self.measured - at[DELAY] / FRAME))
        return self._heard(np.maximum(0.0, errors - at[DEAD_ZONE]))

    def remnant(self, at: np.ndarray) -> np.ndarray:
        """(channels, frequencies) what they must have added to that [rad]."""
        gain = np.exp(at[GAIN_PITCH + self.axes])[:, None]
        return self.wanted(float(np.exp(at[LAG])), at[TRIMMING]) / gain - self.answered(at)

    def spectrum(self, at: np.ndarray) -> np.ndarray:
        """(channels, frequencies) variance of the remnant [rad2]."""
        kept = np.exp(-FRAME / np.exp(at[REMNANT_TIME]))
        shape = (1.0 - kept**2) / np.abs(1.0 - kept * self.back) ** 2
        return np.exp(2.0 * at[REMNANT]) * self.power[:, None] * shape

    def surprise(self, at: np.ndarray) -> float:
        """Minus the logarithm of the likelihood, but for a constant."""
        back = self.back
        step = -np.expm1(-FRAME / np.exp(at[LAG]))
        spectrum = self.spectrum(at)
        moves = step / (1.0 - (1.0 - step) * back)
        moves *= (1.0 - (1.0 - at[TRIMMING] * FRAME) * back) / (1.0 - back)
        total = np.sum(np.log(spectrum) + np.abs(self.remnant(at)) ** 2 / spectrum)
        moves = moves * np.exp(at[GAIN_PITCH + self.axes])[:, None]
        return float(total + 2.0 * np.sum(np.log(np.abs(moves / (1.0 + self._loop(at, moves))))))

    def _loop(self, at: np.ndarray, moves: np.ndarray) -> np.ndarray:
        """(channels, frequencies) once round from stick to stick."""
        late = self.back ** (at[DELAY] / FRAME)
        heeded = scipy.special.erfc(at[DEAD_ZONE] / np.sqrt(2.0 * self.power))[:, None]
        lead = at[LEAD_PITCH + self.axes][:, None]
        return moves * late * (heeded * self.angle + lead * self.rate)
