"""`firstthrow trim`: what holds the airframe at which speed, its stall, its natural motions."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from firstthrow.scenes.commands.shared import DONE, NO_GO, add_airframe, at_work, heading, say

if TYPE_CHECKING:
    from firstthrow.sim.describe.builder_units import Units
    from firstthrow.sim.flight.trims import Kind
    from firstthrow.sim.study.trim import BestGlide, NoTrim, Reflex, TrimRow, TrimStudy

COLUMNS = ("glide", "level", "climb")  # of the table
FLIGHTS = {"glide": "a glide", "level": "level flight", "climb": "a climb"}


def add(commands) -> None:
    """Adds the command's words to the command line."""
    trim = commands.add_parser(
        "trim",
        help="trimmed glide, level flight and climb; stall; natural motions",
        description="How the airframe sits at every speed: angle of attack, elevator, throttle, "
        "sink and current in glide, level flight and climb; or why it cannot. A climb is at "
        "full throttle, or at what climbs 30 degrees. Stall, best glide and natural motions.",
    )
    trim.set_defaults(command=run)
    add_airframe(trim)
    trim.add_argument("--speed", metavar="V", help='one speed only, such as "9 m/s"')
    trim.add_argument(
        "--cg",
        metavar="P%",
        help='as if balanced there, such as "14 %%" of the mean chord; its items move fore or aft',
    )


def run(chosen: argparse.Namespace) -> int:
    """Prints the trims as JSON or as a table; no-go when it cannot be trimmed or held."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe

    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    from firstthrow.sim.units import FRACTION, SPEED

    speed = _asked("--speed", chosen.speed, SPEED, "m/s")
    if speed is not None and not 1.0 <= speed <= 60.0:
        raise ConfigError(["--speed: say a speed between 1 and 60 m/s"])
    cg = _asked("--cg", chosen.cg, FRACTION, "%")
    if cg is not None and not -1.0 <= cg <= 2.0:
        raise ConfigError(["--cg: say a place between -100 and 200 % of the mean chord"])
    from firstthrow.sim.study.subject import subject_of
    from firstthrow.sim.study.trim import trim_study
    from firstthrow.sim.study.unsure.ranking import measure_next

    try:
        with at_work(f"Trimming {airframe.name}"):
            found = trim_study(subject_of(airframe), speed, cg)
            next_ = measure_next(subject_of(airframe))
    except ValueError as error:
        raise ConfigError([f"{airframe.name}: {error}"]) from error
    if chosen.json:
        told = found.as_json() | {"measure_next": next_.as_json()}
        print(json.dumps(told, indent=1, allow_nan=False))
    else:
        name, *rest = lines(found, airframe.units)
        print("\n".join([name, *heading(None, next_.first(airframe.units)), *rest]))
    for why in found.no_go:
        say(f"no-go: {why}")
    return NO_GO if found.no_go else DONE


def _asked(option: str, text: str | None, kind, unit: str) -> float | None:
    """An option's value in SI; a bare number is in the unit that the option's help shows."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.units import read

    if text is None:
        return None
    bare = text.strip().lstrip("+-").replace(".", "", 1).isdigit()
    try:
        return read(f"{text.strip()} {unit}" if bare else text, kind)
    except ValueError as error:
        raise ConfigError([f"{option}: {error}"]) from error


def lines(found: TrimStudy, u: Units) -> list[str]:
    """The answer for a person."""
    surface = found.reflex.surface or "elevator"
    rows = [
        (
            "balance",
            f"{found.cg_percent_mac:.1f} % of the mean chord, neutral point "
            f"{found.neutral_point_percent_mac:.1f} %: margin "
            f"{found.static_margin_percent:.1f} %",
        )
    ]
    held, neutral = found.stall_speed_m_s, found.stall_speed_neutral_m_s
    if found.pitch_can_be_held:
        stall = f"{u.speed(held)} with the {surface} holding the nose, "
        stall += f"{u.bare_speed(neutral)} with it neutral"
    else:
        stall = f"{u.speed(neutral)} with no {surface} moved; none holds the nose at any attitude"
    rows.append(("stall", stall))
    if best := found.best_glide:
        rows.append(
            (
                "best glide",
                f"{best.glide_ratio:.1f} : 1 at {u.speed(best.airspeed_m_s)}, "
                f"{surface} {_up(best, u)}",
            )
        )
    if least := found.least_sink:
        rows.append(("least sink", f"{u.speed(least.sink_m_s)} at {u.speed(least.airspeed_m_s)}"))
    if level := found.level:
        rows.append(
            (
                "level",
                f"least current at {u.speed(level.airspeed_m_s)}: throttle "
                f"{100 * level.throttle:.0f} %, {level.current_A:.1f} A",
            )
        )
    free = found.hands_off
    flies = f"glides hands off at {u.speed(free.airspeed_m_s)}" if free else "no glide hands off"
    if free and found.static_margin_percent < 0.0:
        flies = f"in balance at {u.speed(free.airspeed_m_s)}, but does not stay there"
    if free and abs(free.bank_deg) > 5.0:
        side = "right" if free.bank_deg > 0.0 else "left"
        flies += f", circling {side}, banked {abs(free.bank_deg):.0f} deg"
    rows.append(("set now", f"{surface} {_up(found.reflex, u)}: {flies}"))
    from firstthrow.sim.study.gist.headline import of_trim

    said = [
        found.airframe,
        f"  {of_trim(found, u)}",
        *(f"  {name:<11} {text}" for name, text in rows),
        "",
    ]
    said += [*_table(found.trims, surface, u), "", *_reasons(found.no_trims, u)]
    if about := found.modes_about:
        words = found.modes_words
        said.append(f"  In {_flight(about.kind)} at {u.speed(about.airspeed_m_s)} it {words}.")
    return said


def _up(reflex: Reflex | BestGlide, u: Units) -> str:
    angle, size = reflex.trailing_edge_up_deg, u.length(abs(reflex.trailing_edge_up_m), 1)
    way = "up" if angle >= 0.0 else "down"
    return f"{abs(angle):.1f} deg {way} ({size} at the trailing edge)"


def _table(trims: tuple[TrimRow, ...], surface: str, u: Units) -> list[str]:
    """A line a speed (whole m/s when there are many); elevator trailing edge up is positive."""
    speeds = sorted({t.airspeed_m_s for t in trims})
    if len(speeds) > 12:
        speeds = [v for v in speeds if abs(v - round(v)) < 1e-9]
    if not speeds:
        return []
    at = {(str(t.kind), t.airspeed_m_s): t for t in trims}
    said = [
        f"  {'':>5} | {'glide':^20} | {'level':^25} | {'climb':^25}",
        f"  {u.speeds:>5} | {'attack':>6} {'up':>6} {'sink':>6} "
        + f"| {'attack':>6} {'up':>6} {'thr':>4} {'A':>6} "
        + f"| {'attack':>6} {'up':>6} {'thr':>4} {'climb':>6}",
    ]
    for v in speeds:
        glide, level, climb = (at.get((kind, v)) for kind in COLUMNS)
        said.append(
            f"  {u.bare_speed(v):>5} | "
            + (f"{_sits(glide)} {u.bare_speed(glide.sink_m_s, 2):>6}" if glide else f"{'-':^20}")
            + " | "
            + (f"{_drives(level)} {level.current_A:>6.2f}" if level else f"{'-':^25}")
            + " | "
            + (f"{_drives(climb)} {u.bare_speed(-climb.sink_m_s, 2):>6}" if climb else f"{'-':^25}")
        )
    said.append(
        f"  attack and up in deg (up: {surface}, trailing edge up), thr in %, sink in {u.speeds}"
    )
    return said


def _sits(t: TrimRow) -> str:
    return f"{t.alpha_deg:>6.1f} {-t.elevator_deg:>6.1f}"


def _drives(t: TrimRow) -> str:
    return f"{_sits(t)} {100 * t.throttle:>4.0f}"


def _reasons(missing: tuple[NoTrim, ...], u: Units) -> list[str]:
    """Neighbouring speeds with the same reason on one line."""
    runs: list[list] = []
    for m in missing:
        why = (m.kind, m.reason.rsplit(" at ", 1)[0])
        if runs and runs[-1][0] == why:
            runs[-1][2] = m.airspeed_m_s
        else:
            runs.append([why, m.airspeed_m_s, m.airspeed_m_s])
    said = []
    for (kind, why), low, high in runs:
        span = u.speed(low) if low == high else f"{u.bare_speed(low)} to {u.speed(high)}"
        said.append(f"  not in {_flight(kind)} at {span}: {why}")
    return [*said, ""] if said else []


def _flight(kind: Kind) -> str:
    return FLIGHTS[kind]
