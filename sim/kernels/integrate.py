"""Fixed-step fourth-order Runge-Kutta, and the conditions that end a flight.

Source: Kutta (1901), the classical tableau. Near the ground each step is cut into four.
"""

from math import isfinite, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.derivative import derivative
from firstthrow.sim.kernels.ground import clearance
from firstthrow.sim.kernels.gusts import update
from firstthrow.sim.kernels.layout import (
    AIR,
    BENDING,
    BREAKING,
    BROKEN,
    COMMAND_ASLEEP,
    COMMAND_HELD,
    SIZE,
    SPECIFIC_FORCE,
    STRIKE,
    SUPPLY_VOLTAGE,
    TOUCHING,
)
from firstthrow.sim.kernels.rotation import normalised

STEP = 1.0 / 240.0
NEAR = 0.6  # clearance below which steps are cut [m]
NEAR_CUTS = 4

FLYING, LANDED, BROKE, FOLDED, STRUCK, LEFT, DIVERGED = range(7)
EVENT_WORD = 0  # which of the above
EVENT_VALUE = 1  # what goes with it
EVENT_TIME = 2  # seconds since the start of the flight
EVENT_REST = 3  # how long it has been at rest [s]
EVENT_ASLEEP = 4  # how much longer the receiver restarts [s]
EVENT_SIZE = 5

BROWN_OUT = 0.72  # share of the supply's voltage below which a receiver restarts (3.6 of 5 V)
RESTART = 1.0  # how long that takes [s], common practice, no source

REST_SPEED = 0.15  # slower than this on the ground is at rest [m/s]
REST_TIME = 0.7  # for as long as this it has landed [s]
STRIKE_DEPTH = 0.004  # grass bends; the ground does not [m]


@kernel
def step(m, response, plates, propellers, state, command, gust, h, report, work, stream, stages):
    """One Runge-Kutta step of length h, in place. stages: (3, SIZE) scratch."""
    # Sum of the weighted slopes so far, then the state at which the next is taken.
    k, total, trial = stages[0], stages[1], stages[2]
    for n in range(SIZE):
        total[n] = 0.0
        trial[n] = state[n]
    for stage in range(4):
        derivative(m, response, plates, propellers, trial, command, gust, k, report, work, stream)
        weight = 1.0 if stage == 0 or stage == 3 else 2.0
        ahead = h if stage == 2 else 0.5 * h
        for n in range(SIZE):
            total[n] += weight * k[n]
            trial[n] = state[n] + ahead * k[n]
    for n in range(SIZE):
        state[n] += h / 6.0 * total[n]
    state[3], state[4], state[5], state[6] = normalised(state[3], state[4], state[5], state[6])


@kernel
def advance(
    m,
    response,
    plates,
    propellers,
    state,
    command,
    gust,
    noise,
    steps,
    h,
    start,
    events,
    report,
    work,
    stream,
    stages,
):
    """Fly up to `steps` steps of h; stops early when something ends the flight.

    noise: (steps, NOISE_SIZE) normal deviates for the turbulence.

    Returns the steps flown. `events` keeps the ending, its value and time, and the timer of
    a landing.
    """
    for n in range(steps):
        held = command[COMMAND_HELD] > 0.5
        a, b, c = report[AIR], report[AIR + 1], report[AIR + 2]
        update(m, -state[2], sqrt(a * a + b * b + c * c), start + n * h, noise[n], h, gust)
        if report[SUPPLY_VOLTAGE] < BROWN_OUT * m.supply_voltage:
            events[EVENT_ASLEEP] = RESTART
        command[COMMAND_ASLEEP] = 1.0 if events[EVENT_ASLEEP] > 0.0 else 0.0
        events[EVENT_ASLEEP] -= h
        cuts = NEAR_CUTS if not held and clearance(m, state) < NEAR else 1
        for _ in range(cuts):
            step(
                m,
                response,
                plates,
                propellers,
                state,
                command,
                gust,
                h / cuts,
                report,
                work,
                stream,
                stages,
            )
            if not held:
                judge(m, state, h / cuts, events, report)
            if events[EVENT_WORD] != FLYING:
                events[EVENT_TIME] = start + (n + 1) * h
                return n + 1
    return steps


@kernel
def judge(m, state, h, events, report):
    """Note in `events` what ends the flight in this state, if anything does."""
    for n in range(SIZE):
        if not isfinite(state[n]):
            events[EVENT_WORD] = DIVERGED
            return
    speed = state[7] * state[7] + state[8] * state[8] + state[9] * state[9]
    if report[BENDING] > 1.0:
        events[EVENT_WORD] = FOLDED
        events[EVENT_VALUE] = report[SPECIFIC_FORCE + 2] / -m.gravity
    elif report[STRIKE] > STRIKE_DEPTH:
        events[EVENT_WORD] = STRUCK
    elif report[BREAKING] > 1.0:
        events[EVENT_WORD] = BROKE
        events[EVENT_VALUE] = report[BROKEN]
    elif state[0] * state[0] + state[1] * state[1] > m.field_radius * m.field_radius:
        events[EVENT_WORD] = LEFT
    elif report[TOUCHING] > 0.5 and speed < REST_SPEED * REST_SPEED:
        events[EVENT_REST] += h
        if events[EVENT_REST] > REST_TIME:
            events[EVENT_WORD] = LANDED
    else:
        events[EVENT_REST] = 0.0
