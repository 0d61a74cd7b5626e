"""What the bench works out of a set-up: balance, trailing edges, trim. Pure."""

from __future__ import annotations

from math import degrees
from typing import NamedTuple

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import SurfaceSpan, surface_spans
from firstthrow.sim.build.sticks import PITCHES, ROLLS, Sticks, mixer
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.speeds import CRUISE, stall_speed
from firstthrow.sim.flight.trims import Trim, hands_off, trims
from firstthrow.sim.study.throws import edge_height
from firstthrow.sim.units import to_unit


class Figures(NamedTuple):
    """SI, places aft of the datum."""

    mass: float
    cg: float
    neutral: float
    chord: float
    lead: float  # of the mean chord
    wanted: float  # static margin
    stall: float  # [m/s]
    edges: tuple[tuple[str, str], ...]  # a stick's place and where the trailing edges go, in words

    @property
    def margin(self) -> float:
        """Static margin, of the mean chord."""
        return (self.neutral - self.cg) / self.chord

    @property
    def wanted_cg(self) -> float:
        return self.neutral - self.wanted * self.chord


def figures(model: Model, airframe: Airframe, low_rates: bool = False) -> Figures:
    _, chord, lead = polar.reference(model)
    return Figures(
        float(model.balance.mass),
        float(model.balance.place[0]),
        polar.neutral_point(model),
        chord,
        lead,
        airframe.margin,
        stall_speed(model, airframe),
        edges(airframe, low_rates),
    )


def edges(airframe: Airframe, low_rates: bool) -> tuple[tuple[str, str], ...]:
    """Height of a trailing edge off the sheet, in words, for the sticks that move it."""
    mix, spans = mixer(airframe), surface_spans(airframe)

    def told(roles: tuple[str, ...], sticks: Sticks, one: bool) -> str:
        mine = [s for s in spans if _surface(airframe, s).role in roles]
        found = []
        for span in mine[:1] if one else mine:
            angle = -mix.angles(sticks)[span.slot]
            found.append(height(edge_height(angle, _surface(airframe, span).chord)))
        return ", ".join(found)

    rates = "low" if low_rates else "high"
    lines = [(f"trailing edge, {rates} rates", "mm")]
    if any(_surface(airframe, s).role in PITCHES for s in spans):
        lines += [
            ("   sticks let go", told(PITCHES, Sticks(), True)),
            ("   full back", told(PITCHES, Sticks(pitch=1.0, low_rates=low_rates), True)),
            ("   full forward", told(PITCHES, Sticks(pitch=-1.0, low_rates=low_rates), True)),
        ]
    if any(_surface(airframe, s).role in ROLLS for s in spans):
        sides = told(ROLLS, Sticks(roll=1.0, low_rates=low_rates), False)
        lines.append(("   full right, both", sides))
    return tuple(lines)


def _surface(airframe: Airframe, span: SurfaceSpan):
    return airframe.sheets[span.sheet].surfaces[span.surface]


def height(metres: float) -> str:
    size = to_unit(abs(metres), "mm")
    if size < 0.05:
        return "0"
    return f"{size:.1f} {'up' if metres > 0.0 else 'down'}"


def lines(found: Figures) -> tuple[tuple[str, str], ...]:
    """What and how much, for the panel; all that is known at once."""
    share = (found.cg - found.lead) / found.chord
    neutral = (found.neutral - found.lead) / found.chord
    return (
        ("all up", f"{to_unit(found.mass, 'g'):.0f} g"),
        ("CG", f"{_mm(found.cg)}, {100.0 * share:.1f} %"),
        ("neutral point", f"{_mm(found.neutral)}, {100.0 * neutral:.1f} %"),
        ("static margin", f"{100.0 * found.margin:.1f} %, wanted {100.0 * found.wanted:.0f} %"),
        ("stalls at", f"{found.stall:.1f} m/s"),
        *found.edges,
    )


def _mm(metres: float) -> str:
    return f"{to_unit(metres, 'mm'):.0f} mm"


def is_unstable(found: Figures) -> bool:
    return found.margin <= 0.0


def level(model: Model, airframe: Airframe) -> tuple[str, str]:
    """The level flight at the usual speed: its throttle, and where it needs the elevator."""
    speed = round(CRUISE * stall_speed(model, airframe), 1)
    (trim,) = trims(model, airframe, [speed], ("level",))
    title = f"level, {speed:.1f} m/s"
    if trim.reason:
        return title, _short(trim)
    up = degrees(-trim.elevator)
    return f"{title}, at {100.0 * trim.throttle:.0f} %", f"{abs(up):.1f}° {_way(up)}"


def glide(model: Model, airframe: Airframe) -> tuple[str, str]:
    """Sticks let go, motor off."""
    return "let go, motor off", _path(hands_off(model, airframe, 0.0))


def under_power(model: Model, airframe: Airframe) -> tuple[str, str]:
    """Sticks let go, the throttle where the launch has it."""
    throttle = getattr(airframe.launch, airframe.launch.kind).throttle
    title = f"let go, at {100.0 * throttle:.0f} %"
    return title, _path(hands_off(model, airframe, throttle))


def _path(trim: Trim) -> str:
    if trim.reason:
        return _short(trim)
    way = "sinks" if trim.sink > 0.0 else "climbs"
    return f"{trim.airspeed_m_s:.1f}, {way} {abs(trim.sink):.1f} m/s"


def _way(up: float) -> str:
    return "up" if up >= 0.0 else "down"


def _short(trim: Trim) -> str:
    """Why there is none, as short as a line of the panel."""
    words = trim.reason.rsplit(" at ", 1)[0]
    return "none is steady" if "found" in words else words.split(":")[0]


TRIMS = (level, glide, under_power)
