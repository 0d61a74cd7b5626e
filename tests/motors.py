"""The reference motor, alone or with a propeller of constant coefficients."""

from __future__ import annotations

import numpy as np
from bodies import lump

from firstthrow.sim.kernels.parameters import Body

KT = 60.0 / (2.0 * np.pi * 1000.0)
NO_PROPELLER = np.zeros((1, 9, 6))


def motor(volts: float, table=NO_PROPELLER, diameter: float = 0.254, pack_ohm: float = 0.0) -> Body:
    """The reference motor (Kv 1000 rpm/V, 0.10 ohm, 0.6 A) at the centre of gravity."""
    body = lump()
    m = body.record[0]
    m.n_motors, m.rest_voltage[:], m.pack_resistance = 1, volts, pack_ohm
    m.controller_limit, m.capacity = 1e6, 1e9
    m.motor_axis[0], m.motor_radius[0] = (1.0, 0.0, 0.0), 0.5 * diameter
    m.motor_sense[0] = m.motor_drive[0] = 1.0
    m.motor_kt[0], m.motor_resistance[0], m.motor_no_load[0] = KT, 0.10, 0.6
    m.rotor_inertia[0], m.stream_swirl[0] = 1e-5, 1.0
    return body._replace(propellers=np.ascontiguousarray(table))


def constant_table(thrust: float, power: float) -> np.ndarray:
    """A table that gives CT and CP whatever the speed, for a propeller standing still."""
    rim = (0.75 * np.pi) ** 2
    table = np.zeros((1, 721, 6))
    table[0, :, 0], table[0, :, 1] = thrust / rim, power / (2.0 * np.pi * rim)
    return table
