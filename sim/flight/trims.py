"""Trims of an airframe: glide, level flight and climb over its speeds, hands off, and its stall.

A flight started at a trim stays there, but for what its modes do (see `modes`). The search is
in `steady`; here each speed is started from its neighbour, and what fails gets a reason.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import PITCHES, ROLLS, YAWS, Mixer, Sticks, mixer
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.polar import polar, reference
from firstthrow.sim.flight.speeds import STALLED, held_stall_speed
from firstthrow.sim.flight.steady import CLOSE, Point, place, steady, sticks_of
from firstthrow.sim.kernels.layout import (
    ATTITUDE,
    PACK_CURRENT,
    RATE,
    SEPARATED,
    VELOCITY,
)
from firstthrow.sim.kernels.mix import softened
from firstthrow.sim.kernels.root import crossing
from firstthrow.sim.kernels.rotation import to_field

STEEP = float(np.radians(30.0))  # a climb is no steeper; beyond, throttle is taken off
NO_THRUST = "not enough thrust to hold height"


class Kind(StrEnum):
    GLIDE = "glide"  # throttle closed
    LEVEL = "level"
    CLIMB = "climb"  # throttle open
    HANDS_OFF = "hands off"


KINDS = (Kind.GLIDE, Kind.LEVEL, Kind.CLIMB)


class Trim(NamedTuple):
    """A steady flight."""

    kind: Kind
    airspeed_m_s: float
    alpha: float  # [rad]
    elevator: float  # pitch deflection asked of what takes pitch [rad], + down
    throttle: float
    sink: float  # [m/s]
    current: float  # from the pack [A]
    state: np.ndarray  # (SIZE,)
    command: np.ndarray  # (COMMAND_SIZE,)
    sticks: Sticks  # that ask for the command


class Untrimmed(NamedTuple):
    """Why there is no steady flight at a speed."""

    kind: Kind
    airspeed_m_s: float
    why: str

    def words(self, u: Units) -> str:
        """With the speed."""
        return f"{self.why} at {u.speed(self.airspeed_m_s)}"


class Found(NamedTuple):
    """A trim, and the point at which the search found it."""

    trim: Trim
    point: Point


def surface_word(airframe: Airframe, roles: tuple[str, ...]) -> str:
    """The builder's word for the surfaces of these roles, empty when there are none."""
    have = {s.role for sheet in airframe.sheets.values() for s in sheet.surfaces.values()}
    return next((role for role in roles if role in have), "")


def elevator(mix: Mixer, sticks: Sticks) -> float:
    """Pitch deflection asked of every surface that takes pitch [rad], trailing edge down +."""
    return -mix.pitch_sense * mix.turned(sticks)[1]


def _before_expo(wanted: float, fraction: float) -> float:
    """The stick that expo turns into `wanted`."""
    if abs(wanted) >= 1.0:
        return float(np.sign(wanted))
    return float(crossing(lambda x: softened(x, fraction) - wanted, -1.0, 1.0, 1e-14))


def _unknowns(airframe: Airframe) -> tuple[str, ...]:
    """What a straight flight at a given speed and throttle has to find."""
    side = "roll" if surface_word(airframe, ROLLS) else "yaw"
    steered = surface_word(airframe, ROLLS + YAWS)
    free = ("alpha", "sideslip", "bank", "pitch", side if steered else "turn")
    return (*free, "back") if surface_word(airframe, PITCHES) else free


def _reason(airframe: Airframe, kind: Kind, at: Point, separated: float, stall: float) -> str:
    """Words for the bound that a failed search ran into."""
    pitch, side = surface_word(airframe, PITCHES), surface_word(airframe, ROLLS + YAWS)
    if not pitch:
        return "no surface takes pitch: it keeps its own speed and cannot be held"
    if at.back > 0.999:
        return f"not enough {pitch} to hold the nose up"
    if at.back < -0.999:
        return f"not enough {pitch} to hold the nose down"
    if separated > STALLED or at.speed < stall:
        return "stalls: the sheets cannot carry the weight"
    if at.throttle > 0.999 and kind is Kind.LEVEL:
        return NO_THRUST
    if side and max(abs(at.roll), abs(at.yaw)) > 0.999:
        return f"not enough {side} to hold it straight"
    if kind is Kind.GLIDE and at.pitch < -1.4:
        return "even a dive is slower: nothing is steady"
    return "no steady flight was found"


def _judged(
    model: Model, airframe: Airframe, kind: Kind, at: Point, left: float, stall: float
) -> Found | Untrimmed:
    """The trim at a point, or a reason when the point is not at rest or stalled."""
    mix = mixer(airframe)
    state, command = place(mix.without_expo(), at)
    _, report = rates_of(model, state, command)
    if not left <= CLOSE or report[SEPARATED] > STALLED:
        return Untrimmed(kind, at.speed, _reason(airframe, kind, at, report[SEPARATED], stall))
    roll, pitch, yaw = map(_before_expo, sticks_of(at)[:3], mix.expo)
    sent = Sticks(roll, pitch, yaw, at.throttle)
    sink = to_field(*state[ATTITUDE : ATTITUDE + 4], *state[VELOCITY:RATE])[2]
    trim = Trim(
        kind,
        at.speed,
        at.alpha,
        elevator(mix, sent),
        at.throttle,
        float(sink),
        float(report[PACK_CURRENT]),
        state,
        command,
        sent,
    )
    return Found(trim, at)


def _try(
    model: Model,
    airframe: Airframe,
    kind: Kind,
    free: tuple[str, ...],
    guesses: list[Point],
    path: float | None,
    stall: float,
) -> Found | Untrimmed:
    """The first guess that leads to a trim; else the reason that the closest one gives."""
    straight = mixer(airframe).without_expo()
    tried: list[tuple[float, Untrimmed]] = []
    for guess in guesses:
        at, left = steady(model, straight, guess, free, path)
        found = _judged(model, airframe, kind, at, left, stall)
        if isinstance(found, Found):
            return found
        tried.append((left if np.isfinite(left) else np.inf, found))
    return min(tried, key=lambda one: one[0])[1]


def _slow(model: Model) -> float:
    """Speed at which the lift coefficient would be one [m/s]."""
    m = model.record
    return float(np.sqrt(2.0 * m.mass * m.gravity / (m.density * reference(model)[0])))


def _first(model: Model, speed: float, throttle: float) -> Point:
    """A guess: enough incidence for the weight, nose along the path."""
    alpha = float(np.clip((_slow(model) / speed) ** 2 / 2.8, -0.05, 0.4))
    return Point(speed, alpha=alpha, throttle=throttle)


def _attached(model: Model, speed: float, throttle: float) -> Point:
    """Another: the incidence at which the airframe's own lift carries the weight while it is a
    straight line.

    A slender or tilted wing may be stalled at that of `_first`; the search stays there, with the
    stick right back.
    """
    ends = np.radians((-2.0, 2.0))
    low, high = polar(model, ends).lift
    slope = max((high - low) / (ends[1] - ends[0]), 1.0)
    alpha = ((_slow(model) / speed) ** 2 - 0.5 * (low + high)) / slope
    return Point(speed, alpha=float(np.clip(alpha, -0.1, 0.4)), throttle=throttle)


def speeds(model: Model, step: float | None = None) -> np.ndarray:
    """Speeds worth looking at: from below the stall to about three times it, in round steps."""
    slow = _slow(model)
    step = step or (0.5 if slow < 10.0 else 1.0)
    return step * np.arange(round(0.8 * slow / step), round(3.2 * slow / step) + 1)


def _along(
    model: Model, airframe: Airframe, kind: Kind, wanted: list[float]
) -> list[Found | Untrimmed]:
    """From a middling speed outwards, each solution the next one's guess."""
    stall = held_stall_speed(model, airframe) or 0.0
    middle = int(np.argmin(np.abs(np.array(wanted) - 1.7 * _slow(model))))
    seek = _climb if kind is Kind.CLIMB else _glide
    found: dict[int, Found | Untrimmed] = {}
    for way in (range(middle, len(wanted)), range(middle - 1, -1, -1)):
        last = _point(found.get(middle))
        for i in way:
            found[i] = seek(model, airframe, wanted[i], last, stall)
            last = _point(found[i]) or last
    return _slower_alike([found[i] for i in range(len(wanted))])


def _point(found: Found | Untrimmed | None) -> Point | None:
    return found.point if isinstance(found, Found) else None


def _slower_alike(found: list[Found | Untrimmed]) -> list[Found | Untrimmed]:
    """What gives out first as it slows down is the reason at every slower speed too."""
    alike = list(found)
    for i in range(len(found) - 2, -1, -1):
        here, above = found[i], alike[i + 1]
        if isinstance(here, Found) or isinstance(above, Found):
            continue
        if any(isinstance(faster, Found) for faster in found[i + 1 :]):
            alike[i] = here._replace(why=above.why)
    return alike


def _glide(
    model: Model, airframe: Airframe, speed: float, last: Point | None, stall: float
) -> Found | Untrimmed:
    guesses = [last._replace(speed=speed)] if last else []
    guesses += _first(model, speed, 0.0), _attached(model, speed, 0.0)
    return _try(model, airframe, Kind.GLIDE, _unknowns(airframe), guesses, None, stall)


def _climb(
    model: Model, airframe: Airframe, speed: float, last: Point | None, stall: float
) -> Found | Untrimmed:
    """Full throttle, or as much as climbs at STEEP."""
    free, guesses = _unknowns(airframe), [last._replace(speed=speed)] if last else []
    cold = [_first(model, speed, 1.0), _attached(model, speed, 1.0)]
    if not last or last.throttle < 1.0:
        up = [guess._replace(throttle=0.6, pitch=guess.alpha + STEEP) for guess in cold]
        steep = [*guesses, *up]
        found = _try(model, airframe, Kind.CLIMB, (*free, "throttle"), steep, STEEP, stall)
        if isinstance(found, Found):
            return found
    opened = [guess._replace(throttle=1.0) for guess in guesses]
    return _try(model, airframe, Kind.CLIMB, free, [*opened, *cold], None, stall)


def _level(
    model: Model,
    airframe: Airframe,
    wanted: list[float],
    glides: list[Found | Untrimmed],
    climbs: list[Found | Untrimmed],
) -> list[Found | Untrimmed]:
    """Between glide and climb at each speed, where the one sinks and the other climbs."""
    found: list[Found | Untrimmed] = []
    free, last = (*_unknowns(airframe), "throttle"), None
    stall = held_stall_speed(model, airframe) or 0.0
    for speed, glide, climb in zip(wanted, glides, climbs, strict=True):
        if isinstance(climb, Found) and climb.trim.sink > 0.0:
            found.append(Untrimmed(Kind.LEVEL, speed, NO_THRUST))
            continue
        near = [end.point for end in (glide, climb) if isinstance(end, Found)]
        guesses = [end._replace(throttle=0.5, pitch=end.alpha) for end in near]
        if isinstance(glide, Found) and isinstance(climb, Found):
            # What it sinks by shut is made up by that share of what full throttle lifts; thrust
            # grows about with the square of the throttle.
            share = glide.trim.sink / max(glide.trim.sink - climb.trim.sink, 1e-6)
            likely = float(np.sqrt(np.clip(share, 0.0, 1.0)))
            guesses.append(climb.point._replace(throttle=likely, pitch=climb.point.alpha))
        if last:
            guesses.insert(0, last._replace(speed=speed))
        guesses += _first(model, speed, 0.5), _attached(model, speed, 0.5)
        found.append(_try(model, airframe, Kind.LEVEL, free, guesses, 0.0, stall))
        last = _point(found[-1]) or last
    return _slower_alike(found)


def trims(
    model: Model, airframe: Airframe, at_speeds: Iterable[float], kinds: tuple[Kind, ...] = KINDS
) -> list[Trim | Untrimmed]:
    """Every kind at every speed [m/s], a trim or a reason each; ordered by kind, then speed."""
    wanted = sorted({float(v) for v in at_speeds})
    found: dict[Kind, list[Found | Untrimmed]] = {}
    for kind in (Kind.GLIDE, Kind.CLIMB):
        if kind in kinds or Kind.LEVEL in kinds:
            found[kind] = _along(model, airframe, kind, wanted)
    if Kind.LEVEL in kinds:
        glides, climbs = found[Kind.GLIDE], found[Kind.CLIMB]
        found[Kind.LEVEL] = _level(model, airframe, wanted, glides, climbs)
    asked = [one for kind in kinds for one in found[kind]]
    return [one.trim if isinstance(one, Found) else one for one in asked]


def steady_ones(found: Iterable[Trim | Untrimmed]) -> list[Trim]:
    """Without the reasons."""
    return [one for one in found if isinstance(one, Trim)]


def hands_off(model: Model, airframe: Airframe, throttle: float) -> Trim | None:
    """The steady flight that sticks left in the middle give: its speed, path and turn; None when
    there is none."""
    free = ("speed", "alpha", "sideslip", "bank", "pitch", "turn")
    guesses = [_first(model, much * _slow(model), throttle) for much in (1.5, 1.3, 1.8, 2.2, 2.8)]
    found = _try(model, airframe, Kind.HANDS_OFF, free, guesses, None, 0.0)
    return found.trim if isinstance(found, Found) else None


def balanced_at(airframe: Airframe, aft: float) -> Airframe:
    """The same airframe with its centre of gravity `aft` of the datum [m].

    All items move fore or aft together, as a builder shifts mass; sheets, motors' discs and
    masses stay, and the inertia follows. Raises ValueError when there is no item to move.
    """
    mass = sum(item.mass for item in airframe.items.values())
    if not mass > 0.0:
        raise ValueError("there is no item whose mass could be moved: the CG cannot be shifted")
    now = balance(parts(airframe))
    shift = (aft - float(now.place[0])) * now.mass / mass
    moved = {
        name: item.model_copy(update={"aft": item.aft + shift})
        for name, item in airframe.items.items()
    }
    return airframe.model_copy(update={"items": moved})
