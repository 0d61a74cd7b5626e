"""`firstthrow polar`: lift, drag, moment and centre of pressure against angle of attack."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from firstthrow.scenes.commands.output import add_force, check, make_room
from firstthrow.scenes.commands.shared import DONE, add_airframe, at_work

if TYPE_CHECKING:
    from firstthrow.sim.study.polar import PolarStudy

TABLE = (-20, -15, -10, -6, -4, -2, 0, 2, 4, 6, 8, 10, 12, 15, 20, 25, 30, 45, 60, 90)


def add(commands) -> None:
    """Adds the command's words to the command line."""
    polar = commands.add_parser(
        "polar",
        help="lift, drag and moment against angle of attack",
        description="Forces of the air on the whole airframe, propeller stopped and left out, "
        "over the whole circle of angles of attack.",
    )
    polar.set_defaults(command=run)
    add_airframe(polar)
    polar.add_argument(
        "--up",
        metavar="ANGLE",
        default="0 deg",
        help='trailing edge up on every surface that takes pitch, such as "6 deg"',
    )
    polar.add_argument("--plot", metavar="FILE", help="draw it, PNG, PDF or SVG by the suffix")
    add_force(polar)


def run(chosen: argparse.Namespace) -> int:
    """Prints the polar every degree as JSON, or a shorter table; draws it when asked."""
    import numpy as np

    from firstthrow.sim.describe.config import ConfigError, find, load_airframe

    check(chosen)
    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    from firstthrow.sim.units import ANGLE, read

    try:
        up = read(chosen.up, ANGLE)
    except ValueError as error:
        raise ConfigError([f"--up: {error}"]) from error
    if abs(up) > np.radians(90.0):
        raise ConfigError([f"--up: '{chosen.up}': wanted between -90 deg and 90 deg"])
    from firstthrow.sim.study.polar import polar_study
    from firstthrow.sim.study.subject import subject_of

    with at_work(f"Turning {airframe.name} in the air"):
        found = polar_study(subject_of(airframe), up)
    if chosen.plot:
        from firstthrow.sim.paper.plots.polar import write

        make_room(chosen.plot)
        write(found, Path(chosen.plot))
    print(json.dumps(found.as_json(), indent=1) if chosen.json else "\n".join(_lines(found)))
    return DONE


def _lines(found: PolarStudy) -> list[str]:
    by_angle = {round(row.alpha_deg): row for row in found.polar}
    lines = [
        f"{found.airframe}, trailing edges {found.trailing_edge_up_deg:.1f} deg up; "
        "Cm about the CG, pressure in % of mean chord",
        "  alpha       CL      CD      Cm     L/D  centre of pressure",
    ]
    for angle in TABLE:
        row = by_angle[angle]
        ratio, place = row.L_over_D, row.centre_of_pressure_percent_mac
        lines.append(
            f"  {angle:>4} deg {row.CL:>7.3f} {row.CD:>7.3f} {row.Cm:>7.3f} "
            f"{'' if ratio is None else f'{ratio:.2f}':>7} "
            f"{'-' if place is None else f'{place:.0f} %':>8}"
        )
    named = ", ".join(f"{p.name.replace('_', ' ')} {p.CD:.4f}" for p in found.parts) or "none sized"
    lines += [
        f"  of CD the parts that are no sheet have {found.parts_CD:.4f} "
        f"+- {found.parts_CD_spread:.4f}:",
        f"    {named}",
    ]
    return lines
