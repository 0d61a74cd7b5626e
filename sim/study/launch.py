"""The launch as planned in the airframe file: how fast, how it leaves, how much wind, ground roll.

Every figure is flown: once with the sticks left alone, once by the steady pilot, and some dozens
of times by simulated hands. The wind limit is a rule on the gusts of `gusts`.
"""

from __future__ import annotations

from math import degrees, hypot

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.pilot import Steady, hands_off, launch_throttle
from firstthrow.sim.flight.speeds import CRUISE, stall_speed
from firstthrow.sim.kernels.gusts import intensities
from firstthrow.sim.study.odds import launches as odds
from firstthrow.sim.study.odds.scatter import Scatter

ALONE = 1.5  # how long it is left alone [s]
WATCHED = 8.0  # of the steady pilot's flight [s]
LAUNCHES = 48  # by simulated hands
EYE = 3.0  # height at which gusts are taken [m]
SIGMAS = 2.0  # gusts beyond this many rms come once in twenty
SETTLED = 0.5  # after the release, when speeds begin to tell [s]
OFF = 0.15  # above its rest on the wheels it has lifted off [m]


def launch_plan(
    airframe: Airframe,
    field: Field = STANDARD,
    model: Model | None = None,
    launches: int = LAUNCHES,
) -> dict:
    """SI, the unit in each key, angles in degrees; what a launch of this kind has not is None."""
    model = model or build(airframe, field)
    kind = airframe.launch.kind
    hand = airframe.launch.hand if kind == "hand" else None
    slow = stall_speed(model, airframe)
    wind, why = wind_limit(slow)
    return {
        "airframe": airframe.name,
        "kind": kind,
        "throttle": launch_throttle(airframe),
        "throw_m_s": hand and hand.speed,
        "pitch_deg": hand and degrees(hand.pitch),
        "height_m": hand and hand.height,
        "stall_speed_m_s": slow,
        "throw_over_stall": hand and hand.speed / slow,
        "left_alone": _left_alone(airframe, field, model) if hand else None,
        "steady_pilot": _piloted(airframe, field, model),
        "hands": _by_hands(airframe, field, launches) if hand else None,
        "wind_limit_m_s": wind,
        "wind_limit_why": why,
    }


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


def _left_alone(airframe: Airframe, field: Field, model: Model) -> dict:
    """What the first moment does with the sticks in the middle: torque, sink, nose."""
    kept = _Kept()
    fly(airframe, field, hands_off(launch_throttle(airframe)), ALONE, record=kept, model=model)
    after = [reading for reading in kept if reading.time_s > 0.0]
    start = airframe.launch.hand.height
    return {
        "seconds": after[-1].time_s,
        "bank_deg": after[-1].roll_deg,
        "pitch_deg": after[-1].pitch_deg,
        "height_lost_m": max(0.0, start - min(reading.height_m for reading in after)),
    }


def _piloted(airframe: Airframe, field: Field, model: Model) -> dict:
    """The first seconds under the steady pilot; from wheels with the launch throttle until off."""
    kept, steady, throttle = _Kept(), Steady(), launch_throttle(airframe)
    grounded, rest = airframe.launch.kind == "ground", []

    def pilot(reading):
        sticks = steady(reading)
        rest.append(reading.height_m)
        rolling = grounded and reading.height_m < rest[0] + OFF
        return sticks._replace(throttle=throttle) if rolling else sticks

    flight = fly(airframe, field, pilot, WATCHED, record=kept, model=model)
    after = [reading for reading in kept if reading.time_s > 0.0]
    off = next((r for r in after if r.height_m > after[0].height_m + OFF), None)
    start = after[0] if not grounded else off
    flown = [r for r in after if start is not None and r.time_s > start.time_s + SETTLED]
    least = min((r.airspeed_m_s / r.stall_speed_m_s for r in flown), default=None)
    lost = flight.outcome.word not in ("landed", "time-up")
    text = flight.outcome.text
    if grounded and off is None and not lost:
        text = f"It does not lift off within {WATCHED:.0f} s."
    return {
        "survives": not lost and (off is not None or not grounded),
        "outcome": flight.outcome.word,
        "text": text,
        "largest_bank_deg": max(abs(r.roll_deg) for r in after),
        "least_speed_over_stall": least,
        "height_lost_m": None
        if grounded
        else max(0.0, airframe.launch.hand.height - min(r.height_m for r in after)),
        "ground_roll_m": hypot(off.north_m - after[0].north_m, off.east_m - after[0].east_m)
        if grounded and off
        else None,
        "lift_off_m_s": off.airspeed_m_s if grounded and off else None,
    }


def _by_hands(airframe: Airframe, field: Field, launches: int) -> dict:
    """Launches by practised hands over the usual scatter of throw, build and guessed parts."""
    scatter = Scatter()
    plan = odds.Plan(field, scatter, "human", WATCHED, 0)
    found = odds.run([odds.setup(airframe, plan)], plan, launches)[0]
    low, high = found.interval()
    return {
        "skill": scatter.skill,
        "flown": found.flown,
        "survived": found.survived,
        "fraction": found.fraction,
        "at_least": low,
        "at_most": high,
        "causes": found.causes(),
    }
