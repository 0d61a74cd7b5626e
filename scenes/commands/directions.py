"""`firstthrow directions`: what must move where, as a table, a page to tick off, or JSON."""

from __future__ import annotations

import argparse
import json
from textwrap import wrap
from typing import TYPE_CHECKING

from firstthrow.scenes.commands.output import add_force, check, make_room
from firstthrow.scenes.commands.shared import DONE, NO_GO, add_airframe, at_work, say

if TYPE_CHECKING:
    from firstthrow.sim.describe.builder_units import Units
    from firstthrow.sim.study.directions import Directions, Moved, Stand, StickRow


HOW = (
    "Travels at full stick: with high rates, in brackets with low rates; at the trailing edge, "
    "square to the sheet, the same at its root and its tip, from where it stands with the sticks "
    "in the middle. In the middle: from flat, + is up, on a rudder to the right."
)


def add(commands) -> None:
    """Adds the command's words to the command line."""
    directions = commands.add_parser(
        "directions",
        help="what must move where for each stick",
        description="The check before every flight: where each surface must go for each stick, "
        "proven by the moment it makes, which way the propeller turns and pulls. Exit code 3 "
        "when something moves the wrong way.",
    )
    directions.set_defaults(command=run)
    add_airframe(directions)
    directions.add_argument(
        "--plot", metavar="FILE", help="a page to tick off: PNG, PDF or SVG by the suffix"
    )
    directions.add_argument(
        "--fault", metavar="NAME", help="with a fault; `firstthrow faults` lists them"
    )
    add_force(directions)


def run(chosen: argparse.Namespace) -> int:
    """Prints the check as tables, or as JSON in SI; draws the page when asked."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe
    from firstthrow.sim.describe.field import STANDARD

    check(chosen)
    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    if chosen.fault:
        from firstthrow.sim.study.faults import apply

        airframe, _ = apply(chosen.fault, airframe, STANDARD)
    if not any(sheet.surfaces for sheet in airframe.sheets.values()):
        raise ConfigError([f"{airframe.name}: has no control surfaces"])
    from firstthrow.sim.study.directions import study
    from firstthrow.sim.study.subject import subject_of

    with at_work(f"Moving the surfaces of {airframe.name}"):
        found = study(subject_of(airframe))
    if chosen.plot:
        from firstthrow.sim.paper.directions import page
        from firstthrow.sim.paper.printing import write

        make_room(chosen.plot)
        write(page(airframe, found), chosen.plot)
        say(f"Drawing: {chosen.plot}")
    told = json.dumps(found.as_json(), indent=1) if chosen.json else ""
    print(told or "\n".join(_lines(found, airframe.units)))
    return NO_GO if found.problems else DONE


def _lines(found: Directions, u: Units) -> list[str]:
    from firstthrow.sim.build.shape import spoken

    names = list(found.neutral)
    lines = [
        f"{found.airframe}: seen from behind; moments at {u.speed(found.speed_m_s)}",
        f"  {'':<15}" + "".join(f"{spoken(name):>24}" for name in names) + "   turns it",
    ]
    neutral = "".join(f"{_edge(found.neutral[name], u):>24}" for name in names)
    lines.append(f"  {'in the middle':<15}{neutral}")
    for way in found.sticks:
        row = "".join(f"{_travel(way.surfaces[name], u):>24}" for name in names)
        verdict = "right" if not way.problems else "WRONG"
        lines.append(f"  {way.name:<15}{row}   {_turns(way, u)}: {verdict}")
        for name, motor in way.motors.items():
            faster = "faster" if motor.throttle_change > 0.0 else "slower"
            lines.append(f"  {'':<15}{spoken(name)} runs {faster}")
    for drive in found.propellers:
        lines.append(
            f"  {spoken(drive.motor)}: turns {drive.turns_from_behind}, pulls "
            f"{u.force(abs(drive.thrust_N))} {drive.pulls} at "
            f"{100 * drive.throttle:.0f} % throttle: "
            f"{'right' if drive.right_way else 'WRONG'}"
        )
    lines += wrap(HOW, 92, initial_indent="  ", subsequent_indent="  ")
    lines += [f"  WRONG: {text}" for text in found.problems]
    return lines


def _edge(stand: Stand, u: Units) -> str:
    if stand.off:
        return "missing"
    return u.length(stand.edge_up_m, sign="+")


def _travel(moved: Moved, u: Units) -> str:
    if moved.off:
        return "missing"
    if moved.moves == "still":
        return "-"
    low = u.bare_length(abs(moved.moves_edge_low_rates_m))
    return f"{u.bare_length(abs(moved.moves_edge_m))} ({low}) {u.lengths} {moved.moves}"


def _turns(way: StickRow, u: Units) -> str:
    rolls = "" if way.roll_moment_of_5_deg_sideslip_N_m is None else ", then it rolls"
    return f"{way.turns}, {u.moment(abs(way.moment), 2)}{rolls}"
