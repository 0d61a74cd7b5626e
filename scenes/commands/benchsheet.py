"""`firstthrow benchsheet`: two printable pages to carry to the bench and the field."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from firstthrow.scenes.commands.output import add_force, make_room, problems
from firstthrow.scenes.commands.shared import DONE, NO_GO, add_airframe, at_work, say


def add(commands) -> None:
    """Adds the command's words to the command line."""
    sheet = commands.add_parser(
        "benchsheet",
        help="two printable pages for bench and field",
        description="Balance, masses, throws, directions, drive, launch, checks and cautions on "
        "two black-and-white pages, as PDF.",
    )
    sheet.set_defaults(command=run)
    add_airframe(sheet)
    sheet.add_argument("--out", metavar="FILE.pdf", help="the file (NAME-bench.pdf here)")
    add_force(sheet)
    sheet.add_argument("--paper", choices=("a4", "letter"), default="a4", help="its size (a4)")
    sheet.add_argument(
        "--full-size",
        action="store_true",
        help="also throw gauges and a balance template at full size",
    )


def run(chosen: argparse.Namespace) -> int:
    """Writes the pages; prints their contents with --json; 3 when the sheet says no-go."""
    from firstthrow.sim.answer import plain
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe
    from firstthrow.sim.flight.record import slug

    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    out = Path(chosen.out or f"{slug(airframe.name)}-bench.pdf")
    wrong = problems("--out", str(out), (".pdf",), chosen.force)
    if wrong:
        raise ConfigError(wrong)
    make_room(str(out))
    from firstthrow.sim.paper.benchsheet.pages import write
    from firstthrow.sim.paper.benchsheet.sheet import contents
    from firstthrow.sim.study.advice.search import advised
    from firstthrow.sim.study.check import whole
    from firstthrow.sim.study.subject import subject_of
    from firstthrow.sim.study.verdict import Verdict

    with at_work(f"Checking and drawing {airframe.name}"):
        try:
            subject = subject_of(airframe)
            found = whole(subject)
        except ValueError as error:  # weighs nothing, or a rod that does not reach
            raise ConfigError([f"{airframe.name}: {error}"]) from error
        checked = advised(subject)
        sheet = contents(airframe, found, checked)
        write(airframe, sheet, out, chosen.paper, chosen.full_size)
    if chosen.json:
        print(json.dumps(plain(sheet | {"out": str(out)}), indent=1, ensure_ascii=False))
    else:
        print(out)
    if checked.verdict is Verdict.NO_GO:
        say(f"{airframe.name}: {checked.sentence} {checked.next}")
        return NO_GO
    return DONE
