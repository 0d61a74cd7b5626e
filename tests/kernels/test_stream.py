"""The propeller's stream over the sheets: momentum in, momentum out."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped, shipped_model
from checks import compare
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import spsolve

from firstthrow.sim.build.section import EFFECT
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.build.stream import SWIRL_BOUND, turned
from firstthrow.sim.kernels import drive, plate
from firstthrow.sim.kernels.layout import (
    DEFLECTION,
    MOTOR_CURRENT,
    REPORT_SIZE,
    ROTOR,
    SIZE,
    THRUST,
)
from firstthrow.sim.kernels.moving import scratch

STRAIGHT = ("motors.motor.right_tilt=0 deg", "motors.motor.down=0 deg")


def roll_moments(name: str, speed: float, omega: float = 700.0) -> tuple[float, float, float]:
    """Propeller's torque, the motor's roll moment on the airframe, the sheets' roll moment
    about the shaft, in steady running."""
    body, own = shipped_model(name, *STRAIGHT).body, scratch()[0]
    m, total = body.record[0], own.total
    state, report, rates = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(SIZE)
    state[3], state[ROTOR] = 1.0, omega
    air = np.array([-speed, 0.0, 0.0])
    _, torque, *_ = drive.propeller(body, 0, speed, omega)
    report[MOTOR_CURRENT] = torque / m.motor_kt[0] + m.motor_no_load[0]
    drive.add_motors(body, state, air, rates, report, own)
    assert abs(rates[ROTOR]) < 1e-6 * omega
    reaction = total[3]
    loads = []
    for share in (1.0, 0.0):
        total[:] = 0.0
        own.stream *= share
        plate.effective_angles(m, report, own)
        plate.local_flow(body, state, air, 0.0, report, own)
        plate.add_forces(body, 1e3, report, own)
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
    body, own = shipped_model("pantry", *STRAIGHT).body, scratch()[0]
    state, report, rates = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(SIZE)
    state[3], state[ROTOR] = 1.0, 800.0
    air = np.zeros(3)
    drive.add_motors(body, state, air, rates, report, own)
    moments = []
    for up in (0.0, np.radians(10.0)):
        report[DEFLECTION : DEFLECTION + 2] = -up
        own.total[:] = 0.0
        plate.effective_angles(body.record[0], report, own)
        plate.local_flow(body, state, air, 0.0, report, own)
        plate.add_forces(body, 1e3, report, own)
        moments.append(own.total[4])
    assert moments[1] - moments[0] > 0.005


def elevon_force(name: str, speed: float, shares: float = 1.0) -> tuple[float, float]:
    """Force by elevon angle [N/rad], small angles, and thrust; shares: of what is left out of the
    stream, 0: the lattice alone."""
    body, own = shipped_model(name, *STRAIGHT).body, scratch()[0]
    state, report, rates = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(SIZE)
    state[3], state[ROTOR] = 1.0, 700.0
    air = np.array([-speed, 0.0, 0.0])
    drive.add_motors(body, state, air, rates, report, own)
    own.lost *= shares
    force = []
    for up in (0.0, 0.01):
        report[DEFLECTION : DEFLECTION + 2] = -up
        own.total[:] = 0.0
        plate.effective_angles(body.record[0], report, own)
        plate.local_flow(body, state, air, 0.0, report, own)
        plate.add_forces(body, 1e3, report, own)
        force.append(own.total[2])
    return (force[1] - force[0]) / 0.01, float(report[THRUST])


def test_a_round_stream_across_a_plate():
    """What a plate across the middle can turn, against the same flow on a grid of half the disc:
    no pressure at the border, the plate's speed along its diameter."""
    n = 120
    r = (np.arange(n) + 0.5) / n
    dr, dt = 1.0 / n, np.pi / n
    rows, columns, values, right = [], [], [], np.zeros(n * n)
    for i in range(n):
        for j in range(n):
            here, centre = i * n + j, 0.0
            for near, face in ((i + 1, r[i] + dr / 2), (i - 1, r[i] - dr / 2)):
                weight = face / (r[i] * dr**2)
                if near == n:
                    centre -= 2.0 * weight
                elif near >= 0:
                    rows.append(here), columns.append(near * n + j), values.append(weight)
                    centre -= weight
            weight = 1.0 / (r[i] * dt) ** 2
            for near in (j - 1, j + 1):
                if 0 <= near < n:
                    rows.append(here), columns.append(i * n + near), values.append(weight)
                    centre -= weight
                else:  # the plate pushes the fluid out of the half disc with speed 1
                    right[here] += 1.0 / (r[i] * dt)
            rows.append(here), columns.append(here), values.append(centre)
    matrix = csr_matrix((values, (rows, columns)), shape=(n * n, n * n))
    potential = spsolve(matrix, right).reshape(n, n)
    wall = 0.5 * (potential[:, 0] + potential[:, -1])
    wall += 0.5 * r * dt * 0.5  # from the cells' middles to the plate
    on_grid = 2.0 * 2.0 * abs(wall).sum() * dr
    ends = np.linspace(-1.0, 1.0, 161)
    found = turned(np.column_stack([ends[:-1], ends[1:]]), 0.0, 1.0, np.ones(160))
    compare("long plate across a round stream", [on_grid / np.pi], [found / np.pi], relative=0.03)


@pytest.mark.parametrize("name", ["pantry", "glasshouse"])
def test_elevons_turn_no_more_of_a_stream_than_it_holds(name):
    """At rest less than the thrust, which is the stream's momentum, over the flapped span, and
    about 0.56 of it (derived from the stream's border); far faster than the stream's increment
    what the lattice says."""
    bounded, thrust = elevon_force(name, 0.0)
    free, _ = elevon_force(name, 0.0, 0.0)
    m = shipped_model(name, *STRAIGHT).record
    radius = m.motor_radius[0] * np.sqrt(0.5)
    inner = min(s.inner for s in surface_spans(shipped(name))) / radius
    part = 1.0 - 2.0 / np.pi * (inner * np.sqrt(1.0 - inner**2) + np.arcsin(inner))
    print(f"{name}: {free / thrust:.3f} free, {bounded / thrust:.3f}, all turned {part:.3f}")
    assert free > 1.2 * EFFECT["taped"] * part * thrust
    turned_share = bounded / (EFFECT["taped"] * part * thrust)
    compare("of what flows over the elevons", [0.56], [turned_share], absolute=0.04)
    fast, _ = elevon_force(name, 20.0)
    compare("fast", [elevon_force(name, 20.0, 0.0)[0]], [fast], relative=0.08)
    shares = [elevon_force(name, v)[0] / elevon_force(name, v, 0.0)[0] for v in (0, 4, 8, 12)]
    assert np.all(np.diff(shares) > 0.0)


def test_thrust_turns_the_airframe_about_its_own_place():
    """In air straight along a tilted shaft the moment is place x thrust and the shaft's torque."""
    tilted = shipped_model("pantry", "motors.motor.right_tilt=6 deg", "motors.motor.down=5 deg")
    body, own = tilted.body, scratch()[0]
    m, total = body.record[0], own.total
    state, report, rates = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(SIZE)
    state[3], state[ROTOR] = 1.0, 700.0
    report[MOTOR_CURRENT] = 5.0
    axis, place = m.motor_axis[0], m.motor_place[0]
    drive.add_motors(body, state, -8.0 * axis, rates, report, own)
    shaft = m.motor_kt[0] * (5.0 - m.motor_no_load[0])
    force = report[THRUST] * axis
    compare("force N", force, total[:3], absolute=1e-12)
    wanted = np.cross(place, force) - m.motor_sense[0] * shaft * axis
    compare("moment N m", wanted, total[3:6], absolute=1e-12)
    assert abs(np.cross(place, force)[2]) > 0.005  # so that a wrong arm would show
