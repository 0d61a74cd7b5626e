"""How often reconcile is right about itself: over a hundred made-up airframes and their notes.

    python benchmarks/reconcile.py [--seeds 100] [--first 1000]

Each seed draws what is not known of `pantry` from its spreads, flies two glides and a bench run
with it (built anew, trimmed by `trim`), adds the noise of the builder's eye, and fits. The truth
should lie in the joint 95 % region 93 to 97 times of 100, and each quantity within two of its
stated spreads 93 to 99 times.
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


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--seeds", type=int, default=100)
    words.add_argument("--first", type=int, default=1000, help="the first seed")
    chosen = words.parse_args()
    airframe = load_airframe(find("airframes", "pantry"))
    problem = noted.problem_of(airframe)
    spread = np.array([s.spread for s in problem.expectation.seen])
    inside, within, untrimmed = [], [], 0
    for seed in range(chosen.first, chosen.first + chosen.seeds):
        random = np.random.default_rng(seed)
        off, speeds = problem.parts(random.standard_normal(problem.size))
        noise = spread * random.standard_normal(len(spread))
        figures = noted.truth(airframe, problem, off, speeds)
        if figures is None:
            untrimmed += 1
            continue
        found = problem.solve(figures + noise)
        error = np.array([one.offset - off[one.name] for one in found.fitted])
        within.append(np.abs(error / [one.after for one in found.fitted]) < 2.0)
        limit = chi2.ppf(0.95, len(error))
        inside.append(error @ np.linalg.solve(found.covariance, error) < limit)
    flown, share = len(inside), 100.0 / len(inside)
    low, high = binom.interval(0.95, flown, 0.95)
    print(
        f"{flown} fitted, {untrimmed} that do not trim; chance alone gives {low:.0f} to {high:.0f}"
    )
    rows = [("joint 95 % region", sum(inside), JOINT)]
    names = [one.name for one in problem.quantities]
    rows += [(name, n, EACH) for name, n in zip(names, np.sum(within, axis=0), strict=True)]
    for name, n, (least, most) in rows:
        mark = "" if least <= share * n <= most else f"  MISS, wanted {least} to {most}"
        print(f"  {name:<18} {share * n:5.0f} of 100{mark}")


if __name__ == "__main__":
    main()
