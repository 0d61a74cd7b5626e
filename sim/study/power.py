"""What the drive does to the airframe: static and in flight, run times, margins to the ratings."""

from __future__ import annotations

from math import pi
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from firstthrow.sim.build.model import Model
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.drive_at_rest import Running, equilibrium, unlimited
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.speeds import CRUISE, neutral_stall_speed, stall_speed
from firstthrow.sim.kernels.layout import THRUST
from firstthrow.sim.study.servos import Loads, loads

THROTTLES = (0.25, 0.5, 0.75, 1.0)
TIGHT = 0.8  # share of a rating beyond which there is little left, common practice
LEFT = 0.2  # of the pack, not flown, common practice
CLIMBING = 0.3  # share of a mixed flight at full throttle, the rest level at its best
LEVELS = (1.12, 1.25, CRUISE, 1.5, 1.75, 2.2)  # times the stall speed: where level flight is found
TIP_MACH = 0.5  # beyond it the propeller tables overrate thrust
SOUND = 340.0  # [m/s]


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


class Margin(NamedTuple):
    what: str
    value: float
    limit: float
    unit: str
    word: str  # ok, tight or over


def margin(what: str, value: float, limit: float, unit: str = "A") -> Margin:
    share = value / limit
    return Margin(
        what, value, limit, unit, "over" if share > 1.0 else "tight" if share > TIGHT else "ok"
    )


def level_flight(model: Model, airframe: Airframe) -> Level | str:
    """Level flight of least current and the fastest one, or words for why there is none.

    Between and beyond the trims thrust needed is a V^2 + b + c / V^2: friction and the sheet's
    lift-dependent drag (Anderson, Introduction to Flight, ch. 6).
    """
    from firstthrow.sim.flight.trims import trims

    slow = stall_speed(model, airframe)
    found = trims(model, airframe, [much * slow for much in LEVELS], ("level",))
    good = [t for t in found if not t.reason]
    if len(good) < 3:
        usual = CRUISE * slow
        return min((t for t in found if t.reason), key=lambda t: abs(t.airspeed_m_s - usual)).reason
    speed = np.array([t.airspeed_m_s for t in good])
    thrust = [
        rates_of(model, t.state, t.command)[1][THRUST : THRUST + model.record.n_motors].sum()
        for t in good
    ]
    shapes = np.column_stack([speed**2, np.ones_like(speed), speed**-2.0])
    drag = tuple(map(float, np.linalg.lstsq(shapes, np.array(thrust), rcond=None)[0]))
    best = min(good, key=lambda t: t.current)
    level = Level(best.airspeed_m_s, best.current, best.throttle, None, drag)
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
    return float(brentq(spare, start, fast, xtol=1e-3))


def margins(model: Model, airframe: Airframe, full: Running, servos: Loads) -> list[Margin]:
    """Full throttle standing still against every rating; `full` without the controller's limit."""
    controller, pack = airframe.controller, airframe.pack
    found = [margin("controller", full.motor_current, controller.limit)]
    limit = min((motor.limit for motor in airframe.motors.values()), default=np.inf)
    if airframe.motors:
        found.append(margin("motor", full.motor_current, limit))
    found.append(margin("pack", full.pack_current, pack.limit))
    cutoff = controller.cutoff * pack.cells
    # A pack sags towards its cut-off: the nearer, the larger the share.
    rest = equilibrium(model, 0.0).pack_voltage
    found.append(margin("sag to cut-off", rest - full.pack_voltage, rest - cutoff, "V"))
    found.append(margin("supply, servos held", servos.held, controller.supply_limit))
    found.append(margin("supply, all stalled", servos.stalled, controller.supply_limit))
    return found


def run_times(airframe: Airframe, full: Running, level: Level | None) -> dict[str, float | None]:
    """Seconds at level flight of least current, at full throttle, and mixed; LEFT stays in."""
    usable = airframe.pack.capacity * max(0.0, airframe.pack.charge - LEFT)
    level_current = level.current if level else None
    mixed = (
        CLIMBING * full.pack_current + (1.0 - CLIMBING) * level_current if level_current else None
    )
    currents = {"level": level_current, "full": full.pack_current, "mixed": mixed}
    return {name: usable / amps if amps else None for name, amps in currents.items()}


def doubts(airframe: Airframe, full: Running, weight: float, slow: float) -> list[str]:
    """Trade rules that the drive breaks, each a sentence. Source: common practice; the thrust and
    power bands as in model magazines, from memory."""
    found = []
    ratio, power = full.thrust / weight, full.input_power / (weight / 9.80665)
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
                f"pitch speed {pitch:.0f} m/s, {pitch / slow:.1f} times the stall speed: "
                "2 to 3 times is usual"
            )
    if full.tip_speed > TIP_MACH * SOUND:
        found.append(f"tip speed {full.tip_speed:.0f} m/s: loud, and thrust is overrated here")
    product = airframe.pack.resistance * 1e3 * airframe.pack.capacity / 3600.0
    if not 5.0 <= product <= 30.0:
        found.append(
            f"cell resistance times capacity {product:.0f} mohm Ah: 8-20 is usual, measure it"
        )
    return [f"{text} (common practice)" for text in found]


def row(running: Running) -> dict:
    efficiency = running.propulsive_efficiency
    return {
        "throttle": running.throttle,
        "airspeed_m_s": running.airspeed,
        "thrust_N": running.thrust,
        "rpm": running.rotor * 30.0 / pi,
        "motor_current_A": running.motor_current,
        "pack_current_A": running.pack_current,
        "pack_voltage_V": running.pack_voltage,
        "shaft_power_W": running.shaft_power,
        "input_power_W": running.input_power,
        "propulsive_efficiency": efficiency,
        "tip_speed_m_s": running.tip_speed,
    }


def airspeeds(model: Model) -> list[float]:
    """Even speeds from rest to where full throttle no longer pulls [m/s]."""
    step = 2.0 if neutral_stall_speed(model) < 8.0 else 3.0
    found = [0.0]
    while equilibrium(model, 1.0, found[-1]).thrust > 0.0 and len(found) < 25:
        found.append(found[-1] + step)
    return found


def study(model: Model, airframe: Airframe) -> dict:
    """The whole answer; SI with the unit in each key. What cannot be had is None and a reason."""
    weight = float(model.record.mass * model.record.gravity)
    slow = stall_speed(model, airframe)
    full = equilibrium(model, 1.0)
    free = equilibrium(unlimited(model), 1.0)
    level = level_flight(model, airframe) if airframe.motors else "there is no motor"
    flown = None if isinstance(level, str) else level
    servos = loads(model, airframe)
    return {
        "airframe": airframe.name,
        "mass_kg": float(model.record.mass),
        "charge": airframe.pack.charge,
        "density_kg_m3": float(model.record.density),
        "stall_speed_m_s": slow,
        "static": [row(equilibrium(model, t)) for t in THROTTLES],
        "against_airspeed": [row(equilibrium(model, 1.0, v)) for v in airspeeds(model)],
        "thrust_to_weight": full.thrust / weight,
        "level": {
            "reason": level if isinstance(level, str) else "",
            "least_current_A": flown and flown.current,
            "its_speed_m_s": flown and flown.speed,
            "its_throttle": flown and flown.throttle,
            "fastest_m_s": flown and flown.fastest,
        },
        "run_time_s": run_times(airframe, full, flown),
        "run_time_mix": {"full_throttle": CLIMBING, "level": 1.0 - CLIMBING, "left_in_pack": LEFT},
        "margins": [
            {
                "what": m.what,
                f"value_{m.unit}": m.value,
                f"limit_{m.unit}": m.limit,
                "share": m.value / m.limit,
                "verdict": m.word,
            }
            for m in margins(model, airframe, free, servos)
        ],
        "doubts": doubts(airframe, full, weight, slow),
    }
