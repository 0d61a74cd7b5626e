"""What a record shows of the hands: a stick that went the wrong way, too far, or too late.

An error is how far the airframe is tilted, and where its rate takes it in `AHEAD`; a hand that
flies answers it a delay later, against it. Each quarter of a second in which it answers is taken
for a coin of its own: right hands push against the error four times in five, wrong ones as often
along with it. Which airframe it was is no matter: with a channel reversed, right hands still push
against what they see. Nothing is said where nothing came of it. All numbers are our judgement.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import log, radians
from typing import NamedTuple

import numpy as np

from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.circumstances import SLIPS, Circumstance

AHEAD = 0.25  # s
DELAY = 0.3  # from eye to stick, of usual hands [s]
BIT = 0.25  # s
ANSWERS = 0.15  # of a stick
TELLS = log(0.8 / 0.2)  # of one coin
LATE = 0.55  # delay from which hands are late [s]
DELAYS = np.arange(0.15, 1.01, 0.05)
FAR = 0.75  # of a stick, from which it is far
SWINGS = 2  # from one side to the other, at the least, of hands that rock it
WORSE = 0.8  # of the swing before, that a swing which does not die away has
CHAIN = log(4.0)  # evidence of each such swing


class Axis(NamedTuple):
    """One stick and what it is for; `wide`: an error that matters, `lost`: trouble [rad]."""

    name: str
    angle: str
    rate: str
    wide: float
    lost: float


AXES = (
    Axis("roll", "roll_deg", "p_deg_s", radians(8.0), radians(45.0)),
    Axis("pitch", "pitch_deg", "q_deg_s", radians(8.0), radians(30.0)),
)


def hands_seen(record: Record, until: float) -> tuple[Circumstance, ...]:
    """Slips of the hands that speak for themselves, each with its evidence against usual hands."""
    found = [one for axis in AXES for one in _of_axis(record, axis, until)]
    return tuple(one for one in found if one.log_evidence > 0.0)


def _of_axis(record: Record, axis: Axis, until: float) -> Iterator[Circumstance]:
    time = record.column("time_s")
    flown = (time > 0.0) & (time <= until)
    if flown.sum() < 3 * round(60.0 * DELAY):
        return
    time, stick = time[flown], record.column(f"stick_{axis.name}")[flown]
    angle = np.unwrap(np.radians(record.column(axis.angle)[flown]))
    angle = angle - angle[0] if axis.name == "pitch" else angle
    error = angle + AHEAD * np.radians(record.column(axis.rate)[flown])
    over = np.flatnonzero(np.abs(angle) > axis.lost)
    if not over.size:
        return
    end = int(over[0]) + 1
    yield from _wrong_way(axis, time[:end], stick[:end], error[:end])
    yield from _rocked(axis, time, stick, error)


def _wrong_way(axis: Axis, time, stick, error) -> Iterator[Circumstance]:
    """Up to where it was lost."""
    back = round(60.0 * DELAY)
    answer, seen = stick[back:], error[: len(error) - back]
    telling = (np.abs(answer) > ANSWERS) & (np.abs(seen) > axis.wide)
    if not telling.any():
        return
    along = np.where(telling, np.sign(answer * seen), 0.0)
    coins = float(along.sum()) / (60.0 * BIT)
    start = float(time[back:][telling][0])
    share = float(np.mean(along[telling] > 0.0))
    yield Circumstance(
        f"{axis.name}-wrong-way",
        TELLS * coins + log(SLIPS),
        start,
        share,
        f"from {start:.1f} s the {axis.name} stick was pushed the wrong way, towards the "
        f"{'bank' if axis.name == 'roll' else 'way the nose went'} for {100 * share:.0f} % of "
        "the time",
    )


def _rocked(axis: Axis, time, stick, error) -> Iterator[Circumstance]:
    """Swings from side to side that do not die away under a stick that works against them."""
    peaks = _peaks(error, axis.wide)
    swings = 0
    for before, now in pairwise(peaks):
        swings = swings + 1 if abs(error[now]) > WORSE * abs(error[before]) else 0
    if swings < SWINGS:
        return
    first = peaks[-1 - swings]
    inside = slice(first, len(stick))
    far = float(np.percentile(np.abs(stick[inside]), 75.0))
    delay = _delay(stick, error)
    late = delay >= LATE
    if not late and far < FAR:
        return
    start = float(time[first])
    name, told = (
        ("too-late", f"followed what it was for {delay:.1f} s late")
        if late
        else ("too-much", f"went from one end to the other, {100 * far:.0f} % and more")
    )
    yield Circumstance(
        f"{axis.name}-{name}",
        CHAIN * swings + log(SLIPS),
        start,
        delay if late else far,
        f"from {start:.1f} s the {axis.name} stick {told}, and rocked it {swings} times",
    )


def _peaks(error: np.ndarray, wide: float) -> list[int]:
    """Rows of the largest error on each side in turn, of those wider than what matters."""
    found: list[int] = []
    for row, value in enumerate(error):
        if abs(value) < wide:
            continue
        if found and error[found[-1]] * value > 0.0:
            if abs(value) > abs(error[found[-1]]):
                found[-1] = row
        else:
            found.append(row)
    return found


def _delay(stick: np.ndarray, error: np.ndarray) -> float:
    """At which the stick goes most against the error [s]."""
    fits = []
    for delay in DELAYS:
        back = round(60.0 * delay)
        if len(stick) - back < round(60.0 * 3 * DELAY):
            break
        one, other = stick[back:], error[: len(error) - back]
        fits.append(float(np.corrcoef(one, other)[0, 1]) if np.ptp(one) and np.ptp(other) else 0.0)
    return float(DELAYS[int(np.argmin(fits))]) if fits else 0.0
