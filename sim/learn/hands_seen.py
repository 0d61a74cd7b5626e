"""What a record shows of the hands: a stick that went the wrong way, too far, or too late.

A hand that flies answers what is seen, an angle and its rate, a reaction later and against it. So
much of a stick's variance is explained by that at each delay, with either sign: of a regression
with normal errors, each quarter of a second of them taken for one, the likelihood of that delay
(e.g. Bishop, Pattern Recognition and Machine Learning, 2006, sect. 3.1). Hands that are usual and
hands that are late scatter about their delays; hands that go the wrong way answer with the other
sign. A person's delay is the same on both sticks. Which airframe it was is no matter: with a
channel reversed, right hands still push against what they see. Nothing is said where nothing came
of it.

The usual scatter is that of `flight.skills` and of keys, whose thumbs see as club hands do: 0.30 to
0.55 s from eye to stick, by keys 0.45 to 0.65 s; how often each rocks an airframe and how far
its sticks then go per radian was counted on 80 flights of `pantry` by usual hands and 32 by hands
that do four times as much (seeds from 7000 on of `benchmarks/diagnose.py`). Keys rest at nothing or
at their end for 64 to 96 % of the time there, sticks for 4 to 33 %; keys rock an airframe whoever
presses them, and much and too much differ less by them. All other numbers are our judgement.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import log, radians
from typing import NamedTuple

import numpy as np

from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.skills import SKILLS, hands
from firstthrow.sim.learn.circumstances import SLIPS, Circumstance
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject

SLIPS_OF_HANDS = ("wrong-way", "too-much", "too-late")  # each of roll or of pitch
DELAYS = np.arange(6, 76, 3)  # from eye to stick that are tried [readings]
LEADS = (0.0, 0.15, 0.3)  # s
LEAST = 24  # readings that tell of a delay
WISHED = 36  # and for which the longest delays are left out
BIT = 15  # readings that tell as much as one that stands alone
TELLS = log(0.8 / 0.2)  # of a side: right hands are on the right one four times in five
STIRRED = 0.05  # of a stick, standard deviation
USUAL, ABOUT = 0.42, 0.25  # delay of usual hands [s], standard deviation of its logarithm
LATE, ABOUT_LATE = 1.0, 0.2  # of late ones
AHEAD = 0.25  # s, of a swing
DELAY = 0.3  # s, from which the way of an answer is told
ANSWERS = 0.15  # of a stick
FAR = 0.5  # of a stick, from which it is far
END = 0.95  # of a stick, from which it may have been meant to go further
SWING = 0.7  # of what is trouble, that a swing from side to side is
WORSE = 0.7  # of the swing before, that a swing which does not die away has
PRESSED = 0.5  # of the time that a stick rests at nothing, or far but short of its end: a key
STILL = 1e-3  # of a stick
# Of a stick, in a reading: from where a move counts, the share of the move before it to which it
# slows down at most; how far most of these are apart of a key, and of how many.
SLOW, SLOWS, SPRUNG, OFTEN = 0.005, 0.95, 0.01, 6
FITS = 0.6  # share of a stick's variance from which its answer has a size
MOST_KEEN = 3.0  # log evidence that one size may bring


class Habit(NamedTuple):
    """Stick per radian over that of club hands, of usual ones and of those that do too much: each
    with the standard deviation of its logarithm; log evidence of a swing that does not die away,
    for too much, and of how many at most."""

    usual: float
    about: float
    much: float
    about_much: float
    swing: float
    swings: int


BY_STICK = Habit(0.72, 0.3, 1.5, 0.28, 2.3, 2)  # two swings in 20 of 24 flights, and in 0 of 60
BY_KEY = Habit(1.1, 0.17, 1.5, 0.3, 0.0, 0)  # in 6 of 8 flights, and in 10 of 20


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


class Answers(NamedTuple):
    """How a stick answers what is seen, at each of DELAYS: the share of its variance that is
    explained, against the error and along with it; and stick per radian, short of its ends."""

    against: np.ndarray
    along: np.ndarray
    gain: np.ndarray
    readings: int

    def log_likelihood(self, share: np.ndarray) -> np.ndarray:
        return -0.5 * self.readings / BIT * np.log(np.maximum(1.0 - share, 1e-3))


class Hand(NamedTuple):
    """One stick and its axis until no stick is right any more; `trouble`: it came to that."""

    axis: Axis
    time: np.ndarray
    stick: np.ndarray
    angle: np.ndarray
    rate: np.ndarray
    trouble: bool
    answers: Answers | None

    @property
    def habit(self) -> Habit:
        size = np.abs(self.stick)
        rests = (size < STILL) | ((size > size.max() - STILL) & (size < END))
        still = np.abs(np.diff(self.stick)) < STILL
        pressed = float(np.mean(still & rests[1:])) > PRESSED
        return BY_KEY if pressed or _springs(self.stick) else BY_STICK


def _springs(stick: np.ndarray) -> bool:
    """Whether a stick slows down by the same share from reading to reading, as what a key has
    pushed does once it is let go, wherever its trim is, and no thumb."""
    moves = np.diff(stick)
    slows = np.abs(moves[:-1]) > SLOW
    share = moves[1:][slows] / moves[:-1][slows]
    share = share[(share > 0.0) & (share < SLOWS)]
    if share.size < OFTEN:
        return False
    return bool(np.mean(np.abs(share - np.median(share)) < SPRUNG) > PRESSED)


def hands_seen(record: Record, until: float, subject: Subject) -> tuple[Circumstance, ...]:
    """Slips of the hands that speak for themselves, each with its evidence against usual hands;
    none of sticks that nobody moves."""
    both = [hand for axis in AXES for hand in [_hand(record, axis, until)] if hand]
    found = list(_late(both))
    for hand in both:
        if hand.trouble:
            found += [*_wrong_way(hand), *_rocked(hand, both, subject)]
    return tuple(_once([one for one in found if one.told]))


def of_hands(name: str) -> bool:
    """Whether a circumstance is a slip of the hands."""
    return name.endswith(SLIPS_OF_HANDS)


def _once(found: list[Circumstance]) -> Iterator[Circumstance]:
    """The same slip on both sticks is one slip of the same hands, which either stick may tell."""
    for slip in SLIPS_OF_HANDS:
        same = [one for one in found if one.name.endswith(slip)]
        if not same:
            continue
        first, *rest = sorted(same, key=lambda one: -one.log_evidence)
        words = first.words + "".join(f"; the {one.name.split('-')[0]} stick too" for one in rest)
        evidence = float(np.logaddexp.reduce([one.log_evidence for one in same]))
        yield first._replace(log_evidence=evidence, words=words)


def came_to_trouble(record: Record, until: float) -> bool:
    """Whether a bank or the nose went so far that hands may be asked about it."""
    both = (_hand(record, axis, until) for axis in AXES)
    return any(hand.trouble for hand in both if hand is not None)


def _hand(record: Record, axis: Axis, until: float) -> Hand | None:
    time = record.column("time_s")
    flown = (time > 0.0) & (time <= until)
    if flown.sum() < LEAST:
        return None
    angle = np.unwrap(np.radians(record.column(axis.angle)[flown]))
    angle = angle - angle[0] if axis.name == "pitch" else angle
    trouble = bool((np.abs(angle) > axis.lost).any())
    gone = np.flatnonzero(np.abs(angle) > axis.over)
    end = int(gone[0]) if gone.size else len(angle)
    stick = record.column(f"stick_{axis.name}")[flown][:end]
    rate = np.radians(record.column(axis.rate)[flown][:end])
    angle = angle[:end]
    return Hand(axis, time[flown][:end], stick, angle, rate, trouble, _answers(stick, angle, rate))


def _answers(stick: np.ndarray, angle: np.ndarray, rate: np.ndarray) -> Answers | None:
    """By regression on angle and rate, both with the sign of the angle: nobody leads backwards."""
    delays = [delay for delay in DELAYS if len(stick) - delay >= WISHED] or [DELAYS[0]]
    rows = np.arange(delays[-1], len(stick))
    if len(rows) < LEAST or np.std(stick[rows]) < STIRRED:
        return None
    moved = stick[rows] - stick[rows].mean()
    free = np.abs(stick[rows]) < END
    against, along, gain = np.zeros((3, len(DELAYS)))
    for k, delay in enumerate(delays):
        for lead in LEADS:
            error = angle[rows - delay] + lead * rate[rows - delay]
            slope, share = _line(error, moved)
            way = against if slope < 0.0 else along
            if share > way[k]:
                way[k] = share
                if slope < 0.0:
                    many = free.sum() >= LEAST // 2
                    gain[k] = -_line(error[free], moved[free])[0] if many else np.inf
    return Answers(against, along, gain, len(rows))


def _line(x: np.ndarray, y: np.ndarray) -> tuple[float, float]:
    """Slope of y by x, and the share of the variance of y that it explains."""
    x, y = x - x.mean(), y - y.mean()
    slope = float(x @ y / max(x @ x, 1e-12))
    left = y - slope * x
    return slope, 1.0 - float(left @ left / max(y @ y, 1e-12))


def _scatter(about: float, spread: float) -> np.ndarray:
    """(DELAYS,) chance of each delay."""
    chance = np.exp(-0.5 * (np.log(DELAYS / 60.0 / about) / spread) ** 2)
    return chance / chance.sum()


def _usual(likelihoods: np.ndarray) -> float:
    """Log likelihood of hands with a usual delay."""
    return float(np.logaddexp.reduce(likelihoods + np.log(_scatter(USUAL, ABOUT))))


def _wrong_way(hand: Hand) -> Iterator[Circumstance]:
    """With the error, and not against it: by the regression, or, where the stick is at its end and
    all is over soon, by the side it was on, whichever tells more."""
    axis, answers = hand.axis, hand.answers
    back = round(60.0 * DELAY)
    error = hand.angle + AHEAD * hand.rate
    stick, seen = hand.stick[back:], error[: max(0, len(error) - back)]
    telling = (np.abs(stick) > ANSWERS) & (np.abs(seen) > axis.wide)
    if not telling.any():
        return
    evidence = TELLS * float(np.sign(stick * seen)[telling].sum()) / BIT
    if answers is not None:
        along = answers.log_likelihood(answers.along)
        slopes = _usual(along) - _usual(answers.log_likelihood(answers.against))
        evidence = max(evidence, slopes)
    start = float(hand.time[back:][telling][0])
    share = float(np.mean(stick[telling] * seen[telling] > 0.0))
    yield Circumstance(
        f"{axis.name}-wrong-way",
        evidence + log(SLIPS),
        start,
        share,
        f"from {start:.1f} s the {axis.name} stick was pushed the wrong way, towards the "
        f"{'bank' if axis.name == 'roll' else 'way the nose went'} for {100 * share:.0f} % of "
        "the time",
    )


def _rocked(hand: Hand, both: list[Hand], subject: Subject) -> Iterator[Circumstance]:
    """Swings from side to side that do not die away under a stick that goes far. Who does too much
    does so on both sticks as often as on one."""
    axis, time, stick = hand.axis, hand.time, hand.stick
    most, first = _swings(hand)
    if not most:
        return
    far = float(np.percentile(np.abs(stick[first:]), 75.0))
    if far < FAR:
        return
    start = float(time[first])
    other = sum(_keen(one, subject) for one in both if one is not hand)
    keen = _keen(hand, subject) + float(np.logaddexp(0.0, other)) - log(2.0)
    yield Circumstance(
        f"{axis.name}-too-much",
        _rocks(hand) + keen + log(SLIPS),
        start,
        far,
        f"from {start:.1f} s the {axis.name} stick went too far, {100 * far:.0f} % and more each "
        f"way, and rocked it {most} times from side to side",
    )


def _swings(hand: Hand) -> tuple[int, int]:
    """The most that follow one another and do not die away, and the row of the first."""
    axis, error = hand.axis, hand.angle + AHEAD * hand.rate
    peaks = _peaks(error, axis.wide)
    swings, most, first = 0, 0, 0
    for before, now in pairwise(peaks):
        size = abs(error[now])
        goes_on = size > axis.lost * SWING and size > WORSE * abs(error[before])
        swings = swings + 1 if goes_on else 0
        if swings > most:
            most, first = swings, peaks[peaks.index(now) - swings]
    return most, first


def _rocks(hand: Hand) -> float:
    """Log evidence of the swings, for hands that do too much or come too late."""
    return hand.habit.swing * min(_swings(hand)[0], hand.habit.swings)


def _keen(hand: Hand, subject: Subject) -> float:
    """Log evidence of how far the stick goes per radian, for too far."""
    if hand.answers is None:
        return 0.0
    likely = hand.answers.log_likelihood(hand.answers.against) + np.log(_scatter(USUAL, ABOUT))
    best, habit = int(np.argmax(likely)), hand.habit
    gain, club = float(hand.answers.gain[best]), _club(subject)[hand.axis.name]
    if gain <= 0.0 or club <= 0.0 or hand.answers.against[best] < FITS:
        return 0.0
    if gain == np.inf:  # it is never short of its ends
        return MOST_KEEN
    usual = log(gain / club / habit.usual) / habit.about
    much = min(0.0, log(gain / club / habit.much)) / habit.about_much
    return min(MOST_KEEN, 0.5 * (usual * abs(usual) - much**2))


@once_for(4)
def _club(subject: Subject) -> dict[str, float]:
    """Stick per radian of club hands on an airframe."""
    airframe = subject.airframe
    own = hands(SKILLS["club"], subject.model, airframe, launch_throttle(airframe))
    return {"pitch": float(own.gain_pitch), "roll": float(own.gain_roll)}


def _late(both: list[Hand]) -> Iterator[Circumstance]:
    """One delay for both sticks."""
    told = [(hand, hand.answers) for hand in both if hand.answers is not None]
    worst = max(
        (hand for hand, _ in told if hand.trouble),
        key=lambda hand: float(np.abs(hand.angle).max()) / hand.axis.lost,
        default=None,
    )
    if worst is None:
        return
    likely = np.zeros(len(DELAYS))
    for _, answers in told:
        likely += answers.log_likelihood(answers.against)
    late = likely + np.log(_scatter(LATE, ABOUT_LATE))
    evidence = float(np.logaddexp.reduce(late)) - _usual(likely)
    evidence += max(_rocks(hand) for hand, _ in told if hand.trouble)
    delay = float(DELAYS[int(np.argmax(late))]) / 60.0
    start = float(worst.time[np.argmax(np.abs(worst.angle) > worst.axis.wide)])
    yield Circumstance(
        f"{worst.axis.name}-too-late",
        evidence + log(SLIPS),
        start,
        delay,
        f"from {start:.1f} s the {worst.axis.name} stick answered late: {delay:.1f} s after what "
        "it answered",
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
