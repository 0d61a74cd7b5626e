"""What would help most: slopes of the odds, and the smallest change that reaches a fraction.

Every set-up flies the same cases (common random numbers), so that differences are much
sharper than the odds themselves; each slope carries its standard error. Source: Law,
Simulation Modeling and Analysis, ch. 11 (common random numbers). The search is COBYLA
(Powell 1994), which needs no slopes and starts with steps larger than the noise; what it
finds is flown again with cases it has not seen, since the best of many noisy batches
flatters itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import minimize

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.edit import get, put
from firstthrow.sim.flight.trims import balanced_at
from firstthrow.sim.study.advice.answer import Standing, before_and_after
from firstthrow.sim.study.advice.search import is_better, tried
from firstthrow.sim.study.band.band import limits_verdict
from firstthrow.sim.study.odds import launches
from firstthrow.sim.study.odds.arm import most_speed
from firstthrow.sim.study.odds.launches import Odds, Plan
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

SURE = 2.0  # standard errors beyond which a slope counts
TRIED = 3  # knobs the search turns at once
SEARCHES = 24  # batches of the search
POLISH = 4
CHECK = 4  # size of a check with fresh cases, in batches
CHECKS = 3  # the change is made larger and checked again, so often at most
FURTHER = 1.2
FAR = 4.0  # steps a knob may be turned either way


class Knob(NamedTuple):
    """Something a builder turns; `step` is an easy change, our assumption, `unit` shows it."""

    name: str
    key: str  # of the JSON, with the SI unit
    unit: str
    scale: float  # SI per unit shown
    step: float  # SI
    read: Callable[[Airframe], float]
    turn: Callable[[Airframe, float], Airframe]  # to an absolute value


class Slope(NamedTuple):
    knob: Knob
    value: float  # as it is
    step: float  # tried either way, SI; less where a bound is near
    gain: float  # survived fraction per step
    error: float  # its standard error

    @property
    def counts(self) -> bool:
        """Whether it stands out of the noise."""
        return bool(abs(self.gain) > SURE * self.error)


class Improvement(NamedTuple):
    """reached: whether fresh cases reach the wanted fraction, None when nothing was needed."""

    airframe: str
    want: float
    now: Odds
    slopes: list[Slope]
    changes: list[tuple[Knob, float, float]]  # knob, from, to; SI
    tuned: float | None  # fraction in the cases of the search
    checked: Odds | None  # in cases it has not seen
    reached: bool | None
    stands: tuple[Standing, Standing] | None = None  # before and after the change, checked


def _plain(name, key, unit, scale, step, path, low, high) -> Knob:
    def turn(airframe: Airframe, value: float) -> Airframe:
        return put(airframe, path.split("."), float(np.clip(value, low, high)))

    return Knob(name, key, unit, scale, step, lambda now: get(now, path.split(".")), turn)


def _expo(airframe: Airframe, value: float) -> Airframe:
    value = float(np.clip(value, 0.0, 0.9))
    for axis in ("pitch", "roll"):
        airframe = put(airframe, ("mixing", "expo", axis), value)
    return airframe


def knobs(subject: Subject) -> tuple[Knob, ...]:
    """What can be turned on this airframe; the CG in % of its mean chord."""
    deg, percent = float(np.radians(1.0)), 0.01
    throw = float(np.radians(40.0))

    def cg(now: Airframe) -> float:
        return percent * subject.percent(float(balance(parts(now)).place[0]))

    def cg_to(now: Airframe, value: float) -> Airframe:
        return balanced_at(now, subject.at_percent(value / percent))

    high, hand = "mixing.high", "launch.hand"
    found = [
        _plain("reflex", "reflex_rad", "deg", deg, deg, "mixing.reflex", -5 * deg, 15 * deg),
        _plain("pitch throw", "pitch_throw_rad", "deg", deg, 3 * deg, f"{high}.pitch", deg, throw),
        _plain("roll throw", "roll_throw_rad", "deg", deg, 3 * deg, f"{high}.roll", deg, throw),
        Knob("expo", "expo_fraction", "%", percent, 0.2, lambda a: a.mixing.expo.pitch, _expo),
        _plain("throttle", "throttle_fraction", "%", percent, 0.1, f"{hand}.throttle", 0.0, 1.0),
        _plain("throw speed", "throw_speed_m_s", "m/s", 1.0, 1.0, f"{hand}.speed", 1.0, 20.0),
    ]
    if sum(item.mass for item in subject.airframe.items.values()) > 0.0:
        name, key = "CG, % of chord", "cg_fraction_of_chord"
        found.insert(0, Knob(name, key, "%", percent, 0.02, cg, cg_to))
    return tuple(found)


# How many batches all of it takes at most, for the progress.
BATCHES = 1 + 2 * 7 + SEARCHES + TRIED + POLISH + CHECK * CHECKS


def _turned(airframe: Airframe, turned: Sequence[Knob], steps: Iterable[float]) -> Airframe:
    for knob, step in zip(turned, steps, strict=True):
        if step:
            airframe = knob.turn(airframe, knob.read(airframe) + step * knob.step)
    return airframe


def slopes(
    subject: Subject, plan: Plan, flights: int, progress: Callable[[int], None]
) -> tuple[Odds, list[Slope]]:
    """The odds as it is, and what a step of each knob changes. Raises KeyboardInterrupt."""
    airframe, turned = subject.airframe, knobs(subject)
    ends = [_turned(airframe, [knob], [way]) for knob in turned for way in (1.0, -1.0)]
    setups = [launches.setup(one, plan) for one in (subject, *map(subject.changed, ends))]
    flown = _whole(launches.run(setups, plan, flights, progress), flights)
    found = []
    for k, knob in enumerate(turned):
        up, down = flown[1 + 2 * k], flown[2 + 2 * k]
        apart = knob.read(ends[2 * k]) - knob.read(ends[2 * k + 1])
        change = (up.alive.astype(float) - down.alive) * knob.step / max(apart, 1e-12)
        # With no case that differs the error is not nought: one in so many could have.
        error = max(change.std(ddof=1) if flights > 1 else 1.0, flights**-0.5) / flights**0.5
        now = knob.read(airframe)
        found.append(Slope(knob, now, 0.5 * apart, float(change.mean()), float(error)))
    found.sort(key=lambda slope: -abs(slope.gain))
    return flown[0], found


def _whole(flown: list[Odds], flights: int) -> list[Odds]:
    """A comparison needs all its cases; one cut short is none."""
    if any(one.flown < flights for one in flown):
        raise KeyboardInterrupt
    return flown


def improve(
    subject: Subject,
    plan: Plan,
    want: float,
    flights: int,
    progress: Callable[[int], None] = lambda flown: None,
) -> Improvement:
    """Slopes at the set-up as it is, then the smallest change that reaches `want`.

    flights: cases of one batch, of an airframe that is thrown. Raises KeyboardInterrupt.
    """
    airframe = subject.airframe
    now, ranked = slopes(subject, plan, flights, progress)
    if now.fraction >= want:
        return Improvement(airframe.name, want, now, ranked, [], None, None, None)
    turned = [slope.knob for slope in _worth(ranked)]
    best = _search(subject, plan, want, flights, turned, progress)
    if best is None:
        return Improvement(airframe.name, want, now, ranked, [], None, None, False)
    fraction, x = best
    for k in range(CHECKS):
        after = _turned(airframe, turned, FURTHER**k * x)
        fresh = plan._replace(seed=plan.seed + 1 + k)
        ready, count = launches.setup(subject.changed(after), fresh), CHECK * flights
        checked = _whole(launches.run([ready], fresh, count, progress), count)[0]
        if checked.fraction >= want:
            break
    changes = [
        (knob, knob.read(airframe), knob.read(after))
        for knob in turned
        if abs(knob.read(after) - knob.read(airframe)) > 0.05 * knob.step
    ]
    stands = (tried(subject), tried(subject.changed(after))) if changes else None
    reached = checked.fraction >= want and (stands is None or is_better(*stands))
    return Improvement(
        airframe.name, want, now, ranked, changes, fraction, checked, reached, stands
    )


def _worth(ranked: list[Slope]) -> list[Slope]:
    """The knobs to turn: those that count, strongest first; the strongest when none does."""
    sure = [slope for slope in ranked if slope.counts]
    return (sure or ranked)[:TRIED]


def spoils(before: Subject, after: Subject) -> bool:
    """Whether a change takes the balance out of its limits, or asks more of an arm than it gives:
    such a set-up is no improvement, whatever survives."""
    hand, was = after.airframe.launch.by_hand, before.airframe.launch.by_hand
    asked = hand.speed > max(most_speed(after, hand), was.speed) + 1e-9
    return asked or (
        limits_verdict(after) is not BalanceVerdict.OK
        and limits_verdict(before) is BalanceVerdict.OK
    )


def _search(
    subject: Subject,
    plan: Plan,
    want: float,
    flights: int,
    turned: list[Knob],
    progress: Callable[[int], None],
) -> tuple[float, np.ndarray] | None:
    """(fraction, steps of each knob) of the least change that reached `want`, else the best."""
    seen: dict[tuple[float, ...], tuple[float, float]] = {}
    # One standard error more than wanted, or a lucky batch would do.
    want = min(want + (want * (1.0 - want) / flights) ** 0.5, 1.0 - 0.5 / flights)

    def flown(x: np.ndarray) -> tuple[float, float]:
        """Survived fraction, and how much of the time a launch lived; both 1 at best."""
        key = tuple(np.round(np.clip(x, -FAR, FAR), 3))
        if key not in seen:
            try:
                after = subject.changed(_turned(subject.airframe, turned, key))
                if spoils(subject, after):
                    raise ValueError("it does worse elsewhere")
                ready = launches.setup(after, plan)
            except ValueError:  # no airframe left to fly there
                seen[key] = (0.0, 0.0)
                return seen[key]
            one = _whole(launches.run([ready], plan, flights, progress), flights)[0]
            lived = np.where(one.alive, 1.0, one.results["time"] / plan.seconds)
            seen[key] = (one.fraction, float(lived.mean()))
        return seen[key]

    def enough(x: np.ndarray) -> float:
        """Positive where enough survive; the time lived shows the way where few do."""
        fraction, lived = flown(x)
        return fraction - want if fraction >= want else 0.7 * fraction + 0.3 * lived - want

    minimize(
        lambda x: float(x @ x),
        np.zeros(len(turned)),
        method="COBYLA",
        constraints=[{"type": "ineq", "fun": enough}],
        options={"rhobeg": 1.0, "tol": 0.1, "maxiter": SEARCHES},
    )
    good = [(np.dot(x, x), x) for x, (fraction, _) in seen.items() if fraction >= want]
    if not good:
        best = max(seen, key=lambda x: seen[x])
        return (seen[best][0], np.array(best)) if np.any(best) else None
    x = np.array(min(good)[1])
    for k in np.argsort(np.abs(x)):  # leave out what is not needed
        without = x * (np.arange(len(x)) != k)
        if np.any(without) and flown(without)[0] >= want:
            x = without
    low, high = 0.0, 1.0  # share of the way from the set-up as it is
    for _ in range(POLISH):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if flown(middle * x)[0] >= want else (middle, high)
    return flown(high * x)[0], high * x


@frozen
class KnobSlope(Answer):
    """`value` is told under the knob's own key, which has its unit."""

    name: str
    key: str
    value: float
    step: float
    survived_per_step: float
    standard_error: float
    counts: bool

    def as_json(self) -> dict[str, Any]:
        rest = super().as_json()
        del rest["key"], rest["value"]
        return {"name": rest.pop("name"), self.key: self.value, **rest}


@frozen
class KnobChange(Answer):
    """`before` and `after` are told as `from` and `to`."""

    name: str
    key: str
    before: float
    after: float

    def as_json(self) -> dict[str, Any]:
        return {"name": self.name, "key": self.key, "from": self.before, "to": self.after}


@frozen
class ImprovementAnswer(Answer):
    """SI."""

    airframe: str
    want_fraction: float
    survived_fraction: float
    survived_low: float
    survived_high: float
    batch_flights: int
    slopes: tuple[KnobSlope, ...]
    changes: tuple[KnobChange, ...]
    tuned_fraction: float | None
    checked_fraction: float | None
    checked_low: float | None
    checked_high: float | None
    checked_flights: int
    reached: bool | None
    before: Standing | None  # the pre-flight as it is, and with the change
    after: Standing | None


def answer(found: Improvement) -> ImprovementAnswer:
    low, high = found.now.interval()
    checked = found.checked
    return ImprovementAnswer(
        airframe=found.airframe,
        want_fraction=found.want,
        survived_fraction=found.now.fraction,
        survived_low=low,
        survived_high=high,
        batch_flights=found.now.flown,
        slopes=tuple(
            KnobSlope(s.knob.name, s.knob.key, s.value, s.knob.step, s.gain, s.error, s.counts)
            for s in found.slopes
        ),
        changes=tuple(KnobChange(knob.name, knob.key, a, b) for knob, a, b in found.changes),
        tuned_fraction=found.tuned,
        checked_fraction=checked.fraction if checked else None,
        checked_low=checked.interval()[0] if checked else None,
        checked_high=checked.interval()[1] if checked else None,
        checked_flights=checked.flown if checked else 0,
        reached=found.reached,
        before=found.stands[0] if found.stands else None,
        after=found.stands[1] if found.stands else None,
    )


def lines(found: Improvement) -> list[str]:
    """The table and the sentences for people."""
    low, high = found.now.interval()
    told = [
        f"{found.airframe}: {100 * found.now.fraction:.0f} % of {found.now.flown} launches survive "
        f"as it is ({100 * low:.0f} to {100 * high:.0f} %)",
        "  what helps       as it is    one step more    survivors, points",
    ]
    for slope in found.slopes:
        knob = slope.knob
        told.append(
            f"  {knob.name:<14} {slope.value / knob.scale:>7.1f} {knob.unit:<5} "
            f"{knob.step / knob.scale:>+8.1f} {knob.unit:<5} {100 * slope.gain:>+10.1f} "
            f"+- {100 * slope.error:.1f}{'' if slope.counts else '  (noise)'}"
        )
    return [*told, "", *_ending(found)]


def _ending(found: Improvement) -> list[str]:
    want = f"{100 * found.want:.0f} %"
    if found.reached is None:
        return [f"{want} survive already: nothing needs to change."]
    if found.checked is None:
        return [f"No change that was tried helps towards {want}."]
    told = "; ".join(
        f"{k.name} from {a / k.scale:.1f} to {b / k.scale:.1f} {k.unit}"
        for k, a, b in found.changes
    )
    low, high = found.checked.interval()
    reaches = (
        f"{100 * found.checked.fraction:.0f} % of {found.checked.flown} fresh launches "
        f"({100 * low:.0f} to {100 * high:.0f} %)"
    )
    if found.stands:
        reaches += f"; checked: {before_and_after(*found.stands, is_better(*found.stands))}"
    if found.reached:
        doubt = "" if low >= found.want else f" That is {want} within the noise only."
        return [f"Smallest change found: {told or 'next to nothing'}: {reaches}.{doubt}"]
    if found.checked.fraction >= found.want:
        return [f"Enough survive, but nothing else gets better: {told}: {reaches}."]
    return [f"{want} was not reached. Best found: {told or 'no change'}: {reaches}."]
