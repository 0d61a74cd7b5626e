"""How often reconcile is right about itself: over a hundred made-up airframes and their notes.

    python benchmarks/reconcile.py [--seeds 100] [--first 1000]

Each seed draws what is not known of `pantry` from its spreads, flies two glides and a bench run
with it (built anew, trimmed by `trim`), adds the noise of the builder's eye, and fits. The truth
should lie in the joint 95 % region 93 to 97 times of 100, and each quantity within two of its
stated spreads 93 to 99 times.

A hundred draws alone scatter by as much. So the same draws are judged once more with notes that
are straight lines of what is not known, where the answer and its spread are exact (the posterior
of a linear problem with normal priors and noise): in the long run 95.0 and 95.4 times. What these
draws give there is their luck; what reconcile gives beyond that is its own.
"""

from __future__ import annotations

import argparse
import importlib
import sys
from pathlib import Path

import numpy as np
from scipy.stats import binom, chi2

from firstthrow.sim.describe.config import find, load_airframe

sys.path[:0] = [str(Path(__file__).parents[1] / "tests")]
noted = importlib.import_module("noted")  # among the tests, which are no package

JOINT, EACH = (93, 97), (93, 99)  # of a hundred


def right(error: np.ndarray, covariance: np.ndarray) -> np.ndarray:
    """Whether the truth lies in the joint region, and each within two of its spreads."""
    joint = error @ np.linalg.solve(covariance, error) < chi2.ppf(0.95, len(error))
    return np.array([joint, *(np.abs(error) < 2.0 * np.sqrt(np.diag(covariance)))])


def straight(slopes: np.ndarray, n: int, drawn: np.ndarray, noise: np.ndarray) -> np.ndarray:
    """`right` of the first n unknowns [in spreads] where the notes are `slopes` times `drawn`."""
    covariance = np.linalg.inv(np.eye(len(drawn)) + slopes.T @ slopes)
    error = covariance @ slopes.T @ (slopes @ drawn + noise) - drawn
    return right(error[:n], covariance[:n, :n])


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--seeds", type=int, default=100)
    words.add_argument("--first", type=int, default=1000, help="the first seed")
    chosen = words.parse_args()
    airframe = load_airframe(find("airframes", "pantry"))
    problem = noted.problem_of(airframe)
    spread = np.array([s.spread for s in problem.expectation.seen])
    names = [one.name for one in problem.quantities]
    slopes = problem.slopes(np.zeros(problem.size))
    fits, lines, untrimmed = [], [], 0
    for seed in range(chosen.first, chosen.first + chosen.seeds):
        random = np.random.default_rng(seed)
        drawn = random.standard_normal(problem.size)
        noise = random.standard_normal(len(spread))
        off, speeds = problem.parts(drawn)
        figures = noted.truth(airframe, problem, off, speeds)
        if figures is None:
            untrimmed += 1
            continue
        found = problem.solve(figures + spread * noise)
        error = np.array([one.offset - off[one.name] for one in found.fitted])
        fits.append(right(error, found.covariance))
        lines.append(straight(slopes, len(names), drawn, noise))
    flown, share = len(fits), 100.0 / len(fits)
    low, high = binom.interval(0.95, flown, 0.95)
    print(
        f"{flown} fitted, {untrimmed} that do not trim; chance alone gives {share * low:.0f} to "
        f"{share * high:.0f} of 100"
    )
    print(f"  {'':<18}   reconcile   straight lines, the same draws")
    rows = zip(
        ["joint 95 % region", *names],
        share * np.sum(fits, axis=0),
        share * np.sum(lines, axis=0),
        [JOINT] + [EACH] * len(names),
        strict=True,
    )
    for name, n, line, (least, most) in rows:
        mark = "" if least <= n <= most else f"   MISS, wanted {least} to {most}"
        print(f"  {name:<18} {n:5.0f} of 100 {line:11.0f}{mark}")


if __name__ == "__main__":
    main()
