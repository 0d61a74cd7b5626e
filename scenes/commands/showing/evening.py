"""`firstthrow evening`: the flights of one evening on one page: what improved, what keeps
happening, what to do next."""

from __future__ import annotations

import argparse
import json
from datetime import date
from pathlib import Path

from firstthrow.scenes.commands.output import add_force, problems
from firstthrow.scenes.commands.shared import DONE, say, say_when_compiling

SUFFIXES = (".png", ".pdf", ".svg")


def add(commands) -> None:
    """Adds the command's words to the command line."""
    evening = commands.add_parser(
        "evening",
        help="the flights of one evening on one page",
        description="What the flights of one day show together: what improved, what keeps "
        "happening, what to do next. Records are only read.",
    )
    evening.set_defaults(command=run)
    add_ = evening.add_argument
    add_("folder", metavar="DIR", nargs="?", default="flights", help="of records (flights)")
    add_("--day", metavar="YYYY-MM-DD", type=_day, help="which (the last that was flown on)")
    add_("--plot", metavar="FILE", help="a page of it, as PDF, PNG or SVG")
    add_force(evening)
    add_("--quick", action="store_true", help="without looking for the causes")
    add_("--json", action="store_true", help="print the answer as JSON, in SI")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}': wanted a day such as 2026-05-14") from None


def run(chosen: argparse.Namespace) -> int:
    """Reads the records, looks for each one's cause, prints the evening."""
    from firstthrow.scenes.flight import lesson_log
    from firstthrow.scenes.flight.evening import hands_lines
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.flight.record import RecordError
    from firstthrow.sim.learn.aftermath.evening import evening, kept_in, text

    folder = Path(chosen.folder)
    if not folder.is_dir():
        raise RecordError(f"{folder}: no such folder of records")
    if chosen.plot:
        wrong = problems("--plot", chosen.plot, SUFFIXES, chosen.force)
        if wrong:
            raise ConfigError(wrong)
    kept, day, remarks = kept_in(folder, chosen.day)
    causes = {} if chosen.quick else _causes(kept)
    found = evening(kept, day, causes, hands_lines(day), lesson_log.passed(), remarks)
    print(json.dumps(found.as_json(), indent=1) if chosen.json else "\n".join(text(found)))
    if chosen.plot:
        from firstthrow.sim.paper.evening import page
        from firstthrow.sim.paper.printing import write

        write(page(found), chosen.plot)
        say(f"Page: {chosen.plot}")
    return DONE


def _causes(kept) -> dict:
    """Of every flight; those of one airframe share what is worked out of it."""
    from tqdm import tqdm

    from firstthrow.sim.flight.record import load
    from firstthrow.sim.learn.why import why

    if not kept:
        return {}
    say_when_compiling()
    say("Looking for the causes...")
    bar = tqdm(kept, unit="flight", disable=True if len(kept) < 3 else None, leave=False)
    return {one.path: why(load(one.path)) for one in bar}
