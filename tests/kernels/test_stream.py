"""The propeller's stream over the sheets: momentum in, momentum out."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped_model
from checks import compare
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import spsolve

from firstthrow.sim.build.powertrain import SWIRL_BOUND
from firstthrow.sim.kernels import drive, plate
from firstthrow.sim.kernels.layout import (
    DEFLECTION,
    MOTOR_CURRENT,
    REPORT_SIZE,
    ROTOR,
    SIZE,
    THRUST,
)
from firstthrow.sim.kernels.workspace import Workspace

STRAIGHT = ("motors.motor.right_tilt=0 deg", "motors.motor.down=0 deg")


def roll_moments(name: str, speed: float, omega: float = 700.0) -> tuple[float, float, float]:
    """Propeller's torque, the motor's roll moment on the airframe, the sheets' roll moment
    about the shaft, in steady running."""
    model, space = shipped_model(name, *STRAIGHT), Workspace()
    m = model.record
    state, report, rates, total = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(SIZE), np.zeros(8)
    state[3], state[ROTOR] = 1.0, omega
    air = np.array([-speed, 0.0, 0.0])
    _, torque, _, _ = drive.propeller(m, model.propellers, 0, speed, omega)
    report[MOTOR_CURRENT] = torque / m.motor_kt[0] + m.motor_no_load[0]
    drive.add_motors(m, model.propellers, state, air, total, rates, report, space.stream)
    assert abs(rates[ROTOR]) < 1e-6 * omega
    reaction = total[3]
    total[:] = 0.0
    still = np.zeros((space.stream.shape[0], 3))
    loads = []
    for stream in (space.stream, still):
        total[:] = 0.0
        plate.effective_angles(m, space.work, report)
        plate.local_flow(m, model.plates, state, air, 0.0, stream, space.work, report)
        plate.add_forces(m, model.response, 1e3, space.work, total, report)
        # About the shaft: the sheets' forces on their arms from it.
        y, z = m.motor_place[0, 1], m.motor_place[0, 2]
        loads.append(total[3] - (y * total[2] - z * total[1]))
    return torque, reaction, loads[0] - loads[1]


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "allotment"])
@pytest.mark.parametrize("speed", [0.0, 4.0, 8.0, 12.0])
def test_angular_momentum(name, speed):
    """The motor turns the airframe back with the propeller's torque, the sheets take part of
    it out of the stream again, and what the stream keeps turns on with the propeller: the three
    add to nothing, and the stream keeps at least what a long plate across it must leave."""
    torque, reaction, recovered = roll_moments(name, speed)
    assert torque > 0.0
    assert reaction == pytest.approx(-torque, rel=1e-6)
    kept = -reaction - recovered
    print(f"{name} at {speed} m/s: recovered {recovered / torque:.2f} of the torque")
    assert recovered > 0.0
    assert kept / torque > 1.0 - SWIRL_BOUND - 0.02


def test_swirl_bound():
    """What a solid turn keeps of its angular momentum in two half discs: solved on a grid.

    Vorticity 2 in a region at rest at its border: the Poisson equation for the stream function,
    whose integral is the angular momentum, as for the torsion of a bar.
    """
    n = 160
    r = (np.arange(n) + 0.5) / n
    dr, dt = 1.0 / n, np.pi / n
    rows, columns, values = [], [], []
    for i in range(n):
        for j in range(n):
            here, centre = i * n + j, 0.0
            for step, weight in (
                (1, (r[i] + dr / 2) / (r[i] * dr**2)),
                (-1, (r[i] - dr / 2) / (r[i] * dr**2)),
            ):
                near = i + step
                if 0 <= near < n:
                    rows.append(here), columns.append(near * n + j), values.append(weight)
                    centre -= weight
                elif near == n:
                    centre -= 2.0 * weight  # the border lies half a cell away
            weight = 1.0 / (r[i] * dt) ** 2
            for near in (j - 1, j + 1):
                if 0 <= near < n:
                    rows.append(here), columns.append(i * n + near), values.append(weight)
                    centre -= weight
                else:
                    centre -= 2.0 * weight
            rows.append(here), columns.append(here), values.append(centre)
    matrix = csr_matrix((values, (rows, columns)), shape=(n * n, n * n))
    stream = spsolve(matrix, np.full(n * n, -2.0)).reshape(n, n)
    half = 2.0 * np.sum(stream * r[:, None]) * dr * dt
    compare("half disc", [0.5 * np.pi - 4.0 / np.pi], [half], relative=0.002)
    compare("bound", [1.0 - 2.0 * half / (0.5 * np.pi)], [SWIRL_BOUND], absolute=0.002)


def test_elevons_work_in_the_stream_at_no_airspeed():
    model, space = shipped_model("pantry", *STRAIGHT), Workspace()
    m, report, rates, total = model.record, np.zeros(REPORT_SIZE), np.zeros(SIZE), np.zeros(8)
    state = np.zeros(SIZE)
    state[3], state[ROTOR] = 1.0, 800.0
    air = np.zeros(3)
    drive.add_motors(m, model.propellers, state, air, total, rates, report, space.stream)
    moments = []
    for up in (0.0, np.radians(10.0)):
        report[DEFLECTION : DEFLECTION + 2] = -up
        total[:] = 0.0
        plate.effective_angles(m, space.work, report)
        plate.local_flow(m, model.plates, state, air, 0.0, space.stream, space.work, report)
        plate.add_forces(m, model.response, 1e3, space.work, total, report)
        moments.append(total[4])
    assert moments[1] - moments[0] > 0.005


def test_thrust_turns_the_airframe_about_its_own_place():
    """In air straight along a tilted shaft the moment is place x thrust and the shaft's torque."""
    model = shipped_model("pantry", "motors.motor.right_tilt=6 deg", "motors.motor.down=5 deg")
    m, space = model.record, Workspace()
    state, report, rates, total = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(SIZE), np.zeros(8)
    state[3], state[ROTOR] = 1.0, 700.0
    report[MOTOR_CURRENT] = 5.0
    axis, place = m.motor_axis[0], m.motor_place[0]
    drive.add_motors(m, model.propellers, state, -8.0 * axis, total, rates, report, space.stream)
    shaft = m.motor_kt[0] * (5.0 - m.motor_no_load[0])
    force = report[THRUST] * axis
    compare("force N", force, total[:3], absolute=1e-12)
    wanted = np.cross(place, force) - m.motor_sense[0] * shaft * axis
    compare("moment N m", wanted, total[3:6], absolute=1e-12)
    assert abs(np.cross(place, force)[2]) > 0.005  # so that a wrong arm would show
