"""Drag of all that is not a sheet: what is strapped on, wheels, wires.

Drag areas along the body's axes, lumped by the air they lie in: free, or the stream of a motor
(see `build.fittings`). Every lump keeps, for each axis, the place at which the sum of its parts
acts, so force and moment in straight flight are those of all parts by themselves. Along the nose
a part meets the whole speed, across it the cross flow alone (cross-flow principle; Hoerner,
Fluid-Dynamic Drag, 1965, ch. 3, from memory), so that little incidence gives little cross force.
"""

from math import sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.drive import induced
from firstthrow.sim.kernels.layout import THRUST


@kernel
def add_drag(m, state, air, report, total):
    """Force and moment about the centre of gravity onto `total`; the streams by the thrusts in
    the report. air: past the centre of gravity, body axes [m/s]."""
    for lump in range(1 + m.n_motors):
        sx, sy, sz = 0.0, 0.0, 0.0
        if lump > 0:
            k = lump - 1
            ax, ay, az = m.motor_axis[k, 0], m.motor_axis[k, 1], m.motor_axis[k, 2]
            axial = -(air[0] * ax + air[1] * ay + air[2] * az)
            more = m.fitting_grown[k] * induced(m, k, axial, report[THRUST + k])
            sx, sy, sz = -more * ax, -more * ay, -more * az
        u, v, w = air[0] + sx, air[1] + sy, air[2] + sz
        cross = sqrt(v * v + w * w)
        half = 0.5 * m.density
        whole = half * sqrt(u * u + cross * cross) * m.fitting_drag[lump, 0]
        p, q, r = state[10], state[11], state[12]
        y, z = m.fitting_place[lump, 0, 1], m.fitting_place[lump, 0, 2]
        force = whole * (u - (q * z - r * y))
        total[0] += force
        total[4] += z * force
        total[5] -= y * force
        x, z = m.fitting_place[lump, 1, 0], m.fitting_place[lump, 1, 2]
        force = half * cross * m.fitting_drag[lump, 1] * (v - (r * x - p * z))
        total[1] += force
        total[3] -= z * force
        total[5] += x * force
        x, y = m.fitting_place[lump, 2, 0], m.fitting_place[lump, 2, 1]
        force = half * cross * m.fitting_drag[lump, 2] * (w - (p * y - q * x))
        total[2] += force
        total[3] += y * force
        total[4] -= x * force
