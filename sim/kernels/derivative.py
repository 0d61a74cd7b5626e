"""Rate of change of the state: the one place where every effect meets.

Newton and Euler about the centre of gravity in body axes, with the apparent mass of the air
among the accelerations (see `apparent`, `accelerating`), angular momentum of the rotors, quaternion
kinematics. Source: Stevens, Lewis and Johnson, Aircraft Control and Simulation, ch. 1.
"""

import numpy as np

from firstthrow.sim.kernels import accelerating, drive, fittings, ground, plate, servo
from firstthrow.sim.kernels.compiled import apart
from firstthrow.sim.kernels.layout import (
    AIR,
    BENDING,
    CHARGE,
    COMMAND_HELD,
    PACK_CURRENT,
    ROLL_GUST,
    SIZE,
    SPECIFIC_FORCE,
    WIND,
)
from firstthrow.sim.kernels.moving import moving, scratch
from firstthrow.sim.kernels.parameters import RECORD, Body
from firstthrow.sim.kernels.rotation import rate, to_body, to_field
from firstthrow.sim.kernels.wind import fade, wind


def flight_arguments():
    """Such as every flight has."""
    flight = moving()
    body = Body(np.zeros(1, RECORD), np.zeros((1,) * 3), np.zeros((1,) * 4), np.zeros((1,) * 3))
    return body, flight.state, flight.command, flight.gust, flight.state, flight.report, scratch()


@apart(flight_arguments)
def derivative(body, state, command, gust, rates, report, scratch):
    """Fill rates (SIZE,) and report (REPORT_SIZE,) for a state under a command."""
    m, own = body.record[0], scratch[0]
    total = own.total
    for n in range(SIZE):
        rates[n] = 0.0
    w, x, y, z = state[3], state[4], state[5], state[6]
    u, v, s = state[7], state[8], state[9]
    p, q, r = state[10], state[11], state[12]
    north, east, down = wind(m, -state[2], gust)
    a, b, c = to_body(w, x, y, z, north, east, down)
    air = report[AIR : AIR + 3]
    air[0], air[1], air[2] = a - u, b - v, c - s
    report[WIND], report[WIND + 1], report[WIND + 2] = north, east, down
    for n in range(8):
        total[n] = 0.0

    # The servos' current needs the hinge moments, which need the stream, which needs the
    # motors, which need the pack: the moments of the last evaluation stand in here.
    drive.electric(m, state, command, servo.current(m, command, report), report)
    drive.add_motors(body, state, air, rates, report, own)
    fittings.add_drag(m, state, air, report, total)
    servo.deflections(m, state, report)
    plate.effective_angles(m, report, own)
    rates[0], rates[1], rates[2] = to_field(w, x, y, z, u, v, s)
    moving = m.still < 0.5
    swings = m.n_swinging > 0
    ax, ay, az = 0.0, 0.0, 0.0
    if moving:
        ax, ay, az = accelerating.meet(m, state, air, -rates[2], gust, own)
    else:
        for n in range(3):
            own.gradient[n] = 0.0
    roll_gust = 0.0 if m.still > 0.5 else gust[ROLL_GUST] * fade(-state[2])
    plate.local_flow(body, state, air, roll_gust, report, own)
    # The builder's datum stands a little ahead of and above the centre of gravity.
    _, _, below = to_field(w, x, y, z, m.datum[0], m.datum[1], m.datum[2])
    plate.add_forces(body, -state[2] - below, report, own)
    servo.move(m, state, command, rates, report)
    rates[CHARGE] = report[PACK_CURRENT]
    ground.add_contacts(m, state, total, report)

    gx, gy, gz = to_body(w, x, y, z, 0.0, 0.0, m.gravity)
    if command[COMMAND_HELD] > 0.5:
        for n in range(3):
            report[SPECIFIC_FORCE + n] = total[n] / m.mass
        report[BENDING] = 0.0
        for n in range(3):
            rates[n] = 0.0
        if swings:
            servo.swing(m, state, rates, (-gx, -gy, -gz), report)
        return

    tx, ty, tz = q * s - r * v, r * u - p * s, p * v - q * u
    total[0] += m.mass * (gx - tx)
    total[1] += m.mass * (gy - ty)
    total[2] += m.mass * (gz - tz)
    hx = m.inertia[0, 0] * p + m.inertia[0, 1] * q + m.inertia[0, 2] * r
    hy = m.inertia[1, 0] * p + m.inertia[1, 1] * q + m.inertia[1, 2] * r
    hz = m.inertia[2, 0] * p + m.inertia[2, 1] * q + m.inertia[2, 2] * r
    total[3] -= q * hz - r * hy
    total[4] -= r * hx - p * hz
    total[5] -= p * hy - q * hx
    if moving:
        az = accelerating.add_pull(m, state, (a, b, c), ax, ay, az, total)
    for n in range(6):
        value = 0.0
        for k in range(6):
            value += m.mass_inverse[n, k] * total[k]
        rates[7 + n] = value
    # What a weight inside would feel: the acceleration there is, less gravity. The air that is
    # dragged along takes its share of the force, so this is not force over mass.
    report[SPECIFIC_FORCE] = rates[7] + tx - gx
    report[SPECIFIC_FORCE + 1] = rates[8] + ty - gy
    report[SPECIFIC_FORCE + 2] = rates[9] + tz - gz
    # At the root: the air's load, what it takes to move the air along, and the wing's own weight.
    relief = -report[SPECIFIC_FORCE + 2] * m.half_moment - (rates[9] - az) * m.half_apparent
    bend = max(abs(total[6] - relief), abs(total[7] - relief))
    report[BENDING] = bend / m.root_strength
    rates[3], rates[4], rates[5], rates[6] = rate(w, x, y, z, p, q, r)
    if swings:
        felt = report[SPECIFIC_FORCE], report[SPECIFIC_FORCE + 1], report[SPECIFIC_FORCE + 2]
        servo.swing(m, state, rates, felt, report)


derivative, derivative_of = derivative  # see `compiled.apart`
