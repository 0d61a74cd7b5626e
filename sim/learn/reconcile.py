"""Which assumption was wrong: the few uncertain quantities fitted to what was seen in real flight.

Least squares with priors: each figure of the notes and each prior is a residual over its own
spread, so that the sum of squares is minus twice the log of the posterior (Gelman et al., Bayesian
Data Analysis, ch. 14, prior information as additional data). The covariance is that of the
linearised problem at the solution, inv(J^T J). Solver: scipy's least_squares.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.optimize import least_squares

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.notes import Notes
from firstthrow.sim.learn.believed import Quantity, quantities, with_ballast
from firstthrow.sim.learn.expected import Expectation, Seen

STEP = 0.25  # of a spread, for slopes: wide enough to pass the dead bands of servos
FAR = 2.5  # spreads a quantity may move before slopes are worked out anew
ALIKE = 0.6  # correlation from which two quantities count as not told apart
LEARNT = 0.85  # of the spread left: above, the notes say next to nothing
ODD = 3.0  # spreads by which a figure may miss before it is called odd
BOUND = 5.0  # spreads within which a quantity is looked for


class Fitted(NamedTuple):
    """name, offset from the file and standard deviation before and after, SI."""

    name: str
    before: float  # standard deviation
    offset: float
    after: float  # standard deviation

    @property
    def learnt(self) -> bool:
        return self.after < LEARNT * self.before


class Reconciled(NamedTuple):
    """covariance: (quantities, quantities) of the offsets; expected figures before and after."""

    fitted: tuple[Fitted, ...]
    covariance: np.ndarray
    seen: tuple[Seen, ...]
    before: np.ndarray
    after: np.ndarray
    speeds: dict[str, float]  # airspeeds of the steady flights, as fitted [m/s]
    slopes: np.ndarray  # (seen, quantities + speeds) per spread, at the solution

    @property
    def correlation(self) -> np.ndarray:
        size = np.sqrt(np.diag(self.covariance))
        return self.covariance / np.outer(size, size)

    @property
    def offsets(self) -> dict[str, float]:
        return {one.name: one.offset for one in self.fitted}

    def misses(self, figures: np.ndarray) -> np.ndarray:
        """(seen,) how far figures lie from what was seen, in spreads."""
        return np.array([(f - s.value) / s.spread for f, s in zip(figures, self.seen, strict=True)])

    @property
    def alike(self) -> list[tuple[str, str, float]]:
        """Pairs that these notes cannot tell apart, with their correlation."""
        names, r = [one.name for one in self.fitted], self.correlation
        pairs = [
            (names[i], names[k], float(r[i, k]))
            for i in range(len(names))
            for k in range(i + 1, len(names))
            if abs(r[i, k]) > ALIKE
        ]
        return sorted(pairs, key=lambda pair: -abs(pair[2]))


class Problem:
    """Residuals of notes about an airframe in spreads, and their slopes.

    x: (quantities + speeds,) offsets and airspeeds in spreads from where they were believed.
    One problem may be asked about many notes of the same kind (`values`), which share slopes.
    """

    def __init__(self, airframe: Airframe, notes: Notes) -> None:
        self.quantities: tuple[Quantity, ...] = quantities(airframe, notes)
        self.expectation = Expectation(with_ballast(airframe, notes), notes)
        self.speeds = tuple(self.expectation.speeds)
        self.size = len(self.quantities) + len(self.speeds)
        self._slopes: list[tuple[np.ndarray, np.ndarray]] = []

    def parts(self, x: np.ndarray) -> tuple[dict[str, float], dict[str, float]]:
        """Offsets of the quantities and airspeeds, SI."""
        n = len(self.quantities)
        off = {q.name: float(v * q.spread) for q, v in zip(self.quantities, x[:n], strict=True)}
        told = self.expectation.speeds
        speeds = {
            name: float(max(0.5 * told[name][0], told[name][0] + v * told[name][1]))
            for name, v in zip(self.speeds, x[n:], strict=True)
        }
        return off, speeds

    def expect(self, x: np.ndarray) -> np.ndarray:
        """(seen,) the model's figures, SI."""
        return self.expectation.expect(*self.parts(x))

    def slopes(self, x: np.ndarray) -> np.ndarray:
        """(seen, size) of the figures over their spreads, per spread of the unknowns.

        Those of a place nearby serve as well: the figures bend little within a spread.
        """
        for place, found in self._slopes:
            if np.abs(place - x).max() <= FAR:
                return found
        size = np.array([seen.spread for seen in self.expectation.seen])
        found = np.empty((len(size), self.size))
        for k in range(self.size):
            step = np.zeros(self.size)
            step[k] = STEP
            change = self.expect(x + step) - self.expect(x - step)
            found[:, k] = change / (2.0 * STEP * size)
        self._slopes.append((np.array(x), found))
        return found

    def solve(self, values: np.ndarray | None = None) -> Reconciled:
        """The likeliest unknowns for these figures (seen,), SI, or for those of the notes."""
        if values is None:
            values = np.array([s.value for s in self.expectation.seen])
        seen = tuple(
            s._replace(value=float(v)) for s, v in zip(self.expectation.seen, values, strict=True)
        )
        size = np.array([s.spread for s in seen])
        identity = np.eye(self.size)

        def residuals(x: np.ndarray) -> np.ndarray:
            return np.concatenate([(self.expect(x) - values) / size, x])

        def jacobian(x: np.ndarray) -> np.ndarray:
            return np.vstack([self.slopes(x), identity])

        start = np.zeros(self.size)
        first = np.linalg.solve(  # were the model linear
            identity + self.slopes(start).T @ self.slopes(start),
            self.slopes(start).T @ ((values - self.expect(start)) / size),
        )
        found = least_squares(
            residuals,
            np.clip(first, -0.9 * BOUND, 0.9 * BOUND),
            jac=jacobian,
            bounds=(-BOUND, BOUND),
            method="trf",
            xtol=3e-3,
            ftol=1e-3,
            gtol=1e-2,
            max_nfev=20,
        )
        slopes = self.slopes(found.x)
        covariance = np.linalg.inv(identity + slopes.T @ slopes)
        n = len(self.quantities)
        spread = np.array([q.spread for q in self.quantities])
        sure = covariance[:n, :n] * np.outer(spread, spread)
        off, speeds = self.parts(found.x)
        fitted = tuple(
            Fitted(q.name, q.spread, off[q.name], float(np.sqrt(sure[k, k])))
            for k, q in enumerate(self.quantities)
        )
        return Reconciled(
            fitted, sure, seen, self.expect(start), self.expect(found.x), speeds, slopes
        )
