"""Which way hands lean: one side of an axis answered more firmly, and errors they leave standing.

Firmness is the even part of the answer: what is left unexplained (the remnant) is held against the
size of the error answered, weighted by the remnant's spectrum; hands that treat both sides alike
add noise that knows no side, so it comes out as none. What is left standing is the mean error, with
an interval by the scatter of its means over pieces (batch means). Which hand a person prefers no
axis tells: in most stick modes one thumb moves pitch and roll both.
"""

from __future__ import annotations

import numpy as np
import scipy

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.study.hands import likelihood as of

PIECE = 320  # frames of one mean: longer than an error lasts
SURE = 0.975


@frozen
class Side(Answer):
    """Of one axis; + back and nose high, + right; with a 95 % interval."""

    firmer: float  # share by which that side's errors are answered more firmly than the mean
    firmer_low: float
    firmer_high: float
    stands_rad: float  # attitude held beyond what was asked
    stands_low_rad: float
    stands_high_rad: float

    @property
    def is_firmer(self) -> bool:
        """Whether one side surely is."""
        return self.firmer_low > 0.0 or self.firmer_high < 0.0

    @property
    def leans(self) -> bool:
        """Whether it surely is held beyond what was asked."""
        return self.stands_low_rad > 0.0 or self.stands_high_rad < 0.0


def sides(heard: of.Heard, at: np.ndarray, wider: float) -> tuple[Side, Side]:
    """Pitch and roll, of hands of these parameters; intervals `wider` times as wide."""
    noise, size = heard.remnant(at), heard.sizes(at)
    spectrum = heard.spectrum(at)
    normal = float(scipy.stats.t.ppf(SURE, 1e9))
    found = []
    for axis in range(2):
        mine = heard.axes == axis
        shared = np.sum((size[mine].conj() * noise[mine]).real / spectrum[mine])
        weight = np.sum(np.abs(size[mine]) ** 2 / spectrum[mine])
        firmer, spread = float(shared / weight), wider * normal / float(np.sqrt(2.0 * weight))
        means = np.concatenate([_means(one) for one in heard.errors[mine]])
        off = -float(means.mean())
        reach = float(
            scipy.stats.t.ppf(SURE, len(means) - 1) * means.std(ddof=1) / len(means) ** 0.5
        )
        ends = (firmer - spread, firmer + spread)
        found.append(Side(firmer, *ends, off, off - reach, off + reach))
    return found[0], found[1]


def _means(errors: np.ndarray) -> np.ndarray:
    count = len(errors) // PIECE
    return errors[: count * PIECE].reshape(count, PIECE).mean(axis=1)
