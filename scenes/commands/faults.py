"""`firstthrow faults`: the faults that `fly --fault NAME` can set, one line each."""

from __future__ import annotations

import argparse
import json

from firstthrow.scenes.commands.shared import DONE


def add(commands) -> None:
    """Adds the command's words to the command line."""
    faults = commands.add_parser(
        "faults",
        help="faults to rehearse with fly --fault NAME",
        description="What can be wrong with an airframe at its first flight.",
    )
    faults.set_defaults(command=run)
    faults.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(chosen: argparse.Namespace) -> int:
    """Prints every fault's name and line."""
    from firstthrow.sim.study.faults import FAULTS

    lines = {name: fault.line for name, fault in FAULTS.items()}
    if chosen.json:
        print(json.dumps(lines, indent=1))
    else:
        print("\n".join(f"{name:<20} {line}" for name, line in lines.items()))
    return DONE
