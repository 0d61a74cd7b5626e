"""The drive at rest: rotor speed, thrust, currents and voltages at a throttle and an airspeed.

It is the flight's own derivative at which the rotors no longer change speed (see `drive`), so
what is told here is what flies. With the air straight along the nose and the surfaces neutral.
"""

from __future__ import annotations

from math import hypot, pi
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.controller import NO_LIMIT
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.moved import calmed
from firstthrow.sim.build.powertrain import refill
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.kernels.drive import bearings
from firstthrow.sim.kernels.layout import (
    CHARGE,
    COMMAND_THROTTLE,
    MOTOR_CURRENT,
    PACK_CURRENT,
    PACK_VOLTAGE,
    POSITION,
    ROTOR,
    THRUST,
    VELOCITY,
)
from firstthrow.sim.kernels.settled import moment, rest_rotors, settle
from firstthrow.sim.kernels.steady import HEIGHT

ROUNDS = 6  # of motors that share a pack: each takes the error to a tenth


class Running(NamedTuple):
    """A drive in equilibrium; of several motors sums, but of rotor speed and motor current the
    largest. Rotor speed is negative turning the wrong way."""

    throttle: float
    airspeed: float  # [m/s]
    thrust: float  # [N]
    rotor: float  # [rad/s]
    motor_current: float  # [A]
    pack_current: float  # with the servos' [A]
    pack_voltage: float  # under load [V]
    shaft_power: float  # [W]
    tip_speed: float  # [m/s]

    @property
    def input_power(self) -> float:
        """From the pack [W]."""
        return self.pack_current * self.pack_voltage

    @property
    def propulsive_efficiency(self) -> float | None:
        """Thrust times airspeed over shaft power; None where it does not pull, or not turn."""
        if self.shaft_power <= 0.0 or self.thrust <= 0.0:
            return None
        return self.thrust * self.airspeed / self.shaft_power


def equilibrium(
    model: Model, throttle: float, airspeed: float = 0.0, charge: float | None = None
) -> Running:
    """The drive at a throttle (0..1) and airspeed [m/s], charge (0..1) left or as described.

    Torque balance of every motor in turn, over and over when they share a pack.
    Source: first-order motor model and blade-element tables, see `drive` and `propeller`.
    """
    m, at = model.record, moment()
    state, command = at.state, at.command
    state[POSITION + 2], state[3], state[VELOCITY] = -HEIGHT, 1.0, airspeed
    if charge is not None:
        state[CHARGE] = (m.charge_at_start - charge) * m.capacity
    command[COMMAND_THROTTLE : COMMAND_THROTTLE + m.n_motors] = throttle
    n = int(m.n_motors)
    body = calmed(model).body
    rest_rotors(body, at, ROUNDS if n > 1 else 1)
    settle(body, at)
    report = at.report
    rotor, amps = state[ROTOR : ROTOR + n], report[MOTOR_CURRENT : MOTOR_CURRENT + n]
    drag = np.array([bearings(one) for one in rotor])
    torque = m.motor_kt[:n] * (m.motor_drive[:n] * amps - m.motor_no_load[:n] * drag)
    fastest = int(np.argmax(np.abs(rotor))) if n else 0
    return Running(
        throttle,
        airspeed,
        float(report[THRUST : THRUST + n].sum()),
        float(rotor[fastest]) if n else 0.0,
        float(amps.max(initial=0.0)),
        float(report[PACK_CURRENT]),
        float(report[PACK_VOLTAGE]),
        float((torque * rotor).sum()),
        hypot(airspeed, float(rotor[fastest] * m.motor_radius[fastest])) if n else airspeed,
    )


def refitted(model: Model, airframe: Airframe) -> Model:
    """The same airframe's model with the motors, propellers, pack and controller of another
    description: a quick change of drive. The sheets keep their places in the old slipstream."""
    record = model.record.copy()
    tables = refill(record, airframe)
    propellers = np.array(tables) if tables else model.body.propellers
    return model.with_body(record, np.ascontiguousarray(propellers))


def unlimited(model: Model) -> Model:
    """The same with a controller that gives all the motors take, keeping neither its current
    limit nor its cut-off: to see what they would take, and how far the pack would sag."""
    record = model.record.copy()
    record.controller_limit, record.cutoff_voltage = NO_LIMIT, 0.0
    return model.with_body(record)


def induced_speed(thrust: float, diameter: float, airspeed: float, density: float) -> float:
    """Speed that an ideal disc adds to the air through it [m/s].

    Source: Rankine and Froude's momentum theory, v = -V/2 + sqrt(V^2/4 + T/(2 rho A)).
    """
    disc = 0.25 * pi * diameter**2
    return -0.5 * airspeed + (0.25 * airspeed**2 + thrust / (2.0 * density * disc)) ** 0.5


def ideal_power(thrust: float, diameter: float, airspeed: float, density: float) -> float:
    """Least shaft power for a thrust at an airspeed [W], by the same theory: T (V + v)."""
    return thrust * (airspeed + induced_speed(thrust, diameter, airspeed, density))
