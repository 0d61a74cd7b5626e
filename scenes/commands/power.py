"""`firstthrow power`: thrust, current, run time, margins; what a measurement says; propellers."""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from firstthrow.scenes.commands.output import add_force, check, make_room
from firstthrow.scenes.commands.shared import DONE, add_airframe, at_work, heading
from firstthrow.sim.units import minutes

if TYPE_CHECKING:
    from firstthrow.sim.describe.builder_units import Units
    from firstthrow.sim.study.advice.answer import Standing
    from firstthrow.sim.study.power import DriveRow, Measured, Power, Propellers, Wanted
    from firstthrow.sim.study.subject import Subject

MEASURED = "current=11.5 A,thrust=620 gf,rpm=9800 rpm,voltage=11.1 V,rest=12.4 V"


def add(commands) -> None:
    """Adds the command's words to the command line."""
    power = commands.add_parser(
        "power",
        help="thrust, current, run time, margins, propellers",
        description="The drive standing still and in flight, its margins, and what measured "
        "values that disagree point to.",
    )
    power.set_defaults(command=run)
    add_airframe(power)
    power.add_argument(
        "--measured",
        metavar="WHAT=VALUE,...",
        help=f'at full throttle, standing still, such as "{MEASURED}"; any of them',
    )
    power.add_argument(
        "--want-thrust", metavar="FORCE", help='find the propeller for a static thrust, "700 gf"'
    )
    power.add_argument(
        "--want-speed", metavar="SPEED", help='find the propeller for a level speed, "15 m/s"'
    )
    power.add_argument("--plot", metavar="FILE", help="draw it, PNG, PDF or SVG by the suffix")
    add_force(power)


def run(chosen: argparse.Namespace) -> int:
    """Prints the study as tables, or as JSON in SI; draws it when asked."""
    from dataclasses import replace

    from firstthrow.sim.describe.config import ConfigError, find, load_airframe

    check(chosen)
    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    measured = _measured(chosen.measured)
    wanted = _wanted(chosen)
    if not airframe.motors:
        raise ConfigError([f"{airframe.name}: has no motor"])
    from firstthrow.sim.study.power import level_flight, study
    from firstthrow.sim.study.propulsion.causes import explained
    from firstthrow.sim.study.propulsion.sizes import propellers
    from firstthrow.sim.study.subject import subject_of
    from firstthrow.sim.study.unsure.ranking import measure_drive

    subject = subject_of(airframe)
    with at_work(f"Working out the drive of {airframe.name}"):
        level = level_flight(subject)
        answer = study(subject, level)
        if measured:
            answer = replace(answer, measured=explained(subject, measured))
        if wanted:
            flown = None if isinstance(level, str) else level
            answer = replace(answer, propellers=propellers(subject, flown, wanted))
    if chosen.plot:
        from firstthrow.sim.paper.plots.power import write

        make_room(chosen.plot)
        write(answer, Path(chosen.plot), airframe.units)
    next_, flown_with = measure_drive(subject), None
    if answer.propellers and answer.propellers.best:
        flown_with = _flown_with(subject, answer.propellers.best)
    if chosen.json:
        whole: dict = {"measure_next": next_.as_json()}
        if flown_with:
            whole["propeller_flown"] = [one.as_json() for one in flown_with]
        print(json.dumps(answer.as_json() | whole, indent=1))
    else:
        name, *rest = _lines(answer, airframe.units)
        if flown_with:
            rest += _checked_lines(*flown_with)
        print(
            "\n".join(
                [name, *heading(None, f"for the drive: {next_.first(airframe.units)}"), *rest]
            )
        )
    return DONE


def _flown_with(subject: Subject, size: str) -> tuple[Standing, Standing]:
    """The airframe with its own propeller and with another, checked and flown."""
    from firstthrow.sim.study.advice.search import tried
    from firstthrow.sim.study.propulsion.sizes import with_size
    from firstthrow.sim.units import read_propeller

    after = with_size(subject.airframe, read_propeller(size))
    return tried(subject), tried(subject.changed(after))


def _checked_lines(before: Standing, after: Standing) -> list[str]:
    from firstthrow.sim.study.advice.answer import before_and_after
    from firstthrow.sim.study.advice.search import is_worse

    told = before_and_after(before, after, not is_worse(before, after))
    return [f"    {row}" for row in wrap(f"that one fitted, checked: {told}", 88)]


def _measured(text: str | None) -> dict[str, float]:
    """'current=11.5 A,...' in SI. Raises ConfigError with every problem."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.units import ANGULAR_SPEED, CURRENT, FORCE, VOLTAGE, read

    kinds = {
        "current": CURRENT,
        "thrust": FORCE,
        "rpm": ANGULAR_SPEED,
        "voltage": VOLTAGE,
        "rest": VOLTAGE,
    }
    found: dict[str, float] = {}
    problems: list[str] = []
    if text is None:
        return found
    if comma := re.search(r"[0-9]+,[0-9]+", text):
        right = comma[0].replace(",", ".")
        raise ConfigError([f"--measured {comma[0]}: a decimal comma: wanted a point, {right}"])
    for part in text.split(","):
        name, equals, value = (piece.strip() for piece in part.partition("="))
        if not equals or name not in kinds:
            problems.append(
                f"--measured {part.strip()}: wanted {', '.join(kinds)}=value, such as '{MEASURED}'"
            )
            continue
        if name in found:
            problems.append(f"--measured {name}: given twice")
        try:
            found[name] = read(value, kinds[name])
        except ValueError as error:
            grams = "; grams of thrust are gf, '620 gf'" if name == "thrust" else ""
            problems.append(f"--measured {name}: {error}{grams}")
            continue
        # Thrust below nought pushes backwards.
        if found[name] == 0.0 or (found[name] < 0.0 and name != "thrust"):
            problems.append(f"--measured {name}: {value}: wanted more than 0")
    if problems:
        raise ConfigError(problems)
    return found


def _wanted(chosen: argparse.Namespace) -> Wanted | None:
    """Of a propeller; None when nothing is."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.units import FORCE, SPEED, read

    found = {}
    for name, kind in (("thrust", FORCE), ("speed", SPEED)):
        text = getattr(chosen, f"want_{name}")
        if text is not None:
            try:
                found[name] = read(text, kind)
            except ValueError as error:
                grams = "; grams of thrust are gf, '620 gf'" if name == "thrust" else ""
                raise ConfigError([f"--want-{name}: {error}{grams}"]) from error
            if found[name] <= 0.0:
                raise ConfigError([f"--want-{name}: {text}: wanted more than 0"])
    if not found:
        return None
    from firstthrow.sim.study.power import Wanted

    return Wanted(found.get("thrust"), found.get("speed"))


def _lines(answer: Power, u: Units) -> list[str]:
    pack = "full pack" if answer.charge == 1.0 else f"pack {100 * answer.charge:.0f} % full"
    from firstthrow.sim.study.gist.headline import of_power

    lines = [
        f"{answer.airframe}, {pack}, sea level",
        *(f"  {row}" for row in wrap(of_power(answer, u), 96)),
    ]
    lines += ["  standing still:"]
    lines += _table(answer.static, "throttle", u)
    lines += ["  full throttle in flight:", *_table(answer.against_airspeed, "airspeed", u)]
    level, times, mix = answer.level, answer.run_time_s, answer.run_time_mix
    lines.append(f"  thrust/weight   {answer.thrust_to_weight:.2f}")
    if level.reason or level.its_throttle is None or level.its_speed_m_s is None:
        lines.append(f"  level flight    none: {level.reason}")
    else:
        fast = level.fastest_m_s
        lines.append(
            f"  level flight    {level.least_current_A:.1f} A at "
            f"{u.speed(level.its_speed_m_s)}, {100 * level.its_throttle:.0f} % throttle"
            + (f"; at most {u.speed(fast, 0)}" if fast else "")
        )
    words = (
        (times.level, "level"),
        (times.full, "full throttle"),
        (times.mixed, f"{100 * mix.full_throttle:.0f} % full, the rest level"),
    )
    told = [f"{_minutes(seconds)} {word}" for seconds, word in words if seconds] or ["none"]
    kept = f"{100 * mix.left_in_pack:.0f} % left in the pack"
    lines += [f"  run time        {', '.join(told)}; {kept}", "  ratings:"]
    for m in answer.margins:
        lines.append(f"    {m.what:<20} {m.value:>6.2f} of {m.limit:>5.1f} {m.unit}  {m.verdict}")
    sure = answer.sure
    lines.append(
        f"  how sure        thrust +-{sure.at_rest_thrust_percent:.0f} %, torque and current "
        f"+-{sure.at_rest_torque_percent:.0f} % at rest; in flight by "
        f"{sure.at_speed_thrust_percent:.0f} % and {sure.at_speed_torque_percent:.0f} % of those"
    )
    if answer.overload:
        lines.append(f"  {answer.overload.words}")
    lines += [f"  doubtful: {text}" for text in answer.doubts]
    if answer.measured:
        lines += _measured_lines(answer.measured, u)
    if answer.propellers:
        lines += _propeller_lines(answer.propellers, u)
    return lines


def _minutes(seconds: float) -> str:
    return f"{minutes(seconds):.1f} min"


def _table(rows: tuple[DriveRow, ...], title: str, u: Units) -> list[str]:
    lines = [f"    {title:>8}  thrust    rpm   motor    pack  under load  shaft  input  prop.  tip"]
    for r in rows:
        at = f"{100 * r.throttle:.0f} %" if title == "throttle" else u.speed(r.airspeed_m_s, 0)
        share = r.propulsive_efficiency
        efficiency = "-" if not share else f"{100 * share:.0f} %"
        lines.append(
            f"    {at:>8} {u.pull(r.thrust_N):>7} {r.rpm:>6.0f} "
            f"{r.motor_current_A:>5.1f} A {r.pack_current_A:>5.1f} A "
            f"{r.pack_voltage_V:>9.1f} V {r.shaft_power_W:>4.0f} W "
            f"{r.input_power_W:>4.0f} W {efficiency:>6} "
            f"{u.bare_speed(r.tip_speed_m_s, 0):>4} {u.speeds}"
        )
    return lines


def _measured_lines(found: Measured, u: Units) -> list[str]:
    shares = ", ".join(f"{n} {100 * s:.0f} %" for n, s in found.tolerance.items())
    lines = [f"  measured, within {shares} (meter and model together):"]
    lines += [f"    {text}" for text in found.verdict]
    lines.append(
        "    off by  explanation, and what it would have given (in spreads of the readings, and "
        "more for what is rare; less is better)"
    )
    for e in found.explanations[:5]:
        w = e.would_give
        assert w.thrust_N is not None, "what is worked out is whole"
        assert w.voltage_V is not None
        assert w.current_A is not None
        watts = w.voltage_V * w.current_A
        lines.append(
            f"    {e.rank:>6.1f}  {e.text}: {w.current_A:.1f} A, "
            f"{u.pull(w.thrust_N)}, {w.rpm:.0f} rpm, {w.voltage_V:.1f} V, {watts:.0f} W"
        )
    if found.corrections:
        words = "with the propeller as described, this goes into [corrections] of the file:"
        lines.append(f"    {words}")
    for name, c in found.corrections.items():
        lines.append(f'    {name} = "{100 * c.factor:.0f} %"  # +- {100 * c.spread:.0f} %')
    return lines


def _propeller_lines(found: Propellers, u: Units) -> list[str]:
    thrust, speed = found.wanted.thrust_N, found.wanted.speed_m_s
    words = [] if thrust is None else [f"{u.pull(thrust)} static"]
    words += [] if speed is None else [f"{u.in_speeds(speed):.3g} {u.speeds} level"]
    best = found.best or "none of these within the current limits"
    lines = [f"  propeller for {' and '.join(words)}: {best}"]
    lines.append("    blades as wide for their diameter as the fitted one's (common practice)")
    for c in found.sizes:
        fast = u.speed(c.fastest_level_m_s, 0) if c.fastest_level_m_s else "-"
        over = "" if c.within_limits else "  over the current limit"
        lines.append(
            f"    {c.size:<12} {u.pull(c.thrust_N):>8} {c.current_A:>6.1f} A {fast:>7}{over}"
        )
    return lines
