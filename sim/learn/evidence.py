"""How well a cause explains what was missed of a record, all that is not known free to make up for
it: a linear model with normal errors and normal unknowns, these integrated out."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.deviated import all_deviated
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import Unknown
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject

TEMPER = 2.0  # looks and channels of one stretch tell half as much as if they were independent
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
    """What a cause leaves: log likelihood, where the uncertain quantities lie (in spreads) and
    their covariance."""

    log_likelihood: float
    at: np.ndarray
    covariance: np.ndarray


def fit(missed: np.ndarray, slopes: np.ndarray) -> Fit:
    """missed: (n,), slopes: (quantities, n) change of it by one spread of each."""
    missed, slopes = missed / np.sqrt(TEMPER), slopes / np.sqrt(TEMPER)
    inverse = np.eye(len(slopes)) + slopes @ slopes.T
    at = -np.linalg.solve(inverse, slopes @ missed)
    left = missed @ missed + at @ slopes @ missed
    spread = np.linalg.slogdet(inverse)[1]
    return Fit(float(-0.5 * left - 0.5 * spread), at, np.linalg.inv(inverse))


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
        rows[massive, 0] = (off.mass - now.mass) / now.mass
        rows[massive, 1:4] = (off.place - now.place) / subject.chord
        rows[massive, 4:] = (off.inertia - now.inertia)[(slice(None), *np.triu_indices(3))] / scale
    ways = [np.eye(len(unknowns))[n] for n in range(len(unknowns)) if n not in massive]
    if massive:
        along, size, _ = np.linalg.svd(rows, full_matrices=False)
        ways = [*along.T[size > FELT], *ways]
    return Unsure(unknowns, rows[:, 1] * subject.chord, np.array(ways))
