"""Servos and linkages: speed, stall, blow-back, dead band, slop and the supply they share.

A servo is a small DC motor behind a proportional loop: it runs at its rated speed without
load and stalls at its rated torque, on a straight line between, eases off within the last
few degrees and rests within its dead band. Under a hinge moment it therefore stops short of
the angle asked, and is driven back when the moment exceeds what it can hold. Slop is taken
up by the hinge moment: the surface lies at the side of its play to which the air pushes it;
where the play is wide, the surface swings in it on its hinge (`swing`).
Current follows torque, from the idle to the stall current; a supply asked for more than it
gives sags in proportion, and all servos slow and weaken with it.
"""

from math import exp, log, pi, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import (
    AIR,
    COMMAND_ASLEEP,
    COMMAND_NEXT,
    COMMAND_SURFACE,
    COMMAND_TICKS,
    DEFLECTION,
    HINGE,
    MAX_SURFACES,
    RATE,
    SLACK,
    SUPPLY_VOLTAGE,
    SURFACE,
    SWING,
    THRUST,
)

EASE = 0.0523598775598299  # full drive beyond 3 degrees of error [rad]
QUICKEST = 480.0  # rate at which a servo nears its angle, two over a tick [1/s]
KINKS = 4  # of the line that is a servo's rate by the angle
SAME = 1e-12  # angles closer than this are one [rad]
UNMOVED = 1e-3  # most that the angle of a surface may have changed for slopes to be kept [rad]
TAKEN_UP = 0.01  # share of the stall torque that takes up most of the slop
STOP = 200.0  # natural rate of a surface at the end of its play: what a tick can follow [rad/s]
BOUNCE = 0.3  # damping ratio there: it bounces back at a third of its rate (our judgement)


@kernel
def taken_up(m, k, moment):
    """Where in its play a moment, trailing edge up [N m], lays a surface, from the middle [rad]."""
    push = moment / (TAKEN_UP * m.servo_torque[k])
    return -0.5 * m.surface_slop[k] * push / sqrt(1.0 + push * push)


@kernel
def hang(m, state, report):
    """Lay what swings where the hinge moments of the pass before and its own weight take it, the
    airframe level and borne."""
    for k in range(m.n_surfaces):
        if m.surface_inertia[k] == 0.0:
            continue
        moment = report[HINGE + k]
        for i in range(m.n_strips):
            if m.strip_surface[i] == k:
                moment += m.gravity * m.strip_unbalance[i] * m.strip_normal[2, i]
        state[SLACK + k], state[SWING + k] = taken_up(m, k, moment), 0.0


@kernel
def deflections(m, state, report):
    """Angle of every surface with its slop taken up, by the hinge moment of the pass before or by
    what swings."""
    for k in range(m.n_surfaces):
        if m.n_swinging > 0 and m.surface_inertia[k] > 0.0:
            half = 0.5 * m.surface_slop[k]
            report[DEFLECTION + k] = state[SURFACE + k] + min(max(state[SLACK + k], -half), half)
            continue
        report[DEFLECTION + k] = state[SURFACE + k] + taken_up(m, k, report[HINGE + k])


@kernel
def pressure(m, report):
    """Dynamic pressure at a surface [Pa], no less than it is: in the open air and in the stream,
    whose own is thrust over disc area (actuator disc)."""
    a, b, c = report[AIR], report[AIR + 1], report[AIR + 2]
    most = 0.0
    for k in range(m.n_motors):
        radius = m.motor_radius[k]
        most = max(most, report[THRUST + k] / (pi * radius * radius))
    return 0.5 * m.density * (a * a + b * b + c * c) + most


@kernel
def slowed(m, k, power, wind):
    """How many times slower than it would be a servo turns, to be followed by the integrator."""
    held = power / EASE + wind * m.surface_press[k] / m.servo_torque[k]
    return max(1.0, m.servo_speed[k] * held / QUICKEST)


@kernel
def turn(m, k, angle, asked, power, wind, command, report):
    """Rate of a surface's angle [rad/s] under the hinge moment in the report. power: share of the
    supply's voltage; wind: dynamic pressure at the surface, at most [Pa].

    A servo much too weak for its surface is driven back, and a quick one with a long arm reaches
    its angle, in less than a tick; both are slowed to two over a tick, which the integrator
    follows (Runge-Kutta: 2.78). Where they come to rest stays the same; below that rate, as in
    all that is built with sense, nothing is changed.
    """
    error = asked - angle
    error = max(0.0, error - m.servo_band[k]) + min(0.0, error + m.servo_band[k])
    drive = max(-1.0, min(1.0, error / EASE)) * power * (1.0 - command[COMMAND_ASLEEP])
    speed = m.servo_speed[k] * (drive - report[HINGE + k] / m.servo_torque[k])
    stop = m.surface_travel[k]
    if (angle >= stop and speed > 0.0) or (angle <= -stop and speed < 0.0):
        speed = 0.0
    return speed / slowed(m, k, power, wind)


@kernel
def move(m, state, command, rates, report):
    """Rates of the surface angles [rad/s]."""
    power, wind = report[SUPPLY_VOLTAGE] / m.supply_voltage, pressure(m, report)
    for k in range(m.n_surfaces):
        angle, asked = state[SURFACE + k], command[COMMAND_SURFACE + k]
        rates[SURFACE + k] = turn(m, k, angle, asked, power, wind, command, report)


@kernel
def swing(m, state, rates, felt, report):
    """Rates of what swings within the play of its linkage: a plate on its hinge, under the air's
    moment in the report, the damping of its own swing, and its weight where it hangs.

    felt: (3,) specific force at the centre of gravity [m/s2]; the turning of the airframe, in the
    rates, comes to it. A surface hangs behind its hinge, so that what lifts it lets it droop, which
    lifts it more: coupled with roll or pitch this flutters, until the play's ends bound it
    (Theodorsen, NACA TR 496, 1935, case of a rigid wing that is free to move). At an end of its
    play it meets a spring of the rate STOP, and the servo bears the air's moment at all times.
    Left out: the surface's own inertia about its middle as the airframe turns (2 % of an elevon's
    moment by that turning), the stiffness of the hinge, what the swing does to the airframe by its
    inertia, and the wake of the swing (C(k) = 1; at C = 0.5 the damping is 3 % less).
    """
    p, q, r = state[RATE], state[RATE + 1], state[RATE + 2]
    dp, dq, dr = rates[RATE], rates[RATE + 1], rates[RATE + 2]
    a, b, c = report[AIR], report[AIR + 1], report[AIR + 2]
    speed = sqrt(a * a + b * b + c * c)
    for k in range(m.n_surfaces):
        inertia = m.surface_inertia[k]
        if inertia == 0.0:
            continue
        rate, slack, half = state[SWING + k], state[SLACK + k], 0.5 * m.surface_slop[k]
        past = slack - min(max(slack, -half), half)
        closing = rate - rates[SURFACE + k]
        moment = -report[HINGE + k] - m.surface_damping[k] * speed * rate
        for i in range(m.n_strips):
            if m.strip_surface[i] != k:
                continue
            way = m.strip_hung[i]
            x = m.strip_place[0, i] + way * m.strip_aft[0, i]
            y = m.strip_place[1, i] + way * m.strip_aft[1, i]
            z = m.strip_place[2, i] + way * m.strip_aft[2, i]
            inward = p * x + q * y + r * z
            turn = p * p + q * q + r * r
            fx = felt[0] + dq * z - dr * y + p * inward - turn * x
            fy = felt[1] + dr * x - dp * z + q * inward - turn * y
            fz = felt[2] + dp * y - dq * x + r * inward - turn * z
            across = fx * m.strip_normal[0, i] + fy * m.strip_normal[1, i]
            across += fz * m.strip_normal[2, i]
            moment += m.strip_unbalance[i] * across
        rates[SLACK + k] = closing
        rates[SWING + k] = moment / inertia
        if past != 0.0:
            rates[SWING + k] -= STOP * (STOP * past + 2.0 * BOUNCE * closing)


@kernel
def _next_kink(error, way, band):
    """The nearest error below (way > 0) or above at which a servo's drive changes its slope; far
    off where there is none. Errors fall as the angle rises."""
    found = -1e9
    for kink in (band + EASE, band, -band, -band - EASE):
        if kink < way * error - SAME:
            found = max(found, kink)
    return way * found


@kernel
def _gone(m, k, angle, asked, power, wind, command, report, left):
    """Where a servo has its surface after so many seconds, from an angle, under one command and
    one hinge moment, and the integral of the angle over them: exact. Its rate by the angle is a
    line with kinks, along whose pieces it runs evenly or nears its end as an exponential does."""
    band, stop, awake = m.servo_band[k], m.surface_travel[k], 1.0 - command[COMMAND_ASLEEP]
    total = 0.0
    for _ in range(KINKS + 2):
        rate = turn(m, k, angle, asked, power, wind, command, report)
        if rate == 0.0:
            break
        way, error = (1.0 if rate > 0.0 else -1.0), asked - angle
        kink = _next_kink(error, way, band)
        middle, speed = abs(0.5 * (error + kink)), abs(rate)
        reach = min(way * (error - kink), stop - way * angle)
        steep = 0.0
        if band < middle < band + EASE:
            steep = m.servo_speed[k] * power * awake / EASE / slowed(m, k, power, wind)
        ends, spent = speed * left, left
        if steep > 0.0:
            ends = speed * (1.0 - exp(-steep * left)) / steep
        if ends > reach:
            spent = -log(1.0 - steep * reach / speed) / steep if steep > 0.0 else reach / speed
            ends = reach
        # An exponential lies as far behind even speed as it has still to go.
        swept = (speed * spent - ends) / steep if steep > 0.0 else 0.5 * speed * spent * spent
        total += angle * spent + way * swept
        angle, left = angle + way * ends, left - spent
        if left <= 0.0:
            break
    return angle, total + angle * max(0.0, left)


@kernel
def go(m, command, first, ticks, h, report, angles, means):
    """Move the surfaces' angles on by so many ticks of h, from tick `first` of a step on, under the
    hinge moments in the report; means: what the angles are in the mean over them."""
    power, wind = report[SUPPLY_VOLTAGE] / m.supply_voltage, pressure(m, report)
    change = int(command[COMMAND_TICKS])
    early = min(max(change - first, 0), ticks) if change > 0 else ticks
    for k in range(m.n_surfaces):
        angle, then, total, more = angles[k], (ticks - early) * h, 0.0, 0.0
        if early > 0:
            asked = command[COMMAND_SURFACE + k]
            angle, total = _gone(m, k, angle, asked, power, wind, command, report, early * h)
        if early < ticks:
            asked = command[COMMAND_NEXT + k]
            angle, more = _gone(m, k, angle, asked, power, wind, command, report, then)
        angles[k], means[k] = angle, (total + more) / (ticks * h)


@kernel
def foresee(m, state, before, ratio, ticks, h, command, report, own):
    """Where the surfaces will be at the end of a step, and what they are in the mean over it, under
    the hinge moments in the report as they will have changed by its middle."""
    for k in range(m.n_surfaces):
        own.angles[k], own.moments[k] = state[SURFACE + k], report[HINGE + k]
        report[HINGE + k] += 0.5 * ratio * before[2, k]
    go(m, command, 0, ticks, h, report, own.angles, own.means)
    for k in range(m.n_surfaces):
        report[HINGE + k] = own.moments[k]


@kernel
def take(m, before, begins, ends, kept, stage, own):
    """The angles that stand for those of the surfaces at a step's start (stage 0) and end (1): with
    those of the step before, and weighted as slopes are, their mean. Where its start is kept as the
    step before has left it, part of what its end would then have to make up for is left to the
    next: all at once would swing up from step to step."""
    past = 1.0 - begins - ends
    for k in range(m.n_surfaces):
        was, lacks = before[2, MAX_SURFACES + k], before[2, 3 * MAX_SURFACES + k]
        rest = own.means[k] + lacks - past * was
        if stage == 0:
            left = before[2, 2 * MAX_SURFACES + k]
            own.taken[0, k] = left if kept else rest / (begins + ends)
            continue
        rest -= begins * own.taken[0, k]
        own.taken[1, k] = rest / ends
        if kept:
            own.taken[1, k] = (rest + begins * own.angles[k]) / (begins + ends)
        own.taken[2, k] = rest - ends * own.taken[1, k]


@kernel
def unmoved(m, before, own):
    """Whether no surface has moved so far that slopes at the end of a step will not do."""
    most = 0.0
    for k in range(m.n_surfaces):
        most = max(most, abs(own.means[k] - before[2, 2 * MAX_SURFACES + k]))
    return most < UNMOVED


@kernel
def current(m, command, report):
    """Current of all servos from their supply [A], by their load; sets the supply's voltage.

    While the receiver restarts they are not driven, and only idle.
    """
    total = 0.0
    for k in range(m.n_surfaces):
        load = min(1.0, abs(report[HINGE + k]) / m.servo_torque[k])
        load *= 1.0 - command[COMMAND_ASLEEP]
        total += m.servo_idle[k] + load * (m.servo_stall[k] - m.servo_idle[k])
    share = min(1.0, m.supply_limit / max(total, 1e-9))
    report[SUPPLY_VOLTAGE] = m.supply_voltage * share
    return total * share
