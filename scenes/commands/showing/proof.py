"""`firstthrow proof`: what the program computes, held against what others found."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.shared import DONE, FAILED, say, say_when_compiling

PAGES = (".html",)


def add(commands) -> None:
    """Adds the command's words to the command line."""
    proof = commands.add_parser(
        "proof",
        help="what it computes, held against what others found",
        description="Work out every value that is known from outside (measurements, open data, "
        "textbooks) and print both side by side, misses first. Exit code 1 if one is further off "
        "than it should be.",
    )
    proof.set_defaults(command=run)
    proof.add_argument("--out", metavar="FILE", help="a page with plots, HTML")
    output.add_force(proof)
    proof.add_argument("--json", action="store_true", help="print the values as JSON")


def run(chosen: argparse.Namespace) -> int:
    """Runs all checks; prints them, and writes the page that was asked for."""
    from firstthrow.sim.describe.config import ConfigError

    wrong = output.problems("--out", chosen.out, PAGES, chosen.force)
    if wrong:
        raise ConfigError(wrong)
    say_when_compiling()
    from tqdm import tqdm

    from firstthrow.sim.proof import report
    from firstthrow.sim.proof.run import SUBJECTS, run_all

    with tqdm(total=len(SUBJECTS), unit="subject", disable=None, leave=False) as bar:
        proved = run_all(lambda _: bar.update())
    found = report.answer(proved)
    if chosen.out:
        from firstthrow.sim.proof.page import page

        output.make_room(chosen.out)
        with output.opened(chosen.out, chosen.force) as file:
            file.write(page(proved))
        say(f"{Path(chosen.out)}: {found.values} values")
    if chosen.json:
        print(json.dumps(found.as_json(), indent=1, ensure_ascii=False))
    else:
        print("\n".join(report.lines(proved)))
    return FAILED if found.broken else DONE
