"""Motor, controller, pack, propeller match, reactions and slipstream by the kernels."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import Body, lump, meadow, shipped, shipped_model
from checks import compare, rows
from scipy.optimize import brentq, minimize_scalar

from firstthrow.sim.build import propeller
from firstthrow.sim.build.model import build
from firstthrow.sim.build.powertrain import CELL_REST, propeller_rows
from firstthrow.sim.kernels import drive
from firstthrow.sim.kernels.layout import (
    COMMAND_SIZE,
    COMMAND_THROTTLE,
    MAX_STRIPS,
    MOTOR_CURRENT,
    PACK_CURRENT,
    PACK_VOLTAGE,
    REPORT_SIZE,
    ROTOR,
    SIZE,
    THRUST,
)

pytestmark = pytest.mark.kernel

ROWS = rows("drive")
KT = 60.0 / (2.0 * np.pi * 1000.0)
NO_PROPELLER = np.zeros((1, 9, 4))


def motor(volts: float, table=NO_PROPELLER, diameter: float = 0.254, pack_ohm: float = 0.0) -> Body:
    """The reference motor (Kv 1000 rpm/V, 0.10 ohm, 0.6 A) at the centre of gravity."""
    body = lump()
    m = body.record
    m.n_motors, m.rest_voltage[:], m.pack_resistance = 1, volts, pack_ohm
    m.controller_limit, m.capacity = 1e6, 1e9
    m.motor_axis[0], m.motor_radius[0] = (1.0, 0.0, 0.0), 0.5 * diameter
    m.motor_sense[0] = m.motor_drive[0] = 1.0
    m.motor_kt[0], m.motor_resistance[0], m.motor_no_load[0] = KT, 0.10, 0.6
    m.rotor_inertia[0], m.stream_swirl[0] = 1e-5, 1.0
    return body._replace(propellers=np.ascontiguousarray(table))


class Running:
    """One evaluation of the drive at a rotor speed."""

    def __init__(
        self,
        body: Body,
        omega: float,
        throttle=1.0,
        air=(0.0, 0.0, 0.0),
        rates=(0, 0, 0),
        drawn: float = 0.0,
    ) -> None:
        m = body.record
        state, command = np.zeros(SIZE), np.zeros(COMMAND_SIZE)
        state[ROTOR], state[10:13], state[SIZE - 1] = omega, rates, drawn
        command[COMMAND_THROTTLE] = throttle
        self.report, self.total = np.zeros(REPORT_SIZE), np.zeros(8)
        self.stream, change = np.zeros((MAX_STRIPS, 3)), np.zeros(SIZE)
        drive.electric(m, state, command, 0.0, self.report)
        drive.add_motors(
            m,
            body.propellers,
            state,
            np.array(air, float),
            self.total,
            change,
            self.report,
            self.stream,
        )
        self.amps = self.report[MOTOR_CURRENT]
        self.thrust = self.report[THRUST]
        self.spin_up = change[ROTOR] * m.rotor_inertia[0]  # torque left over


def steady(body: Body, **conditions) -> tuple[float, Running]:
    omega = brentq(lambda w: Running(body, w, **conditions).spin_up, 1.0, 5000.0, xtol=1e-10)
    return omega, Running(body, omega, **conditions)


def constant_table(thrust: float, power: float) -> np.ndarray:
    """A table that gives CT and CP whatever the speed, for a propeller standing still."""
    rim = (0.75 * np.pi) ** 2
    table = np.zeros((1, 721, 4))
    table[0, :, 0], table[0, :, 1] = thrust / rim, power / (2.0 * np.pi * rim)
    return table


def test_torque_constant():
    """Kv of a config becomes kt of the record; pantry with another motor."""
    model = build(shipped("pantry", "motors.motor.kv=1000 rpm/V"), meadow())
    compare("M01 N m/A", ROWS["M01"]["values"], [model.record.motor_kt[0]], relative=1e-5)


def test_motor_alone():
    body = motor(11.1)
    omega, _ = steady(body)
    found = [omega * 30.0 / np.pi, Running(body, 0.0).amps]
    compare("M02 rpm, A", ROWS["M02"]["values"], found, relative=1e-4)

    def power(omega: float) -> float:
        return Running(body, omega).spin_up * omega

    def efficiency(omega: float) -> float:
        return power(omega) / (11.1 * Running(body, omega).amps)

    bounds = {"bounds": (100.0, 1150.0), "method": "bounded", "options": {"xatol": 1e-6}}
    best = minimize_scalar(lambda w: -efficiency(w), **bounds).x
    compare(
        "M03 A, eta",
        ROWS["M03"]["values"],
        [Running(body, best).amps, efficiency(best)],
        relative=3e-4,
    )
    best = minimize_scalar(lambda w: -power(w), **bounds).x
    compare(
        "M04 W, A", ROWS["M04"]["values"], [power(best), Running(body, best).amps], relative=3e-4
    )


def test_motor_and_propeller():
    body = motor(7.4, constant_table(0.1286, 0.0524))
    omega, run = steady(body)
    torque = KT * (run.amps - 0.6)
    shaft = torque * omega
    found = [omega * 30.0 / np.pi, run.amps, shaft, shaft / (7.4 * run.amps), run.thrust, torque]
    compare("M05 rpm, A, W, eta, N, N m", ROWS["M05"]["values"], found, relative=0.005)


def test_rest_voltage():
    row = ROWS["M06"]
    charge = np.array(row["at"]) / 100.0
    table = np.interp(charge, np.linspace(0.0, 1.0, len(CELL_REST)), CELL_REST)
    compare("M06 V a cell", row["values"], table, absolute=0.05)
    model = shipped_model()
    found = [drive.rest_voltage(model.record, (1.0 - c) * model.record.capacity) for c in charge]
    compare("M06 V of 3 cells, kernel", 3.0 * np.array(row["values"]), found, absolute=0.15)
    assert drive.rest_voltage(model.record, 1e9) == pytest.approx(3.0 * CELL_REST[0])


def test_pack_sag():
    """Three cells of 6 mohm from a config, the motor held at the speed where 20 A flow."""
    model = build(shipped("pantry", "pack.resistance=6 mohm"), meadow())
    body = motor(12.0, pack_ohm=float(model.record.pack_resistance))
    omega = brentq(lambda w: Running(body, w).amps - 20.0, 1.0, 1300.0)
    sag = 12.0 - Running(body, omega).report[PACK_VOLTAGE]
    compare("M09 V", ROWS["M09"]["values"], [sag], relative=1e-6)


@pytest.mark.parametrize("throttle", [1.0, 0.6, 0.25])
def test_power_is_kept(throttle):
    """What leaves the pack is heat in the windings or turns the shaft, sag included."""
    body = motor(12.0, constant_table(0.1, 0.04), pack_ohm=0.05)
    omega, run = steady(body, throttle=throttle)
    given = run.report[PACK_VOLTAGE] * run.report[PACK_CURRENT]
    compare("W", [run.amps**2 * 0.10 + KT * omega * run.amps], [given], relative=1e-9)
    assert run.report[PACK_VOLTAGE] == pytest.approx(12.0 - 0.05 * run.report[PACK_CURRENT])


def test_controller():
    """It never brakes, keeps its limit, and backs off when the pack is at its cut-off."""
    body = motor(12.0)
    assert Running(body, 2000.0).amps == 0.0
    assert Running(body, 500.0, throttle=0.0).amps == 0.0
    body.record.controller_limit = 15.0
    assert Running(body, 10.0).amps == pytest.approx(15.0, rel=1e-12)
    body.record.controller_limit = 1e6
    full = Running(body, 800.0).amps
    body.record.cutoff_voltage = 12.2
    assert Running(body, 800.0).amps < 0.5 * full


def test_induced_speed():
    body = motor(1.0)
    body.record.density = 1.225
    still = drive.induced(body.record, 0, 0.0, 5.0)
    compare("R14 m/s, W", ROWS["R14"]["values"], [still, 5.0 * still], relative=2e-4)
    moving = drive.induced(body.record, 0, 10.0, 2.0)
    found = [moving, 10.0 / (10.0 + moving), 10.0 + 2.0 * moving]
    compare("R15 m/s, eta, m/s", ROWS["R15"]["values"], found, relative=5e-4)


def in_stream(behind: float, along: float) -> tuple[Running, Body]:
    """A narrow strip in the stream of the reference motor, running still."""
    body = motor(7.4, constant_table(0.1286, 0.0524))
    m = body.record
    m.density, m.n_strips = 1.225, 1
    m.strip_span[0], m.strip_normal[0], m.strip_width[0] = (0, 1, 0), (0, 0, -1), 1e-6
    m.stream_behind[0, 0], m.stream_along[0, 0] = behind, along
    # Of the induced speed: all of it at the disc, twice far behind it (vortex tube on its axis).
    m.stream_near[0, 0], m.stream_grown[0, 0] = 1, 1.0 + behind / np.hypot(behind, 0.127)
    return steady(body)[1], body


def test_slipstream():
    """Far behind the stream has twice the induced speed, half the area, all of the torque."""
    run, body = in_stream(1000.0, 0.06)
    induced = drive.induced(body.record, 0, 0.0, run.thrust)
    compare("far stream m/s", [-2.0 * induced], [run.stream[0, 0]], relative=1e-5)
    torque = KT * (run.amps - 0.6)
    radius = 0.127 * np.sqrt(0.5)
    turn = run.stream[0, 2] / 0.06
    carried = 1.225 * 2.0 * induced * turn * 0.5 * np.pi * radius**4
    compare("swirl carries N m", [torque], [carried], relative=1e-5)
    assert run.stream[0, 2] > 0.0  # clockwise from behind: down on the right
    assert np.all(in_stream(1000.0, 0.1)[0].stream == 0.0)  # beside it
    assert np.all(in_stream(-0.1, 0.0)[0].stream == 0.0)  # ahead of it
    at_disc, _ = in_stream(1e-9, 0.0)
    assert at_disc.stream[0, 0] == pytest.approx(-induced, rel=1e-4)


def test_table_and_its_slopes():
    """The kernel reads the blade-element table, and its slopes are those of the read force."""
    airframe = shipped()
    motor_ = airframe.motors["motor"]
    blade = motor_.propeller
    table = propeller.table(*blade.size, blade.blades, blade.blade_width, blade.blade_thickness)
    body = motor(7.4, propeller_rows(motor_)[None], blade.size[0])
    m, n, d = body.record, 100.0, blade.size[0]
    omega = 2.0 * np.pi * n
    for ratio in (0.0, 0.2, 0.4, 0.6):
        thrust, power = propeller.coefficients(table, ratio)
        axial = ratio * n * d
        found = drive.propeller(m, body.propellers, 0, axial, omega)
        wanted = [thrust * 1.225 * n**2 * d**4, power / (2.0 * np.pi) * 1.225 * n**2 * d**5]
        compare(f"J {ratio} N, N m", wanted, found[:2], relative=2e-3, absolute=1e-5)
        low, high = (
            np.array(drive.propeller(m, body.propellers, 0, axial, omega * f)) for f in (0.98, 1.02)
        )
        slopes = (high - low)[:2] / (0.04 * omega)
        compare(f"J {ratio} slopes", slopes, found[2:], relative=0.03)


def test_reactions():
    """Torque rolls left, a pitching rotor yaws, and climbing pulls the nose left.

    For a propeller turning clockwise seen from behind; mirrored for the other one.
    """
    rotor = propeller_rows(shipped().motors["motor"])[None]
    for sense in (1.0, -1.0):
        body = motor(7.4, rotor, 0.2032)
        body.record.motor_sense[0] = sense
        omega, run = steady(body)
        compare("roll N m", [-sense * KT * (run.amps - 0.6)], [run.total[3]], relative=1e-9)
        turned = Running(body, omega, rates=(0.0, 2.0, 0.0))
        gyroscopic = sense * body.record.rotor_inertia[0] * omega * 2.0
        compare("yaw N m", [gyroscopic], [turned.total[5] - run.total[5]], relative=1e-9)
        climbing = Running(body, omega, air=(-8.0, 0.0, -3.0))
        assert sense * climbing.total[5] < 0.0
        assert climbing.total[2] < 0.0  # air from below lifts the disc
        level = Running(body, omega, air=(-8.0, 0.0, 0.0))
        assert level.total[5] == 0.0
