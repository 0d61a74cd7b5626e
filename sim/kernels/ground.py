"""Contact with the ground: wheels, skids, the foam's corners, the propeller.

Spring and damper at each point, Coulomb friction regularised at small speeds. The damping
is a fraction of critical for the mass the point carries, and comes in over the first 2 mm
so that a touch does not begin with a jump. Wheels roll freely along their heading.
"""

from math import cos, sin, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import BREAKING, BROKEN, ROTOR, STRIKE, SURFACE, TOUCHING
from firstthrow.sim.kernels.rotation import to_body, to_field

SLIP = 0.1  # speed at which friction is nearly full [m/s]
RAMP = 0.002  # depth over which damping comes in [m]
TURNING = 30.0  # a rotor faster than this breaks its blades on the ground [rad/s]


@kernel
def clearance(m, state):
    """Height of the lowest contact point above the ground [m]; a lower bound high up."""
    if -state[2] > 2.0 * m.reach + 1.0:
        return -state[2] - m.reach
    lowest = 1e9
    for i in range(m.n_contacts):
        _, _, z = to_field(
            state[3],
            state[4],
            state[5],
            state[6],
            m.contact_place[i, 0],
            m.contact_place[i, 1],
            m.contact_place[i, 2],
        )
        lowest = min(lowest, -(state[2] + z))
    for k in range(m.n_motors):
        lowest = min(lowest, -(state[2] + disc_bottom(m, state, k)))
    return lowest


@kernel
def disc_bottom(m, state, k):
    """How far below the centre of gravity the propeller's disc reaches [m]."""
    _, _, z = to_field(
        state[3],
        state[4],
        state[5],
        state[6],
        m.motor_place[k, 0],
        m.motor_place[k, 1],
        m.motor_place[k, 2],
    )
    _, _, c = to_field(
        state[3],
        state[4],
        state[5],
        state[6],
        m.motor_axis[k, 0],
        m.motor_axis[k, 1],
        m.motor_axis[k, 2],
    )
    return z + m.motor_radius[k] * sqrt(max(0.0, 1.0 - c * c))


@kernel
def add_contacts(m, state, total, report):
    """Add ground forces to total (force, moment; body axes) and touches to the report."""
    report[TOUCHING] = 0.0
    report[BREAKING] = 0.0
    report[BROKEN] = -1.0
    report[STRIKE] = 0.0
    if -state[2] > m.reach:
        return
    w, i, j, k = state[3], state[4], state[5], state[6]
    u, v, s = state[7], state[8], state[9]
    p, q, r = state[10], state[11], state[12]
    for n in range(m.n_motors):
        depth = state[2] + disc_bottom(m, state, n)
        if depth > 0.0 and abs(state[ROTOR + n]) > TURNING:
            report[STRIKE] = max(report[STRIKE], depth)
    for n in range(m.n_contacts):
        x, y, z = m.contact_place[n, 0], m.contact_place[n, 1], m.contact_place[n, 2]
        _, _, below = to_field(w, i, j, k, x, y, z)
        depth = state[2] + below
        if depth <= 0.0:
            continue
        north, east, closing = to_field(
            w, i, j, k, u + q * z - r * y, v + r * x - p * z, s + p * y - q * x
        )
        press = depth * m.contact_stiffness[n]
        press += closing * m.contact_damping[n] * min(1.0, depth / RAMP)
        press = max(0.0, press)
        report[TOUCHING] += 1.0
        hit = closing / m.contact_breaks[n]
        if hit > report[BREAKING]:
            report[BREAKING] = hit
            report[BROKEN] = float(n)
        # Heading of the point over the ground: the nose, turned by what steers it.
        a, b, _ = to_field(w, i, j, k, 1.0, 0.0, 0.0)
        size = sqrt(a * a + b * b)
        a, b = (a / size, b / size) if size > 1e-6 else (1.0, 0.0)
        slot = m.contact_steers[n]
        if slot >= 0:
            angle = -m.contact_steer_ratio[n] * state[SURFACE + slot]
            a, b = cos(angle) * a - sin(angle) * b, sin(angle) * a + cos(angle) * b
        along = north * a + east * b
        across = -north * b + east * a
        roll = -press * m.contact_rolling[n] * along / sqrt(along * along + SLIP * SLIP)
        slide = -press * m.contact_friction[n] * across / sqrt(across * across + SLIP * SLIP)
        fx, fy, fz = to_body(w, i, j, k, roll * a - slide * b, roll * b + slide * a, -press)
        total[0] += fx
        total[1] += fy
        total[2] += fz
        total[3] += y * fz - z * fy
        total[4] += z * fx - x * fz
        total[5] += x * fy - y * fx
