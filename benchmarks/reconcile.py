"""How often reconcile is right about itself: over a hundred made-up airframes and their notes.

    python benchmarks/reconcile.py [--seeds 100] [--first 1000]

Each seed draws what is not known of `pantry` from its spreads, flies two glides and a bench run
with it (built anew, trimmed by `trim`), adds the noise of the builder's eye, and fits. The truth
should lie in the joint 95 % region 93 to 97 times of 100, and each quantity within two of its
stated spreads 93 to 99 times.
"""

from __future__ import annotations

import argparse
from math import sin
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from scipy.stats import binom, chi2

from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import find, load, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.notes import Notes
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.trims import Trim, trims
from firstthrow.sim.learn.believed import corrected
from firstthrow.sim.learn.expected import trim_chord
from firstthrow.sim.learn.reconcile import Problem

NOTES = """
[steady.slow]
kind = "glide"
speed = "8 m/s"
speed_spread = "3 %"
up_trim = "0 mm"
sink = "2 m/s"

[steady.fast]
kind = "glide"
speed = "11 m/s"
speed_spread = "3 %"
up_trim = "0 mm"
sink = "3 m/s"

[static.bench]
current = "8 A"
rpm = "9500 rpm"
thrust = "6 N"
"""
JOINT, EACH = (93, 97), (93, 99)  # of a hundred


def problem_of(airframe: Airframe) -> Problem:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "notes.toml"
        path.write_text(NOTES, encoding="utf-8")
        return Problem(airframe, load(Notes, path))


def truth(airframe: Airframe, problem: Problem, off, speeds) -> np.ndarray | None:
    """(seen,) the figures of an airframe that is really so; None where it does not trim."""
    real = corrected(airframe, off)
    model = build(real, STANDARD)
    found = {}
    glides = trims(model, real, [speeds["slow"], speeds["fast"]], ("glide",))
    for name, trim in zip(("slow", "fast"), glides, strict=True):
        if not isinstance(trim, Trim):
            return None
        up = -trim.elevator - real.mixing.reflex - real.corrections.reflex
        found |= {(name, "up trim"): trim_chord(real, PITCHES) * sin(up), (name, "sink"): trim.sink}
    drive = equilibrium(model, 1.0)
    found |= {
        ("bench", "current"): drive.pack_current,
        ("bench", "rpm"): drive.rotor,
        ("bench", "thrust"): drive.thrust,
    }
    return np.array([found[s.note, s.what] for s in problem.expectation.seen])


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--seeds", type=int, default=100)
    words.add_argument("--first", type=int, default=1000, help="the first seed")
    chosen = words.parse_args()
    airframe = load_airframe(find("airframes", "pantry"))
    problem = problem_of(airframe)
    spread = np.array([s.spread for s in problem.expectation.seen])
    inside, within, untrimmed = [], [], 0
    for seed in range(chosen.first, chosen.first + chosen.seeds):
        random = np.random.default_rng(seed)
        off, speeds = problem.parts(random.standard_normal(problem.size))
        noise = spread * random.standard_normal(len(spread))
        figures = truth(airframe, problem, off, speeds)
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
