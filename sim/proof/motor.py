"""Motor, pack and propeller together: worked examples, momentum theory, cells."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.optimize import minimize_scalar

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.powertrain import CELL_REST
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.drive_at_rest import Running, equilibrium, ideal_power, induced_speed
from firstthrow.sim.proof.bodies import constant_table, motor, plate_model
from firstthrow.sim.proof.check import Check, Curve, Line, Sure
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import from_unit, rpm

CT, CP = 0.1286, 0.0524  # static, of the 10x4.7 slow-fly (UIUC Propeller Database, volume 1)
CHARGES = (100, 80, 50, 20, 10)  # [%]
AIRFRAMES = ("pantry", "pantry-swept", "glasshouse", "allotment")
DIAMETER = from_unit(10.0, "in")


def bench(*known, **more) -> Model:
    """The reference motor, with nothing around it that the air meets."""
    return plate_model(2.0)._replace(body=motor(*known, **more))


@lru_cache
def loaded(volts: float, factor: float = 1.0) -> Running:
    """The reference motor with `factor` times the coefficients of the propeller above."""
    return equilibrium(bench(volts, constant_table(CT * factor, CP * factor)), 1.0)


def best(worth) -> Running:
    """The load of which something is largest, from hardly any propeller to a far too large."""

    def less(logarithm: float) -> float:
        return -worth(loaded(11.1, float(np.exp(logarithm))))

    bounds = (np.log(0.01), np.log(60.0))
    found = minimize_scalar(less, bounds=bounds, method="bounded", options={"xatol": 1e-4})
    return loaded(11.1, float(np.exp(found.x)))


def _efficiency(running: Running) -> float:
    return running.shaft_power / running.input_power


def most_efficient() -> list[float]:
    found = best(_efficiency)
    return [found.motor_current, _efficiency(found)]


def most_powerful() -> list[float]:
    found = best(lambda running: running.shaft_power)
    return [found.shaft_power, found.motor_current]


def with_propeller() -> list[float]:
    found = loaded(7.4)
    torque = found.shaft_power / found.rotor
    return [
        rpm(found.rotor),
        found.motor_current,
        found.shaft_power,
        _efficiency(found),
        found.thrust,
        torque,
    ]


def sag() -> list[float]:
    """Of three cells of 6 mohm, by the amperes that flow, at 20 A."""
    found = equilibrium(bench(11.1, constant_table(CT, CP), pack_ohm=0.018), 1.0)
    return [(11.1 - found.pack_voltage) / found.pack_current * 20.0]


def in_flight() -> list[float]:
    """Induced speed, efficiency and speed far behind, 2 N at 10 m/s."""
    speed = induced_speed(2.0, DIAMETER, 10.0, 1.225)
    return [speed, 20.0 / ideal_power(2.0, DIAMETER, 10.0, 1.225), 10.0 + 2.0 * speed]


def tip_speed() -> list[float]:
    found = equilibrium(bench(11.1), 1.0)
    return [found.tip_speed * 10000.0 / rpm(found.rotor)]


def merits() -> list[float]:
    """Figures of merit of the propellers that come along, at full throttle standing still."""
    found = []
    for name in AIRFRAMES:
        airframe = load_airframe(find("airframes", name))
        subject = Subject(airframe, STANDARD)
        at = equilibrium(subject.model, 1.0)
        count = len(airframe.motors)
        diameter = next(iter(airframe.motors.values())).propeller.size[0]
        density = subject.model.record.density
        ideal = count * ideal_power(at.thrust / count, diameter, 0.0, density)
        found.append(ideal / at.shaft_power)
    return found


EXAMPLE = "first-order motor model with the static CT and CP of the 10x4.7 slow-fly"
MOTOR = "1000 rpm/V, 0.10 ohm, 0.6 A at no load"
CHECKS = (
    Check(
        "M01",
        "torque constant of a motor of 1000 rpm/V [N m/A]",
        (0.0095493,),
        lambda: [loaded(7.4).shaft_power / loaded(7.4).rotor / (loaded(7.4).motor_current - 0.6)],
        "identity of SI units: torque by current is voltage by speed",
        Sure.DERIVED,
        relative=1e-4,
    ),
    Check(
        "M02",
        f"speed without load at 11.1 V of a motor with {MOTOR} [rpm]",
        (11040.0,),
        lambda: [rpm(equilibrium(bench(11.1), 1.0).rotor)],
        "first-order motor model, n = Kv (V - I0 R)",
        Sure.DERIVED,
        relative=1e-4,
    ),
    Check(
        "M03",
        "where the same motor is most efficient",
        (8.161, 0.8584),
        most_efficient,
        "I* = sqrt(V I0/R), eta* = (1 - sqrt(I0 R/V))^2",
        Sure.DERIVED,
        relative=2e-3,
        at=("current [A]", "efficiency"),
    ),
    Check(
        "M04",
        "largest shaft power of the same motor",
        (304.7, 55.8),
        most_powerful,
        "P = R((V/R - I0)/2)^2 less losses",
        Sure.DERIVED,
        relative=2e-3,
        at=("power [W]", "current [A]"),
    ),
    Check(
        "M05",
        "the same motor at 7.4 V with a 10x4.7",
        (6151.0, 12.49, 73.1, 0.791, 6.89, 0.1135),
        with_propeller,
        EXAMPLE,
        Sure.DERIVED,
        relative=0.005,
        at=("speed [rpm]", "current [A]", "power [W]", "efficiency", "thrust [N]", "torque [N m]"),
    ),
    Check(
        "M06",
        "voltage of a resting cell by the charge left [V]",
        (4.2, 4.02, 3.84, 3.73, 3.69),
        lambda: np.interp(CHARGES, np.linspace(0.0, 100.0, len(CELL_REST)), CELL_REST),
        "chart as the trade has it",
        Sure.PRACTICE,
        absolute=0.05,
        at=CHARGES,
        of="charge [%]",
    ),
    Check(
        "M09",
        "sag of three cells of 6 mohm at 20 A [V]",
        (0.36,),
        sag,
        "Ohm's law",
        Sure.DERIVED,
        relative=1e-4,
    ),
    Check(
        "R14",
        "5 N of 0.254 m standing still",
        (6.346, 31.73),
        lambda: [
            induced_speed(5.0, DIAMETER, 0.0, 1.225),
            ideal_power(5.0, DIAMETER, 0.0, 1.225),
        ],
        "momentum theory, v = sqrt(T/(2 rho A)), P = T v",
        Sure.DERIVED,
        relative=1e-3,
        at=("induced speed [m/s]", "power [W]"),
    ),
    Check(
        "R15",
        "2 N of 0.254 m at 10 m/s",
        (1.412, 0.876, 12.82),
        in_flight,
        "momentum theory, v = -V/2 + sqrt(V^2/4 + T/(2 rho A))",
        Sure.DERIVED,
        relative=1e-3,
        at=("induced speed [m/s]", "efficiency", "speed far behind [m/s]"),
    ),
    Check(
        "R16",
        "figure of merit of the propellers that come along, 0.45 to 0.75",
        (0.6, 0.6, 0.6, 0.6),
        merits,
        "range of the UIUC Propeller Database, FM = CT^1.5/(CP sqrt(pi/2))",
        Sure.OPEN,
        absolute=0.15,
        at=AIRFRAMES,
    ),
    Check(
        "H02",
        "tip speed of 10 in at 10 000 rpm [m/s]",
        (133.0,),
        tip_speed,
        "pi D n",
        Sure.DERIVED,
        relative=0.005,
    ),
)


def _cell() -> list[Line]:
    return [Line("as flown", np.linspace(0.0, 100.0, len(CELL_REST)), CELL_REST)]


CURVES = (Curve("A resting cell", "charge left [%]", "volts", ("M06",), _cell),)
