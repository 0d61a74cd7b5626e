"""`firstthrow weigh`: mass, balance and parts, as JSON or as a table."""

from __future__ import annotations

import argparse
import json

from scenes.command import DONE, add_airframe


def add(commands) -> None:
    """Adds the command's words to the command line."""
    weigh = commands.add_parser(
        "weigh", help="mass, balance and parts",
        description="Mass, centre of gravity, neutral point and parts of an airframe.",
    )  # fmt: skip
    weigh.set_defaults(command=run)
    add_airframe(weigh)


def run(chosen: argparse.Namespace) -> int:
    """Prints mass, balance and parts: SI as JSON, or a table in mm, g and per cent."""
    from sim.config import find, load_airframe

    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    from sim.study import weigh  # only now: errors in the file come before the physics is set up

    weighed = weigh(airframe)
    if chosen.json:
        print(json.dumps(weighed, indent=1))
    else:
        print("\n".join(_weigh_lines(airframe, weighed)))
    return DONE


def _weigh_lines(airframe, weighed: dict) -> list[str]:
    inertia = weighed["inertia_kg_m2"]
    rows = [
        ("mass", f"{1000 * weighed['mass_kg']:.0f} g"),
        ("wing loading", f"{10 * weighed['wing_loading_kg_m2']:.1f} g/dm2"),
        ("balance (CG)", _place(weighed["cg_m"])),
        ("", f"{weighed['cg_percent_mac']:.1f} % of the mean chord"),
        ("datum", airframe.datum),
        ("mean chord", f"{1000 * weighed['mean_chord_m']:.0f} mm"),
        ("neutral point", f"{weighed['neutral_point_percent_mac']:.1f} % of the mean chord"),
        ("static margin", f"{weighed['static_margin_percent']:.1f} % ({_margin(weighed)})"),
        ("stall speed", f"{weighed['stall_speed_m_s']:.1f} m/s"),
        ("inertia", "  ".join(f"{1000 * inertia[i][i]:.2f}" for i in range(3))
         + " g m2 in roll, pitch, yaw"),
    ]  # fmt: skip
    lines = [airframe.name, *(f"  {name:<14} {words}" for name, words in rows), ""]
    lines.append(f"  {'part':<26} {'mass':>9} {'aft':>9} {'right':>9} {'up':>9}  source")
    for part in weighed["parts"]:
        places = " ".join(f"{round(1000 * place) + 0:>6} mm" for place in part["place_m"])
        mass = f"{1000 * part['mass_kg']:.1f} g"
        lines.append(f"  {part['name']:<26} {mass:>9} {places}  {part['source']}")
    return lines


def _place(metres: list[float]) -> str:
    """A place as one measures it from the datum, without signs."""
    ways = (("aft", "ahead"), ("right", "left"), ("above", "below"))
    words = [
        f"{abs(1000.0 * place):.1f} mm {positive if place >= 0.0 else negative}"
        for place, (positive, negative) in zip(metres, ways, strict=True)
    ]
    return ", ".join(words) + " the datum"


def _margin(weighed: dict) -> str:
    margin = weighed["static_margin_percent"]
    if margin < 0.0:
        return "it will not fly hands off: balance further forward"
    return "stable, the nose comes back by itself" if margin >= 3.0 else "barely stable"


