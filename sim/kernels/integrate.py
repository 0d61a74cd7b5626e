"""Fixed-step fourth-order Runge-Kutta, and the conditions that end a flight.

Source: Kutta (1901), the classical tableau. Near the ground each step is cut into four.
"""

from math import isfinite, sqrt

from numba import float64, typeof

from firstthrow.sim.kernels.compiled import apart, kernel
from firstthrow.sim.kernels.derivative import derivative, flight_types
from firstthrow.sim.kernels.drive import load_up
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
from firstthrow.sim.kernels.moving import moving
from firstthrow.sim.kernels.rotation import normalised
from firstthrow.sim.kernels.separation import lag, recall

STEP = 1.0 / 240.0
NEAR = 0.6  # clearance below which steps are cut [m]
NEAR_CUTS = 4

FLYING, LANDED, BROKE, FOLDED, STRUCK, LEFT, DIVERGED = range(7)  # the words of `events`

BROWN_OUT = 0.72  # share of the supply's voltage below which a receiver restarts (3.6 of 5 V)
RESTART = 1.0  # how long that takes [s], common practice, no source

# Faster than this no foam flies, or turns: the numbers have broken down.
FASTEST = 150.0  # [m/s]
QUICKEST = 300.0  # [rad/s]

REST_SPEED = 0.15  # slower than this on the ground is at rest [m/s]
MOVED_SPEED = 1.0  # from then on it has left the place it stood on [m/s]
REST_TIME = 0.7  # for as long as this it has landed [s]
STRIKE_DEPTH = 0.004  # grass bends; the ground does not [m]


def _types():
    """Of the arguments: those of every flight, what is separated and the step's length."""
    body, state, command, gust, _, report, own = flight_types()
    return body, state, typeof(moving().late), command, gust, float64, report, own


@apart(_types)
def step(body, state, late, command, gust, h, report, scratch):
    """One Runge-Kutta step of length h, in place; what is separated stays as it is until its end.
    late: see `separation.lag`."""
    stages = scratch[0].stages
    recall(body.record[0], late, scratch[0])
    slope, slopes, trial = stages[0], stages[1], stages[2]
    for n in range(SIZE):
        slopes[n] = 0.0
        trial[n] = state[n]
    for stage in range(4):
        derivative(body, trial, command, gust, slope, report, scratch)
        weight = 1.0 if stage == 0 or stage == 3 else 2.0
        ahead = h if stage == 2 else 0.5 * h
        for n in range(SIZE):
            slopes[n] += weight * slope[n]
            trial[n] = state[n] + ahead * slope[n]
    for n in range(SIZE):
        state[n] += h / 6.0 * slopes[n]
    lag(body, h, scratch[0], late)  # the last stage has left the flow at the step's end
    scratch[0].lagging = 0.0
    state[3], state[4], state[5], state[6] = normalised(state[3], state[4], state[5], state[6])


step, step_of = step  # see `compiled.apart`


@kernel
def supply(m, state, command, h, events, report):
    """Tell the command what the electrics no longer carry in a step of h: a receiver that
    restarts, or hears nothing beyond its reach; a controller that has given up."""
    if report[SUPPLY_VOLTAGE] < BROWN_OUT * m.supply_voltage:
        events.asleep = RESTART
    way = state[0] * state[0] + state[1] * state[1] + state[2] * state[2]
    if m.radio_reach > 0.0 and way > m.radio_reach * m.radio_reach:
        events.asleep = max(events.asleep, h)
    command[COMMAND_ASLEEP] = 1.0 if events.asleep > 0.0 else 0.0
    events.asleep -= h
    load_up(m, command, h, events, report)


@kernel
def advance(body, flight, noise, h, start, scratch):
    """Fly a step of h for every row of the noise; stops early when something ends the flight.

    noise: (steps, NOISE_SIZE) normal deviates for the turbulence; start: seconds since the
    release. Returns the steps flown.
    """
    m, events = body.record[0], flight.events[0]
    state, command, gust, report = flight.state, flight.command, flight.gust, flight.report
    for n in range(noise.shape[0]):
        held = command[COMMAND_HELD] > 0.5
        a, b, c = report[AIR], report[AIR + 1], report[AIR + 2]
        update(m, -state[2], sqrt(a * a + b * b + c * c), start + n * h, noise[n], h, gust)
        supply(m, state, command, h, events, report)
        cuts = NEAR_CUTS if not held and clearance(m, state) < NEAR else 1
        for _ in range(cuts):
            step_of(body, state, flight.late, command, gust, h / cuts, report, scratch)
            if not held:
                judge(m, state, h / cuts, events, report)
            if events.word != FLYING:
                events.time = start + (n + 1) * h
                return n + 1
    return noise.shape[0]


@kernel
def judge(m, state, h, events, report):
    """Note in `events` what ends the flight in this state, if anything does."""
    for n in range(SIZE):
        if not isfinite(state[n]):
            events.word = DIVERGED
            return
    speed = state[7] * state[7] + state[8] * state[8] + state[9] * state[9]
    rate = state[10] * state[10] + state[11] * state[11] + state[12] * state[12]
    if speed > FASTEST * FASTEST or rate > QUICKEST * QUICKEST:
        events.word = DIVERGED
        return
    if speed > MOVED_SPEED * MOVED_SPEED:
        events.moved = 1.0
    if report[BENDING] > 1.0:
        events.word = FOLDED
        events.value = report[SPECIFIC_FORCE + 2] / -m.gravity
    elif report[STRIKE] > STRIKE_DEPTH:
        events.word = STRUCK
    elif report[BREAKING] > 1.0:
        events.word = BROKE
        events.value = report[BROKEN]
    elif state[0] * state[0] + state[1] * state[1] > m.field_radius * m.field_radius:
        events.word = LEFT
    elif events.moved and report[TOUCHING] > 0.5 and speed < REST_SPEED * REST_SPEED:
        events.rest += h
        if events.rest > REST_TIME:
            events.word = LANDED
    else:
        events.rest = 0.0
