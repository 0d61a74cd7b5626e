"""The solver of steady flight: unknowns, their bounds, and the search for rest.

Everything is judged on the rates of the whole state that the flight integrates, so that thrust
line, torque, slipstream, windmilling propeller and surfaces that the air pushes back are all in.
Method: least squares with bounds (Branch, Coleman and Li, SIAM J. Sci. Comput. 21, 1999, as in
scipy).
"""

from __future__ import annotations

from math import cos, sin
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq, least_squares

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import Mixer, Sticks
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.polar import reference
from firstthrow.sim.kernels.layout import (
    ATTITUDE,
    COMMAND_THROTTLE,
    POSITION,
    RATE,
    ROTOR,
    SIZE,
    SURFACE,
    VELOCITY,
)
from firstthrow.sim.kernels.rotation import from_angles

HEIGHT = 300.0  # out of the ground's reach [m]
CLOSE = 1e-6  # what may be left of the accelerations, in g
YIELD = 0.4  # how far a servo may let its surface go [rad]
ROUNDS = 30  # a servo nearly without load crosses its dead band in small steps
RETRIES = 2  # of a search that ended where its rotors could no longer turn as they started

# Unknowns, their bounds and the scale on which they change.
_RANGE = {
    "speed": (1.0, 60.0, 1.0),
    "alpha": (-0.6, 1.1, 0.1),
    "sideslip": (-0.6, 0.6, 0.1),
    "bank": (-1.2, 1.2, 0.1),
    "pitch": (-1.5, 1.5, 0.1),
    "turn": (-3.0, 3.0, 0.1),
    "back": (-1.0, 1.0, 0.1),
    "roll": (-1.0, 1.0, 0.1),
    "yaw": (-1.0, 1.0, 0.1),
    "throttle": (0.0, 1.0, 0.1),
}


class Point(NamedTuple):
    """A steady flight as the solver sees it; angles [rad], turn [rad/s], sticks after expo."""

    speed: float
    alpha: float = 0.1
    sideslip: float = 0.0
    bank: float = 0.0
    pitch: float = 0.0  # attitude
    turn: float = 0.0
    back: float = 0.0
    roll: float = 0.0
    yaw: float = 0.0
    throttle: float = 0.0
    rotors: tuple[float, ...] = ()
    droop: tuple[float, ...] = ()  # of each surface from the angle asked


def sticks_of(at: Point) -> Sticks:
    """Sticks after expo: what the linear part of the mixing takes."""
    return Sticks(at.roll, at.back, at.yaw, at.throttle)


def place(model: Model, mixer: Mixer, at: Point) -> tuple[np.ndarray, np.ndarray]:
    """State (SIZE,) and command (COMMAND_SIZE,) of a point; `mixer` without expo."""
    state = np.zeros(SIZE)
    state[POSITION + 2] = -HEIGHT
    state[ATTITUDE : ATTITUDE + 4] = from_angles(at.bank, at.pitch, 0.0)
    state[VELOCITY : VELOCITY + 3] = at.speed * np.array(
        [
            cos(at.alpha) * cos(at.sideslip),
            sin(at.sideslip),
            sin(at.alpha) * cos(at.sideslip),
        ]
    )
    state[RATE : RATE + 3] = at.turn * np.array(
        [
            -sin(at.pitch),
            sin(at.bank) * cos(at.pitch),
            cos(at.bank) * cos(at.pitch),
        ]
    )
    state[ROTOR : ROTOR + len(at.rotors)] = at.rotors
    command = mixer.command(sticks_of(at))
    n = len(at.droop)
    state[SURFACE : SURFACE + n] = command[:n] + at.droop
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


def surface_droop(model: Model, state: np.ndarray, command: np.ndarray) -> tuple[float, ...]:
    """How far from the angle asked each servo lets its surface rest under its load [rad]."""
    trial, m, droop = state.copy(), model.record, []
    for k in range(m.n_surfaces):
        stop, asked = float(m.surface_travel[k]), float(command[k])

        def speed(angle: float, k=k) -> float:
            trial[SURFACE + k] = angle
            return rates_of(model, trial, command)[0][SURFACE + k]

        low, high = max(-stop, asked - YIELD), min(stop, asked + YIELD)
        held = speed(low) * speed(high) < 0.0
        rest = brentq(speed, low, high, xtol=1e-10) if held else float(state[SURFACE + k])
        trial[SURFACE + k] = rest
        droop.append(rest - asked)
    return tuple(droop)


def _settled(model: Model, mixer: Mixer, at: Point) -> Point:
    """The same point with rotors at their steady speeds and surfaces where the servos hold."""
    n = model.record.n_surfaces
    at = at._replace(
        rotors=at.rotors or (0.0,) * model.record.n_motors, droop=at.droop or (0.0,) * n
    )
    for k in range(model.record.n_motors):
        speeds = list(at.rotors)
        speeds[k] = rotor_speed(model, *place(model, mixer, at), k)
        at = at._replace(rotors=tuple(speeds))
    return at._replace(droop=surface_droop(model, *place(model, mixer, at)))


def steady(
    model: Model, mixer: Mixer, start: Point, free: tuple[str, ...], path: float | None
) -> tuple[Point, float]:
    """The steady point near `start` with the `free` unknowns, and what is left of the
    accelerations, in g.

    Rotors are among the unknowns, but started where a slowing rotor would come to; the dead
    bands of the servos make corners that a gradient cannot pass, so that the surfaces' rest
    is put in afterwards and the search repeated. A propeller that windmills at the start but
    at the steady point would not leaves the search where windmilling ends, short of it: then
    the rotor is let slow down to what it comes to there, and the search goes on.
    """
    at, left = _search(model, mixer, _settled(model, mixer, start), free, path)
    failed = 0
    for _ in range(ROUNDS):
        settled = _settled(model, mixer, at)
        moved = np.abs(np.subtract(settled.droop, at.droop)).max(initial=0.0)
        turned = np.abs(np.subtract(settled.rotors, at.rotors)).max(initial=0.0)
        failed += left > CLOSE
        if failed and (turned < 1.0 or failed > RETRIES):
            break
        if not failed and moved < 1e-7 and turned < 1.0:
            break
        at, left = _search(model, mixer, settled, free, path)
    return at, left


def _search(
    model: Model, mixer: Mixer, start: Point, free: tuple[str, ...], path: float | None
) -> tuple[Point, float]:
    record = model.record
    n, motors, gravity = len(free), record.n_motors, record.gravity
    arm = reference(model)[1]
    # Torque on a rotor over weight and chord, like the moments on the airframe: as a rate it
    # would drown the rest where the rotor is small and quick.
    torque = record.rotor_inertia[:motors] / (record.mass * gravity * arm)
    top = np.array([max(1.5 * abs(w), 300.0) for w in start.rotors])
    ends = np.array([_RANGE[name] for name in free])
    low, high = np.concatenate([ends[:, 0], -top]), np.concatenate([ends[:, 1], top])
    scale = np.concatenate([ends[:, 2], 0.1 * top])

    def point(x: np.ndarray) -> Point:
        named = dict(zip(free, x[:n].tolist(), strict=True))
        return start._replace(rotors=tuple(x[n:].tolist()), **named)

    def left(x: np.ndarray) -> np.ndarray:
        rates, _ = rates_of(model, *place(model, mixer, point(x)))
        missing = [
            rates[VELOCITY:RATE] / gravity,
            rates[RATE:ROTOR] * arm / gravity,
            rates[ROTOR : ROTOR + motors] * torque,
        ]
        if path is not None:
            missing.append([rates[POSITION + 2] / start.speed + sin(path)])
        return np.concatenate(missing)

    guess = np.array([*(getattr(start, name) for name in free), *start.rotors])
    inside = np.clip(guess, low + 1e-6 * scale, high - 1e-6 * scale)
    found = least_squares(
        left,
        inside,
        bounds=(low, high),
        x_scale=scale,
        method="trf",
        xtol=1e-13,
        ftol=1e-15,
        gtol=1e-13,
        max_nfev=60,
    )
    return point(found.x), float(np.abs(found.fun).max())
