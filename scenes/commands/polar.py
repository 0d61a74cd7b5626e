"""`firstthrow polar`: lift, drag, moment and centre of pressure against angle of attack."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from firstthrow.scenes.commands.shared import DONE, add_airframe, check_plot

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
    polar.add_argument("--plot", metavar="FILE", help="draw it, PNG or PDF by the suffix")


def run(chosen: argparse.Namespace) -> int:
    """Prints the polar every degree as JSON, or a shorter table; draws it when asked."""
    import numpy as np

    from firstthrow.sim.describe.config import ConfigError, find, load_airframe

    check_plot(chosen.plot)
    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    from firstthrow.sim.units import ANGLE, read

    try:
        up = read(chosen.up, ANGLE)
    except ValueError as error:
        raise ConfigError([f"--up: {error}"]) from error
    if abs(up) > np.radians(90.0):
        raise ConfigError([f"--up: '{chosen.up}': wanted between -90 deg and 90 deg"])
    from firstthrow.sim.build.model import build
    from firstthrow.sim.describe.field import STANDARD
    from firstthrow.sim.flight.polar import pitch_surfaces, polar

    model = build(airframe, STANDARD)
    surfaces = pitch_surfaces(airframe, -up)
    found = polar(model, np.radians(np.arange(-180.0, 181.0)), surfaces)
    rows = polar_rows(found)
    if chosen.plot:
        from firstthrow.sim.paper.plots.polar import write

        write(airframe.name, rows, np.degrees(up), Path(chosen.plot))
    if chosen.json:
        about = {
            "airframe": airframe.name,
            "trailing_edge_up_deg": float(np.degrees(up)),
            "reference_area_m2": found.area,
            "mean_chord_m": found.chord,
            "polar": rows,
        }
        print(json.dumps(about, indent=1))
    else:
        print("\n".join(_lines(airframe.name, np.degrees(up), rows)))
    return DONE


def polar_rows(found) -> list[dict]:
    """One dictionary an angle of attack; what has no value there (L/D, cp) is null."""
    import numpy as np

    rows = []
    for i, alpha in enumerate(np.degrees(found.alpha)):
        lift, drag, normal = found.lift[i], found.drag[i], found.normal[i]
        rows.append(
            {
                "alpha_deg": round(float(alpha), 6),
                "CL": round(float(lift), 9) + 0.0,
                "CD": round(float(drag), 9),
                "Cm": round(float(found.moment[i]), 9) + 0.0,
                "L_over_D": round(float(lift / drag), 6) + 0.0 if drag > 0.0 else None,
                "centre_of_pressure_percent_mac": (
                    float(100.0 * found.pressure_place[i]) if abs(normal) > 0.02 else None
                ),
            }
        )
    return rows


def _lines(name: str, up: float, rows: list[dict]) -> list[str]:
    by_angle = {round(row["alpha_deg"]): row for row in rows}
    lines = [
        f"{name}, trailing edges {up:.1f} deg up; Cm about the CG, pressure in % of mean chord",
        "  alpha       CL      CD      Cm     L/D  centre of pressure",
    ]
    for angle in TABLE:
        row = by_angle[angle]
        ratio, place = row["L_over_D"], row["centre_of_pressure_percent_mac"]
        lines.append(
            f"  {angle:>4} deg {row['CL']:>7.3f} {row['CD']:>7.3f} {row['Cm']:>7.3f} "
            f"{'' if ratio is None else f'{ratio:.2f}':>7} "
            f"{'-' if place is None else f'{place:.0f} %':>8}"
        )
    return lines
