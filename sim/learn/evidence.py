"""How well a cause explains what was missed of a record, all that is not known free to make up for
it: a linear model with normal errors and normal unknowns, these integrated out; one record held
against many causes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.deviated import all_deviated, deviated
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import Unknown
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.causes import Cause
from firstthrow.sim.learn.stretches import Seen, misses
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject, subject_of

STEPS = 2  # of Newton's from nothing off towards where a cause fits best
UNTIL = 6.0  # seconds of a flight that are looked at: its first, where faults show
TEMPER = 2.0  # looks and channels of one stretch tell half as much as if they were independent
BY_LUCK = 4.0  # standard deviations
FELT = 1e-4  # of mass, of the chord, of inertia: by what a spread is felt

# Unknowns that are not of the airframe, or that short stretches do not feel.
PASSED_OVER = {
    *(what for what in What if what.startswith("throw") or what == What.THROTTLE),
    What.STALL,
    What.STALL_LAG,
    What.SHARE_LAG,
    What.STALLED_SURFACES,
    What.WAKE,
    What.STRENGTH,
}
OF_THE_MASS = (What.MASS, What.AFT, What.RIGHT, What.UP, What.NEUTRAL_POINT)


class Fit(NamedTuple):
    """What a cause leaves: log likelihood, where the uncertain quantities lie (in spreads), their
    covariance, and what was missed all the same, (n,)."""

    log_likelihood: float
    at: np.ndarray
    covariance: np.ndarray
    missed: np.ndarray

    @property
    def left(self) -> float:
        """Sum of the squares that are left, over the noise."""
        spread = np.linalg.slogdet(self.covariance)[1]
        return TEMPER * float(spread - 2.0 * self.log_likelihood - self.at @ self.at)

    @property
    def misfit(self) -> float:
        """The same with what it takes of the uncertain quantities."""
        return self.left + TEMPER * float(self.at @ self.at)

    @property
    def strains(self) -> bool:
        """Whether the uncertain quantities lie further off, all together, than luck puts them: the
        sum of their squares has the mean of as many as the record tells of (chi-square)."""
        told = len(self.at) - float(np.trace(self.covariance))
        return bool(self.at @ self.at > told + BY_LUCK * np.sqrt(2.0 * told))


def fit(missed: np.ndarray, slopes: np.ndarray) -> Fit:
    """missed: (n,), slopes: (quantities, n) change of it by one spread of each."""
    missed, slopes = missed / np.sqrt(TEMPER), slopes / np.sqrt(TEMPER)
    inverse = np.eye(len(slopes)) + slopes @ slopes.T
    at = -np.linalg.solve(inverse, slopes @ missed)
    left = missed @ missed + at @ slopes @ missed
    spread = np.linalg.slogdet(inverse)[1]
    still = np.sqrt(TEMPER) * (missed + at @ slopes)
    return Fit(float(-0.5 * left - 0.5 * spread), at, np.linalg.inv(inverse), still)


def tells(apart: np.ndarray, slopes: np.ndarray) -> float:
    """Log likelihood that a cause gains over another, were it the true one, if they miss a record
    so far apart, with all that is not known free to make up for it: `fit` of nothing less that of
    what lies between them."""
    along = slopes @ apart / TEMPER
    return 0.5 * float(apart @ apart / TEMPER - along @ _covariance(slopes) @ along)


@once_for(64)
def _covariance(slopes: np.ndarray) -> np.ndarray:
    """Of the uncertain quantities, once a record was seen; one for the many that are held against
    the same slopes."""
    return np.linalg.inv(np.eye(len(slopes)) + slopes @ slopes.T / TEMPER)


class Unsure(NamedTuple):
    """What is not known of an airframe and felt in short stretches, in spreads of each.

    `shifts`: (unknowns,) how far aft against the neutral point each moves the balance [m]. `ways`:
    (ways, unknowns) unit vectors along which it is flown. What masses and places of many parts
    do, they do together through mass, balance and inertia: ten numbers, so ten ways at most.
    """

    unknowns: tuple[Unknown, ...]
    shifts: np.ndarray
    ways: np.ndarray


@once_for(4)
def unsure_of(subject: Subject) -> Unsure:
    unknowns = tuple(one for one in subject.unknowns if one.what not in PASSED_OVER)
    model, airframe = subject.model, subject.airframe
    massive = [n for n, one in enumerate(unknowns) if one.what in OF_THE_MASS]
    now, rows = model.balance, np.zeros((len(unknowns), 10))
    scale = np.trace(now.inertia)
    if massive:
        spreads = np.diag([unknowns[n].spread for n in massive])  # a model for each
        offs = {unknowns[n].key: own for n, own in zip(massive, spreads, strict=True)}
        off = all_deviated(model, airframe, offs, len(massive)).balances
        assert off is not None  # masses and places move it
        rows[massive, 0] = (off.mass - now.mass) / now.mass
        rows[massive, 1:4] = (off.place - now.place) / subject.chord
        rows[massive, 4:] = (off.inertia - now.inertia)[(slice(None), *np.triu_indices(3))] / scale
    ways = [np.eye(len(unknowns))[n] for n in range(len(unknowns)) if n not in massive]
    if massive:
        along, size, _ = np.linalg.svd(rows, full_matrices=False)
        ways = [*along.T[size > FELT], *ways]
    return Unsure(unknowns, rows[:, 1] * subject.chord, np.array(ways))


class Examined:
    """One record, and what causes leave of it. `straight`: what each would leave with nothing off,
    were it a straight line in what is not known, drawn where it fits best."""

    def __init__(
        self, record: Record, airframe: Airframe, field: Field, noise: np.ndarray | None
    ) -> None:
        self.subject = subject_of(airframe, field)  # one for all flights of an evening
        self.seen = Seen(record, self.subject, UNTIL, noise)
        self.unknowns, self.shifts, self.ways = unsure_of(self.subject)
        self.unsure = (0.0, 0.0) if noise is None else (float(noise[0, 0]), float(noise[0, 6]))
        self.missed: dict[str, np.ndarray] = {}
        self.slopes: dict[str, np.ndarray] = {}
        self.straight: dict[str, np.ndarray] = {}

    def leaves(self, cause: Cause) -> np.ndarray:
        if cause.name not in self.missed:
            self.missed[cause.name] = misses(self.seen, cause.airframe, cause.model, cause.asleep)
        return self.missed[cause.name]

    def moved(self, cause: Cause) -> np.ndarray:
        """(unknowns, n) change of what is left by one spread of each: flown along `ways`."""
        if cause.name not in self.slopes:
            here = self.leaves(cause)
            changes = []
            for way in self.ways:
                off = {
                    one.key: share * one.spread
                    for one, share in zip(self.unknowns, way, strict=True)
                    if share
                }
                model = deviated(cause.model, cause.airframe, off)
                changes.append(misses(self.seen, cause.airframe, model, cause.asleep) - here)
            self.slopes[cause.name] = self.ways.T @ np.array(changes).reshape(len(changes), -1)
        return self.slopes[cause.name]

    def fitted(self, cause: Cause, about: Cause, steps: int = STEPS) -> Fit:
        """By the changes about a cause, itself or another. What it leaves is no straight line in
        what is not known: it is flown again where it fits best, so far (Gauss and Newton's steps,
        as long as they lead nearer)."""
        slopes = self.moved(about)
        at, left = np.zeros(len(slopes)), self.leaves(cause).ravel()
        self.straight[cause.name], found = left, fit(left, slopes)
        for _ in range(steps):
            there = self._leaves_with(cause, found.at)
            if _unlikely(there, found.at) > _unlikely(left, at):
                break
            at, left = found.at, there
            self.straight[cause.name] = left - at @ slopes
            found = fit(self.straight[cause.name], slopes)
        return found

    def _leaves_with(self, cause: Cause, at: np.ndarray) -> np.ndarray:
        off = {one.key: by * one.spread for one, by in zip(self.unknowns, at, strict=True)}
        model = deviated(cause.model, cause.airframe, off)
        return misses(self.seen, cause.airframe, model, cause.asleep).ravel()


def _unlikely(left: np.ndarray, at: np.ndarray) -> float:
    return float(left @ left / TEMPER + at @ at)


@once_for(2)
def examined(
    record: Record, airframe: Airframe, field: Field, noise: np.ndarray | None = None
) -> Examined:
    """A record with airframe and field as described, faults unknown."""
    return Examined(record, airframe, field, noise)
