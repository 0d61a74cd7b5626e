"""Attacks the program for as long as wanted, and counts what was tried and how it ended.

    python benchmarks/attack.py --cases 10000
    python benchmarks/attack.py --only launches=1000000 records=10000 --kept counts.json
    python benchmarks/attack.py --kept counts.json --table

The same strategies as in `tests/attacks.py`. A case fails when it ends in anything but words: the
first failures are printed with what gives them again. The kind of which the least share is done
has the next turn. With --kept the counts are kept in a file after every turn, and gone on with
from there; --table prints them. Ctrl-C ends the turn under way, and tells what it has come to.
Exit code 1 when any failed.
"""

from __future__ import annotations

import argparse
import importlib
import json
import resource
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

from firstthrow.sim.build.strips import CannotFly
from firstthrow.sim.describe.config import ConfigError, find, load_airframe
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.describe.replace import replace

sys.path[:0] = [str(Path(__file__).parents[1] / "tests")]
attacks = importlib.import_module("attacks")  # among the tests, which are no package

SHOWN = 3  # failures of a kind that are printed whole
BATCH = 50  # draws of a turn, before the strategy is begun anew with another seed
LAUNCHES = 1000  # of one airframe
SECONDS = 2.0  # of one launch


@dataclass
class Tally:
    """What a kind has come to so far."""

    seed: int  # of its next turn
    told: Counter = field(default_factory=Counter)
    seconds: float = 0.0  # of processor

    def total(self) -> int:
        return sum(self.told.values())


def flown(found: tuple[str, tuple[str, ...]], field: Field, fly: Callable) -> Counter:
    """How an airframe's flights ended, by `fly` (model, airframe, field) -> words."""
    name, overrides = found
    try:
        airframe = load_airframe(find("airframes", name), overrides)
    except ConfigError as error:
        attacks.told_plainly(error.problems)
        return Counter(refused=1)
    model = attacks.built(airframe, field)
    try:
        return Counter({"cannot fly": 1} if model is None else fly(model, airframe, field))
    except CannotFly as error:
        attacks.told_plainly([str(error)])
        return Counter({"cannot fly": 1})


def launches(model, airframe, field) -> list[str]:
    """Most by the batch, one live."""
    found = attacks.launched(model, airframe, 1, LAUNCHES, SECONDS)
    return [
        *attacks.launches_are_sound(found),
        attacks.flown_live(model, airframe, field, 1, SECONDS),
    ]


def glides(model, airframe, _) -> list[str]:
    return [attacks.glide_is_sound(model, airframe)]


def kinds(folder: Path) -> dict[str, tuple]:
    """By name: the strategy, and the check that gives one word or a count of words."""
    meadow = attacks.a_field("water-meadow-breeze")
    return {
        "configs": (
            attacks.broken_configs(),
            lambda text: attacks.config_is_survived(text, folder / "broken.toml"),
        ),
        "launches": (attacks.possible_airframes(), lambda found: flown(found, meadow, launches)),
        "glides": (attacks.possible_airframes(), lambda found: flown(found, STANDARD, glides)),
        "lines": (attacks.broken_lines(), attacks.line_is_survived),
        "records": (
            attacks.broken_records(str(folder)),
            lambda found: attacks.record_is_survived(found, folder),
        ),
        "causes": (
            attacks.broken_records(str(folder)),
            lambda found: attacks.cause_is_survived(found, folder),
        ),
        "films": (
            attacks.broken_records(str(folder)),
            lambda found: attacks.film_is_survived(found, folder),
        ),
        "logs": (attacks.broken_logs(), lambda found: attacks.log_is_survived(found, folder)),
    }


def turn(strategy, check: Callable, cases: int, tally: Tally) -> bool:
    """So many cases or a few more; failures are counted and the first ones printed. Whether
    nobody stopped it."""
    told, start, before = tally.told, tally.total(), time.process_time()

    def tried(case) -> None:
        if tally.total() >= start + cases:
            return
        try:
            found = check(case)
        except Exception as error:
            told["FAILED"] += 1
            if told["FAILED"] <= SHOWN:
                parts = case if isinstance(case, tuple) else (case,)
                print("failed on", *(repr(part)[:20_000] for part in parts), file=sys.stderr)
                traceback.print_exception(error, file=sys.stderr)
            return
        told.update(found if isinstance(found, Counter) else [found])

    once = settings(
        max_examples=min(BATCH, cases),
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    try:
        seed(tally.seed)(once(given(strategy)(tried)))()
    except KeyboardInterrupt:  # what was tried so far counts
        return False
    finally:
        tally.seed += 1
        tally.seconds += time.process_time() - before
    return True


def read(kept: Path | None) -> dict[str, Tally]:
    if kept is None or not kept.exists():
        return {}
    found = json.loads(kept.read_text(encoding="utf-8"))
    return {k: Tally(v["seed"], Counter(v["told"]), v["seconds"]) for k, v in found.items()}


def table(tallies: dict[str, Tally]) -> str:
    return "\n".join(
        f"{name:<10}{tally.total():>9} in {tally.seconds:7.0f} s: "
        + ", ".join(f"{count} {word}" for word, count in tally.told.most_common())
        for name, tally in tallies.items()
    )


def wanted(words: list[str] | None, cases: int, every: list[str]) -> dict[str, int]:
    """How many of which kind, of KIND or KIND=N."""
    pairs = [word.partition("=") for word in words or every]
    aims = {name: int(count) if count else cases for name, _, count in pairs}
    return {name: aim for name, aim in aims.items() if aim > 0}


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--cases", metavar="N", type=int, default=1000, help="of each kind (1000)")
    parser.add_argument("--only", nargs="+", metavar="KIND[=N]", help="configs launches lines ...")
    parser.add_argument("--seed", metavar="N", type=int, default=0, help="of the first turn")
    parser.add_argument("--kept", metavar="FILE", type=Path, help="counts to go on with")
    parser.add_argument("--table", action="store_true", help="print the counts kept, try nothing")
    chosen = parser.parse_args()
    tallies = read(chosen.kept)
    with tempfile.TemporaryDirectory() as folder:
        every = kinds(Path(folder))
        aims = wanted(chosen.only, chosen.cases, list(every))
        for name in aims:
            tallies.setdefault(name, Tally(chosen.seed))
        going = bool(aims) and not chosen.table
        while going:
            name = min(aims, key=lambda kind: tallies[kind].total() / aims[kind])
            left = aims[name] - tallies[name].total()
            going = left > 0 and turn(*every[name], left, tallies[name])
            if chosen.kept:
                kept = {name: vars(tally) for name, tally in tallies.items()}
                replace(chosen.kept, json.dumps(kept, indent=2))
    print(table(tallies))
    if not chosen.table:
        print(f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")
    return 1 if any(tally.told["FAILED"] for tally in tallies.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
