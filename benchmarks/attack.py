"""Attacks the program for as long as wanted, and counts what was tried and how it ended.

    python benchmarks/attack.py --cases 10000
    python benchmarks/attack.py --cases 1000000 --only launches --seed 7

The same strategies as in `tests/attacks.py`. A case fails when it ends in anything but words: the
first failures are printed with what gives them again. Ctrl-C ends the kind under way, and tells
what it has come to. Exit code 1 when any failed.
"""

from __future__ import annotations

import argparse
import importlib
import resource
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

from firstthrow.sim.describe.config import ConfigError, find, load_airframe
from firstthrow.sim.describe.field import STANDARD, Field

sys.path[:0] = [str(Path(__file__).parents[1] / "tests")]
attacks = importlib.import_module("attacks")  # among the tests, which are no package

SHOWN = 3  # failures of a kind that are printed whole
BATCH = 500  # cases that one strategy draws before it is begun anew with another seed
LAUNCHES = 200  # of one airframe


def flown(found: tuple[str, tuple[str, ...]], field: Field | None, fly: Callable) -> Counter:
    """How an airframe's flights ended, by `fly` (model, airframe) -> words."""
    name, overrides = found
    try:
        airframe = load_airframe(find("airframes", name), overrides)
    except ConfigError as error:
        attacks.told_plainly(error.problems)
        return Counter(refused=1)
    model = attacks.built(airframe, field)
    return Counter({"cannot fly": 1}) if model is None else Counter(fly(model, airframe))


def launches(model, airframe) -> list[str]:
    return attacks.launches_are_sound(attacks.launched(model, airframe, 1, LAUNCHES))


def glides(model, airframe) -> list[str]:
    return [attacks.glide_is_sound(model, airframe)]


def kinds(folder: Path) -> dict[str, tuple]:
    """By name: the strategy, and the check that gives one word or a count of words."""
    return {
        "configs": (
            attacks.broken_configs(),
            lambda text: attacks.config_is_survived(text, folder / "broken.toml"),
        ),
        "launches": (attacks.possible_airframes(), lambda found: flown(found, None, launches)),
        "glides": (attacks.possible_airframes(), lambda found: flown(found, STANDARD, glides)),
        "lines": (attacks.broken_lines(), attacks.line_is_survived),
        "records": (
            attacks.broken_records(str(folder)),
            lambda found: attacks.record_is_survived(found, folder),
        ),
        "logs": (attacks.broken_logs(), lambda found: attacks.log_is_survived(found, folder)),
    }


def run(strategy, check: Callable, cases: int, first: int) -> Counter:
    """So many cases; every failure is counted and the first ones printed."""
    told: Counter = Counter()

    def tried(case) -> None:
        try:
            found = check(case)
        except Exception as error:
            told["FAILED"] += 1
            if told["FAILED"] <= SHOWN:
                print(f"failed on {str(case)[:3000]!r}", file=sys.stderr)
                traceback.print_exception(error, file=sys.stderr)
            return
        told.update(found if isinstance(found, Counter) else [found])

    def total() -> int:
        return sum(told.values())

    number = first
    while total() < cases:
        once = settings(
            max_examples=min(BATCH, cases - total()),
            deadline=None,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        try:
            seed(number)(once(given(strategy)(tried)))()
        except KeyboardInterrupt:  # what was tried so far counts
            break
        number += 1
    return told


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--cases", metavar="N", type=int, default=1000, help="of each kind (1000)")
    parser.add_argument("--only", nargs="+", metavar="KIND", help="configs launches lines ...")
    parser.add_argument("--seed", metavar="N", type=int, default=0)
    chosen = parser.parse_args()
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        for name, (strategy, check) in kinds(Path(folder)).items():
            if chosen.only and name not in chosen.only:
                continue
            before = time.monotonic()
            told = run(strategy, check, chosen.cases, chosen.seed)
            words = ", ".join(f"{count} {word}" for word, count in told.most_common())
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"{name:<10}{sum(told.values()):>9} in {time.monotonic() - before:7.0f} s, "
                f"{memory:5.0f} MB at most: {words}",
                flush=True,
            )
            failed += told["FAILED"]
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
