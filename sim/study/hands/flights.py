"""What free flights show of a person's hands: less surely than the exercises, and not all of it.

Nobody knows which attitude the person wanted in a flight. So that is taken as a straight line of
what they saw besides (heading; height, speeds and bank), a slow drift, and noise; what the sticks
did is then answered by the attitude and its rate a delay ago. The likelihood is the exercises' own
(`likelihood`), with the muscles taken off the sticks, but by one-step errors of prediction, since
no frequencies are set: the noise is an autoregression, and as it only acts after the delay the loop
through the airframe takes no bias in. Source: Ljung, System Identification (1999), ch. 7 and 13
(direct identification in closed loop); Cochrane and Orcutt, JASA 44 (1949); both from memory.

Dead zone, first moves and the remnant's size do not show. Crude: the dead zone makes small errors
be answered less, so the gains are those of flight as a whole; and lines are no aims. By how much
that leads astray was measured on twenty simulated pilots, three flights of 75 s each, and goes
into the intervals (`DELAY_OFF`, `GAIN_OFF`, `LEAD_OFF`): set on those twenty, which the intervals
then held 19 (delay) and 20 times (roll), and not tried on others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
import scipy

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import NoSource, source
from firstthrow.sim.flight.skills import steers_by_rudder
from firstthrow.sim.study.hands.element import FRAME, Element
from firstthrow.sim.study.hands.measure import (
    END,
    STILL,
    SURE,
    CannotBeMeasured,
    Figure,
    Measured,
)

LAUNCH = 2.0  # [s] after the release that tell of the throw, not of the hands
CLEAR = 0.8  # [m] lower than this the ground is near
LEAST = 20.0  # [s] of flight that count
ORDER = 3  # of the noise's autoregression
ROUNDS = 6  # of regression and noise in turn
MEMORY = 60  # frames before the first that counts: the longest delay, and more
DELAYS, LAGS = (0.2, 0.3, 0.4), (0.1, 0.2)  # the search begins at the best of these [s]
BOUNDS = ((0.05, 0.8), (float(np.log(0.02)), float(np.log(0.8))))  # of delay and of ln lag
STEPS = np.array([0.01, 0.08])
DELAY_OFF = 0.02  # [s] standard deviation, beside what the flights say
GAIN_OFF = 0.4  # of the logarithm of a gain
LEAD_OFF = 0.1  # [s]


@frozen
class InFlight(Answer):
    """Of one airframe's flights; None where the flights do not show it."""

    flights: int
    flown_s: float  # that counted
    delay_s: Figure
    crossover_pitch_rad_s: Figure | None
    crossover_roll_rad_s: Figure | None
    lead_pitch_s: Figure | None
    lead_roll_s: Figure | None


class Channel(NamedTuple):
    """One axis of one flight."""

    stick: np.ndarray  # (frames,)
    # (frames, n) attitude, its rate, and what the aim may follow
    seen: scipy.interpolate.CubicSpline


def why_not(record: Record) -> str:
    """Why a flight does not count; empty where it does."""
    meta = record.meta
    if meta.get("pilot") != "thumbs":
        return "flown by no person"
    if meta.get("handed_over_at_s"):
        return "the sticks were handed over"
    if meta.get("sends") == "channels":
        return "its channels were mixed by the transmitter"
    if meta.get("fault"):
        return "flown with a fault set"
    if meta.get("changed_at_s"):
        return "the airframe was changed in flight"
    rows = _counting(record)
    if len(rows) < LEAST / FRAME:
        return f"{len(rows) * FRAME:.0f} s in the air, {LEAST:.0f} s are wanted"
    try:
        sticks = _sticks(record)
    except CannotBeMeasured as error:
        return str(error)
    if all(np.std(record.column(name)[rows]) < STILL for name in sticks):
        return "the sticks were hardly moved"
    return ""


def _sticks(record: Record) -> tuple[str, str]:
    return "stick_pitch", "stick_yaw" if steers_by_rudder(_airframe(record)) else "stick_roll"


def _airframe(record: Record) -> Airframe:
    try:
        return source(record).airframe
    except NoSource as error:
        raise CannotBeMeasured(str(error)) from None


def _counting(record: Record) -> np.ndarray:
    """Rows of the longest stretch in clear air, a frame apart."""
    time, height = record.column("time_s"), record.column("height_m")
    inside = np.flatnonzero((time > LAUNCH) & (height > CLEAR))
    if not len(inside):
        return inside
    torn = (np.diff(inside) > 1) | (np.abs(np.diff(time[inside]) - FRAME) > 0.1 * FRAME)
    return max(np.split(inside, np.flatnonzero(torn) + 1), key=len)


def _channels(record: Record) -> tuple[Channel, Channel]:
    """Pitch and bank. A row holds the sticks that led to it: they answered the row before."""
    rows, airframe = _counting(record), _airframe(record)

    def of(name: str) -> np.ndarray:
        return record.column(name)[rows]

    low, high = airframe.mixing.low, airframe.mixing.high
    slow = of("low_rates") > 0.5
    heading = np.unwrap(np.radians(of("heading_deg")))
    angles = [np.radians(of(name)) for name in ("pitch_deg", "roll_deg", "q_deg_s", "p_deg_s")]
    pitch, bank, pitching, rolling = angles
    follows = (
        (pitch, pitching, of("height_m"), of("airspeed_m_s"), of("climb_m_s"), np.abs(bank)),
        (bank, rolling, heading),
    )
    found = []
    names = _sticks(record)
    for name, seen, axis in zip(names, follows, ("pitch", names[1][len("stick_") :]), strict=True):
        share = getattr(low, axis) / max(getattr(high, axis), 1e-9)
        stick = of(name)[1:] * np.where(slow[1:], share, 1.0)
        table = np.array(seen).T[:-1]
        found.append(Channel(stick, scipy.interpolate.CubicSpline(np.arange(len(table)), table)))
    return found[0], found[1]


class Answered(NamedTuple):
    """A channel at one delay and lag."""

    surprise: float  # minus the logarithm of the likelihood, but for a constant
    gains: np.ndarray  # (2,) stick per radian of attitude and per rad/s
    unsure: np.ndarray  # (2, 2) covariance


def answered(channel: Channel, delay: float, lag: float) -> Answered:
    """The likeliest gains, regression and noise in turn."""
    step = -np.expm1(-FRAME / lag)
    stick = channel.stick
    wanted = (stick[1:] - (1.0 - step) * stick[:-1]) / step
    frames = np.arange(1, len(stick))
    drift = (frames - frames.mean()) / len(frames)
    seen = channel.seen(frames - delay / FRAME)
    table = np.column_stack([seen, np.ones(len(frames)), drift])[MEMORY:]
    wanted, free = wanted[MEMORY:], np.abs(stick[1:])[MEMORY:] < END
    whole = [free[ORDER - k : len(free) - k] for k in range(ORDER + 1)]
    good = np.logical_and.reduce(whole)
    noise = np.array([1.0, -0.95] + [0.0] * (ORDER - 1))
    for _ in range(ROUNDS):
        heard = scipy.signal.lfilter(noise, [1.0], table, axis=0)[ORDER:][good]
        done = scipy.signal.lfilter(noise, [1.0], wanted)[ORDER:][good]
        weights = np.linalg.lstsq(heard, done, rcond=None)[0]
        left = wanted - table @ weights
        before = np.column_stack([left[ORDER - k : len(left) - k] for k in range(1, ORDER + 1)])
        kept = np.linalg.lstsq(before[good], left[ORDER:][good], rcond=None)[0]
        noise = np.concatenate([[1.0], -kept])
    power = float(np.mean((done - heard @ weights) ** 2)) + 1e-12
    unsure = power * np.linalg.pinv(heard.T @ heard, hermitian=True)
    surprise = len(done) * (0.5 * np.log(power) + np.log(step))
    return Answered(float(surprise), -weights[:2], unsure[:2, :2])


def in_flight(steered: Element, records: Sequence[Record]) -> InFlight:
    """Of records of one airframe that all count (`why_not`). Raises CannotBeMeasured."""
    channels = [_channels(record) for record in records]

    def surprise(at: np.ndarray) -> float:
        here = np.clip(at, *np.array(BOUNDS).T)
        return sum(answered(one, here[0], np.exp(here[1])).surprise for c in channels for one in c)

    starts = [np.array([delay, np.log(lag)]) for delay in DELAYS for lag in LAGS]
    start = min(starts, key=surprise)
    corners = start + np.array([[0.0, 0.0], [0.04, 0.0], [0.0, 0.3]])
    options = {"xatol": 1e-3, "fatol": 0.05, "maxiter": 60, "initial_simplex": corners}
    best = scipy.optimize.minimize(surprise, start, method="Nelder-Mead", options=options)
    low, high = np.array(BOUNDS).T
    if not low[0] + 0.01 < best.x[0] < high[0] - 0.01:
        raise CannotBeMeasured("what the sticks did in these flights answers nothing that was seen")
    unsure = _covariance(surprise, best.x, best.fun)
    holds = [_hold(steered, axis, channels, best.x, unsure) for axis in range(2)]
    if holds == [None, None]:
        raise CannotBeMeasured("what the sticks did in these flights holds no attitude")
    pitch, roll = (hold or (None, None) for hold in holds)
    spread = float(np.hypot(unsure[0, 0] ** 0.5, DELAY_OFF))
    return InFlight(
        flights=len(records),
        flown_s=float(sum(len(_counting(record)) for record in records) * FRAME),
        delay_s=_figure(float(best.x[0]), spread),
        crossover_pitch_rad_s=pitch[0],
        crossover_roll_rad_s=roll[0],
        lead_pitch_s=pitch[1],
        lead_roll_s=roll[1],
    )


def _figure(value: float, spread: float) -> Figure:
    return Figure(value, value - SURE * spread, value + SURE * spread)


def _covariance(surprise, at: np.ndarray, here: float) -> np.ndarray:
    """(2, 2) of delay and ln lag, by the curvature; of no more variance than 1."""
    a, b = np.diag(STEPS)
    curved = np.zeros((2, 2))
    for k, step in enumerate((a, b)):
        curved[k, k] = (surprise(at + step) + surprise(at - step) - 2.0 * here) / STEPS[k] ** 2
    mixed = (
        surprise(at + a + b) + surprise(at - a - b) - surprise(at + a - b) - surprise(at - a + b)
    )
    curved[0, 1] = curved[1, 0] = mixed / (4.0 * STEPS[0] * STEPS[1])
    values, ways = np.linalg.eigh(curved)
    return (ways / np.maximum(values, 1.0)) @ ways.T


def _hold(
    steered: Element,
    axis: int,
    channels: Sequence[tuple[Channel, Channel]],
    at: np.ndarray,
    unsure: np.ndarray,
) -> tuple[Figure, Figure] | None:
    """Crossover and lead of an axis; None where the stick does not answer the attitude surely."""

    def gains(at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        found = [answered(one[axis], at[0], np.exp(at[1])) for one in channels]
        weights = [np.linalg.pinv(one.unsure, hermitian=True) for one in found]
        spread = np.linalg.pinv(sum(weights), hermitian=True)
        told = sum(w @ one.gains for w, one in zip(weights, found, strict=True))
        return spread @ told, spread

    here, spread = gains(at)
    slopes = np.array([(gains(at + step)[0] - here) / step.sum() for step in np.diag(STEPS)]).T
    spread = spread + slopes @ unsure @ slopes.T
    gain, lead = float(here[0]), float(here[1] / here[0])
    if gain < SURE * spread[0, 0] ** 0.5:
        return None
    crossed = steered.crossover(axis, gain, lead)
    if crossed is None:
        return None
    turned = np.array([-lead, 1.0]) / gain
    lead_spread = float(np.hypot(np.sqrt(turned @ spread @ turned), LEAD_OFF))
    far = np.exp(SURE * np.hypot(np.sqrt(spread[0, 0]) / gain, GAIN_OFF))
    ends = [steered.crossover(axis, gain * one, lead) for one in (1.0 / far, far)]
    least, most = (end if end is not None else crossed / far for end in ends)
    return Figure(crossed, least, most), _figure(lead, lead_spread)


def together(exercises: Measured, flown: InFlight) -> Measured:
    """Both measurements of each figure as one, each by how sure it is."""
    changed: dict[str, Any] = {
        name: _both(getattr(exercises, name), other, name.startswith("crossover"))
        for name in ("delay_s", *(f"{k}_{a}_{u}" for k, u in KINDS for a in ("pitch", "roll")))
        if (other := getattr(flown, name)) is not None
    }
    return replace(exercises, **changed)


KINDS = (("crossover", "rad_s"), ("lead", "s"))


def _both(one: Figure, other: Figure, logs: bool) -> Figure:
    """By inverse variances; of what is a scale, of its logarithm."""
    there, back = (np.log, np.exp) if logs else (np.asarray, np.asarray)
    values, spreads = [], []
    for figure in (one, other):
        value, low, high = there([figure.value, figure.low, figure.high])
        values.append(float(value))
        spreads.append(max(float(high - low) / (2.0 * SURE), 1e-9))
    weights = 1.0 / np.array(spreads) ** 2
    value, spread = float(weights @ values / weights.sum()), float(weights.sum() ** -0.5)
    return Figure(*(float(back(value + z * spread)) for z in (0.0, -SURE, SURE)))


def groups(records: Sequence[Record]) -> list[list[Record]]:
    """Of one airframe as it was, each: the one with the most flights last."""
    found: dict[str, list[Record]] = {}
    for record in records:
        found.setdefault(str(record.meta.get("fingerprint")), []).append(record)
    return sorted(found.values(), key=len)
