"""`firstthrow power`: thrust, current, run time, margins; what a measurement says; propellers."""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path

from firstthrow.scenes.commands.shared import DONE, add_airframe, check_plot

MEASURED = "current=11.5 A,thrust=620 gf,rpm=9800 rpm,voltage=11.1 V"


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
    power.add_argument("--plot", metavar="FILE", help="draw it, PNG or PDF by the suffix")


def run(chosen: argparse.Namespace) -> int:
    """Prints the study as tables, or as JSON in SI; draws it when asked."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe

    check_plot(chosen.plot)
    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    measured = _measured(chosen.measured)
    wanted = _wanted(chosen)
    if not airframe.motors:
        raise ConfigError([f"{airframe.name}: has no motor"])
    from firstthrow.sim.build.model import build
    from firstthrow.sim.describe.field import STANDARD
    from firstthrow.sim.study.power import study

    model = build(airframe, STANDARD)
    answer = study(model, airframe)
    if measured:
        answer["measured"] = _explained(model, airframe, measured)
    if wanted:
        answer["propellers"] = _propellers(model, airframe, wanted)
    if chosen.plot:
        from firstthrow.sim.paper.plots.power import write

        write(answer, Path(chosen.plot))
    print(json.dumps(answer, indent=1) if chosen.json else "\n".join(_lines(answer)))
    return DONE


def _measured(text: str | None) -> dict[str, float]:
    """'current=11.5 A,...' in SI. Raises ConfigError with every problem."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.units import ANGULAR_SPEED, CURRENT, FORCE, VOLTAGE, read

    kinds = {"current": CURRENT, "thrust": FORCE, "rpm": ANGULAR_SPEED, "voltage": VOLTAGE}
    found, problems = {}, []
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
        if found[name] <= 0.0:
            problems.append(f"--measured {name}: {value}: wanted more than 0")
    if problems:
        raise ConfigError(problems)
    return found


def _wanted(chosen: argparse.Namespace) -> dict[str, float]:
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
    return found


KEYS = {"current": "current_A", "thrust": "thrust_N", "rpm": "rpm", "voltage": "voltage_V"}


def _si(values: dict[str, float]) -> dict[str, float]:
    """Measured or computed values with the unit in their keys."""
    from firstthrow.sim.units import to_unit

    return {
        KEYS[name]: to_unit(value, "rpm") if name == "rpm" else value
        for name, value in values.items()
    }


def _explained(model, airframe, measured: dict[str, float]) -> dict:
    from firstthrow.sim.study.power_match import TOLERANCE, explanations, verdict

    ranked = explanations(model, airframe, measured)
    return {
        "measured": _si(measured),
        "tolerance": {name: TOLERANCE[name] for name in measured},
        "verdict": verdict(measured, ranked),
        "explanations": [
            {
                "text": e.text,
                "chi_square": e.chi_square,
                "adjusted": e.adjusted,
                "rank": e.rank,
                "would_give": _si({n: e.found[n] for n in KEYS}),
            }
            for e in ranked[:8]
        ],
    }


def _propellers(model, airframe, wanted: dict[str, float]) -> dict:
    from firstthrow.sim.study.power import level_flight
    from firstthrow.sim.study.power_match import best_choice, choices, size_name

    level = level_flight(model, airframe)
    found = choices(model, airframe, None if isinstance(level, str) else level)
    best = best_choice(found, wanted.get("thrust"), wanted.get("speed"))
    return {
        "wanted": {{"thrust": "thrust_N", "speed": "speed_m_s"}[k]: v for k, v in wanted.items()},
        "best": best and size_name(best.size),
        "sizes": [
            {
                "size": size_name(c.size),
                "thrust_N": c.static.thrust,
                "current_A": c.static.motor_current,
                "fastest_level_m_s": c.fastest,
                "within_limits": c.fits,
            }
            for c in found
        ],
    }


def _lines(answer: dict) -> list[str]:
    pack = "full pack" if answer["charge"] == 1.0 else f"pack {100 * answer['charge']:.0f} % full"
    lines = [f"{answer['airframe']}, {pack}, sea level", "  standing still:"]
    lines += _table(answer["static"], "throttle")
    lines += ["  full throttle in flight:", *_table(answer["against_airspeed"], "airspeed_m_s")]
    level, times = answer["level"], answer["run_time_s"]
    lines.append(f"  thrust/weight   {answer['thrust_to_weight']:.2f}")
    if level["reason"]:
        lines.append(f"  level flight    none: {level['reason']}")
    else:
        fast = level["fastest_m_s"]
        lines.append(
            f"  level flight    {level['least_current_A']:.1f} A at {level['its_speed_m_s']:.1f} "
            f"m/s, {100 * level['its_throttle']:.0f} % throttle"
            + (f"; at most {fast:.0f} m/s" if fast else "")
        )
    mix = answer["run_time_mix"]
    words = {
        "level": "level",
        "full": "full throttle",
        "mixed": f"{100 * mix['full_throttle']:.0f} % full, the rest level",
    }
    told = [f"{_minutes(t)} {words[n]}" for n, t in times.items() if t] or ["none"]
    kept = f"{100 * mix['left_in_pack']:.0f} % left in the pack"
    lines += [f"  run time        {', '.join(told)}; {kept}", "  ratings:"]
    for m in answer["margins"]:
        unit = "V" if "value_V" in m else "A"
        value, limit = m[f"value_{unit}"], m[f"limit_{unit}"]
        lines.append(f"    {m['what']:<20} {value:>6.2f} of {limit:>5.1f} {unit}  {m['verdict']}")
    lines += [f"  doubtful: {text}" for text in answer["doubts"]]
    if "measured" in answer:
        lines += _measured_lines(answer["measured"])
    if "propellers" in answer:
        lines += _propeller_lines(answer["propellers"])
    return lines


def _minutes(seconds: float) -> str:
    return f"{seconds / 60:.1f} min"


def _table(rows: list[dict], first: str) -> list[str]:
    title = "throttle" if first == "throttle" else "airspeed"
    lines = [f"    {title:>8}  thrust    rpm   motor    pack  under load  shaft  input  prop.  tip"]
    for r in rows:
        lead = f"{100 * r[first]:.0f} %" if first == "throttle" else f"{r[first]:.0f} m/s"
        share = r["propulsive_efficiency"]
        efficiency = "-" if not share else f"{100 * share:.0f} %"
        lines.append(
            f"    {lead:>8} {_grams(r['thrust_N']):>7} {r['rpm']:>6.0f} "
            f"{r['motor_current_A']:>5.1f} A {r['pack_current_A']:>5.1f} A "
            f"{r['pack_voltage_V']:>9.1f} V {r['shaft_power_W']:>4.0f} W "
            f"{r['input_power_W']:>4.0f} W {efficiency:>6} {r['tip_speed_m_s']:>4.0f} m/s"
        )
    return lines


def _grams(newtons: float) -> str:
    from firstthrow.sim.units import to_unit

    return f"{to_unit(newtons, 'gf') + 0.0:.0f} gf"


def _measured_lines(found: dict) -> list[str]:
    shares = ", ".join(f"{n} {100 * s:.0f} %" for n, s in found["tolerance"].items())
    lines = [f"  measured, within {shares} (meter and model together):"]
    lines += [f"    {text}" for text in found["verdict"]]
    lines.append("    misfit  explanation, and what it would have given")
    for e in found["explanations"][:5]:
        w = e["would_give"]
        lines.append(
            f"    {e['rank']:>6.1f}  {e['text']}: {w['current_A']:.1f} A, "
            f"{_grams(w['thrust_N'])}, {w['rpm']:.0f} rpm, {w['voltage_V']:.1f} V"
        )
    return lines


def _propeller_lines(found: dict) -> list[str]:
    wanted = found["wanted"]
    words = [f"{_grams(wanted['thrust_N'])} static"] if "thrust_N" in wanted else []
    words += [f"{wanted['speed_m_s']:.3g} m/s level"] if "speed_m_s" in wanted else []
    best = found["best"] or "none of these within the current limits"
    lines = [f"  propeller for {' and '.join(words)}: {best}"]
    lines.append("    blades as wide for their diameter as the fitted one's (common practice)")
    for c in found["sizes"]:
        fast = f"{c['fastest_level_m_s']:.0f} m/s" if c["fastest_level_m_s"] else "-"
        over = "" if c["within_limits"] else "  over the current limit"
        lines.append(
            f"    {c['size']:<12} {_grams(c['thrust_N']):>8} {c['current_A']:>6.1f} A "
            f"{fast:>7}{over}"
        )
    return lines
