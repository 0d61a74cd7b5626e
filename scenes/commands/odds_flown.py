"""Where the launches of `odds` come from: flown, here or on a scheduler's workers, or files."""

from __future__ import annotations

import csv
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TextIO

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.shared import say, say_when_compiling


def merged(chosen, ready, plan):
    """The launches of the files, and of this set-up alone. Raises ConfigError."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.study.odds import kept

    try:
        found = kept.together([Path(name) for name in chosen.merge])
    except (OSError, ValueError) as error:
        raise ConfigError([f"--merge: {error}"]) from None
    if found.setup not in ("", kept.name_of(ready, plan)):
        raise ConfigError(
            [
                "--merge: the launches are of another airframe, field, scatter, pilot, length or "
                "seed than the options say; wanted those they were flown with"
            ]
        )
    return found.odds


def fly(chosen, ready: list, plan, cases: range) -> list:
    import numpy as np
    from tqdm import tqdm

    from firstthrow.sim.study.odds import launches

    say_when_compiling()
    before, total = None, len(cases) * len(ready)
    wanted: Sequence[int] = cases
    with ExitStack() as stack:
        table = None
        if chosen.csv and not chosen.vary:
            before, table = _table(chosen, ready[0], plan, stack)
            if before is not None:
                wanted = np.setdiff1d(np.arange(cases.start, cases.stop), before.cases).tolist()
        pool, workers = _pool(chosen, stack)
        bar = stack.enter_context(
            tqdm(
                total=total, unit=" flights", file=sys.stderr, ascii=True, leave=False, disable=None
            )
        )
        bar.update(total - len(wanted) * len(ready))

        def keep(_: int, first: int, results) -> None:
            if table:
                table(first, results)

        found = launches.run(ready, plan, wanted, bar.update, workers, pool, keep)
    if before is not None:
        found = [_shared(before, found[0], cases)]
    flown = sum(one.flown for one in found)
    if flown < total:
        say(f"Stopped: {flown} of {total} launches were flown, and count.")
    return found


def _shared(before, now, cases: range):
    """Launches that were there and new ones, of those that were asked for."""
    from firstthrow.sim.study.odds import kept

    both = kept.merged([before, now])
    asked = (both.cases >= cases.start) & (both.cases < cases.stop)
    return both._replace(results=both.results[asked], cases=both.cases[asked])


def _table(chosen, ready, plan, stack: ExitStack):
    """Launches that the file of --csv has, None unless it is gone on with; and what writes more
    of them, each lot at once, so that a kill loses none."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.describe.replace import to_write
    from firstthrow.sim.study.odds import kept

    path, before = Path(chosen.csv), None
    if chosen.go_on and path.exists():
        try:
            there = kept.read(path)
        except ValueError as error:
            raise ConfigError([f"--continue: {error}"]) from None
        if there.setup not in ("", kept.name_of(ready, plan)):
            raise ConfigError(
                [f"--continue: {path} holds launches of another set-up than the options say"]
            )
        before = there.odds
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

    return before, write


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
