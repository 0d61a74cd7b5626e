"""Pack, controller, motor, propeller and slipstream.

Motor: Q = kt (I - I0), V = I R + kt omega (the usual first-order DC model; Drela, "First-order
DC electric motor model", 2007). Pack: open-circuit voltage by charge behind a resistance.
Propeller: blade-element tables over the inflow angle (see `propeller`).
Slipstream: momentum theory (Glauert), contracting by continuity, turning as a solid body by
the torque. Valid for: one propeller's stream not running into another's disc.
Controller: it is no current limiter: unless it is of the rare kind that is, it passes what the
motor takes. Its power stage warms with I^2 R and sheds heat as at its rating, so the overload is
counted as I^2 t above the rating: d/dt = (I / rating)^2 - 1 [s], never below nothing. Past what
it bears (`build.controller.overload_borne`) it burns or cuts out for good, and its motor gets no
more; common practice, no source.
"""

from math import pi, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import (
    CHARGE,
    COMMAND_ASLEEP,
    COMMAND_DEAD,
    COMMAND_THROTTLE,
    MOTOR_CURRENT,
    PACK_CURRENT,
    PACK_VOLTAGE,
    ROTOR,
    THRUST,
)
from firstthrow.sim.kernels.separation import lanes

THRUST_SHAPE, TORQUE_SHAPE, THRUST_SLOPE, TORQUE_SLOPE, DRAG_SHAPE, DRAG_SLOPE = range(6)
CUTOFF_BAND = 0.03  # share of the cut-off voltage below it over which throttle is taken off
RIM = 0.75  # station, in radii, whose speed sets the tables' inflow angle


@kernel
def rest_voltage(m, drawn):
    """Open-circuit voltage of the pack after drawing some charge [A s]."""
    left = max(0.0, min(1.0, m.charge_at_start - drawn / m.capacity))
    x = left * (m.rest_voltage.shape[0] - 1)
    k = min(int(x), m.rest_voltage.shape[0] - 2)
    f = x - k
    return (1.0 - f) * m.rest_voltage[k] + f * m.rest_voltage[k + 1]


@kernel
def propeller(body, k, axial, omega):
    """Thrust, torque, their slopes by rotor speed [N, N m, N s, N m s], and that of the torque
    by radius squared [N s/m]; axial: air into the disc from ahead [m/s]; omega: rotor speed in
    its own sense [rad/s]."""
    m, propellers = body.record[0], body.propellers
    rim = RIM * m.motor_radius[k] * omega
    square = axial * axial + rim * rim
    which = m.motor_table[k]
    steps = propellers.shape[1] - 1
    d = axial / max(abs(axial) + abs(rim), 1e-9)  # the diamond coordinate, see `section`
    if rim < 0.0:
        d = 2.0 - d if axial >= 0.0 else -2.0 - d
    x = max(0.0, min(float(steps), (d + 2.0) * (steps / 4.0)))
    j = min(int(x), steps - 1)
    f = x - j
    g = 1.0 - f
    ct = g * propellers[which, j, THRUST_SHAPE] + f * propellers[which, j + 1, THRUST_SHAPE]
    cq = g * propellers[which, j, TORQUE_SHAPE] + f * propellers[which, j + 1, TORQUE_SHAPE]
    dct = g * propellers[which, j, THRUST_SLOPE] + f * propellers[which, j + 1, THRUST_SLOPE]
    dcq = g * propellers[which, j, TORQUE_SLOPE] + f * propellers[which, j + 1, TORQUE_SLOPE]
    drag = g * propellers[which, j, DRAG_SHAPE] + f * propellers[which, j + 1, DRAG_SHAPE]
    ddrag = g * propellers[which, j, DRAG_SLOPE] + f * propellers[which, j + 1, DRAG_SLOPE]
    diameter = 2.0 * m.motor_radius[k]
    scale = m.density * diameter * diameter
    edge = RIM * m.motor_radius[k]
    # T = ct(angle) scale square, with d(angle)/d(rim) = -axial / square.
    return (
        ct * scale * square,
        cq * scale * diameter * square,
        scale * edge * (2.0 * ct * rim - dct * axial),
        scale * diameter * edge * (2.0 * cq * rim - dcq * axial),
        scale / diameter * edge * (2.0 * drag * rim - ddrag * axial),
    )


@kernel
def bus_voltage(m, state, command, rest, share):
    """Pack voltage under load [V] when the controller passes on a share of the throttle.

    Where the controller limits, a motor at its limit gets less duty: it then takes constant power
    from the pack.
    """
    bus = rest
    for _ in range(4):
        above, below = rest, 1.0
        for k in range(m.n_motors):
            asked, back, most = asked_duty(m, state, command, k, share, bus)
            if asked >= most:
                above -= m.pack_resistance * most * m.controller_limit
            elif asked * bus > back:
                above += m.pack_resistance * asked * back / m.motor_resistance[k]
                below += m.pack_resistance * asked * asked / m.motor_resistance[k]
        bus = max(above / below, 0.1 * rest)
    return bus


@kernel
def asked_duty(m, state, command, k, share, bus):
    """Duty asked of the controller, back-voltage of the motor [V], duty at its current limit."""
    awake = (1.0 - command[COMMAND_ASLEEP]) * (1.0 - command[COMMAND_DEAD + k])
    back = m.motor_kt[k] * state[ROTOR + k] * m.motor_drive[k]
    most = max(0.0, (m.controller_limit * m.motor_resistance[k] + back) / bus)
    return command[COMMAND_THROTTLE + k] * awake * share, back, most


@kernel
def electric(m, state, command, servo_current, report):
    """Motor currents, pack voltage and current under load, into the report.

    The controller is a lossless converter with a resistance: motor voltage = duty * pack
    voltage, pack current = duty * motor current; it never brakes, and throttles back as the
    pack falls to its cut-off, just as far as keeps the pack there. One that limits lowers the duty
    where the motor would take more than its limit; any other passes it (see `controller`).
    """
    rest = rest_voltage(m, state[CHARGE])
    bus_drain = servo_current * m.supply_voltage / max(rest, 1.0)
    rest -= bus_drain * m.pack_resistance
    share = 1.0
    bus = bus_voltage(m, state, command, rest, share)
    if bus < m.cutoff_voltage:
        low, high = 0.0, 1.0
        for _ in range(12):
            share = 0.5 * (low + high)
            bus = bus_voltage(m, state, command, rest, share)
            if 1.0 - (m.cutoff_voltage - bus) / (CUTOFF_BAND * m.cutoff_voltage) > share:
                low = share
            else:
                high = share
    total = bus_drain
    for k in range(m.n_motors):
        asked, back, most = asked_duty(m, state, command, k, share, bus)
        duty = min(asked, most)
        amps = max(0.0, (duty * bus - back) / m.motor_resistance[k]) if duty > 0.0 else 0.0
        report[MOTOR_CURRENT + k] = amps
        total += duty * amps
    report[PACK_VOLTAGE] = rest + bus_drain * m.pack_resistance - total * m.pack_resistance
    report[PACK_CURRENT] = total


@kernel
def bearings(omega):
    """Share of its no-load current that a motor's bearings take, with the sense in which they
    turn: all of it from 5 rad/s up."""
    turning = max(-1.0, min(1.0, 0.2 * omega))
    return 0.5 * turning * (3.0 - turning * turning)


@kernel
def past_disc(m, k, state, air):
    """Air past a motor's disc, body axes; the stream ahead of it is not disturbed by others."""
    p, q, r = state[10], state[11], state[12]
    x, y, z = m.motor_place[k, 0], m.motor_place[k, 1], m.motor_place[k, 2]
    return air[0] - (q * z - r * y), air[1] - (r * x - p * z), air[2] - (p * y - q * x)


@kernel
def shaft_torque(m, k, omega, report):
    """What the motor gives its rotor [N m], its bearings taken off."""
    amps = report[MOTOR_CURRENT + k] * m.motor_drive[k]
    return m.motor_kt[k] * (amps - m.motor_no_load[k] * bearings(omega))


@kernel
def spin_up(body, k, state, air, report):
    """Rate of a rotor's speed [rad/s2] with the motor's current in the report."""
    m, omega = body.record[0], state[ROTOR + k]
    vx, vy, vz = past_disc(m, k, state, air)
    axial = -(vx * m.motor_axis[k, 0] + vy * m.motor_axis[k, 1] + vz * m.motor_axis[k, 2])
    torque = propeller(body, k, axial, omega)[1]
    return (shaft_torque(m, k, omega, report) - torque) / m.rotor_inertia[k]


@kernel
def add_motors(body, state, air, rates, report, scratch):
    """Thrust, torque reaction, forces at incidence and gyroscopic moment of every motor, added
    to `scratch.total`; their streams into `scratch.stream`.

    Forces at incidence: air across the disc changes each blade's tangential speed by its
    component along the blade's path, once forth and once back in a turn: at radius r as a change
    of rotor speed by V/r would. Averaged over the turn this leaves of every element a moment
    V/2 dT/d(omega) and a force V/2 dQ/d(omega) / r^2; of the whole rotor the moment of its
    thrust, and a force as if its torque acted at about half the radius. Derived here,
    quasi-steady, with the induced flow that goes with each element's load. Source of the physics:
    Glauert, Airplane Propellers, in Durand, Aerodynamic Theory IV (1935), ch. 12.
    """
    m, total = body.record[0], scratch.total
    p, q, r = state[10], state[11], state[12]
    for i in range(lanes(m.n_strips)):
        for n in range(3):
            scratch.stream[n, i] = 0.0
        scratch.lost[0, i] = scratch.lost[1, i] = 0.0
        scratch.swirl[i] = 0.0
    for k in range(m.n_motors):
        ax, ay, az = m.motor_axis[k, 0], m.motor_axis[k, 1], m.motor_axis[k, 2]
        x, y, z = m.motor_place[k, 0], m.motor_place[k, 1], m.motor_place[k, 2]
        vx, vy, vz = past_disc(m, k, state, air)
        axial = -(vx * ax + vy * ay + vz * az)
        cx, cy, cz = vx + axial * ax, vy + axial * ay, vz + axial * az
        omega, sense = state[ROTOR + k], m.motor_sense[k]
        thrust, torque, thrust_slope, _, drag_slope = propeller(body, k, axial, omega)
        report[THRUST + k] = thrust
        side = 0.5 * drag_slope
        fx, fy, fz = thrust * ax + side * cx, thrust * ay + side * cy, thrust * az + side * cz
        total[0] += fx
        total[1] += fy
        total[2] += fz
        # The air turns against the rotor with `torque`; rotor speeding up takes its share.
        shaft = shaft_torque(m, k, omega, report)
        rates[ROTOR + k] = (shaft - torque) / m.rotor_inertia[k]
        yaw = 0.5 * thrust_slope * sense
        spin = sense * m.rotor_inertia[k] * omega
        total[3] += y * fz - z * fy - sense * shaft * ax + yaw * cx - spin * (q * az - r * ay)
        total[4] += z * fx - x * fz - sense * shaft * ay + yaw * cy - spin * (r * ax - p * az)
        total[5] += x * fy - y * fx - sense * shaft * az + yaw * cz - spin * (p * ay - q * ax)
        add_stream(m, k, axial, thrust, torque, scratch)


@kernel
def induced(m, k, axial, thrust):
    """Induced velocity at the disc by momentum theory [m/s] (check R14, R15 in the tests)."""
    disc = pi * m.motor_radius[k] * m.motor_radius[k]
    half = 0.5 * max(axial, 0.0)
    return sqrt(max(0.0, half * half + thrust / (2.0 * m.density * disc))) - half


@kernel
def in_stream(m, k, i, square):
    """Share of strip i inside the stream of motor k, and the middle of that part along the strip,
    measured from the stream's axis [m]; square: of the stream's radius [m2]."""
    up, width = m.stream_up[k, i], m.strip_width[i]
    half = sqrt(max(0.0, square - up * up))
    inner = max(m.stream_along[k, i] - 0.5 * width, -half)
    outer = min(m.stream_along[k, i] + 0.5 * width, half)
    if m.stream_behind[k, i] <= 0.0 or inner >= outer:
        return 0.0, 0.0
    return (outer - inner) / width, 0.5 * (inner + outer)


@kernel
def add_stream(m, k, axial, thrust, torque, scratch):
    """What the propeller's stream adds at the strips behind it, body axes [m/s].

    The lattice meets the stream as if it filled all space; `stream_swirl` and `stream_held` take
    off what one of finite width cannot give (see `build.stream`). The latter holds at rest: a
    stream inside another flow has images (1 - l^2) / (1 + l^2) as strong, l being the speed
    outside over that inside, so that with a small increment nothing is taken off.
    Source: Koning, Influence of the Propeller on Other Parts of the Airplane Structure, in Durand,
    Aerodynamic Theory IV (1935), from memory; derived again from equal pressure and slope.
    """
    v = induced(m, k, axial, thrust)
    radius = m.motor_radius[k]
    speed = max(axial, 0.0)
    through = max(speed + v, 0.05)
    ax, ay, az = m.motor_axis[k, 0], m.motor_axis[k, 1], m.motor_axis[k, 2]
    turns = 2.0 * torque / (m.density * pi) * m.motor_sense[k] * m.stream_swirl[k]
    for i in range(lanes(m.n_strips)):
        grown = v * m.stream_grown[k, i]
        there = max(speed + grown, 0.05)
        square = radius * radius * max(0.4, min(1.2, through / there))
        share, along = in_stream(m, k, i, square)
        # Torque = angular momentum carried off: rho there turn pi reach^4 / 2.
        turn = turns * share / (max(there, 1.0) * square * square)
        up = m.stream_up[k, i]
        nx, ny, nz = m.strip_normal[0, i], m.strip_normal[1, i], m.strip_normal[2, i]
        px = along * m.strip_span[0, i] + up * nx
        py = along * m.strip_span[1, i] + up * ny
        pz = along * m.strip_span[2, i] + up * nz
        outside = (1.0 - share) * speed
        faster, slower = there * there, min(speed, there) * min(speed, there)
        inside = (faster - slower) * share * there
        inside /= (faster + slower) * max(outside + share * there, 0.05)
        for kind in range(2):
            kept = 1.0 - (1.0 - m.stream_held[k, kind, i]) * inside
            scratch.lost[kind, i] = 1.0 - (1.0 - scratch.lost[kind, i]) * kept
        a, b, c = ay * pz - az * py, az * px - ax * pz, ax * py - ay * px
        scratch.swirl[i] += turn * (a * nx + b * ny + c * nz)
        scratch.stream[0, i] += -grown * share * ax + turn * a
        scratch.stream[1, i] += -grown * share * ay + turn * b
        scratch.stream[2, i] += -grown * share * az + turn * c


@kernel
def load_up(m, command, h, squares, events):
    """Add h seconds of currents to every controller's overload; the command is told which of them
    give no more. squares: mean square of each motor's current over that time [A2]."""
    for k in range(m.n_motors):
        if m.controller_rating > 0.0:
            share = squares[k] / (m.controller_rating * m.controller_rating)
            events.overload[k] = max(0.0, events.overload[k] + (share - 1.0) * h)
            if events.overload[k] > m.controller_bears:
                events.dead[k] = 1.0
        command[COMMAND_DEAD + k] = events.dead[k]
