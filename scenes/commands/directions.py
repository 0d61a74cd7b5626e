"""`firstthrow directions`: what must move where, as a table, a page to tick off, or JSON."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from firstthrow.scenes.commands.shared import DONE, NO_GO, add_airframe, check_plot, say


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


def run(chosen: argparse.Namespace) -> int:
    """Prints the check as tables, or as JSON in SI; draws the page when asked."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe
    from firstthrow.sim.describe.field import STANDARD

    check_plot(chosen.plot)
    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    if chosen.fault:
        from firstthrow.sim.study.faults import apply

        airframe, _ = apply(chosen.fault, airframe, STANDARD)
    if not any(sheet.surfaces for sheet in airframe.sheets.values()):
        raise ConfigError([f"{airframe.name}: has no control surfaces"])
    from firstthrow.sim.build.model import build
    from firstthrow.sim.study.directions import study

    found = study(build(airframe, STANDARD), airframe)
    if chosen.plot:
        from firstthrow.sim.paper.directions import page
        from firstthrow.sim.paper.page import write

        Path(chosen.plot).parent.mkdir(parents=True, exist_ok=True)
        write(page(airframe, found), chosen.plot)
        say(f"Drawing: {chosen.plot}")
    print(json.dumps(found, indent=1) if chosen.json else "\n".join(_lines(found)))
    return NO_GO if found["problems"] else DONE


def _lines(found: dict) -> list[str]:
    from firstthrow.sim.study.directions import words

    names = list(found["neutral"])
    lines = [
        f"{found['airframe']}: seen from behind; moments at {found['speed_m_s']:.1f} m/s",
        f"  {'':<15}" + "".join(f"{words(name):>18}" for name in names) + "   turns it",
    ]
    neutral = "".join(f"{_edge(found['neutral'][name]):>18}" for name in names)
    lines.append(f"  {'in the middle':<15}{neutral}")
    for way in found["sticks"]:
        row = "".join(f"{_travel(way['surfaces'][name]):>18}" for name in names)
        verdict = "right" if not way["problems"] else "WRONG"
        lines.append(f"  {way['name']:<15}{row}   {_turns(way)}: {verdict}")
        for name, motor in way["motors"].items():
            faster = "faster" if motor["throttle_change"] > 0.0 else "slower"
            lines.append(f"  {'':<15}{words(name)} runs {faster}")
    for drive in found["propellers"]:
        lines.append(
            f"  {words(drive['motor'])}: turns {drive['turns_from_behind']}, pulls "
            f"{abs(drive['thrust_N']):.1f} N {drive['pulls']} at "
            f"{100 * drive['throttle']:.0f} % throttle: "
            f"{'right' if drive['right_way'] else 'WRONG'}"
        )
    lines += [f"  WRONG: {text}" for text in found["problems"]]
    return lines


def _edge(stand: dict) -> str:
    if stand["off"]:
        return "missing"
    return f"{1e3 * stand['edge_up_m']:+.0f} mm"


def _travel(moved: dict) -> str:
    if moved["off"]:
        return "missing"
    if moved["moves"] == "still":
        return "-"
    return f"{1e3 * abs(moved['moves_edge_m']):.0f} mm {moved['moves']}"


def _turns(way: dict) -> str:
    key = {
        "roll": "moment_roll_right_N_m",
        "nose u": "moment_nose_up_N_m",
        "nose d": "moment_nose_up_N_m",
    }
    at = next(
        (k for start, k in key.items() if way["turns"].startswith(start)), "moment_nose_right_N_m"
    )
    rolls = ", then it rolls" if "roll_moment_of_5_deg_sideslip_N_m" in way else ""
    return f"{way['turns']}, {abs(way[at]):.2f} N m{rolls}"
