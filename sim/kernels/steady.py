"""The solver of steady flight: unknowns, their bounds, and the search for rest.

Everything is judged on the rates of the whole state that the flight integrates, so that thrust
line, torque, slipstream, windmilling propeller and surfaces that the air pushes back are all in.
Method: least squares by Newton's steps on the derivative's own Jacobian, damped (Levenberg 1944;
Marquardt, J. SIAM 11, 1963; the damping by Nielsen, IMM-REP-1999-05, from memory) and kept
within bounds by projection (Kanzow, Yamashita and Fukushima, J. Comput. Appl. Math. 172, 2004).
Close to rest the Jacobian is carried on (Broyden, Math. Comp. 19, 1965, 577).
"""

from math import cos, isfinite, sin, sqrt

import numpy as np

from firstthrow.sim.kernels.compiled import called, kernel, woven
from firstthrow.sim.kernels.layout import (
    COMMAND_SURFACE,
    MAX_MOTORS,
    MAX_SURFACES,
    RATE,
    ROTOR,
    SURFACE,
    VELOCITY,
)
from firstthrow.sim.kernels.mix import mix
from firstthrow.sim.kernels.parameters import record_type
from firstthrow.sim.kernels.rotation import from_angles
from firstthrow.sim.kernels.settled import PASSES, rest_rotors, rest_surfaces, settle, settle_on

HEIGHT = 300.0  # out of the ground's reach [m]
CLOSE = 1e-6  # what may be left of the accelerations, in g
ROUNDS = 30  # a servo nearly without load crosses its dead band in small steps
RETRIES = 2  # of a search that ended where its rotors could no longer turn as they started

# Slots of a point, the steady flight as the solver sees it: airspeed [m/s], angles [rad], turn
# [rad/s], sticks after expo, rotor speeds, and how far each surface rests from the angle asked.
SPEED, ALPHA, SIDESLIP, BANK, PITCH, TURN, BACK, ROLL, YAW, THROTTLE = range(10)
ROTORS = THROTTLE + 1
DROOP = ROTORS + MAX_MOTORS
POINT = DROOP + MAX_SURFACES
# Bounds of the unknowns, and the scale on which they change; those of rotors go by their speed.
LOW = np.array([1.0, -0.6, -0.6, -1.2, -1.5, -3.0, -1.0, -1.0, -1.0, 0.0])
HIGH = np.array([60.0, 1.1, 0.6, 1.2, 1.5, 3.0, 1.0, 1.0, 1.0, 1.0])
SCALE = np.array([1.0, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1])

MOST = 9 + MAX_MOTORS  # unknowns, and residuals
STEPS = 60  # of Newton at most
AGAIN = 3  # passes that settle a moment close to a settled one well enough for a slope
AHEAD = 1e-7  # step of the Jacobian's differences, in scales
DONE = 1e-12  # in g
DAMPED = 1e-4  # at the start, of the curvature
GIVEN_UP = 1e10  # the damping at which no step helps any more
LITTLE = 1e-10  # a step that takes off no more than this share, where it is not steep, is the last
SLOW, TIRED = 1e-6, 3  # so is the last of so many little damped ones: no steady flight is near
NEAR = 1e-6  # sum of squares below which slopes are carried on from step to step
GOOD = 0.5  # of the fall that such slopes promise is to come

# The accelerations that are left: of the body, three and three, of rotors, and off the path.
SEARCH = record_type(
    [
        ("arm", "f8"),  # [m] at which a turning acceleration counts as one along
        ("path", "f8"),  # wanted climb angle [rad], NaN where it is free
        ("residuals", "i8"),
        ("point", "f8", (POINT,)),
        ("trial", "f8", (POINT,)),
        ("low", "f8", (POINT,)),
        ("high", "f8", (POINT,)),
        ("scale", "f8", (POINT,)),
        ("left", "f8", (MOST,)),
        ("then", "f8", (MOST,)),
        ("here", "f8", (MOST,)),
        ("slopes", "f8", (MOST, MOST)),  # residual, unknown
        ("curvature", "f8", (MOST, MOST)),
        ("gradient", "f8", (MOST,)),
        ("step", "f8", (MOST,)),
    ]
)


@kernel
def _copy(source, target):
    """Item by item: one array put into another brings numba's words for shapes that differ along,
    two seconds of compiling."""
    for n in range(target.shape[0]):
        target[n] = source[n]


@kernel
def place(tables, point, at):
    """The moment's state and command at a point; tables: the mixing, without expo."""
    state, command = at.state, at.command
    speed, alpha, beta = point[SPEED], point[ALPHA], point[SIDESLIP]
    bank, pitch, turn = point[BANK], point[PITCH], point[TURN]
    state[:] = 0.0
    command[:] = 0.0
    state[2] = -HEIGHT
    state[3], state[4], state[5], state[6] = from_angles(bank, pitch, 0.0)
    state[VELOCITY] = speed * cos(alpha) * cos(beta)
    state[VELOCITY + 1] = speed * sin(beta)
    state[VELOCITY + 2] = speed * sin(alpha) * cos(beta)
    state[RATE] = -turn * sin(pitch)
    state[RATE + 1] = turn * sin(bank) * cos(pitch)
    state[RATE + 2] = turn * cos(bank) * cos(pitch)
    for k in range(MAX_MOTORS):
        state[ROTOR + k] = point[ROTORS + k]
    mix(tables[0], point[ROLL], point[BACK], point[YAW], point[THROTTLE], False, command)
    for k in range(tables[0].n_surfaces):
        state[SURFACE + k] = command[COMMAND_SURFACE + k] + point[DROOP + k]


@kernel
def _left(m, point, rates, own, left):
    """What is left of the accelerations at a point by its rates, in g; its squares' sum.

    Torque on a rotor is over weight and arm, like the moments on the airframe: as a rate it
    would drown the rest where the rotor is small and quick.
    """
    total = 0.0
    for n in range(3):
        left[n] = rates[VELOCITY + n] / m.gravity
        left[3 + n] = rates[RATE + n] * own.arm / m.gravity
    for k in range(m.n_motors):
        left[6 + k] = rates[ROTOR + k] * m.rotor_inertia[k] / (m.mass * m.gravity * own.arm)
    if own.residuals > 6 + m.n_motors:
        left[6 + m.n_motors] = rates[2] / point[SPEED] + sin(own.path)
    for n in range(own.residuals):
        total += left[n] * left[n]
    return total


@called
def accelerations(body, tables, point, at, own, left):
    """The same by a moment of its own."""
    place(tables, point, at)
    settle(body, at)
    return _left(body.record[0], point, at.rates, own, left)


@woven
def slope(body, tables, free, at, own):
    """Jacobian of the accelerations at the point, in scales, by differences.

    What a moment is settled by hardly changes from one to another so close, and each goes on from
    the one before; the first, from one that need not be quite settled.
    """
    m = body.record[0]
    place(tables, own.point, at)
    settle_on(body, at, PASSES)
    _left(m, own.point, at.rates, own, own.here)
    for j in range(free.shape[0]):
        k = free[j]
        ahead = AHEAD if own.point[k] < own.high[k] - AHEAD * own.scale[k] else -AHEAD
        _copy(own.point, own.trial)
        own.trial[k] += ahead * own.scale[k]
        place(tables, own.trial, at)
        settle_on(body, at, AGAIN)
        _left(m, own.trial, at.rates, own, own.then)
        for i in range(own.residuals):
            own.slopes[i, j] = (own.then[i] - own.here[i]) / ahead


@kernel
def _solve(a, b, n):
    """Overwrite b with the solution of a x = b, a symmetric and positive; False if it is not.
    By the Cholesky factor, which overwrites the lower half of a."""
    for j in range(n):
        for i in range(j, n):
            total = a[i, j]
            for k in range(j):
                total -= a[i, k] * a[j, k]
            if i > j:
                a[i, j] = total / a[j, j]
            elif total > 0.0:
                a[j, j] = sqrt(total)
            else:
                return False
    for i in range(n):
        for k in range(i):
            b[i] -= a[i, k] * b[k]
        b[i] /= a[i, i]
    for i in range(n - 1, -1, -1):
        for k in range(i + 1, n):
            b[i] -= a[k, i] * b[k]
        b[i] /= a[i, i]
    return True


@kernel
def _step(free, damping, own):
    """A damped Newton step from the point to the trial, within the bounds; the fall of the
    squares' sum that the straight line promises, 0 where no step can be made."""
    n, point, trial = free.shape[0], own.point, own.trial
    for j in range(n):
        k, total = free[j], 0.0
        for i in range(own.residuals):
            total += own.slopes[i, j] * own.left[i]
        held = (point[k] <= own.low[k] and total > 0.0) or (point[k] >= own.high[k] and total < 0.0)
        own.gradient[j] = 0.0 if held else total
        own.step[j] = -own.gradient[j]
    for j in range(n):
        for k in range(j + 1):
            total = 0.0
            for i in range(own.residuals):
                total += own.slopes[i, j] * own.slopes[i, k]
            stuck = own.gradient[j] == 0.0 or own.gradient[k] == 0.0
            own.curvature[j, k] = 0.0 if stuck else total
        if own.gradient[j] == 0.0:
            own.curvature[j, j] = 1.0
        else:
            own.curvature[j, j] = own.curvature[j, j] * (1.0 + damping) + 1e-15
    if not _solve(own.curvature, own.step, n):
        return 0.0
    _copy(point, trial)
    for j in range(n):
        k = free[j]
        moved = point[k] + own.step[j] * own.scale[k]
        trial[k] = max(own.low[k], min(own.high[k], moved))
        own.step[j] = (trial[k] - point[k]) / own.scale[k]
    fall = 0.0
    for i in range(own.residuals):
        change = 0.0
        for j in range(n):
            change += own.slopes[i, j] * own.step[j]
        fall -= change * (2.0 * own.left[i] + change)
    return fall


@kernel
def _carry(own, n):
    """The slopes carried on over the step from the point to the trial, so that they tell of what
    it did."""
    length = 0.0
    for j in range(n):
        length += own.step[j] * own.step[j]
    for i in range(own.residuals):
        gap = own.then[i] - own.left[i]
        for j in range(n):
            gap -= own.slopes[i, j] * own.step[j]
        for j in range(n):
            own.slopes[i, j] += gap * own.step[j] / length


@called
def search(body, tables, free, at, own, known):
    """Move the free slots of the point to where the accelerations are least; the largest left.

    known: whether the slopes are those of a place close by, by scales close to these. Close to
    rest they are carried on from step to step, and differenced anew where a step by them brings
    less than it should; what they bring to rest is brought a step further, for one by differences
    would have come as far.
    """
    size = accelerations(body, tables, own.point, at, own, own.left)
    damping, more, then, slow = DAMPED, 2.0, size, 0
    for _ in range(STEPS):
        worst = 0.0
        for i in range(own.residuals):
            worst = max(worst, abs(own.left[i]))
        better, promised, done = False, 0.0, worst < DONE
        if known:
            promised = _step(free, damping, own)
            then = accelerations(body, tables, own.trial, at, own, own.then)
            better = promised > 0.0 and size - then >= GOOD * promised
        if done and not better:
            break
        if not better:
            slope(body, tables, free, at, own)
        while not better and damping < GIVEN_UP:
            promised = _step(free, damping, own)
            then = accelerations(body, tables, own.trial, at, own, own.then)
            better = promised > 0.0 and isfinite(then) and then < size
            if not better:
                damping *= more
                more *= 2.0
        if not better:
            break
        gain, fall = (size - then) / promised, size - then
        beyond = 2.0 * gain - 1.0
        damping *= max(0.1, 1.0 - beyond * beyond * beyond)
        more = 2.0
        known = size < NEAR
        if known:
            _carry(own, free.shape[0])
        slow = slow + 1 if fall < SLOW * size and damping < 1.0 else 0
        little = fall < LITTLE * size or slow == TIRED
        _copy(own.trial, own.point)
        _copy(own.then, own.left)
        size = then
        if little or done:
            break
    worst = 0.0
    for i in range(own.residuals):
        worst = max(worst, abs(own.left[i]))
    return worst if isfinite(size) else size


@woven
def rest(body, tables, at, own):
    """Rotors of the point at their steady speeds and surfaces where the servos hold; the most
    that any rotor [rad/s] and any surface [rad] has moved."""
    m, point = body.record[0], own.point
    turned, moved = 0.0, 0.0
    place(tables, point, at)
    rest_rotors(body, at, 1)
    for k in range(m.n_motors):
        turned = max(turned, abs(at.state[ROTOR + k] - point[ROTORS + k]))
        point[ROTORS + k] = at.state[ROTOR + k]
    rest_surfaces(body, at)
    for k in range(m.n_surfaces):
        droop = at.state[SURFACE + k] - at.command[COMMAND_SURFACE + k]
        moved = max(moved, abs(droop - point[DROOP + k]))
        point[DROOP + k] = droop
    return turned, moved


@called
def steady(body, tables, free, at, whole):
    """Bring the point of whole[0] to rest by its free slots (rotors among them); what is left of
    the accelerations, in g.

    Rotors start where a slowing rotor would come to; the dead bands of the servos make corners
    that a gradient cannot pass, so that the surfaces' rest is put in afterwards and the search
    repeated. A propeller that windmills at the start but at the steady point would not leaves
    the search where windmilling ends, short of it: then the rotor is let slow down to what it
    comes to there, and the search goes on.
    """
    own, failed, left = whole[0], 0, 0.0
    own.residuals = 6 + body.record[0].n_motors + (1 if isfinite(own.path) else 0)
    for n in range(ROTORS):
        own.low[n], own.high[n], own.scale[n] = LOW[n], HIGH[n], SCALE[n]
        own.point[n] = max(LOW[n], min(HIGH[n], own.point[n]))
    for turn in range(ROUNDS + 1):
        _copy(own.point, own.trial)
        turned, moved = rest(body, tables, at, own)
        if turn > 0:
            failed += 1 if left > CLOSE else 0
            still = turned < 1.0 and (moved < 1e-7 or failed > 0)
            if still or failed > RETRIES:
                _copy(own.trial, own.point)
                break
        for k in range(body.record[0].n_motors):
            top = max(1.5 * abs(own.point[ROTORS + k]), 300.0)
            own.low[ROTORS + k], own.high[ROTORS + k] = -top, top
            own.scale[ROTORS + k] = 0.1 * top
        left = search(body, tables, free, at, own, turn > 0 and left <= CLOSE)
    return left
