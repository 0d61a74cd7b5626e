"""Sticks to surface angles and throttles, in flight; the table is laid out by `sticks`."""

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import COMMAND_SURFACE, COMMAND_THROTTLE

# Columns of a surface's row in the record's `mix`.
NOSE_UP, RIGHT, YAW, ROLL_TO_YAW, NEUTRAL, FREE, SIGN, LOWEST, HIGHEST = 0, 1, 2, 3, 4, 5, 9, 10, 11
MIX_COLUMNS = 12
IDLE = 0.1  # throttle below which differential thrust fades, so that closed is closed


@kernel
def _shaped(stick, expo, sense):
    """Softened in the middle: (1 - e) x + e x^3. Common practice, no source."""
    return sense * ((1.0 - expo) * stick + expo * stick * stick * stick)


@kernel
def mix(m, roll, pitch, yaw, throttle, low_rates, command):
    """Fill the command's surface angles [rad] and throttles from the sticks.

    Trailing edge down (flat) or left (upright) is positive, so pulling back and reflex are
    negative, and nose right is negative on a rudder.
    """
    row = 1 if low_rates else 0
    a = _shaped(roll, m.mix_expo[0], m.mix_sense[0])
    b = _shaped(pitch, m.mix_expo[1], m.mix_sense[1])
    c = _shaped(yaw, m.mix_expo[2], m.mix_sense[2])
    right = a * m.mix_rates[row, 0] + m.mix_trim[0]
    nose_up = b * m.mix_rates[row, 1] + m.mix_trim[1]
    swing = c * m.mix_rates[row, 2] + m.mix_trim[2]
    along = m.mix_sense[0] * roll * m.mix_rates[row, 2]
    for slot in range(m.n_surfaces):
        k = m.mix_takes[slot]
        share = m.mix[k, RIGHT] * right
        angle = m.mix[k, NEUTRAL] - m.mix[k, NOSE_UP] * nose_up + m.mix[k, YAW] * swing
        angle += share * m.mix_down_going if share > 0.0 else share
        angle += m.mix[k, ROLL_TO_YAW] * along
        angle += m.mix[k, FREE] * a + m.mix[k, FREE + 1] * b + m.mix[k, FREE + 2] * c
        angle += m.mix[k, FREE + 3] * throttle
        angle *= m.mix[k, SIGN]
        command[COMMAND_SURFACE + slot] = min(max(angle, m.mix[k, LOWEST]), m.mix[k, HIGHEST])
    middle = min(max(throttle, 0.0), 1.0)
    running = min(1.0, middle / IDLE)
    for k in range(m.n_motors):
        more = m.mix_motor_yaw[k] * m.mix_sense[2] * yaw
        more += m.mix_motor_free[k, 0] * roll + m.mix_motor_free[k, 1] * pitch
        more += m.mix_motor_free[k, 2] * yaw + m.mix_motor_free[k, 3] * middle
        command[COMMAND_THROTTLE + k] = min(max(middle + running * more, 0.0), 1.0)
