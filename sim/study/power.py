"""What the drive does to the airframe: static and in flight, run times, margins to the ratings."""

from __future__ import annotations

from collections.abc import Mapping
from math import pi
from typing import ClassVar, NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.unknown_kinds import AT_SPEED, What, guessed
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.atmosphere import sound_speed
from firstthrow.sim.flight.drive_at_rest import Running, equilibrium, unlimited
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.speeds import CRUISE
from firstthrow.sim.flight.trims import Kind, Untrimmed, steady_ones, trims
from firstthrow.sim.kernels.layout import THRUST
from firstthrow.sim.kernels.root import crossing
from firstthrow.sim.once import once_for
from firstthrow.sim.study.ratings import Overload, Rating, amperes, overload, volts
from firstthrow.sim.study.servos import Loads, loads
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import amp_hours, kgf, milliohms, rpm

THROTTLES = (0.25, 0.5, 0.75, 1.0)
LEFT = 0.2  # of the pack, not flown, common practice
CLIMBING = 0.3  # share of a mixed flight at full throttle, the rest level at its best
LEVELS = (1.12, 1.25, CRUISE, 1.5, 1.75, 2.2)  # times the stall speed: where level flight is found
TIP_MACH = 0.5  # beyond it the propeller tables overrate thrust
NO_MOTOR = "there is no motor"


class Level(NamedTuple):
    """Level flight, from trims: what it takes and how fast it goes."""

    speed: float  # of least current [m/s]
    current: float  # there, from the pack [A]
    throttle: float
    fastest: float | None  # at full throttle [m/s]; None when full throttle does not hold height
    drag: tuple[float, float, float]  # thrust needed = a V^2 + b + c / V^2

    def thrust_needed(self, speed: float) -> float:
        a, b, c = self.drag
        return a * speed**2 + b + c / speed**2


@frozen
class DriveRow(Answer):
    """The drive at one throttle and airspeed; several motors summed as in `Running`."""

    throttle: float
    airspeed_m_s: float
    thrust_N: float
    rpm: float
    motor_current_A: float
    pack_current_A: float
    pack_voltage_V: float
    shaft_power_W: float
    input_power_W: float
    propulsive_efficiency: float | None
    tip_speed_m_s: float


@frozen
class LevelFlight(Answer):
    """Of least current, and the fastest; a reason where there is none."""

    reason: str
    least_current_A: float | None
    its_speed_m_s: float | None
    its_throttle: float | None
    fastest_m_s: float | None


@frozen
class RunTimes(Answer):
    """Seconds, `LEFT` staying in the pack; None where there is no level flight."""

    level: float | None
    full: float | None
    mixed: float | None


@frozen
class RunTimeMix(Answer):
    """Shares of a mixed flight, and of the pack."""

    full_throttle: float
    level: float
    left_in_pack: float


@frozen
class Instruments(Answer):
    """What a builder's meters show; None for one that he does not have."""

    left_out_when_none: ClassVar = frozenset(
        {"current_A", "thrust_N", "rpm", "voltage_V", "rest_voltage_V"}
    )

    current_A: float | None
    thrust_N: float | None
    rpm: float | None
    voltage_V: float | None
    rest_voltage_V: float | None  # of the pack, before the motor runs


@frozen
class Explained(Answer):
    """One explanation of what was measured."""

    text: str
    chi_square: float
    adjusted: int
    rank: float
    would_give: Instruments


@frozen
class Corrected(Answer):
    """A correction as it goes into the file, and one standard deviation of it."""

    factor: float
    spread: float


@frozen
class Sure(Answer):
    """One standard deviation of the program's propeller against measured ones (see
    `build.unknown_kinds`)."""

    at_rest_thrust_percent: float
    at_rest_torque_percent: float
    at_speed_thrust_percent: float  # of the thrust at rest, at any airspeed
    at_speed_torque_percent: float  # of the torque at rest


@frozen
class Measured(Answer):
    measured: Instruments
    tolerance: Mapping[str, float]
    verdict: list[str]
    explanations: tuple[Explained, ...]
    corrections: Mapping[str, Corrected]  # by their keys in the file, if the size is right


@frozen
class Wanted(Answer):
    """Of a propeller."""

    left_out_when_none: ClassVar = frozenset({"thrust_N", "speed_m_s"})

    thrust_N: float | None
    speed_m_s: float | None


@frozen
class Size(Answer):
    """One propeller size on the airframe's own drive, at full throttle."""

    size: str
    thrust_N: float
    current_A: float
    fastest_level_m_s: float | None
    within_limits: bool


@frozen
class Propellers(Answer):
    wanted: Wanted
    best: str | None
    sizes: tuple[Size, ...]


@frozen
class Power(Answer):
    """What cannot be had is None and a reason; what was not asked for is left out."""

    left_out_when_none: ClassVar = frozenset({"measured", "propellers"})

    airframe: str
    mass_kg: float
    charge: float
    density_kg_m3: float
    stall_speed_m_s: float
    static: tuple[DriveRow, ...]
    against_airspeed: tuple[DriveRow, ...]
    thrust_to_weight: float
    level: LevelFlight
    run_time_s: RunTimes
    run_time_mix: RunTimeMix
    margins: tuple[Rating, ...]
    overload: Overload | None
    sure: Sure
    doubts: list[str]
    measured: Measured | None = None
    propellers: Propellers | None = None


@once_for(16)
def level_flight(subject: Subject) -> Level | str:
    """Level flight of least current and the fastest one, or words for why there is none.

    Between and beyond the trims thrust needed is a V^2 + b + c / V^2: friction and the sheet's
    lift-dependent drag (Anderson, Introduction to Flight, ch. 6).
    """
    if not subject.airframe.motors:
        return NO_MOTOR
    model, slow = subject.model, subject.stall_speed
    found = trims(model, subject.airframe, [much * slow for much in LEVELS], (Kind.LEVEL,))
    good = steady_ones(found)
    if len(good) < 3:
        failed = (t for t in found if isinstance(t, Untrimmed))
        nearest = min(failed, key=lambda t: abs(t.airspeed_m_s - subject.cruise))
        return nearest.words(subject.airframe.units)
    speed = np.array([t.airspeed_m_s for t in good])
    thrust = [
        rates_of(model, t.state, t.command)[1][THRUST : THRUST + model.record.n_motors].sum()
        for t in good
    ]
    shapes = np.column_stack([speed**2, np.ones_like(speed), speed**-2.0])
    a, b, c = map(float, np.linalg.lstsq(shapes, np.array(thrust), rcond=None)[0])
    best = min(good, key=lambda t: t.current)
    level = Level(best.airspeed_m_s, best.current, best.throttle, None, (a, b, c))
    return level._replace(fastest=fastest(model, level, best.airspeed_m_s))


def fastest(model: Model, level: Level, start: float) -> float | None:
    """Speed [m/s] above `start` at which full throttle just holds height; None when it does not
    hold it there."""

    def spare(speed: float) -> float:
        return equilibrium(model, 1.0, speed).thrust - level.thrust_needed(speed)

    if spare(start) <= 0.0:
        return None
    fast = start
    while spare(fast) > 0.0:
        fast *= 1.25
    return crossing(spare, start, fast, 1e-3)


def margins(subject: Subject, free: Running, servos: Loads) -> tuple[Rating, ...]:
    """Full throttle standing still against every rating; `free` without the controller's limit."""
    controller, pack = subject.airframe.controller, subject.airframe.pack
    found = [amperes("controller", free.motor_current, controller.limit)]
    if subject.airframe.motors:
        limit = min(motor.limit for motor in subject.airframe.motors.values())
        found.append(amperes("motor", free.motor_current, limit))
    found.append(amperes("pack", free.pack_current, pack.limit))
    cutoff = controller.cutoff * pack.cells
    # A pack sags towards its cut-off: the nearer, the larger the share.
    rest = equilibrium(subject.model, 0.0).pack_voltage
    found.append(volts("sag to cut-off", rest - free.pack_voltage, rest - cutoff))
    found.append(amperes("supply, servos held", servos.held, controller.supply_limit))
    found.append(amperes("supply, all stalled", servos.stalled, controller.supply_limit))
    return tuple(found)


def run_times(airframe: Airframe, full: Running, level: Level | None) -> RunTimes:
    """At level flight of least current, at full throttle, and mixed."""
    usable = airframe.pack.capacity * max(0.0, airframe.pack.charge - LEFT)
    flown = level.current if level else None
    mixed = CLIMBING * full.pack_current + (1.0 - CLIMBING) * flown if flown else None
    return RunTimes(
        *(usable / amps if amps else None for amps in (flown, full.pack_current, mixed))
    )


def doubts(airframe: Airframe, full: Running, weight: float, slow: float) -> list[str]:
    """Trade rules that the drive breaks, each a sentence. Source: common practice; the thrust and
    power bands as in model magazines, from memory."""
    found, speed = [], airframe.units.speed
    ratio, power = full.thrust / weight, full.input_power / (kgf(weight))
    if ratio <= 0.0:
        found.append("it does not pull: is the motor turning the right way?")
    elif ratio < 0.3:
        found.append(f"thrust/weight {ratio:.2f}: below the 0.3 that even a gliderlike one wants")
    if ratio > 1.5:
        found.append(f"thrust/weight {ratio:.2f}: far more than a first flight wants (0.5-0.8)")
    if not 66.0 <= power <= 330.0:
        found.append(f"input power {power:.0f} W/kg: sport models take 80-130 W/kg")
    for motor in airframe.motors.values():
        pitch = abs(full.rotor) / (2.0 * pi) * motor.propeller.size[1]
        if pitch < 2.0 * slow:
            found.append(
                f"pitch speed {speed(pitch, 0)}, {pitch / slow:.1f} times the stall speed: "
                "2 to 3 times is usual"
            )
    if full.tip_speed > TIP_MACH * sound_speed():
        found.append(f"tip speed {speed(full.tip_speed, 0)}: loud, and thrust is overrated here")
    product = milliohms(airframe.pack.resistance) * amp_hours(airframe.pack.capacity)
    if not 5.0 <= product <= 30.0:
        found.append(
            f"cell resistance times capacity {product:.0f} mohm Ah: 8-20 is usual, measure it"
        )
    return [f"{text} (common practice)" for text in found]


def row(running: Running) -> DriveRow:
    return DriveRow(
        throttle=running.throttle,
        airspeed_m_s=running.airspeed,
        thrust_N=running.thrust,
        rpm=rpm(running.rotor),
        motor_current_A=running.motor_current,
        pack_current_A=running.pack_current,
        pack_voltage_V=running.pack_voltage,
        shaft_power_W=running.shaft_power,
        input_power_W=running.input_power,
        propulsive_efficiency=running.propulsive_efficiency,
        tip_speed_m_s=running.tip_speed,
    )


def airspeeds(subject: Subject) -> list[float]:
    """Even speeds from rest to where full throttle no longer pulls [m/s]."""
    step = 2.0 if subject.neutral_stall_speed < 8.0 else 3.0
    found = [0.0]
    while equilibrium(subject.model, 1.0, found[-1]).thrust > 0.0 and len(found) < 25:
        found.append(found[-1] + step)
    return found


def study(subject: Subject, level: Level | str | None = None) -> Power:
    """The whole answer but for what has to be asked; `level`: `level_flight`, if it is known."""
    airframe, model = subject.airframe, subject.model
    full, free = equilibrium(model, 1.0), equilibrium(unlimited(model), 1.0)
    found = level_flight(subject) if level is None else level
    flown = None if isinstance(found, str) else found
    return Power(
        airframe=airframe.name,
        mass_kg=subject.mass,
        charge=airframe.pack.charge,
        density_kg_m3=float(model.record.density),
        stall_speed_m_s=subject.stall_speed,
        static=tuple(row(equilibrium(model, t)) for t in THROTTLES),
        against_airspeed=tuple(row(equilibrium(model, 1.0, v)) for v in airspeeds(subject)),
        thrust_to_weight=full.thrust / subject.weight,
        level=LevelFlight(found, None, None, None, None)
        if isinstance(found, str)
        else LevelFlight("", found.current, found.speed, found.throttle, found.fastest),
        run_time_s=run_times(airframe, full, flown),
        run_time_mix=RunTimeMix(CLIMBING, 1.0 - CLIMBING, LEFT),
        margins=margins(subject, free, loads(subject)),
        overload=overload(airframe.controller, free.motor_current),
        sure=Sure(
            100.0 * guessed(What.THRUST),
            100.0 * guessed(What.TORQUE),
            100.0 * AT_SPEED[What.THRUST],
            100.0 * AT_SPEED[What.TORQUE],
        ),
        doubts=doubts(airframe, full, subject.weight, subject.stall_speed),
    )
