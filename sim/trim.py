"""Steady flight: the attitude, sticks and throttle at which nothing changes any more.

The unknowns are found together on the whole state that the flight integrates, so that thrust
line, torque, slipstream, windmilling propeller and surfaces pushed back by the air are all in.
A flight started at a trim stays there, but for what its modes do (see `modes`).
Method: least squares with bounds (Branch, Coleman and Li, SIAM J. Sci. Comput. 21, 1999, as in
scipy), each speed started from its neighbour.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import cos, sin
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq, least_squares

from sim import sticks as channels
from sim.airframe import Airframe, Expo
from sim.model import Model
from sim.polar import air_load, rates_of, reference
from sim.rotation import from_angles, to_field
from sim.servo import EASE
from sim.sticks import Sticks
from sim.state import (
    ATTITUDE,
    COMMAND_THROTTLE,
    MAX_SURFACES,
    PACK_CURRENT,
    POSITION,
    RATE,
    ROTOR,
    SEPARATED,
    SIZE,
    SURFACE,
    VELOCITY,
)
from sim.weights import balance, parts

HEIGHT = 300.0  # out of the ground's reach [m]
CLOSE = 1e-6  # residual accepted, in g
STALLED = 0.5  # share of the flat sheets separated beyond which a sheet counts as stalled
KINDS = ("glide", "level", "climb")

# Unknowns, their bounds and the scale on which they change.
_RANGE = {
    "speed": (1.0, 60.0, 1.0),
    "alpha": (-0.6, 1.1, 0.1),
    "sideslip": (-0.6, 0.6, 0.1),
    "bank": (-1.2, 1.2, 0.1),
    "pitch": (-1.5, 1.5, 0.1),
    "turn": (-3.0, 3.0, 0.1),
    "back": (-1.0, 1.0, 0.1),
    "right": (-1.0, 1.0, 0.1),
    "throttle": (0.0, 1.0, 0.1),
}


class Trim(NamedTuple):
    """A steady flight, or why there is none: then `reason` has words and the rest is None
    except kind and airspeed (which is None too when it was asked for)."""

    kind: str  # glide (throttle closed), level, climb (throttle open) or hands off
    airspeed_m_s: float | None
    alpha: float | None  # [rad]
    elevator: float | None  # pitch deflection asked of every surface that takes pitch, + down
    throttle: float | None
    sink: float | None  # [m/s]
    current: float | None  # from the pack [A]
    state: np.ndarray | None  # (SIZE,)
    command: np.ndarray | None  # (COMMAND_SIZE,)
    sticks: Sticks | None  # that ask for the command
    reason: str = ""


class Point(NamedTuple):
    """A steady flight as the solver sees it; angles [rad], turn [rad/s], sticks after expo."""

    speed: float
    alpha: float = 0.1
    sideslip: float = 0.0
    bank: float = 0.0
    pitch: float = 0.0  # attitude
    turn: float = 0.0
    back: float = 0.0
    right: float = 0.0
    throttle: float = 0.0
    rotors: tuple[float, ...] = ()
    surfaces: tuple[float, ...] = ()  # where the servos hold them


class Found(NamedTuple):
    trim: Trim
    point: Point | None  # None when the trim is a reason


def roles(airframe: Airframe) -> set[str]:
    return {s.role for sheet in airframe.sheets.values() for s in sheet.surfaces.values()}


def takes_pitch(airframe: Airframe) -> str:
    """Word for the surfaces that take pitch, empty when there are none."""
    found = roles(airframe)
    return "elevon" if "elevon" in found else "elevator" if "elevator" in found else ""


def takes_roll(airframe: Airframe) -> str:
    """Word for what holds it straight: elevon or aileron, else rudder, else nothing."""
    found = roles(airframe)
    return next((r for r in ("elevon", "aileron", "rudder") if r in found), "")


def _straight(airframe: Airframe) -> Airframe:
    """The same airframe without expo, so that commands are straight in the sticks."""
    return airframe.model_copy(
        update={"mixing": airframe.mixing.model_copy(update={"expo": Expo()})}
    )


def _sticks(airframe: Airframe, at: Point) -> Sticks:
    yaws = takes_roll(airframe) == "rudder"
    return Sticks(0.0 if yaws else at.right, at.back, at.right if yaws else 0.0, at.throttle)


def _before_expo(wanted: float, fraction: float) -> float:
    """The stick that expo turns into `wanted`."""
    if abs(wanted) >= 1.0:
        return float(np.sign(wanted))
    return float(brentq(lambda x: channels.expo(x, fraction) - wanted, -1.0, 1.0, xtol=1e-14))


def elevator(airframe: Airframe, sticks: Sticks) -> float:
    """Pitch deflection asked of every surface that takes pitch [rad], trailing edge down +."""
    mixing, rate = airframe.mixing, channels.rates(airframe, sticks)
    return -(channels.expo(sticks.pitch, mixing.expo.pitch) * rate.pitch + mixing.reflex)


def place(model: Model, straight: Airframe, at: Point) -> tuple[np.ndarray, np.ndarray]:
    """State (SIZE,) and command (COMMAND_SIZE,) of a point."""
    state = np.zeros(SIZE)
    state[POSITION + 2] = -HEIGHT
    state[ATTITUDE : ATTITUDE + 4] = from_angles(at.bank, at.pitch, 0.0)
    state[VELOCITY : VELOCITY + 3] = at.speed * np.array([
        cos(at.alpha) * cos(at.sideslip), sin(at.sideslip), sin(at.alpha) * cos(at.sideslip),
    ])  # fmt: skip
    state[RATE : RATE + 3] = at.turn * np.array([
        -sin(at.pitch), sin(at.bank) * cos(at.pitch), cos(at.bank) * cos(at.pitch),
    ])  # fmt: skip
    state[ROTOR : ROTOR + len(at.rotors)] = at.rotors
    command = channels.command(straight, _sticks(straight, at))
    state[SURFACE : SURFACE + len(at.surfaces)] = at.surfaces
    return state, command


def rotor_speed(model: Model, state: np.ndarray, command: np.ndarray, k: int) -> float:
    """Steady speed of rotor k in its own sense [rad/s]: the one a motor slowing down comes to.

    A windmilling propeller may have two, turning and stopped by the motor's friction.
    """
    trial, radius = state.copy(), model.record.motor_radius[k]
    top = model.record.rest_voltage[-1] / model.record.motor_kt[k] * 1.1
    top = max(top, 5.0 * np.linalg.norm(state[VELOCITY:RATE]) / radius)
    way = -1.0 if model.record.motor_drive[k] < 0.0 and command[COMMAND_THROTTLE + k] > 0.0 else 1.0

    def torque(omega: float) -> float:
        trial[ROTOR + k] = way * omega
        return way * rates_of(model, trial, command)[0][ROTOR + k]

    ladder = top * np.linspace(1.0, 0.0, 41) ** 2
    for high, low in zip(ladder, [*ladder[1:], -10.0], strict=True):
        if torque(low) > 0.0 >= torque(high):
            return way * brentq(torque, low, high, xtol=1e-6)
    return 0.0


def _turning(model: Model, straight: Airframe, at: Point) -> Point:
    """The same point with its rotors at their steady speeds; surfaces as asked, if not given."""
    if not at.surfaces:
        asked = place(model, straight, at)[1][: model.record.n_surfaces]
        at = at._replace(surfaces=tuple(asked.tolist()))
    for k in range(model.record.n_motors):
        state, command = place(model, straight, at)
        speeds = list(at.rotors or (0.0,) * model.record.n_motors)
        speeds[k] = rotor_speed(model, state, command, k)
        at = at._replace(rotors=tuple(speeds))
    return at


def solve(
    model: Model, straight: Airframe, start: Point, free: tuple[str, ...], level: bool
) -> tuple[Point, float]:
    """The steady point near `start` with the `free` unknowns (rotors always), and what is left
    of the accelerations, in g."""
    record = model.record
    n, motors, gravity = len(free), record.n_motors, record.gravity
    arm = reference(model)[1]
    moving = SURFACE + np.arange(record.n_surfaces)
    ease = EASE / np.maximum(record.servo_speed[: record.n_surfaces], 1e-3)
    top = np.array([max(1.5 * abs(w), 300.0) for w in start.rotors])
    reach = record.surface_travel[: record.n_surfaces] + 0.01
    ends = np.array([_RANGE[name] for name in free])
    low = np.concatenate([ends[:, 0], -top, -reach])
    high = np.concatenate([ends[:, 1], top, reach])
    scale = np.concatenate([ends[:, 2], 0.1 * top, 0.0 * reach + 0.1])

    def point(x: np.ndarray) -> Point:
        named = dict(zip(free, map(float, x[:n]), strict=True))
        return start._replace(
            rotors=tuple(x[n : n + motors].tolist()), surfaces=tuple(x[n + motors :].tolist()),
            **named,
        )  # fmt: skip

    def left(x: np.ndarray) -> np.ndarray:
        state, command = place(model, straight, point(x))
        rates, _ = rates_of(model, state, command)
        missing = [
            rates[VELOCITY:RATE] / gravity,
            rates[RATE:ROTOR] * arm / gravity,
            rates[ROTOR : ROTOR + motors] * 1e-3,
            rates[moving] * ease,
        ]
        if level:
            missing.append(rates[POSITION + 2 : POSITION + 3] / start.speed)
        return np.concatenate(missing)

    guess = np.array([*(getattr(start, name) for name in free), *start.rotors, *start.surfaces])
    inside = np.clip(guess, low + 1e-6 * scale, high - 1e-6 * scale)
    found = least_squares(
        left, inside, bounds=(low, high), x_scale=scale, method="trf",
        xtol=1e-13, ftol=1e-15, gtol=1e-13, max_nfev=60,
    )  # fmt: skip
    return point(found.x), float(np.abs(found.fun).max())


def _unknowns(airframe: Airframe, kind: str) -> tuple[str, ...]:
    free = ["alpha", "sideslip", "bank", "pitch"]
    free.append("right" if takes_roll(airframe) else "turn")
    if takes_pitch(airframe):
        free.append("back")
    return (*free, "throttle") if kind == "level" else tuple(free)


def _reason(airframe: Airframe, kind: str, at: Point, separated: float) -> str:
    """Words for the bound that a failed search ran into."""
    pitch, roll = takes_pitch(airframe), takes_roll(airframe)
    here = f"at {at.speed:.3g} m/s"
    if not pitch:
        return f"no surface takes pitch: it flies at one speed only, not {here}"
    if separated > STALLED:
        return f"stalls before it is as slow as {at.speed:.3g} m/s"
    if at.back > 0.999:
        return f"not enough {pitch} to hold the nose up {here}"
    if at.back < -0.999:
        return f"not enough {pitch} to hold the nose down {here}"
    if at.throttle > 0.999 and kind == "level":
        return f"not enough thrust to hold height {here}"
    if roll and abs(at.right) > 0.999:
        return f"not enough {roll} to hold it straight {here}"
    return f"no steady flight was found {here}"


def _made(
    model: Model, airframe: Airframe, kind: str, at: Point, residual: float
) -> Trim:
    state, command = place(model, _straight(airframe), at)
    _, report = rates_of(model, state, command)
    if not residual <= CLOSE or report[SEPARATED] > STALLED:
        reason = _reason(airframe, kind, at, report[SEPARATED])
        return Trim(kind, at.speed, *(None,) * 8, reason)
    expo = airframe.mixing.expo
    sent = _sticks(airframe, at)
    sent = sent._replace(
        roll=_before_expo(sent.roll, expo.roll), pitch=_before_expo(sent.pitch, expo.pitch),
        yaw=_before_expo(sent.yaw, expo.yaw),
    )  # fmt: skip
    sink = to_field(*state[ATTITUDE : ATTITUDE + 4], *state[VELOCITY:RATE])[2]
    return Trim(
        kind, at.speed, at.alpha, elevator(airframe, sent), at.throttle, float(sink),
        float(report[PACK_CURRENT]), state, command, sent,
    )  # fmt: skip


def _first(model: Model, speed: float) -> Point:
    """A guess: enough incidence for the weight, nose along the path."""
    m = model.record
    area = reference(model)[0]
    need = m.mass * m.gravity / (0.5 * m.density * speed**2 * area)
    return Point(speed, alpha=float(np.clip(need / 2.8, -0.05, 0.4)))


def speeds(model: Model, step: float | None = None) -> np.ndarray:
    """Speeds worth looking at: from below the stall to three times it, in round steps [m/s]."""
    m = model.record
    slow = np.sqrt(2.0 * m.mass * m.gravity / (m.density * reference(model)[0]))
    step = step or (0.5 if slow < 10.0 else 1.0)
    return step * np.arange(round(0.8 * slow / step), round(3.2 * slow / step) + 1)


def _along(model: Model, airframe: Airframe, kind: str, wanted: list[float]) -> list[Found]:
    """From a middling speed outwards, each solution the next one's guess."""
    throttle = 1.0 if kind == "climb" else 0.0
    m = model.record
    usual = 1.5 * np.sqrt(2.5 * m.mass * m.gravity / (m.density * reference(model)[0]))
    middle = int(np.argmin(np.abs(np.array(wanted) - usual)))
    found: dict[int, Found] = {}
    for way in (range(middle, len(wanted)), range(middle - 1, -1, -1)):
        last = found[middle].point if middle in found else None
        for i in way:
            guesses = [_first(model, wanted[i])._replace(throttle=throttle)]
            if last:
                guesses.insert(0, last._replace(speed=wanted[i]))
            found[i] = _search(model, airframe, kind, _unknowns(airframe, kind), guesses)
            last = found[i].point or last
    return [found[i] for i in range(len(wanted))]


def _level(
    model: Model, airframe: Airframe, glides: list[Found], climbs: list[Found]
) -> list[Found]:
    """Between the glide and the climb at each speed, when the one sinks and the other climbs."""
    found, free = [], _unknowns(airframe, "level")
    for glide, climb in zip(glides, climbs, strict=True):
        speed = glide.trim.airspeed_m_s
        if climb.point and climb.trim.sink > 0.0:
            reason = f"not enough thrust to hold height at {speed:.3g} m/s"
            found.append(Found(Trim("level", speed, *(None,) * 8, reason), None))
            continue
        ends = [end for end in (glide, climb) if end.point]
        guesses = [end.point._replace(throttle=0.5, pitch=end.point.alpha) for end in ends]
        guesses.append(_first(model, speed)._replace(throttle=0.5))
        found.append(_search(model, airframe, "level", free, guesses))
    return found


def _search(
    model: Model, airframe: Airframe, kind: str, free: tuple[str, ...], guesses: list[Point]
) -> Found:
    """The first guess that leads to a trim; else the reason that the closest one gives."""
    straight, tried = _straight(airframe), []
    for guess in guesses:
        start = _turning(model, straight, guess)
        at, residual = solve(model, straight, start, free, kind == "level")
        again = _turning(model, straight, at)
        if not np.allclose(again.rotors, at.rotors, rtol=0.02, atol=1.0):
            at, residual = solve(model, straight, again, free, kind == "level")
        trim = _made(model, airframe, kind, at, residual)
        if not trim.reason:
            return Found(trim, at)
        tried.append((residual, trim))
    return Found(min(tried, key=lambda one: one[0])[1], None)


def trims(
    model: Model, airframe: Airframe, at_speeds: Iterable[float], kinds: tuple[str, ...] = KINDS
) -> list[Trim]:
    """Every kind at every speed, a trim or a reason each; ordered by kind, then speed."""
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
    m = model.record
    slow = np.sqrt(2.0 * m.mass * m.gravity / (m.density * reference(model)[0]))
    guesses = [
        _first(model, slow * much)._replace(throttle=throttle) for much in (1.5, 1.2, 2.0, 2.8)
    ]
    trim = _search(model, airframe, "hands off", free, guesses).trim
    if trim.reason:
        trim = trim._replace(airspeed_m_s=None, reason="no steady flight hands off was found")
    return trim


def stall_speed(model: Model, airframe: Airframe) -> float | None:
    """Least speed [m/s] of one g on the air alone with the pitch held by its surfaces.

    None when they hold it at no incidence. The largest lift, attached, of all incidences
    whose pitching moment some stick position brings to nothing.
    """
    straight, m = _straight(airframe), model.record
    area = reference(model)[0]
    best = 0.0
    for alpha in np.radians(np.arange(1.0, 45.0, 0.5)):
        air = -10.0 * np.array([cos(alpha), 0.0, sin(alpha)])

        def load(back: float, air=air) -> tuple[np.ndarray, np.ndarray]:
            asked = channels.command(straight, Sticks(pitch=back))
            return air_load(model, air, surfaces=asked[:MAX_SURFACES])

        if load(-1.0)[0][4] * load(1.0)[0][4] > 0.0:
            continue
        back = brentq(lambda x, load=load: load(x)[0][4], -1.0, 1.0)
        force, report = load(back)
        if report[SEPARATED] > STALLED:
            continue
        best = max(best, force[0] * sin(alpha) - force[2] * cos(alpha))
    if best <= 0.0:
        return None
    coefficient = best / (0.5 * m.density * 100.0 * area)
    return float(np.sqrt(2.0 * m.mass * m.gravity / (m.density * area * coefficient)))


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
