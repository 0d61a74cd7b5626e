"""Bodies that checks are made with: a lump without air, a bare plate, a motor on a bench."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.strips import FINE, Strips
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.kernels import integrate
from firstthrow.sim.kernels.derivative import derivative
from firstthrow.sim.kernels.layout import SIZE
from firstthrow.sim.kernels.moving import moving, scratch
from firstthrow.sim.kernels.parameters import RECORD, Body
from firstthrow.sim.units import from_unit

KT = 1.0 / from_unit(1000.0, "rpm/V")  # of the reference motor [N m/A]
NO_PROPELLER = np.zeros((1, 9, 6))


def lump(mass: float = 1.0, inertia=(1.0, 1.0, 1.0), gravity: float = 0.0) -> Body:
    """A rigid body in still air, without strips, motors, surfaces or contacts."""
    whole = np.zeros(1, RECORD)
    record = whole[0]
    record.mass, record.gravity, record.density = mass, gravity, 1.225
    record.inertia[:] = np.diag(inertia)
    record.mass_inverse[:] = np.diag(1.0 / np.array([mass, mass, mass, *inertia]))
    record.field_radius, record.root_strength, record.roughness = np.inf, np.inf, 0.03
    record.capacity, record.charge_at_start, record.cutoff_voltage = 1.0, 1.0, 1.0
    record.rest_voltage[:] = 10.0
    record.supply_voltage, record.supply_limit = 5.0, 100.0
    record.most_ticks = record.roll_cuts = 1
    record.reach = 1e3  # every contact is looked at
    record.ground_heights[:] = np.linspace(0.001, 0.002, record.ground_heights.size)
    return Body(whole, np.zeros((2, 4, 3)), np.zeros((1, 2, 2, 5)), np.zeros((1, 3, 6)))


class Motion:
    """A body or model moved by the program's own kernels, step by step."""

    def __init__(self, body: Body | Model, rates=(0.0, 0.0, 0.0), height: float = 0.0) -> None:
        self.body = body.body if isinstance(body, Model) else body
        self.state, self.command, self.gust, self.report, _, self.late, self.before = moving()
        self.scratch = scratch()
        self.state[2], self.state[3], self.state[10:13] = -height, 1.0, rates

    def run(self, seconds: float, h: float = integrate.STEP, by_slopes: bool = False) -> np.ndarray:
        """States after every step, the first included: (steps + 1, SIZE); all by Runge-Kutta, or
        by the slopes of the steps before."""
        found = [self.state.copy()]
        for _ in range(round(seconds / h)):
            if not by_slopes:
                self.before[:] = 0.0
            integrate.step(
                self.body,
                self.state,
                self.late,
                self.before,
                self.command,
                self.gust,
                1,
                h,
                self.report,
                self.scratch,
            )
            found.append(self.state.copy())
        return np.array(found)

    def rates_of(self, state: np.ndarray) -> np.ndarray:
        """The compiled derivative at a state."""
        rates = np.zeros(SIZE)
        derivative(self.body, state, self.command, self.gust, rates, self.report, self.scratch)
        return rates


def rectangle(aspect_ratio: float, half: int = FINE, flap: float = 0.0) -> Strips:
    """Strips of a rectangular plate of unit chord, `half` each side, tips inset."""
    n = 2 * half
    width = aspect_ratio / (n + 0.5)
    y = -0.5 * aspect_ratio + 0.25 * width + width * np.arange(n + 1)
    quad = np.array([[[0, a, 0], [0, b, 0], [1, b, 0], [1, a, 0]] for a, b in pairwise(y)], float)
    one, slot = np.ones(n), np.zeros(n, int)
    tip = np.zeros(n)
    tip[[0, -1]] = 1.0
    aft, span, normal = (np.tile(axis, (n, 1)) for axis in np.eye(3))
    return Strips(
        slot,
        slot,
        quad,
        quad.mean(axis=1),
        aft,
        span,
        normal,
        one,
        width * one,
        width * (one + 0.25 * tip),
        tip,
        slot,
        one * (flap > 0.0),
        flap * one,
        0.01 * one,
    )


def plate_airframe(aspect_ratio: float, chord: float = 0.2, thickness: float = 0.004) -> Airframe:
    """A bare rectangular plate of some mass, nothing else on it; of sizes that no file may ask
    for, too."""
    usual = Airframe.model_validate(
        {
            "name": "plate",
            "about": "a bare plate",
            "sheets": {
                "plate": {
                    "outline": {"chord": "200 mm", "span": "400 mm"},
                    "thickness": "4 mm",
                    "material": "foam board",
                    "edge": "rounded",
                    "mass": "100 g",
                }
            },
            "pack": {"cells": 3, "capacity": "1 Ah", "resistance": "10 mohm", "limit": "30 A"},
            "controller": {
                "limit": "30 A",
                "resistance": "5 mohm",
                "cutoff": "3.2 V",
                "supply": "5 V",
                "supply_limit": "2 A",
            },
            "mixing": {"high": {}, "low": {}},
            "launch": {
                "hand": {
                    "speed": "8 m/s",
                    "pitch": "0 deg",
                    "height": "2 m",
                    "throttle": "0 %",
                }
            },
        }
    )
    size = {"chord": chord, "span": aspect_ratio * chord}
    sheet = usual.sheets["plate"]
    outline = sheet.outline.model_copy(update=size)
    made = sheet.model_copy(update={"outline": outline, "thickness": thickness})
    return usual.model_copy(update={"sheets": {"plate": made}})


@lru_cache
def plate_model(aspect_ratio: float) -> Model:
    return build(plate_airframe(aspect_ratio), STANDARD)


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
