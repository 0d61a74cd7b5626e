"""Trims of an airframe: glide, level flight and climb over its speeds, hands off, and its stall.

A flight started at a trim stays there, but for what its modes do (see `modes`). The search is
in `steady`; here each speed is started from its neighbour, and what fails gets a reason.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import PITCHES, ROLLS, YAWS, Mixer, Sticks, expo, mixer
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.polar import reference
from firstthrow.sim.flight.speeds import STALLED, held_stall_speed
from firstthrow.sim.flight.steady import CLOSE, Point, linear, place, steady, sticks_of
from firstthrow.sim.kernels.layout import (
    ATTITUDE,
    PACK_CURRENT,
    RATE,
    SEPARATED,
    VELOCITY,
)
from firstthrow.sim.kernels.rotation import to_field

STEEP = float(np.radians(30.0))  # a climb is no steeper; beyond, throttle is taken off
NO_THRUST = "not enough thrust to hold height"
KINDS = ("glide", "level", "climb")


class Trim(NamedTuple):
    """A steady flight, or why there is none: then `reason` has words and the rest is None
    except kind and airspeed (which is None too when it was asked for)."""

    kind: str  # glide (throttle closed), level, climb (throttle open) or hands off
    airspeed_m_s: float | None
    alpha: float | None  # [rad]
    elevator: float | None  # pitch deflection asked of what takes pitch [rad], + down
    throttle: float | None
    sink: float | None  # [m/s]
    current: float | None  # from the pack [A]
    state: np.ndarray | None  # (SIZE,)
    command: np.ndarray | None  # (COMMAND_SIZE,)
    sticks: Sticks | None  # that ask for the command
    reason: str = ""


class Found(NamedTuple):
    trim: Trim
    point: Point | None  # None when the trim is a reason


def none(kind: str, speed: float, reason: str) -> Found:
    return Found(Trim(kind, speed, *(None,) * 8, f"{reason} at {speed:.3g} m/s"), None)


def surface_word(airframe: Airframe, roles: tuple[str, ...]) -> str:
    """The builder's word for the surfaces of these roles, empty when there are none."""
    have = {s.role for sheet in airframe.sheets.values() for s in sheet.surfaces.values()}
    return next((role for role in roles if role in have), "")


def elevator(mix: Mixer, sticks: Sticks) -> float:
    """Pitch deflection asked of every surface that takes pitch [rad], trailing edge down +."""
    rate = (mix.low if sticks.low_rates else mix.high)[1]
    nose_up = mix.sense[1] * expo(sticks.pitch, mix.expo[1]) * rate + mix.trim[1]
    return -mix.pitch_sense * nose_up


def _before_expo(wanted: float, fraction: float) -> float:
    """The stick that expo turns into `wanted`."""
    if abs(wanted) >= 1.0:
        return float(np.sign(wanted))
    return float(brentq(lambda x: expo(x, fraction) - wanted, -1.0, 1.0, xtol=1e-14))


def _unknowns(airframe: Airframe) -> tuple[str, ...]:
    """What a straight flight at a given speed and throttle has to find."""
    side = "roll" if surface_word(airframe, ROLLS) else "yaw"
    steered = surface_word(airframe, ROLLS + YAWS)
    free = ("alpha", "sideslip", "bank", "pitch", side if steered else "turn")
    return (*free, "back") if surface_word(airframe, PITCHES) else free


def _reason(airframe: Airframe, kind: str, at: Point, separated: float, stall: float) -> str:
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
    if at.throttle > 0.999 and kind == "level":
        return NO_THRUST
    if side and max(abs(at.roll), abs(at.yaw)) > 0.999:
        return f"not enough {side} to hold it straight"
    if kind == "glide" and at.pitch < -1.4:
        return "even a dive is slower: nothing is steady"
    return "no steady flight was found"


def _judged(
    model: Model, airframe: Airframe, kind: str, at: Point, left: float, stall: float
) -> Found:
    """The trim at a point, or a reason when the point is not at rest or stalled."""
    mix = mixer(airframe)
    state, command = place(model, linear(mix), at)
    _, report = rates_of(model, state, command)
    if not left <= CLOSE or report[SEPARATED] > STALLED:
        return none(kind, at.speed, _reason(airframe, kind, at, report[SEPARATED], stall))
    after = sticks_of(at)
    sent = Sticks(*map(_before_expo, after[:3], mix.expo), at.throttle)
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
    kind: str,
    free: tuple[str, ...],
    guesses: list[Point],
    path: float | None,
    stall: float,
) -> Found:
    """The first guess that leads to a trim; else the reason that the closest one gives."""
    straight, tried = linear(mixer(airframe)), []
    for guess in guesses:
        at, left = steady(model, straight, guess, free, path)
        found = _judged(model, airframe, kind, at, left, stall)
        if found.point:
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


def speeds(model: Model, step: float | None = None) -> np.ndarray:
    """Speeds worth looking at: from below the stall to about three times it, in round steps."""
    slow = _slow(model)
    step = step or (0.5 if slow < 10.0 else 1.0)
    return step * np.arange(round(0.8 * slow / step), round(3.2 * slow / step) + 1)


def _along(model: Model, airframe: Airframe, kind: str, wanted: list[float]) -> list[Found]:
    """From a middling speed outwards, each solution the next one's guess."""
    stall = held_stall_speed(model, airframe) or 0.0
    middle = int(np.argmin(np.abs(np.array(wanted) - 1.7 * _slow(model))))
    seek = _climb if kind == "climb" else _glide
    found: dict[int, Found] = {}
    for way in (range(middle, len(wanted)), range(middle - 1, -1, -1)):
        last = found[middle].point if middle in found else None
        for i in way:
            found[i] = seek(model, airframe, wanted[i], last, stall)
            last = found[i].point or last
    return _slower_alike([found[i] for i in range(len(wanted))])


def _slower_alike(found: list[Found]) -> list[Found]:
    """What gives out first as it slows down is the reason at every slower speed too."""
    alike = list(found)
    for i in range(len(found) - 2, -1, -1):
        above = alike[i + 1].trim
        if not found[i].point and above.reason and any(f.point for f in found[i + 1 :]):
            words = above.reason.rsplit(" at ", 1)[0]
            alike[i] = none(above.kind, found[i].trim.airspeed_m_s, words)
    return alike


def _glide(
    model: Model, airframe: Airframe, speed: float, last: Point | None, stall: float
) -> Found:
    guesses = [last._replace(speed=speed)] if last else []
    guesses.append(_first(model, speed, 0.0))
    return _try(model, airframe, "glide", _unknowns(airframe), guesses, None, stall)


def _climb(
    model: Model, airframe: Airframe, speed: float, last: Point | None, stall: float
) -> Found:
    """Full throttle, or as much as climbs at STEEP."""
    free, first = _unknowns(airframe), _first(model, speed, 1.0)
    guesses = [last._replace(speed=speed)] if last else []
    if not last or last.throttle < 1.0:
        steep = [*guesses, first._replace(throttle=0.6, pitch=first.alpha + STEEP)]
        found = _try(model, airframe, "climb", (*free, "throttle"), steep, STEEP, stall)
        if found.point:
            return found
    opened = [guess._replace(throttle=1.0) for guess in guesses]
    return _try(model, airframe, "climb", free, [*opened, first], None, stall)


def _level(
    model: Model, airframe: Airframe, glides: list[Found], climbs: list[Found]
) -> list[Found]:
    """Between glide and climb at each speed, where the one sinks and the other climbs."""
    found, free = [], (*_unknowns(airframe), "throttle")
    stall, last = held_stall_speed(model, airframe) or 0.0, None
    for glide, climb in zip(glides, climbs, strict=True):
        speed = glide.trim.airspeed_m_s
        if climb.point and climb.trim.sink > 0.0:
            found.append(none("level", speed, NO_THRUST))
            continue
        near = [end for end in (glide.point, climb.point) if end]
        guesses = [end._replace(throttle=0.5, pitch=end.alpha) for end in near]
        if len(near) == 2:
            # What it sinks by shut is made up by that share of what full throttle lifts; thrust
            # grows about with the square of the throttle.
            share = glide.trim.sink / max(glide.trim.sink - climb.trim.sink, 1e-6)
            likely = float(np.sqrt(np.clip(share, 0.0, 1.0)))
            guesses.append(climb.point._replace(throttle=likely, pitch=climb.point.alpha))
        if last:
            guesses.insert(0, last._replace(speed=speed))
        guesses.append(_first(model, speed, 0.5))
        found.append(_try(model, airframe, "level", free, guesses, 0.0, stall))
        last = found[-1].point or last
    return _slower_alike(found)


def trims(
    model: Model, airframe: Airframe, at_speeds: Iterable[float], kinds: tuple[str, ...] = KINDS
) -> list[Trim]:
    """Every kind at every speed [m/s], a trim or a reason each; ordered by kind, then speed."""
    wanted = sorted({float(v) for v in at_speeds})
    found: dict[str, list[Found]] = {}
    for kind in ("glide", "climb"):
        if kind in kinds or "level" in kinds:
            found[kind] = _along(model, airframe, kind, wanted)
    if "level" in kinds:
        found["level"] = _level(model, airframe, found["glide"], found["climb"])
    return [one.trim for kind in kinds for one in found[kind]]


def hands_off(model: Model, airframe: Airframe, throttle: float) -> Trim:
    """The steady flight that sticks left in the middle give: its speed, path and turn."""
    free = ("speed", "alpha", "sideslip", "bank", "pitch", "turn")
    guesses = [_first(model, much * _slow(model), throttle) for much in (1.5, 1.3, 1.8, 2.2, 2.8)]
    trim = _try(model, airframe, "hands off", free, guesses, None, 0.0).trim
    if trim.reason:
        trim = trim._replace(airspeed_m_s=None, reason="no steady flight hands off was found")
    return trim


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
