"""Wind, airspeeds and sinks of steady stretches of a log.

Over the ground a steady flight has its airspeed along its heading plus the wind: with turns in
it, the velocities lie on a circle about the wind. Circle and wind are fitted together for all
stretches by least squares, with a prior on the wind. Derived here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from scipy.optimize import least_squares

from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.notes import Notes, Steady
from firstthrow.sim.learn.logs import Track

SMOOTH = 1.0  # between the fixes that give a velocity [s]
NOISE = 0.6  # of such a velocity, either way [m/s]: common practice, no source
LEAST = 4  # fixes in a stretch


class Stretch(NamedTuple):
    """Airspeed and sink with their spreads [m/s], mean current [A], throttle; NaN if unknown."""

    airspeed: float
    airspeed_spread: float
    sink: float
    sink_spread: float
    current: float
    throttle: float


class Winds(NamedTuple):
    """Where the wind blows to, north and east [m/s], its covariance, and every stretch; what is to
    be said of the log itself."""

    wind: np.ndarray  # (2,)
    covariance: np.ndarray  # (2, 2)
    stretches: dict[str, Stretch]
    remarks: tuple[str, ...] = ()


def stretches(track: Track, notes: Notes) -> Winds:
    """All stretches that the notes mark in the log. Raises ConfigError for one without fixes."""
    marked = {
        name: (one.start, one.end)
        for name, one in notes.steady.items()
        if one.start is not None and one.end is not None
    }
    if not marked:
        raise ConfigError(
            ["the notes mark no stretch of the log: give a [steady.NAME] its start and end"]
        )
    parts = {name: _part(track, name, *span) for name, span in marked.items()}
    return _circles(track, parts, notes.spreads.wind)


def _part(track: Track, name: str, start: float, end: float) -> np.ndarray:
    inside = np.flatnonzero((track.time >= start) & (track.time <= end))
    if inside.size < LEAST:
        raise ConfigError(
            [
                f"steady.{name}: {inside.size} fixes of the log between {start:g} and {end:g} s: "
                f"{LEAST} or more are wanted"
            ]
        )
    return inside


def velocities(track: Track, inside: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(n, 2) north and east over the ground [m/s], over about SMOOTH seconds each; and (n,) how
    unsure they are by times that are [m/s]."""
    time = track.time[inside]
    later = np.searchsorted(time, time + SMOOTH - 1e-6)
    use = later < time.size
    first, last = inside[use], inside[later[use]]
    lasted = (track.time[last] - track.time[first])[:, None]
    moved = np.column_stack(
        [track.north[last] - track.north[first], track.east[last] - track.east[first]]
    )
    doubt = np.sqrt(np.diff(np.cumsum(track.unsure**2)[np.array([first, last])], axis=0)[0])
    velocity = moved / lasted
    return velocity, np.hypot(*velocity.T) * doubt / lasted[:, 0]


def _circles(track: Track, parts: Mapping[str, np.ndarray], spread: float) -> Winds:
    names = list(parts)
    found = {n: velocities(track, parts[n]) for n in names}
    ground = {n: velocity for n, (velocity, _) in found.items()}
    # Velocities over one second from fixes that come faster share those fixes.
    every = {n: float(np.median(np.diff(track.time[parts[n]]))) for n in names}
    noise = {n: np.hypot(NOISE, found[n][1]) * max(1.0, (SMOOTH / every[n]) ** 0.5) for n in names}
    told = {n: _mean(track.airspeed[parts[n]]) for n in names}

    def left(x: np.ndarray) -> np.ndarray:
        misses = [x[:2] / spread]
        for name, airspeed in zip(names, x[2:], strict=True):
            through = np.hypot(*(ground[name] - x[:2]).T)
            misses.append((through - airspeed) / noise[name])
            if np.isfinite(told[name]):
                misses.append(np.array([(airspeed - told[name]) / (0.05 * told[name])]))
        return np.concatenate(misses)

    start = np.concatenate([np.zeros(2), [np.hypot(*g.T).mean() for g in ground.values()]])
    if not np.isfinite(start).all():
        raise ConfigError(["the log has no places in a stretch that the notes mark"])
    fit = least_squares(left, start)
    covariance = np.linalg.inv(fit.jac.T @ fit.jac + 1e-9 * np.eye(start.size))
    told_of = {}
    for k, name in enumerate(names):
        sink, sure = _sink(track, parts[name])
        told_of[name] = Stretch(
            float(fit.x[2 + k]),
            float(np.sqrt(covariance[2 + k, 2 + k])),
            sink,
            sure,
            _mean(track.current[parts[name]]),
            _mean(track.throttle[parts[name]]),
        )
    return Winds(fit.x[:2], covariance[:2, :2], told_of, track.remarks)


def _mean(values: np.ndarray) -> float:
    """Of what the log says of it; NaN where it says nothing."""
    values = values[np.isfinite(values)]
    return float(values.mean()) if values.size else float("nan")


def _sink(track: Track, inside: np.ndarray) -> tuple[float, float]:
    """Slope of the height by a straight line, and its spread, with neighbours taken as one."""
    height, time = track.height[inside], track.time[inside]
    if not np.isfinite(height).all():
        return float("nan"), float("nan")
    line, residual = np.polyfit(time, height, 1, full=True)[:2]
    scatter = float(np.sqrt(residual[0] / max(time.size - 2, 1))) if residual.size else 0.0
    spread = 2.0 * max(scatter, 0.5) / (time.std() * np.sqrt(time.size) + 1e-9)
    return float(-line[0]), float(max(spread, 0.1))


def with_log(notes: Notes, winds: Winds) -> Notes:
    """The notes with what the log tells of each marked stretch; what the builder wrote stays."""
    steady = dict(notes.steady)
    for name, found in winds.stretches.items():
        steady[name] = _told(steady[name], found)
    return notes.model_copy(update={"steady": steady})


def _told(one: Steady, found: Stretch) -> Steady:
    update: dict[str, float] = {}
    if one.speed is None:
        share = found.airspeed_spread / found.airspeed
        update |= {"speed": found.airspeed, "speed_spread": max(share, 0.02)}
    if one.sink is None and one.kind != "level" and np.isfinite(found.sink):
        update |= {"sink": found.sink, "sink_spread": found.sink_spread}
    if one.current is None and np.isfinite(found.current) and found.current > 0.0:
        update["current"] = found.current
    if one.throttle is None and one.kind != "glide" and np.isfinite(found.throttle):
        update["throttle"] = min(1.0, max(0.0, found.throttle))
    return one.model_copy(update=update)
