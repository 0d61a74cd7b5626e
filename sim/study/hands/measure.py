"""What is measured of a person's hands from the three exercises, or why nothing can be.

The likeliest parameters (`likelihood`), with 95 % intervals from the curvature of the likelihood
there (Fisher's information, as observed). Jumps tell how often the first move goes the wrong way,
with Jeffreys' interval (Brown, Cai and DasGupta, Statistical Science 16 (2001), from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.flight.skills import SKILLS, Skill
from firstthrow.sim.study.hands import likelihood as of
from firstthrow.sim.study.hands.element import FRAME, Element
from firstthrow.sim.study.hands.exercise import MEASURED, NAMES, STEERED, Flown
from firstthrow.sim.study.hands.sides import Side, sides

STARTS = ((0.3, 0.15), (0.2, 0.35), (0.45, 0.08))  # delay and lag the search begins with [s]
SHORT, LONG = 12, 120  # steps of a search
# The remnant follows the error and is not steady, as the likelihood takes it: what was found of 20
# simulated pilots scattered 0.9 to 1.3 times as far as its curvature says, so intervals are wider.
WIDER = 1.2
SURE = 1.959963984540054  # standard deviations of a 95 % interval
STILL = 0.01  # a stick that moves less was not used, root mean square of its travel
AT_ENDS = 0.35  # share of the time a stick may be at its ends
END = 0.95  # of its travel
AT_LIMIT = 0.003  # share of the time a stick moves as fast as it can, where that is its limit
EXPLAINED = 0.15  # least share of the stick's power, up to MOST, that what was seen explains
MOVED = 0.02  # bend in a stick's way that counts as a first move
FIRST = 0.15  # [s] before and after it, once the delay is over
RIGHTED = 1.0  # [s] after which a wrong one is over at the latest


class CannotBeMeasured(ValueError):
    """With the reason, as the person is told it."""


@frozen
class Figure(Answer):
    """A value with its 95 % interval."""

    value: float
    low: float
    high: float

    def holds(self, other: float) -> bool:
        return self.low <= other <= self.high


@frozen
class Measured(Answer):
    """Hands as measured, SI."""

    delay_s: Figure
    lag_s: Figure
    dead_zone_rad: Figure
    remnant: Figure  # root mean square over that of the error seen
    remnant_time_s: Figure
    gain_pitch_per_rad: Figure  # stick per radian, on the airframe of the exercises
    gain_roll_per_rad: Figure
    lead_pitch_s: Figure
    lead_roll_s: Figure
    trimming_per_s: Figure
    crossover_pitch_rad_s: Figure  # carried over to other airframes
    crossover_roll_rad_s: Figure
    stick_speed_per_s: float  # fastest seen, full throws a second
    stick_is_limited: bool  # whether it stops there; else it may be faster
    first_moves: int
    wrong_moves: int
    wrong_chance: Figure
    wrong_for_s: float | None  # None: none was seen
    explained_fraction: float  # of the sticks' power
    keys: bool = False  # keys moved the stick at their own pace: how fast hands are does not show
    side_pitch: Side | None = None  # None: measured before this was looked at
    side_roll: Side | None = None

    @property
    def speed_shows(self) -> bool:
        """Whether it was the hand that stopped at the stick's speed."""
        return self.stick_is_limited and not self.keys

    @property
    def skill(self) -> Skill:
        """The same as a pilot. How speed and height are misjudged the exercises do not show: as
        club hands do; nor how fast a stick is that was never hurried: as theirs at least."""
        club = SKILLS["club"]
        return Skill(
            delay=self.delay_s.value,
            lag=self.lag_s.value,
            crossover=self.crossover_pitch_rad_s.value,
            stick_speed=self.stick_speed_per_s
            if self.speed_shows
            else max(self.stick_speed_per_s, club.stick_speed),
            dead_zone=self.dead_zone_rad.value,
            wrong_chance=self.wrong_chance.value,
            wrong_for=club.wrong_for if self.wrong_for_s is None else self.wrong_for_s,
            wander=0.0,
            misjudged=club.misjudged,
            crossover_roll=self.crossover_roll_rad_s.value,
            lead_pitch=self.lead_pitch_s.value,
            lead_roll=self.lead_roll_s.value,
            trimming=self.trimming_per_s.value,
            remnant=self.remnant.value,
            remnant_time=self.remnant_time_s.value,
        )


def measure(steered: Element, runs: Sequence[Flown], keys: bool = False) -> Measured:
    """Of the three exercises in their order; `keys`: done with a keyboard. Raises
    CannotBeMeasured."""
    _usable(runs)
    heard = of.Heard(steered, runs)
    at = _likeliest(heard)
    explained = _explained(at, heard)
    if explained < EXPLAINED:
        raise CannotBeMeasured(
            f"only {100.0 * explained:.0f} % of what the sticks did answers what was to be seen"
        )
    unsure = _covariance(at, heard)
    figures = [_figure(k, at[k], unsure[k, k] ** 0.5) for k in range(len(at))]
    crossed = [_crossover(steered, axis, at, unsure) for axis in range(2)]
    fastest, limited = stick_speed(runs)
    wrong, moves, lasted = first_moves(runs, figures[of.DELAY].value)
    low, high = scipy.stats.beta.ppf((0.025, 0.975), wrong + 0.5, moves - wrong + 0.5)
    lean = sides(heard, at, WIDER)
    chance = Figure((wrong + 0.5) / (moves + 1.0), float(low), float(high))
    return Measured(
        delay_s=figures[of.DELAY],
        lag_s=figures[of.LAG],
        dead_zone_rad=figures[of.DEAD_ZONE],
        remnant=figures[of.REMNANT],
        remnant_time_s=figures[of.REMNANT_TIME],
        gain_pitch_per_rad=figures[of.GAIN_PITCH],
        gain_roll_per_rad=figures[of.GAIN_ROLL],
        lead_pitch_s=figures[of.LEAD_PITCH],
        lead_roll_s=figures[of.LEAD_ROLL],
        trimming_per_s=figures[of.TRIMMING],
        crossover_pitch_rad_s=crossed[0],
        crossover_roll_rad_s=crossed[1],
        stick_speed_per_s=fastest,
        stick_is_limited=limited,
        first_moves=moves,
        wrong_moves=wrong,
        wrong_chance=chance,
        wrong_for_s=lasted,
        explained_fraction=explained,
        keys=keys,
        side_pitch=lean[0],
        side_roll=lean[1],
    )


def _usable(runs: Sequence[Flown]) -> None:
    if [run.kind for run in runs] != list(range(len(NAMES))):
        raise CannotBeMeasured("wanted all three exercises")
    for run in runs:
        why = unusable(run)
        if why:
            raise CannotBeMeasured(why)


def unusable(run: Flown) -> str:
    """Why one exercise shows nothing; empty where it may."""
    name = NAMES[run.kind]
    for axis in STEERED[run.kind]:
        stick, which = run.sticks[0 if run.lost else MEASURED :, axis], ("pitch", "roll")[axis]
        ends = float(np.mean(np.abs(stick) > END))
        if ends > AT_ENDS:
            return (
                f"the {which} stick was at its ends for {100.0 * ends:.0f} % of the exercise "
                f"'{name}': full left, full right is no hand that can be measured"
            )
        if not run.lost and np.std(stick) < STILL:
            return (
                f"the {which} stick was hardly moved in the exercise '{name}': hands that do "
                "nothing cannot be measured"
            )
    if run.lost:
        return f"it was lost after {len(run.errors) * FRAME:.0f} s of the exercise '{name}'"
    return ""


def _likeliest(heard: of.Heard) -> np.ndarray:
    """The best of a few short searches, searched on."""
    low, high = np.array(of.BOUNDS).T
    found = []
    for delay, lag in STARTS:
        start = np.array([delay, np.log(lag), 0.03, np.log(0.5), np.log(0.2), 0, 0, 0.0, 0.0, 0.1])
        for axis in range(2):
            mine = heard.axes == axis
            stick = np.mean(np.var(heard.sticks[mine, MEASURED:], axis=1))
            start[of.GAIN_PITCH + axis] = 0.5 * np.log(stick / np.mean(heard.power[mine]))
        found.append(_search(heard, np.clip(start, low, high), SHORT))
    best = min(found, key=lambda one: one.fun)
    return _search(heard, best.x, LONG).x


def _search(heard: of.Heard, start: np.ndarray, most: int):
    options = {"eps": 1e-5, "maxiter": most}
    return scipy.optimize.minimize(
        heard.surprise, start, (), "L-BFGS-B", bounds=of.BOUNDS, options=options
    )


def _covariance(at: np.ndarray, heard: of.Heard) -> np.ndarray:
    """Of the parameters; none of those at a bound, the others with it held there."""
    low, high = np.array(of.BOUNDS).T
    free = np.flatnonzero((at > low + 1e-6) & (at < high - 1e-6))
    step = np.full(len(at), 0.02)
    for _ in range(2):  # steps as wide as the likelihood is: over bends of the dead zone
        curved = _curvature(at, heard, free, step)
        step[free] = 0.5 / np.sqrt(np.maximum(np.diag(curved), 1e-2))
    found = np.zeros((len(at), len(at)))
    found[np.ix_(free, free)] = WIDER**2 * np.linalg.pinv(curved, hermitian=True)
    return found


def _curvature(at: np.ndarray, heard: of.Heard, free: np.ndarray, step: np.ndarray) -> np.ndarray:
    """(free, free) second derivatives of the surprise by central differences."""
    n = len(free)
    found = np.zeros((n, n))
    moved = np.diag(step)[free]
    here = heard.surprise(at)

    def there(change: np.ndarray) -> float:
        return heard.surprise(at + change)

    ends = [(there(m), there(-m)) for m in moved]
    for i in range(n):
        found[i, i] = (ends[i][0] - 2.0 * here + ends[i][1]) / step[free[i]] ** 2
        for j in range(i):
            mixed = there(moved[i] + moved[j]) + there(-moved[i] - moved[j]) + 2.0 * here
            mixed -= sum(ends[i]) + sum(ends[j])
            found[i, j] = found[j, i] = 0.5 * mixed / (step[free[i]] * step[free[j]])
    return found


def _figure(k: int, value: float, spread: float) -> Figure:
    ends = value - SURE * spread, value + SURE * spread
    if k in of.LOGS:
        return Figure(*(float(np.exp(one)) for one in (value, *ends)))
    least = 0.0 if k in (of.DELAY, of.DEAD_ZONE, of.TRIMMING) else -np.inf
    return Figure(float(value), float(max(ends[0], least)), float(ends[1]))


def _crossover(steered: Element, axis: int, at: np.ndarray, unsure: np.ndarray) -> Figure:
    """With its interval by the slopes over gain and lead."""
    which = [of.GAIN_PITCH + axis, of.LEAD_PITCH + axis]

    def crossed(gain: float, lead: float) -> float:
        found = steered.crossover(axis, float(np.exp(gain)), lead)
        if found is None:
            name = ("pitch", "roll")[axis]
            raise CannotBeMeasured(f"the {name} stick answers too weakly to hold anything")
        return float(np.log(found))

    here, step = at[which], 0.02
    value = crossed(*here)
    slope = np.array([(crossed(*(here + step * one)) - value) / step for one in np.eye(2)])
    spread = float(np.sqrt(slope @ unsure[np.ix_(which, which)] @ slope))
    return Figure(*(float(np.exp(value + z * spread)) for z in (0.0, -SURE, SURE)))


def _explained(at: np.ndarray, heard: of.Heard) -> float:
    """Share of what moved the sticks, at the frequencies that count, that is no remnant."""
    answered = np.sum(np.abs(heard.answered(at)) ** 2)
    return float(answered / (answered + np.sum(np.abs(heard.remnant(at)) ** 2)))


def stick_speed(runs: Sequence[Flown]) -> tuple[float, bool]:
    """Fastest stick over three frames, full throws a second, and whether it is often as fast as
    that and never faster: a limit."""
    moved = np.concatenate([np.abs(run.sticks[3:] - run.sticks[:-3]).ravel() for run in runs])
    most = float(moved.max())
    return most / (3.0 * FRAME), bool(np.mean(moved > 0.97 * most) > AT_LIMIT)


def first_moves(runs: Sequence[Flown], delay: float) -> tuple[int, int, float | None]:
    """How many first moves went wrong, how many there were, and how long wrong ones lasted [s]:
    until the stick turned back."""
    wrong, moves, lasted = 0, 0, []
    wait, first, last = (round(time / FRAME) for time in (delay, FIRST, RIGHTED))
    for run in runs:
        for jump in run.jumps:
            start = jump.frame + wait
            after = np.sign(jump.size) * run.sticks[start : start + last, jump.axis]
            before = np.sign(jump.size) * run.sticks[start - first, jump.axis]
            bend = after[first] - 2.0 * after[0] + before
            if abs(bend) < MOVED:
                continue
            moves += 1
            if bend < 0.0:
                wrong += 1
                lasted.append(FRAME * int(np.argmin(after)))
    return wrong, moves, float(np.mean(lasted)) if lasted else None
