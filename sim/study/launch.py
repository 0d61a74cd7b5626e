"""The launch as planned in the airframe file: how fast, how it leaves, how much wind, ground roll.

Every figure is flown: once with the sticks left alone, once by the steady pilot, and some dozens
of times by simulated hands. The wind limit is a rule on the gusts of `gusts`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, hypot

from firstthrow.sim.answer import Answer
from firstthrow.sim.describe.airframe import LaunchKind
from firstthrow.sim.flight.flight import Flight, fly
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.flight.pilot import hands_off, launch_throttle
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.flight.speeds import CRUISE
from firstthrow.sim.kernels.gusts import intensities
from firstthrow.sim.study.odds import launches as odds
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject

ALONE = 1.5  # how long it is left alone [s]
WATCHED = 8.0  # of the steady pilot's flight [s]
LAUNCHES = 48  # by simulated hands
EYE = 3.0  # height at which gusts are taken [m]
SIGMAS = 2.0  # gusts beyond this many rms come once in twenty
SETTLED = 0.5  # after the release, when speeds begin to tell [s]
OFF = 0.15  # above its rest on the wheels it has lifted off [m]


@dataclass(frozen=True)
class LeftAlone(Answer):
    """The first moment with the sticks in the middle: torque, sink, nose."""

    seconds: float
    bank_deg: float
    pitch_deg: float
    height_lost_m: float


@dataclass(frozen=True)
class SteadyPilot(Answer):
    """The first seconds under the steady pilot; what a launch of this kind has not is None."""

    survives: bool
    outcome: Ending
    text: str
    largest_bank_deg: float
    least_speed_over_stall: float | None
    height_lost_m: float | None
    ground_roll_m: float | None
    lift_off_m_s: float | None


@dataclass(frozen=True)
class ByHands(Answer):
    """Launches by simulated hands; the fraction that survives with its 95 % interval."""

    skill: str
    flown: int
    survived: int
    fraction: float
    at_least: float
    at_most: float
    causes: dict[str, int]  # how many were lost by each, most frequent first


@dataclass(frozen=True)
class LaunchPlan(Answer):
    """What a launch of this kind has not is None."""

    airframe: str
    kind: str
    throttle: float
    throw_m_s: float | None
    pitch_deg: float | None
    height_m: float | None
    stall_speed_m_s: float
    throw_over_stall: float | None
    left_alone: LeftAlone | None
    steady_pilot: SteadyPilot
    hands: ByHands | None
    wind_limit_m_s: float
    wind_limit_why: str


def launch_plan(subject: Subject, launches: int = LAUNCHES) -> LaunchPlan:
    launch = subject.airframe.launch
    hand = launch.hand if launch.kind == LaunchKind.HAND else None
    wind, why = wind_limit(subject.stall_speed)
    return LaunchPlan(
        airframe=subject.airframe.name,
        kind=launch.kind,
        throttle=launch_throttle(subject.airframe),
        throw_m_s=hand.speed if hand else None,
        pitch_deg=degrees(hand.pitch) if hand else None,
        height_m=hand.height if hand else None,
        stall_speed_m_s=subject.stall_speed,
        throw_over_stall=hand.speed / subject.stall_speed if hand else None,
        left_alone=_left_alone(subject) if hand else None,
        steady_pilot=_piloted(subject),
        hands=_by_hands(subject, launches) if hand else None,
        wind_limit_m_s=wind,
        wind_limit_why=why,
    )


def wind_limit(slow: float) -> tuple[float, str]:
    """Wind at 6 m [m/s] for a first flight, and which of two rules sets it.

    The airspeed kept over the stall, at the usual flying speed, must outlast a gust of two rms
    along the wind (Dryden turbulence, see `gusts`); and the wind stays below half that speed, so
    that it still comes home (common practice, no source).
    """
    flown = CRUISE * slow
    strong, _ = intensities(EYE, 1.0)
    by_gusts = (flown - slow) / (SIGMAS * strong)
    if by_gusts < 0.5 * flown:
        return by_gusts, "beyond, a gust takes away all that it flies faster than its stall"
    return 0.5 * flown, "beyond, it flies home at less than half its speed"


class _Kept(list):
    """A record that only keeps the readings."""

    write = list.append


def _flown(subject: Subject, pilot, seconds: float) -> tuple[Flight, list]:
    """The flight of the subject's own launch, and its readings after the release."""
    kept = _Kept()
    flight = fly(subject.airframe, subject.field, pilot, seconds, record=kept, model=subject.model)
    return flight, [reading for reading in kept if reading.time_s > 0.0]


def _left_alone(subject: Subject) -> LeftAlone:
    _, after = _flown(subject, hands_off(launch_throttle(subject.airframe)), ALONE)
    start = subject.airframe.launch.by_hand.height
    return LeftAlone(
        seconds=after[-1].time_s,
        bank_deg=after[-1].roll_deg,
        pitch_deg=after[-1].pitch_deg,
        height_lost_m=max(0.0, start - min(reading.height_m for reading in after)),
    )


def _piloted(subject: Subject) -> SteadyPilot:
    """From wheels with the launch throttle until it is off the ground."""
    launch, steady = subject.airframe.launch, Steady()
    throttle, grounded, rest = (
        launch_throttle(subject.airframe),
        launch.kind == LaunchKind.GROUND,
        [],
    )

    def pilot(reading):
        sticks = steady(reading)
        rest.append(reading.height_m)
        rolling = grounded and reading.height_m < rest[0] + OFF
        return sticks._replace(throttle=throttle) if rolling else sticks

    flight, after = _flown(subject, pilot, WATCHED)
    off = next((r for r in after if r.height_m > after[0].height_m + OFF), None)
    start = after[0] if not grounded else off
    flown = [r for r in after if start is not None and r.time_s > start.time_s + SETTLED]
    least = min((r.airspeed_m_s / r.stall_speed_m_s for r in flown), default=None)
    lost = not flight.end.word.survived
    text = flight.end.text
    if grounded and off is None and not lost:
        text = f"It does not lift off within {WATCHED:.0f} s."
    lowest = min(r.height_m for r in after)
    lift_off = off if grounded else None
    return SteadyPilot(
        survives=not lost and (off is not None or not grounded),
        outcome=flight.end.word,
        text=text,
        largest_bank_deg=max(abs(r.roll_deg) for r in after),
        least_speed_over_stall=least,
        height_lost_m=None if grounded else max(0.0, launch.by_hand.height - lowest),
        ground_roll_m=None if lift_off is None else _way(after[0], lift_off),
        lift_off_m_s=None if lift_off is None else lift_off.airspeed_m_s,
    )


def _way(start, end) -> float:
    """Over the ground between two readings [m]."""
    return hypot(end.north_m - start.north_m, end.east_m - start.east_m)


def _by_hands(subject: Subject, launches: int) -> ByHands:
    """Practised hands over the usual scatter of throw, build and guessed parts."""
    scatter = Scatter()
    plan = odds.Plan(scatter, "human", WATCHED, 0)
    found = odds.run([odds.setup(subject, plan)], plan, launches)[0]
    low, high = found.interval()
    return ByHands(
        skill=scatter.skill,
        flown=found.flown,
        survived=found.survived,
        fraction=found.fraction,
        at_least=low,
        at_most=high,
        causes=found.causes(),
    )
