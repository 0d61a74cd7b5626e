"""`firstthrow plan`: a cutting template at full size, as DXF, SVG or a PDF of pages."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.shared import DONE, add_airframe, at_work


def add(commands) -> None:
    """Adds the command's words to the command line."""
    plan = commands.add_parser(
        "plan",
        help="a cutting template at full size",
        description="Draw the airframe's sheets at full size to cut by: outlines, hinge lines, "
        "spars, where it balances and may balance, where motor, servos and the rest go. A DXF or "
        "SVG is one drawing; a PDF is pages for a home printer, with joints to cut along.",
    )
    plan.set_defaults(command=run)
    add_airframe(plan)
    plan.add_argument("--out", metavar="FILE", help="DXF, SVG or PDF (NAME-plan.pdf here)")
    plan.add_argument("--paper", choices=("a4", "letter"), default="a4", help="of a PDF (a4)")
    output.add_force(plan)


def run(chosen: argparse.Namespace) -> int:
    """Writes the template; says where and how large."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe
    from firstthrow.sim.flight.record import slug
    from firstthrow.sim.paper.template.files import SUFFIXES, write
    from firstthrow.sim.units import from_mm

    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    path = Path(chosen.out or f"{slug(airframe.name)}-plan.pdf")
    wrong = output.problems("--out", str(path), SUFFIXES, chosen.force)
    if wrong:
        raise ConfigError(wrong)
    output.make_room(str(path))
    from firstthrow.sim.paper.template.plan import Balance, plan
    from firstthrow.sim.study.band.band import band
    from firstthrow.sim.study.subject import subject_of

    subject = subject_of(airframe)
    with at_work(f"Looking for the balance of {airframe.name}"):
        found = band(subject)
    front = found.front.aft_m if found.front else None
    balance = Balance(subject.cg, subject.neutral_point, front, found.rear.aft_m)
    drawn = plan(airframe, balance)
    (left, low), (right, high) = drawn.box
    with at_work(f"Drawing {airframe.name}"):
        pages = write(drawn, path, airframe.name, chosen.paper)
    if chosen.json:
        told = {
            "airframe": airframe.name,
            "out": str(path),
            "width_m": from_mm(right - left),
            "height_m": from_mm(high - low),
            "pages": pages,
        }
        print(json.dumps(told, indent=1))
        return DONE
    u = airframe.units
    wide, tall = (from_mm(side) for side in (right - left, high - low))
    size = f"{u.bare_length(wide)} x {u.length(tall)}"
    line = f"print at 100 % and measure the {u.length(0.1)} line"
    many = f"{pages} pages: {line}" if pages > 1 else "one page"
    print(f"{path}: {airframe.name} at full size, {size}, {many}")
    return DONE
