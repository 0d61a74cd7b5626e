"""`firstthrow surfaces`: throws for every stick, linkages, servo loads, the 5 V supply."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from firstthrow.scenes.commands.output import add_force, check, make_room
from firstthrow.scenes.commands.shared import DONE, add_airframe, at_work

if TYPE_CHECKING:
    from firstthrow.sim.describe.builder_units import Units
    from firstthrow.sim.study.throws import Throws


def add(commands) -> None:
    """Adds the command's words to the command line."""
    surfaces = commands.add_parser(
        "surfaces",
        help="throws, mixing, linkages and servo loads",
        description="Angle and millimetres of every surface for every stick, where the mix "
        "saturates, linkages, hinge moments against servo torque, the supply.",
    )
    surfaces.set_defaults(command=run)
    add_airframe(surfaces)
    surfaces.add_argument("--plot", metavar="FILE", help="draw it, PNG, PDF or SVG by the suffix")
    add_force(surfaces)


def run(chosen: argparse.Namespace) -> int:
    """Prints the study as tables, or as JSON in SI; draws it when asked."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe

    check(chosen)
    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    if not any(sheet.surfaces for sheet in airframe.sheets.values()):
        raise ConfigError([f"{airframe.name}: has no control surfaces"])
    from firstthrow.sim.study.subject import subject_of
    from firstthrow.sim.study.throws import study

    try:
        with at_work(f"Working out the surfaces of {airframe.name}"):
            answer = study(subject_of(airframe))
    except ValueError as error:  # a rod that does not reach
        raise ConfigError([f"{airframe.name}: {error}"]) from error
    if chosen.plot:
        from firstthrow.sim.paper.plots.throws import write

        make_room(chosen.plot)
        write(answer, Path(chosen.plot))
    told = json.dumps(answer.as_json(), indent=1) if chosen.json else ""
    print(told or "\n".join(_lines(answer, airframe.units)))
    return DONE


def _lines(answer: Throws, u: Units) -> list[str]:
    from firstthrow.sim.study.gist.headline import of_surfaces

    lines = [
        answer.airframe,
        *(f"  {row}" for row in wrap(of_surfaces(answer, u), 96)),
        "  Trailing edge from flat, the same at root and tip of the surface; + is up, on a rudder "
        "to the right",
    ]
    for name in ("high", "low"):
        lines += [f"  {name} rates", *_throws(answer, name, u)]
    expo = ", ".join(f"{axis} {100 * x:.0f} %" for axis, x in answer.expo.as_json().items())
    lines.append(f"  expo: {expo}")
    for name, share in answer.saturates_at.items():
        words = (
            "never meet a limit"
            if share is None
            else (f"meet a limit from {100 * share:.0f} % of both sticks")
        )
        lines.append(f"  pitch and roll together, {name} rates: {words}")
    lines += _linkages(answer, u) + _effect(answer) + _servos(answer, u)
    supply = answer.supply
    lines.append(
        f"  supply of {supply.limit_A:.1f} A: held in a dive {supply.held_A:.2f} A "
        f"({supply.held_verdict}), all stalled {supply.stalled_A:.2f} A "
        f"({supply.stalled_verdict})"
    )
    said: dict[str, list[str]] = {}
    for surface in answer.surfaces:
        for text in surface.cautions:
            said.setdefault(text, []).append(surface.name)
    return lines + [f"  {', '.join(names)}: {text}" for text, names in said.items()]


def _throws(answer: Throws, rates: str, u: Units) -> list[str]:
    names = [surface.name for surface in answer.surfaces]
    lines = [f"    {'':<18}" + "".join(f"{name:>24}" for name in names)]
    neutral = answer.corners[rates]["neutral"]
    for corner, angles in answer.corners[rates].items():
        if corner != "neutral" and angles == neutral:
            continue  # a stick that moves nothing
        row = f"    {corner:<18}"
        for name in names:
            a = angles[name]
            cut = "*" if a.cut_off_deg > 0.05 else " "
            row += f"{a.angle_up_deg:>11.1f} deg {u.length(a.edge_up_m, sign='+'):>7}{cut}"
        lines.append(row)
    if any(a.cut_off_deg > 0.05 for c in answer.corners[rates].values() for a in c.values()):
        lines.append("    * more is asked than the limit lets through")
    return lines


def _linkages(answer: Throws, u: Units) -> list[str]:
    lines = [
        "  linkage            arm   horn    rod  at the servo's ends   servo for the throw"
        "  all of its travel"
    ]
    for surface in answer.surfaces:
        k = surface.linkage
        ends = " / ".join(
            "locks" if a is None else f"{a:.0f}" for a in (k.reach_up_deg, k.reach_down_deg)
        )
        use = k.servo_for_throw_deg
        used = "locks" if use is None else f"{use:.0f} of {k.servo_travel_deg:.0f} deg"
        holes = k.full_travel_holes_m
        full = "-" if holes is None else f"arm {u.bare_length(holes[0])}, horn {u.length(holes[1])}"
        rod = u.length(k.rod_m) if k.rod_given else "long"
        lines.append(
            f"    {surface.name:<14} {u.bare_length(k.arm_m):>4} {u.length(k.horn_m):>7} "
            f"{rod:>6} {ends:>13} deg up/down {used:>14} for {k.throw_asked_deg:.0f}  {full}"
        )
    return lines


def _effect(answer: Throws) -> list[str]:
    """What the surfaces turn: said once where all are alike."""
    told = {f"{100 * one.effect:.0f} ± {100 * one.effect_spread:.0f} %" for one in answer.surfaces}
    turns = ", ".join(sorted(told))
    return [f"  a surface acts {turns} as strongly as one that bends without a hinge"]


def _servos(answer: Throws, u: Units) -> list[str]:
    speeds = answer.speeds_m_s
    lines = [
        f"  servo torque at the worst stick [{u.torques}], level angle of attack, no slipstream",
        "    "
        + " " * 14
        + "".join(f"{f'{n} {u.speed(v, 0)}':>15}" for n, v in speeds.items())
        + "      available  blown back to half    play",
    ]
    for surface in answer.surfaces:
        servo = surface.servo
        needs = "".join(f"{u.bare_torque(t, 2):>15}" for t in servo.torque_needed_N_m.values())
        back = servo.blows_back_to_half_at_m_s
        gives = u.bare_torque(servo.torque_available_N_m, 2)
        lines.append(
            f"    {surface.name:<14}{needs}{gives:>10}"
            f" {servo.verdict:<5}{'never' if back is None else u.speed(back, 0):>16}"
            f" {u.length(surface.play_at_horn_m, 2):>9} {surface.play_deg:.1f} deg"
        )
    return lines
