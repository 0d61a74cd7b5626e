"""What the bench works out of a set-up: balance, trailing edges, trim. Pure."""

from __future__ import annotations

from math import degrees
from typing import NamedTuple

from firstthrow.sim.build.sticks import PITCHES, ROLLS, Sticks
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.trims import Trim, Untrimmed, hands_off
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.throws import edge_height


class Figures(NamedTuple):
    """An airframe in its field, and where its trailing edges go."""

    subject: Subject
    edges: tuple[tuple[str, str], ...]  # a stick's place and where the trailing edges go, in words

    @property
    def wanted(self) -> float:
        """Static margin."""
        return self.subject.airframe.margin

    @property
    def wanted_cg(self) -> float:
        """Aft of the datum [m]."""
        return self.subject.at_margin(self.wanted)


def figures(subject: Subject, low_rates: bool = False) -> Figures:
    return Figures(subject, edges(subject, low_rates))


def edges(subject: Subject, low_rates: bool) -> tuple[tuple[str, str], ...]:
    """Height of a trailing edge off the sheet, in words, for the sticks that move it."""
    mix, spans = subject.mixer, subject.surfaces

    def told(roles: tuple[str, ...], sticks: Sticks, one: bool) -> str:
        mine = [s for s in spans if s.role in roles]
        found = []
        for span in mine[:1] if one else mine:
            angle = -mix.angles(sticks)[span.slot]
            up = edge_height(angle, span.described.chord)
            found.append(height(up, subject.airframe.units))
        return ", ".join(found)

    rates = "low" if low_rates else "high"
    unit: str = subject.airframe.units.lengths
    lines = [(f"trailing edge, {rates} rates", unit)]
    if any(s.role in PITCHES for s in spans):
        lines += [
            ("   sticks let go", told(PITCHES, Sticks(), True)),
            ("   full back", told(PITCHES, Sticks(pitch=1.0, low_rates=low_rates), True)),
            ("   full forward", told(PITCHES, Sticks(pitch=-1.0, low_rates=low_rates), True)),
        ]
    if any(s.role in ROLLS for s in spans):
        sides = told(ROLLS, Sticks(roll=1.0, low_rates=low_rates), False)
        lines.append(("   full right, both", sides))
    return tuple(lines)


def height(metres: float, u: Units) -> str:
    if abs(metres) < 0.05e-3:
        return "0"
    return f"{u.bare_length(abs(metres), 1)} {'up' if metres > 0.0 else 'down'}"


def lines(found: Figures) -> tuple[tuple[str, str], ...]:
    """What and how much, for the panel; all that is known at once."""
    of, u = found.subject, found.subject.airframe.units
    return (
        ("all up", u.mass(of.mass)),
        ("CG", f"{u.length(of.cg)}, {of.percent(of.cg):.1f} %"),
        ("neutral point", f"{u.length(of.neutral_point)}, {of.percent(of.neutral_point):.1f} %"),
        ("static margin", f"{100.0 * of.margin:.1f} %, wanted {100.0 * found.wanted:.0f} %"),
        ("stalls at", u.speed(of.stall_speed)),
        *found.edges,
    )


def is_unstable(found: Figures) -> bool:
    return found.subject.margin <= 0.0


def level(subject: Subject) -> tuple[str, str]:
    """The level flight at the cruise: its throttle, and where it needs the elevator."""
    trim, title = subject.level, f"level, {subject.airframe.units.speed(subject.cruise)}"
    if isinstance(trim, Untrimmed):
        told = trim.why.split(":")[0].split(" to ")[0]  # such as "not enough thrust"
        return title, "none is steady" if "found" in trim.why else told
    up = degrees(-trim.elevator)
    return f"{title}, at {100.0 * trim.throttle:.0f} %", f"{abs(up):.1f}° {_way(up)}"


def glide(subject: Subject) -> tuple[str, str]:
    """Sticks let go, motor off."""
    return "let go, motor off", _path(hands_off(subject.model, subject.airframe, 0.0), subject)


def under_power(subject: Subject) -> tuple[str, str]:
    """Sticks let go, the throttle where the launch has it."""
    throttle = launch_throttle(subject.airframe)
    title = f"let go, at {100.0 * throttle:.0f} %"
    return title, _path(hands_off(subject.model, subject.airframe, throttle), subject)


def _path(trim: Trim | None, subject: Subject) -> str:
    if trim is None:
        return "none is steady"
    way = "sinks" if trim.sink > 0.0 else "climbs"
    u = subject.airframe.units
    return f"{u.bare_speed(trim.airspeed_m_s)}, {way} {u.speed(abs(trim.sink))}"


def _way(up: float) -> str:
    return "up" if up >= 0.0 else "down"


TRIMS = (level, glide, under_power)
