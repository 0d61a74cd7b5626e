"""Servos and linkages: speed, stall and blow-back of every surface.

A servo is a small DC motor behind a proportional loop: it runs at its rated speed without
load and stalls at its rated torque, on a straight line between, and eases off within the
last few degrees. Under a hinge moment it therefore stops short of the angle asked, and
is driven back when the moment exceeds what it can hold.
"""

from sim.compiled import kernel
from sim.state import COMMAND_SURFACE, HINGE, SURFACE

EASE = 0.0523598775598299  # full drive beyond 3 degrees of error [rad]


@kernel
def move(m, state, command, rates, report):
    """Rates of the surface angles [rad/s] under the hinge moments in the report."""
    for k in range(m.n_surfaces):
        angle = state[SURFACE + k]
        drive = (command[COMMAND_SURFACE + k] - angle) / EASE
        drive = max(-1.0, min(1.0, drive))
        speed = m.servo_speed[k] * (drive - report[HINGE + k] / m.servo_torque[k])
        stop = m.surface_travel[k]
        if (angle >= stop and speed > 0.0) or (angle <= -stop and speed < 0.0):
            speed = 0.0
        rates[SURFACE + k] = speed


@kernel
def current(m, report):
    """Current of all servos from their supply [A], by their load."""
    total = 0.0
    for k in range(m.n_surfaces):
        load = min(1.0, abs(report[HINGE + k]) / m.servo_torque[k])
        total += m.servo_idle[k] + load * (m.servo_stall[k] - m.servo_idle[k])
    return total
