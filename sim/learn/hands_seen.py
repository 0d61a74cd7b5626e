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
FAR = 0.5  # of a stick, from which it is far
SWING = 0.7  # of what is trouble, that a swing from side to side is
WORSE = 0.7  # of the swing before, that a swing which does not die away has
USUAL, LATE = 0.35, 0.9  # that it leans before an answer comes, of usual hands and late ones [s]
WRONG = 0.25  # of the time that it leaned, with the stick on that side
ABOUT = 0.4  # standard deviation of the logarithm of either


class Axis(NamedTuple):
    """One stick and what it is for; `wide`: an error that matters, `lost`: trouble, `over`: from
    where on no stick is right [rad]."""

    name: str
    angle: str
    rate: str
    wide: float
    lost: float
    over: float


AXES = (
    Axis("roll", "roll_deg", "p_deg_s", radians(8.0), radians(45.0), radians(150.0)),
    Axis("pitch", "pitch_deg", "q_deg_s", radians(8.0), radians(30.0), radians(75.0)),
)


def hands_seen(record: Record, until: float) -> tuple[Circumstance, ...]:
    """Slips of the hands that speak for themselves, each with its evidence against usual hands;
    none of sticks that nobody moves."""
    sticks = [record.column(f"stick_{axis.name}") for axis in AXES]
    if max(np.ptp(stick) for stick in sticks) < ANSWERS:
        return ()
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
    gone = np.flatnonzero(np.abs(angle) > axis.over)
    end = int(gone[0]) if gone.size else len(angle)
    yield from _wrong_way(axis, time[:end], stick[:end], error[:end])
    yield from _rocked(axis, time[:end], stick[:end], error[:end])
    yield from _late(axis, time[:end], stick[:end], angle[:end])


def _wrong_way(axis: Axis, time, stick, error) -> Iterator[Circumstance]:
    """Which side of the error the stick was on, a delay later."""
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
    """Swings from side to side that do not die away under a stick that goes far."""
    peaks = _peaks(error, axis.wide)
    swings, most, first = 0, 0, 0
    for before, now in pairwise(peaks):
        size = abs(error[now])
        goes_on = size > axis.lost * SWING and size > WORSE * abs(error[before])
        swings = swings + 1 if goes_on else 0
        if swings > most:
            most, first = swings, peaks[peaks.index(now) - swings]
    if not most:
        return
    far = float(np.percentile(np.abs(stick[first:]), 75.0))
    if far < FAR:
        return
    start = float(time[first])
    yield Circumstance(
        f"{axis.name}-too-much",
        TELLS * most + log(SLIPS),
        start,
        far,
        f"from {start:.1f} s the {axis.name} stick went too far, {100 * far:.0f} % and more each "
        f"way, and rocked it {most} times from side to side",
    )


def _late(axis: Axis, time, stick, angle) -> Iterator[Circumstance]:
    """How long it leaned each time before the stick answered, as normal logarithms."""
    lasted, start = [], 0.0
    tilted = np.abs(angle) > 2.0 * axis.wide
    edges = np.flatnonzero(np.diff(np.concatenate([[False], tilted, [False]])))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        against = -np.sign(angle[begin]) * stick[begin:end] > ANSWERS
        along = np.sign(angle[begin]) * stick[begin:end] > ANSWERS
        if along.mean() > WRONG:
            continue  # the wrong way, and not late
        waited = (int(np.argmax(against)) if against.any() else end - begin) / 60.0
        if against.any() or waited > LATE:
            lasted.append(max(waited, 0.1))
            start = start or float(time[begin])
    if not lasted:
        return
    off = np.log(np.array(lasted))
    gain = ((off - log(USUAL)) ** 2 - (off - log(LATE)) ** 2) / (2.0 * ABOUT**2)
    typical = float(np.median(lasted))
    yield Circumstance(
        f"{axis.name}-too-late",
        float(gain.sum()) + log(SLIPS),
        start,
        typical,
        f"from {start:.1f} s the {axis.name} stick answered late: {typical:.1f} s after it had "
        f"leaned by {np.degrees(2.0 * axis.wide):.0f} deg",
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
