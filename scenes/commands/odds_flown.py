"""Where the launches of `odds` come from: flown, here or on a scheduler's workers, or files.

They are told together in a tally, a set-up each, and kept nowhere else.
"""

from __future__ import annotations

import csv
import sys
from contextlib import ExitStack
from pathlib import Path
from typing import TextIO

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.shared import say, say_when_compiling
from firstthrow.scenes.window.held_back import held_back


def merged(chosen, ready, plan):
    """The launches of the files, and of this set-up alone. Raises ConfigError."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.study.odds import kept
    from firstthrow.sim.study.odds.tally import Tally

    found = Tally()
    try:
        setup = kept.read([Path(name) for name in chosen.merge], found).setup
    except (OSError, ValueError) as error:
        raise ConfigError([f"--merge: {error}"]) from None
    if setup not in ("", kept.name_of(ready, plan)):
        raise ConfigError(
            [
                "--merge: the launches are of another airframe, field, scatter, pilot, length or "
                "seed than the options say; wanted those they were flown with"
            ]
        )
    return found


def fly(chosen, ready: list, plan, cases: range) -> list:
    """A tally for each set-up."""
    from tqdm import tqdm

    from firstthrow.sim.study.odds import launches
    from firstthrow.sim.study.odds.tally import Tally

    say_when_compiling()
    found, total = [Tally() for _ in ready], len(cases) * len(ready)
    wanted, table = [cases], None
    with ExitStack() as stack:
        if chosen.csv and not chosen.vary:
            wanted, table = _table(chosen, ready[0], plan, cases, found[0], stack)
        pool, workers = _pool(chosen, stack)
        bar = stack.enter_context(
            tqdm(
                total=total, unit=" flights", file=sys.stderr, ascii=True, leave=False, disable=None
            )
        )
        bar.update(total - sum(map(len, wanted)) * len(ready))

        def keep(which: int, first: int, results) -> None:
            with held_back():  # counted and written down, or neither
                found[which].add(results)
                if table:
                    table(first, results)
                bar.update(len(results))

        launches.fly_each(ready, plan, wanted, keep, workers, pool)
    flown = sum(one.flown for one in found)
    if flown < total:
        say(f"Stopped: {flown} of {total} launches were flown, and count.")
    return found


def _table(chosen, ready, plan, cases: range, found, stack: ExitStack):
    """Which of the cases the file of --csv lacks, all unless it is gone on with; and what writes
    more of them, each lot at once, so that a kill loses none. Those that it has are added to
    `found`."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.describe.replace import to_write
    from firstthrow.sim.study.odds import kept

    path, wanted = Path(chosen.csv), [cases]
    if chosen.go_on and path.exists():
        try:
            before = kept.read([path], found, cases)
        except ValueError as error:
            raise ConfigError([f"--continue: {error}"]) from None
        if before.setup not in ("", kept.name_of(ready, plan)):
            raise ConfigError(
                [f"--continue: {path} holds launches of another set-up than the options say"]
            )
        wanted = before.there.missing(cases)
        kept.drop_cut_row(path)
        file: TextIO = stack.enter_context(to_write(path, "a", "utf-8", ""))
    else:
        file = stack.enter_context(output.opened(path, chosen.force))
    table = csv.writer(file, lineterminator="\n")
    if file.tell() == 0:
        table.writerow(kept.HEADING)

    def write(first: int, results) -> None:
        table.writerows(kept.rows(ready, plan, first, results))
        file.flush()

    return wanted, write


def _pool(chosen, stack: ExitStack):
    """The executor of a scheduler and how many work for it; None and None for this machine."""
    if not chosen.scheduler:
        return None, None
    from firstthrow.sim.describe.config import ConfigError

    try:
        from distributed import Client
    except ImportError:
        raise ConfigError(
            ["--scheduler: wanted the extra 'cluster': pip install firstthrow[cluster]"]
        ) from None
    try:
        client = stack.enter_context(Client(chosen.scheduler, timeout="10s"))
    except (OSError, ValueError) as error:
        raise ConfigError([f"--scheduler {chosen.scheduler}: no scheduler: {error}"]) from None
    workers = sum(client.nthreads().values())
    if not workers:
        raise ConfigError([f"--scheduler {chosen.scheduler}: it has no workers"])
    return client.get_executor(), workers
