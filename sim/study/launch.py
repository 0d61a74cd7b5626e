"""The launch as planned in the airframe file: how fast, how it leaves, how much wind, ground roll.

Every figure is flown: once with the sticks left alone, once by the steady pilot, and as often as it
takes to decide by simulated hands. The wind limit is a rule on the gusts of `gusts`.
"""

from __future__ import annotations

from math import degrees

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.flight.pilot import hands_off, launch_throttle
from firstthrow.sim.flight.speeds import CRUISE
from firstthrow.sim.kernels.gusts import intensities
from firstthrow.sim.study.odds.arm import most_speed
from firstthrow.sim.study.odds.steady import SteadyPilot, launched, piloted
from firstthrow.sim.study.odds.survival import LAUNCHES, ByHands, by_hands
from firstthrow.sim.study.subject import Subject

ALONE = 1.5  # how long it is left alone [s]
EYE = 3.0  # height at which gusts are taken [m]
SIGMAS = 2.0  # gusts beyond this many rms come once in twenty


@frozen
class LeftAlone(Answer):
    """The first moment with the sticks in the middle: torque, sink, nose."""

    seconds: float
    bank_deg: float
    pitch_deg: float
    height_lost_m: float


@frozen
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
    arm_m_s: float | None  # the fastest throw of that mass, with the run that the file has
    left_alone: LeftAlone | None
    steady_pilot: SteadyPilot
    hands: ByHands
    wind_limit_m_s: float
    wind_limit_why: str


def launch_plan(subject: Subject, launches: int = LAUNCHES) -> LaunchPlan:
    launch = subject.airframe.launch
    hand = launch.thrown
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
        arm_m_s=most_speed(subject, hand) if hand else None,
        left_alone=_left_alone(subject) if hand else None,
        steady_pilot=piloted(subject),
        hands=by_hands(subject, launches),
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


def _left_alone(subject: Subject) -> LeftAlone:
    _, after = launched(subject, hands_off(launch_throttle(subject.airframe)), ALONE)
    start = subject.airframe.launch.by_hand.height
    return LeftAlone(
        seconds=after[-1].time_s,
        bank_deg=after[-1].roll_deg,
        pitch_deg=after[-1].pitch_deg,
        height_lost_m=max(0.0, start - min(reading.height_m for reading in after)),
    )
