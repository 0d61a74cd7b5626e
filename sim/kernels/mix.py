"""Sticks to surface angles and throttles: the only place where they become one another.

The table is laid out by `sticks`; pilots in the kernels read it in the airframe's record, everyone
else through `sticks.Mixer`.
"""

from firstthrow.sim.kernels.compiled import exact
from firstthrow.sim.kernels.layout import (
    COMMAND_SURFACE,
    COMMAND_THROTTLE,
    MAX_MOTORS,
    MAX_SURFACES,
)

# Columns of a surface's row in `mix`.
NOSE_UP, RIGHT, YAW, ROLL_TO_YAW, NEUTRAL, FREE, SIGN, LOWEST, HIGHEST = 0, 1, 2, 3, 4, 5, 9, 10, 11
MIX_COLUMNS = 12
MIX_FIELDS = [
    ("n_surfaces", "i8"),
    ("mix", "f8", (MAX_SURFACES, MIX_COLUMNS)),  # angles in rad
    ("mix_takes", "i8", (MAX_SURFACES,)),  # whose row a surface gets: its own, unless swapped
    ("mix_rates", "f8", (2, 3)),  # high and low: angle at full roll, pitch, yaw stick [rad]
    ("mix_expo", "f8", (3,)),
    ("mix_sense", "f8", (3,)),  # -1 where a stick is the wrong way round
    ("mix_trim", "f8", (3,)),  # roll trim, reflex, yaw trim [rad]
    ("mix_down_going", "f8"),  # 1 - differential
    ("mix_motor_yaw", "f8", (MAX_MOTORS,)),
    ("mix_motor_free", "f8", (MAX_MOTORS, 4)),
]
IDLE = 0.1  # throttle below which differential thrust fades, so that closed is closed


@exact
def softened(stick, expo):
    """Softened in the middle: (1 - e) x + e x^3. Common practice, no source."""
    return (1.0 - expo) * stick + expo * stick * stick * stick


@exact
def _shaped(sense, expo, stick):
    return sense * softened(stick, expo)


@exact
def _turn(shaped, most, trim):
    return shaped * most + trim


@exact
def turned(tables, roll, pitch, yaw, low_rates):
    """Angles that the sticks ask of roll, nose up and nose right, with the trims [rad].

    `tables`: (1,) of MIX_FIELDS.
    """
    m, set_to = tables[0], 1 if low_rates else 0
    return (
        _turn(_shaped(m.mix_sense[0], m.mix_expo[0], roll), m.mix_rates[set_to, 0], m.mix_trim[0]),
        _turn(_shaped(m.mix_sense[1], m.mix_expo[1], pitch), m.mix_rates[set_to, 1], m.mix_trim[1]),
        _turn(_shaped(m.mix_sense[2], m.mix_expo[2], yaw), m.mix_rates[set_to, 2], m.mix_trim[2]),
    )


@exact
def mix(m, roll, pitch, yaw, throttle, low_rates, command):
    """Fill the command's surface angles [rad] and throttles from the sticks.

    Trailing edge down (flat) or left (upright) is positive, so pulling back and reflex are
    negative (positive ahead, on a canard), and nose right is negative on a rudder. With the
    throttle closed no mix starts a motor. What it calls takes numbers alone: see `plainly`.
    """
    set_to = 1 if low_rates else 0
    a = _shaped(m.mix_sense[0], m.mix_expo[0], roll)
    b = _shaped(m.mix_sense[1], m.mix_expo[1], pitch)
    c = _shaped(m.mix_sense[2], m.mix_expo[2], yaw)
    right = _turn(a, m.mix_rates[set_to, 0], m.mix_trim[0])
    nose_up = _turn(b, m.mix_rates[set_to, 1], m.mix_trim[1])
    swing = _turn(c, m.mix_rates[set_to, 2], m.mix_trim[2])
    along = m.mix_sense[0] * roll * m.mix_rates[set_to, 2]
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
    for k in range(MAX_MOTORS):
        more = m.mix_motor_yaw[k] * m.mix_sense[2] * yaw
        more += m.mix_motor_free[k, 0] * roll + m.mix_motor_free[k, 1] * pitch
        more += m.mix_motor_free[k, 2] * yaw + m.mix_motor_free[k, 3] * middle
        command[COMMAND_THROTTLE + k] = min(max(middle + running * more, 0.0), 1.0)


@exact
def mixed(tables, roll, pitch, yaw, throttle, low_rates, command):
    """`mix` for callers outside the kernels: an array is handed over quickly, a record is not.

    `tables`: (1,) of MIX_FIELDS.
    """
    mix(tables[0], roll, pitch, yaw, throttle, low_rates, command)


@exact
def all_mixed(tables, sticks, low_rates, commands):
    """The same of many: (n, 4) roll, pitch, yaw and throttle to (n, COMMAND_SIZE)."""
    for n in range(sticks.shape[0]):
        roll, pitch, yaw, throttle = sticks[n, 0], sticks[n, 1], sticks[n, 2], sticks[n, 3]
        mix(tables[0], roll, pitch, yaw, throttle, low_rates, commands[n])
