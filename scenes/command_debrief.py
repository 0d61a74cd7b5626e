"""`firstthrow debrief`: what happened in recorded flights, what to try next, and a page of it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from scenes.command import DONE, say

MARKS = {"note": "-", "caution": "!", "danger": "!!"}


def add(commands) -> None:
    """Adds the command's words to the command line."""
    debrief = commands.add_parser(
        "debrief", help="what happened in a flight, and what to try next",
        description="Say what happened in a recorded flight, fly it again with changes of "
        "balance, reflex, throws and launch to see which would have helped, and draw its page. "
        "With several records, or --against, hold them side by side.",
    )  # fmt: skip
    debrief.set_defaults(command=run)
    add = debrief.add_argument
    add("record", metavar="RECORD", nargs="+",
        help="the CSV file of a flight; several of an evening in their order")  # fmt: skip
    add("--against", metavar="RECORD", help="an earlier flight to compare with")
    add("--out", metavar="FILE",
        help="page to write, .html, .pdf, or .png for one page (RECORD with .png)")  # fmt: skip
    add("--no-refly", action="store_true", help="only say what happened")
    add("--json", action="store_true", help="print the answer as JSON, in SI")


def run(chosen: argparse.Namespace) -> int:
    """Prints verdict, findings, what to try and the comparison; writes the page."""
    from sim.flown import flown
    from sim.record import RecordError, load

    paths = [Path(name) for name in chosen.record]
    if chosen.against:
        paths.append(Path(chosen.against))
    page = Path(chosen.out) if chosen.out else paths[0].with_suffix(".png")
    if page.suffix.lower() not in (".png", ".pdf", ".html"):
        raise RecordError(f"--out {chosen.out}: wanted a name that ends in .html, .pdf or .png")
    records = [load(path) for path in paths]
    from sim.compare import names_of
    from sim.debrief_report import Debrief

    several = len(chosen.record) > 1
    advice, remarks = ([], []) if several or chosen.no_refly else _advice(records[0])
    debrief = Debrief(records[0], records, names_of(records, paths), advice, remarks)
    print(json.dumps(answer(debrief, paths), indent=1) if chosen.json else "\n".join(
        lines(debrief, several)
    ))  # fmt: skip
    if flown(records[0]).time.size > 1:
        from sim.debrief_report import write

        page.parent.mkdir(parents=True, exist_ok=True)
        write(debrief, page)
        say(f"Plot page: {page}")
    return DONE


def _advice(record) -> tuple[list, list[str]]:
    """What to try next; without anything to cure or to fly, none, and why."""
    from sim.debrief import findings
    from sim.measures import MEASURES
    from sim.refly import NoSource, source

    if all(finding.severity == "note" for finding in findings(record)[1:]):
        return [], []
    from sim.advice import advise
    from sim.debrief import named_findings

    if not any(kind in MEASURES for kind, f in named_findings(record)[1:] if f.severity != "note"):
        return [], []
    try:
        origin = source(record)
    except NoSource as why:
        return [], [f"It cannot be flown again: {why}"]
    say("Flying it again with changes...")
    return advise(record, origin), list(origin.remarks)


def lines(debrief, several: bool) -> list[str]:
    """As a person reads it: the verdict first."""
    from sim.compare import table
    from sim.debrief import findings
    from sim.debrief_report import text_table
    from sim.verdict import verdict

    if several:
        said = [f"{name}: {verdict(r)}" for r, name in
                zip(debrief.records, debrief.names, strict=True)]  # fmt: skip
    else:
        said = [verdict(debrief.record)]
        said += [f"{MARKS[f.severity]:>2} {f.text}" for f in findings(debrief.record)]
    if debrief.next:
        said += ["", "What to try next, each flown again:"]
        said += [f"   {line}" for line in debrief.next]
    if debrief.side_by_side:
        said += ["", *debrief.side_by_side, ""]
        said += text_table(table(debrief.records, debrief.names))
    return said


def answer(debrief, paths) -> dict:
    """The same for a program."""
    from sim.advice import MEASURES
    from sim.compare import numbers
    from sim.debrief import named_findings
    from sim.verdict import verdict

    return {
        "flights": [
            {
                "record": str(path), "name": name, "verdict": verdict(record),
                "outcome": record.meta.get("outcome"), "numbers": numbers(record),
                "findings": [{"kind": kind, **finding._asdict()}
                             for kind, finding in named_findings(record)],
            }
            for path, name, record in zip(paths, debrief.names, debrief.records, strict=True)
        ],
        "differences": debrief.side_by_side,
        "next": [
            {
                "kind": one.kind, "start_s": one.finding.start_s, "comes_again": one.again,
                "measure": MEASURES[one.kind].words, "unit": MEASURES[one.kind].unit,
                "figure": one.figure,
                "tried": [tried._asdict() for tried in one.tried],
            }
            for one in debrief.advice
        ],
        "remarks": list(debrief.remarks),
    }  # fmt: skip


def print_findings(record) -> None:
    from sim.debrief import findings

    for finding in findings(record):
        print(f"{MARKS[finding.severity]:>2} {finding.text}")


def write_page(record, page: Path) -> None:
    from sim.debrief_plot import write

    page.parent.mkdir(parents=True, exist_ok=True)
    write(record, page)
    say(f"Plot page: {page}")
