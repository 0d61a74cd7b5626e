"""`firstthrow debrief`: what happened in a recorded flight, in words and on a plot page."""

from __future__ import annotations

import argparse
from pathlib import Path

from scenes.command import DONE, say


def add(commands) -> None:
    """Adds the command's words to the command line."""
    debrief = commands.add_parser(
        "debrief", help="what happened in a flight",
        description="Say what happened in a recorded flight, and draw its plot page.",
    )  # fmt: skip
    debrief.set_defaults(command=run)
    debrief.add_argument("record", metavar="RECORD", help="the CSV file of a flight")
    debrief.add_argument(
        "--out", metavar="FILE", help="plot page, PNG or PDF by its suffix (RECORD with .png)"
    )


def run(chosen: argparse.Namespace) -> int:
    """Prints the findings of a record and writes its plot page."""
    from sim.flown import flown
    from sim.record import RecordError, load

    path = Path(chosen.record)
    page = Path(chosen.out) if chosen.out else path.with_suffix(".png")
    if page.suffix.lower() not in (".png", ".pdf"):
        raise RecordError(f"--out {chosen.out}: wanted a name that ends in .png or .pdf")
    record = load(path)
    print_findings(record)
    if flown(record).time.size > 1:
        write_page(record, page)
    return DONE


def print_findings(record) -> None:
    from sim.debrief import findings

    marks = {"note": "-", "caution": "!", "danger": "!!"}
    for finding in findings(record):
        print(f"{marks[finding.severity]:>2} {finding.text}")


def write_page(record, page: Path) -> None:
    from sim.debrief_plot import write

    page.parent.mkdir(parents=True, exist_ok=True)
    write(record, page)
    say(f"Plot page: {page}")


