"""Motor, controller, pack, propeller match, reactions and slipstream by the kernels."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import Motion, meadow, shipped, shipped_model
from checks import compare, named
from scipy.optimize import brentq

from firstthrow.sim.build import propeller
from firstthrow.sim.build.model import build
from firstthrow.sim.build.powertrain import CELL_REST, propeller_rows
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.kernels import drive
from firstthrow.sim.kernels.layout import (
    CHARGE,
    COMMAND_SIZE,
    COMMAND_THROTTLE,
    MOTOR_CURRENT,
    PACK_CURRENT,
    PACK_VOLTAGE,
    REPORT_SIZE,
    ROTOR,
    SIZE,
    THRUST,
)
from firstthrow.sim.kernels.moving import scratch
from firstthrow.sim.kernels.parameters import Body
from firstthrow.sim.kernels.rotation import to_field
from firstthrow.sim.proof import motor as proved
from firstthrow.sim.proof.bodies import KT, constant_table, motor

ROWS = named(proved)

pytestmark = pytest.mark.kernel


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
        m = body.record[0]
        state, command = np.zeros(SIZE), np.zeros(COMMAND_SIZE)
        state[ROTOR], state[10:13], state[SIZE - 1] = omega, rates, drawn
        command[COMMAND_THROTTLE] = throttle
        self.report, change, own = np.zeros(REPORT_SIZE), np.zeros(SIZE), scratch()[0]
        self.total, self.stream = own.total, own.stream
        drive.electric(m, state, command, 0.0, self.report)
        drive.add_motors(body, state, np.array(air, float), change, self.report, own)
        self.amps = self.report[MOTOR_CURRENT]
        self.thrust = self.report[THRUST]
        self.spin_up = change[ROTOR] * m.rotor_inertia[0]  # torque left over


def steady(body: Body, **conditions) -> tuple[float, Running]:
    omega = brentq(lambda w: Running(body, w, **conditions).spin_up, 1.0, 5000.0, xtol=1e-10)
    return omega, Running(body, omega, **conditions)


def test_torque_constant():
    """Kv of a config becomes kt of the record; pantry with another motor."""
    model = build(shipped("pantry", "motors.motor.kv=1000 rpm/V"), meadow())
    compare("M01 N m/A", ROWS["M01"].outside, [model.record.motor_kt[0]], relative=1e-5)


def test_rest_voltage():
    row = ROWS["M06"]
    charge = np.array(row.at) / 100.0
    model = shipped_model()
    found = [drive.rest_voltage(model.record, (1.0 - c) * model.record.capacity) for c in charge]
    compare("M06 V of 3 cells, kernel", 3.0 * np.array(row.outside), found, absolute=0.15)
    assert drive.rest_voltage(model.record, 1e9) == pytest.approx(3.0 * CELL_REST[0])


def test_pack_sag():
    """Three cells of 6 mohm from a config, the motor held at the speed where 20 A flow."""
    model = build(shipped("pantry", "pack.resistance=6 mohm"), meadow())
    body = motor(12.0, pack_ohm=float(model.record.pack_resistance))
    omega = brentq(lambda w: Running(body, w).amps - 20.0, 1.0, 1300.0)
    sag = 12.0 - Running(body, omega).report[PACK_VOLTAGE]
    compare("M09 V", ROWS["M09"].outside, [sag], relative=1e-6)


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
    body.record[0].controller_limit = 15.0
    assert Running(body, 10.0).amps == pytest.approx(15.0, rel=1e-12)
    body.record[0].controller_limit = 1e6
    full = Running(body, 800.0).amps
    body.record[0].cutoff_voltage = 12.2
    assert Running(body, 800.0).amps < 0.5 * full


def test_induced_speed():
    body = motor(1.0)
    body.record[0].density = 1.225
    still = drive.induced(body.record[0], 0, 0.0, 5.0)
    compare("R14 m/s, W", ROWS["R14"].outside, [still, 5.0 * still], relative=2e-4)
    moving = drive.induced(body.record[0], 0, 10.0, 2.0)
    found = [moving, 10.0 / (10.0 + moving), 10.0 + 2.0 * moving]
    compare("R15 m/s, eta, m/s", ROWS["R15"].outside, found, relative=5e-4)


def in_stream(behind: float, along: float) -> tuple[Running, Body]:
    """A narrow strip in the stream of the reference motor, running still."""
    body = motor(7.4, constant_table(0.1286, 0.0524))
    m = body.record[0]
    m.density, m.n_strips = 1.225, 1
    m.strip_span[:, 0], m.strip_normal[:, 0], m.strip_width[0] = (0, 1, 0), (0, 0, -1), 1e-6
    m.stream_behind[0, 0], m.stream_along[0, 0] = behind, along
    # Of the induced speed: all of it at the disc, twice far behind it (vortex tube on its axis).
    m.stream_near[0, 0], m.stream_grown[0, 0] = 1, 1.0 + behind / np.hypot(behind, 0.127)
    return steady(body)[1], body


def test_slipstream():
    """Far behind the stream has twice the induced speed, half the area, all of the torque."""
    run, body = in_stream(1000.0, 0.06)
    induced = drive.induced(body.record[0], 0, 0.0, run.thrust)
    compare("far stream m/s", [-2.0 * induced], [run.stream[0, 0]], relative=1e-5)
    torque = KT * (run.amps - 0.6)
    radius = 0.127 * np.sqrt(0.5)
    turn = run.stream[2, 0] / 0.06
    carried = 1.225 * 2.0 * induced * turn * 0.5 * np.pi * radius**4
    compare("swirl carries N m", [torque], [carried], relative=1e-5)
    assert run.stream[2, 0] > 0.0  # clockwise from behind: down on the right
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
    n, d = 100.0, blade.size[0]
    omega = 2.0 * np.pi * n
    for ratio in (0.0, 0.2, 0.4, 0.6):
        thrust, power = propeller.coefficients(table, ratio)
        axial = ratio * n * d
        found = drive.propeller(body, 0, axial, omega)
        wanted = [thrust * 1.225 * n**2 * d**4, power / (2.0 * np.pi) * 1.225 * n**2 * d**5]
        compare(f"J {ratio} N, N m", wanted, found[:2], relative=2e-3, absolute=1e-5)
        low, high = (np.array(drive.propeller(body, 0, axial, omega * f)) for f in (0.98, 1.02))
        slopes = (high - low)[:2] / (0.04 * omega)
        compare(f"J {ratio} slopes", slopes, found[2:4], relative=0.03)


def test_reactions():
    """Torque rolls left, a pitching rotor yaws, and climbing pulls the nose left.

    For a propeller turning clockwise seen from behind; mirrored for the other one.
    """
    rotor = propeller_rows(shipped().motors["motor"])[None]
    for sense in (1.0, -1.0):
        body = motor(7.4, rotor, 0.2032)
        body.record[0].motor_sense[0] = sense
        omega, run = steady(body)
        compare("roll N m", [-sense * KT * (run.amps - 0.6)], [run.total[3]], relative=1e-9)
        turned = Running(body, omega, rates=(0.0, 2.0, 0.0))
        gyroscopic = sense * body.record[0].rotor_inertia[0] * omega * 2.0
        compare("yaw N m", [gyroscopic], [turned.total[5] - run.total[5]], relative=1e-9)
        climbing = Running(body, omega, air=(-8.0, 0.0, -3.0))
        assert sense * climbing.total[5] < 0.0
        assert climbing.total[2] < 0.0  # air from below lifts the disc
        level = Running(body, omega, air=(-8.0, 0.0, 0.0))
        assert level.total[5] == 0.0


def test_swapped_leads_do_not_brake_a_shut_motor():
    model = build(shipped("pantry", "motors.motor.leads_swapped=true"), meadow())
    state, report, command = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(COMMAND_SIZE)
    state[ROTOR] = 500.0
    drive.electric(model.record, state, command, 0.0, report)
    assert report[MOTOR_CURRENT] == 0.0


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_turning_rotor_and_its_airframe_keep_their_angular_momentum(sense):
    """Tumbling without air or current, the sum of both stays what it was, in the field's axes."""
    body = motor(7.4)
    m = body.record[0]
    m.inertia[:] = np.diag([0.004, 0.006, 0.009])
    m.mass_inverse[3:, 3:] = np.linalg.inv(m.inertia)
    m.motor_axis[0], m.motor_sense[0], m.motor_no_load[0] = (0.8, -0.48, 0.36), sense, 0.0
    motion = Motion(body, (1.0, -0.7, 2.0), height=100.0)
    motion.state[ROTOR] = 600.0
    path = motion.run(1.0)
    assert np.abs(path[:, ROTOR] - 600.0).max() < 1e-9
    spin = sense * m.rotor_inertia[0] * 600.0 * m.motor_axis[0]
    whole = np.array(
        [to_field(*s[3:7], *(m.inertia @ s[10:13] + spin)) for s in (path[0], path[60], path[-1])]
    )
    compare("N m s", whole[[0, 0]], whole[1:], absolute=1e-6 * np.linalg.norm(whole[0]))
    assert np.linalg.norm(spin) > 0.2 * np.linalg.norm(whole[0])  # so that it matters
    assert np.abs(path[-1, 10:13] - path[0, 10:13]).max() > 0.1


@pytest.mark.parametrize("throttle", [0.0, 0.3])
def test_the_servos_drink_from_the_pack(throttle):
    """Two servos of 200 mA at 5 V are 2 W, from 12.6 V of a full pack (4.20 V a cell, M06)."""
    sober = shipped_model("pantry", "servos.elevon.idle_current=0 mA")
    thirsty = shipped_model("pantry", "servos.elevon.idle_current=200 mA")
    state, asked = np.zeros(SIZE), np.zeros(COMMAND_SIZE)
    state[2], state[3], state[ROTOR], asked[COMMAND_THROTTLE] = -50.0, 1.0, 300.0, throttle
    amps = [rates_of(model, state, asked)[0][CHARGE] for model in (sober, thirsty)]
    compare("A of the pack", 2.0 / 12.6, amps[1] - amps[0], relative=0.02)
    assert amps[0] >= 0.0


def test_air_across_the_disc_is_the_mean_of_a_turn():
    """A blade meets the air across the disc as more and as less rotor speed, by turns, the more
    so the nearer the hub: the mean round a turn of each element's own load, as the tables have it.

    Glauert, in Durand, Aerodynamic Theory IV (1935), ch. 12 (the physics; the mean is taken here).
    """
    blade = shipped().motors["motor"].propeller
    body = motor(7.4, propeller_rows(shipped().motors["motor"])[None], blade.size[0])
    omega, across, ahead, tip = 700.0, 2.0, 8.0, 0.5 * blade.size[0]
    straight = Running(body, omega, air=(-ahead, 0.0, 0.0))
    slanted = Running(body, omega, air=(-ahead, 0.0, -across))
    whole = propeller._blade(
        *blade.size, blade.blades, blade.blade_width, blade.blade_thickness, 60.0
    )
    turn = np.linspace(0.0, 2.0 * np.pi, 25)[:-1]
    force, moment = 0.0, 0.0
    for n, radius in enumerate(whole.radius[:, 0] * tip):
        rim = 0.75 * tip * (omega + across * np.sin(turn) / radius)
        thrust, torque, _ = propeller._forces(element(whole, n), np.arctan2(ahead, rim))
        scale = 1.225 * (ahead**2 + rim**2) * blade.size[0] ** 2
        force += np.mean(torque * scale * blade.size[0] * np.sin(turn)) / radius
        moment += np.mean(thrust * scale * np.sin(turn)) * radius
    compare("force N", -force, slanted.total[2] - straight.total[2], relative=0.03)
    compare("moment N m", -moment, slanted.total[5] - straight.total[5], relative=0.03)


def element(blade: propeller.Blade, n: int) -> propeller.Blade:
    """One station of a blade by itself."""
    section = blade.section
    alone = section._replace(**{f: getattr(section, f)[[n]] for f in section._fields[:-1]})
    arrays = ("radius", "width", "chord", "pitch", "solidity")
    return blade._replace(section=alone, **{f: getattr(blade, f)[[n]] for f in arrays})


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_disc_off_the_centre_meets_the_air_it_moves_through(axis):
    """A rate is the local velocity rate x place, and no other air."""
    body = motor(7.4, propeller_rows(shipped().motors["motor"])[None], 0.2032)
    place, rates, air = np.array([0.5, 0.8, -0.6]), np.zeros(3), np.array([-8.0, 0.5, -1.0])
    body.record[0].motor_place[0] = place
    rates[axis] = 1.5
    turning = Running(body, 700.0, air=air, rates=rates)
    moving = Running(body, 700.0, air=air - np.cross(rates, place))
    still = Running(body, 700.0, air=air)
    compare("force N", moving.total[:3], turning.total[:3], absolute=1e-12)
    assert np.abs(moving.total[:3] - still.total[:3]).max() > 1e-3
