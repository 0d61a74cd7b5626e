"""Flight in steps of one, two or four ticks of 1/240 s, and the conditions that end one.

A step goes by the slopes at its start and those of the step before: Adams and Bashforth's second
order foretells its end, Adams and Moulton's third corrects that. Where there is no such step
before, as after a release or near the ground, it is Kutta's of fourth order. Source: Hairer,
Norsett and Wanner, Solving Ordinary Differential Equations I, III.1 and III.5 (from memory; the
weights by steps that change are the integrals of the parabola, derived again); Kutta (1901). What
is discrete goes by ticks whatever the step: the gusts, and when a command reaches the
servos. A step is as long as the moment at its start allows (`stride`), the same live and in a
batch; near the ground each tick is cut into up to four. Against steps of 1/960 s the height after
8 s by simulated hands is 0.4 to 12 mm off in still air (medians of 1000 launches of `allotment`,
`pantry-swept`, `pantry`, `glasshouse`), and 15 to 170 mm in gusts of 4 m/s of wind, whose strokes
within a step are taken together; of 7900 launches 7568 survive by those steps as by these, 52
end otherwise. With a stick held back and nobody to correct, the place after 6 s is 0.1 to 1 mm off
in still air.
"""

from math import isfinite, sqrt

from firstthrow.sim.kernels.compiled import apart, kernel
from firstthrow.sim.kernels.derivative import derivative, flight_arguments
from firstthrow.sim.kernels.drive import electric, load_up
from firstthrow.sim.kernels.ground import clearance
from firstthrow.sim.kernels.gusts import update
from firstthrow.sim.kernels.layout import (
    ALONG,
    BENDING,
    BREAKING,
    BROKEN,
    CHARGE,
    COMMAND_ASLEEP,
    COMMAND_HELD,
    COMMAND_NEXT,
    COMMAND_SURFACE,
    COMMAND_TICKS,
    DEFLECTION,
    GUST_RATE,
    HINGE,
    MAX_SURFACES,
    MOTOR_CURRENT,
    PACK_CURRENT,
    ROTOR,
    SEPARATING,
    SIZE,
    SLACK,
    SPECIFIC_FORCE,
    STRIKE,
    SUPPLY_VOLTAGE,
    SURFACE,
    SWING,
    TOUCHING,
    UPWARD,
    VELOCITY,
)
from firstthrow.sim.kernels.moving import moving
from firstthrow.sim.kernels.rotation import normalised, to_field
from firstthrow.sim.kernels.separation import lag, recall
from firstthrow.sim.kernels.servo import current, foresee, go, take, unmoved
from firstthrow.sim.kernels.wind import profile

STEP = 1.0 / 240.0  # a tick
NEAR = 0.01  # clearance within reach of which steps are cut: what 70 m/s2 do in a frame [m]
NEAR_CUTS = 4
MOST_TICKS = 4
FORESEEN = 2e-3  # most that what was not foreseen may change of a velocity [m/s], a rate [rad/s]
LOST = 0.3  # the same from where on slopes told nothing; like all of these our judgement
LOST_SPIN = 20.0  # of a rotor's speed [rad/s]
LONGER = 2.0  # than the step before, at most, may be one that goes by its slopes
QUIET = 0.01  # change of a strip's separated share in a tick, up to which steps may be long
TURN = 0.2  # of the airframe in a long step, at most [rad]
SOFTLY = 0.1  # closing speed of what rolls, over the speed that breaks it, at most

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


def _arguments():
    """Those of every flight, what it remembers, ticks and their length."""
    body, state, command, gust, _, report, own = flight_arguments()
    flight = moving()
    return body, state, flight.late, flight.before, command, gust, 1, 0.0, report, own


@kernel
def growth(m, before, whole):
    """A step over the one before it, up to 2; 0 where that does not tell how slopes change."""
    lasted = before[0, SIZE]
    return 0.0 if lasted == 0.0 or whole > LONGER * lasted or m.n_swinging > 0 else whole / lasted


@kernel
def renew(m, state, command, slope, report):
    """Bring slopes at the end of a step up to those at the start of the next, for what a command
    has changed and the corrected rotor speed: the motors' torque, on rotors and airframe."""
    amps = report[MOTOR_CURRENT], report[MOTOR_CURRENT + 1]
    electric(m, state, command, current(m, command, report), report)
    slope[CHARGE] = report[PACK_CURRENT]
    for k in range(m.n_motors):
        more = m.motor_kt[k] * m.motor_drive[k] * (report[MOTOR_CURRENT + k] - amps[k])
        slope[ROTOR + k] += more / m.rotor_inertia[k]
        if command[COMMAND_HELD] > 0.5:  # the hand bears it
            continue
        for n in range(6):
            for axis in range(3):
                push = m.motor_sense[k] * more * m.motor_axis[k, axis]
                slope[VELOCITY + n] -= m.mass_inverse[n, 3 + axis] * push


@kernel
def is_calm(m, gust):
    """Whether nothing but a command changes between the end of a step and the start of the next:
    without gusts."""
    still = m.gust_wind == 0.0
    for k in range(3):
        still = still and gust[k] == 0.0 and gust[GUST_RATE + k] == 0.0
    return still


@apart(_arguments)
def step(body, state, late, before, command, gust, ticks, h, report, scratch):
    """One step of so many ticks of h, in place; what is separated stays as it is until its end.
    late: see `separation.lag`; before: see `Moving`.

    Where the slopes of the step before tell how they change: predicted by Adams and Bashforth's
    second order and corrected by Adams and Moulton's third, two evaluations; one in calm air where
    the slopes at the end of the step before were as foreseen and nothing separates. Where there are
    none, or they were far from telling, as when a throttle is opened at once or where it flies so
    fast that this swings up: by Runge-Kutta, four. Surfaces are moved by themselves, under the
    hinge moments foreseen for the middle, and count with what they are in the mean over the step,
    since a servo often gets where it goes within one (`servo.take`); by Runge-Kutta one half under
    those at the start and one under those in the middle, and in a single tick with all the rest.
    """
    m, own = body.record[0], scratch[0]
    stages, angles, taken, whole = own.stages, own.angles, own.taken, ticks * h
    recall(m, late, own)
    slope, slopes, trial = stages[0], stages[1], stages[2]
    ratio, calm = growth(m, before, whole), is_calm(m, gust)
    two = ratio > 0.0
    by_ticks = two or ticks > 1
    last = SIZE if m.n_swinging > 0 else SLACK  # what does not swing has no slopes there
    # Of the parabola through the slopes before, at the start and at the end: their shares.
    ends, begins = (2.0 * ratio + 3.0) / (6.0 * ratio + 6.0), (ratio + 3.0) / 6.0
    reuse = False
    if two:
        foresee(m, state, before, ratio, ticks, h, command, report, own)
        reuse = calm and before[1, SIZE] > 0.5 and unmoved(m, before, own)
        take(m, before, begins, ends, reuse, 0, own)
    stage, stages_of_it, missed = 0, 2 if two else 4, 0.0
    while stage < stages_of_it:
        if stage == 0:
            for n in range(last):
                slopes[n], trial[n] = 0.0, state[n]
            for k in range(m.n_motors):
                own.squares[k] = 0.0
            for k in range(m.n_surfaces):
                if two:
                    trial[SURFACE + k] = taken[0, k]
                else:
                    angles[k] = state[SURFACE + k]
            if by_ticks and not two:
                go(m, command, 0, ticks // 2, h, report, angles, own.means)
        if stage == 0 and reuse:
            for n in range(last):
                slope[n] = before[1, n]
            renew(m, state, command, slope, report)
        else:
            derivative(body, trial, command, gust, slope, report, scratch)
        weight = 0.5
        if two and stage == 0:
            past = 1.0 - begins - ends
            for n in range(last):
                was, now = before[0, n], slope[n]
                slopes[n] = begins * now + past * was
                trial[n] = state[n] + whole * (now + 0.5 * ratio * (now - was))
                before[1, n] = now + ratio * (now - was)  # foreseen
        elif two:
            for n in range(last):
                slopes[n] += ends * slope[n]
        else:
            weight = 1.0 / 6.0 if stage == 0 or stage == 3 else 1.0 / 3.0
            ahead = whole if stage == 2 else 0.5 * whole
            for n in range(last):
                slopes[n] += weight * slope[n]
                trial[n] = state[n] + ahead * slope[n]
        for k in range(m.n_motors):
            amps = report[MOTOR_CURRENT + k]
            own.squares[k] += weight * amps * amps
        if stage == 0:
            for n in range(last):
                before[0, n] = slope[n]
            if two:
                if not reuse:  # its moments are known now
                    foresee(m, state, before, ratio, ticks, h, command, report, own)
                take(m, before, begins, ends, reuse, 1, own)
            for k in range(m.n_surfaces):
                own.moments[k] = report[HINGE + k]
        if by_ticks:
            if not two and stage == 2:
                go(m, command, ticks // 2, ticks // 2, h, report, angles, own.means)
            for k in range(m.n_surfaces):
                trial[SURFACE + k] = taken[1, k] if two else angles[k]
                trial[SLACK + k] = state[SLACK + k]
                trial[SWING + k] = state[SWING + k]
        stage += 1
        if two and stage == 2:
            spun = 0.0
            for n in range(VELOCITY, VELOCITY + 6):
                missed = max(missed, ends * whole * abs(slope[n] - before[1, n]))
            for k in range(m.n_motors):
                off = abs(slope[ROTOR + k] - before[1, ROTOR + k])
                spun = max(spun, ends * whole * off)
            if missed > LOST or spun > LOST_SPIN:
                two, by_ticks, stage, stages_of_it, reuse = False, ticks > 1, 0, 4, False
                for k in range(m.n_surfaces):
                    report[HINGE + k] = own.moments[k]
    before[0, SIZE] = whole
    before[1, SIZE] = 1.0 if two and calm and missed < FORESEEN else 0.0
    for n in range(last):
        before[1, n] = slope[n]
    for k in range(m.n_surfaces):
        before[2, k] = report[HINGE + k] - own.moments[k]
        for n in range(3):
            stood = taken[n, k] if two else (state[SURFACE + k] if n < 2 else 0.0)
            before[2, (n + 1) * MAX_SURFACES + k] = stood
    if by_ticks:  # what swings waits: it is flown a tick at a time
        for k in range(m.n_surfaces):
            slopes[SLACK + k], slopes[SWING + k] = 0.0, 0.0
    for n in range(last):
        state[n] += whole * slopes[n]
    if by_ticks:
        for k in range(m.n_surfaces):
            state[SURFACE + k] = angles[k]
            if two:
                report[DEFLECTION + k] += angles[k] - taken[1, k]
    # The last stage has left the flow at the step's end.
    report[SEPARATING] = lag(body, whole, own, late) * STEP / whole
    if report[SEPARATING] > 0.0:
        before[1, SIZE] = 0.0
    own.lagging = 0.0
    state[3], state[4], state[5], state[6] = normalised(state[3], state[4], state[5], state[6])


step, step_of = step  # see `compiled.apart`


@kernel
def supply(m, state, command, h, events, report):
    """Tell the command whether the receiver listens in a step of h: it restarts, or hears nothing
    beyond its reach."""
    if report[SUPPLY_VOLTAGE] < BROWN_OUT * m.supply_voltage:
        events.asleep = RESTART
    way = state[0] * state[0] + state[1] * state[1] + state[2] * state[2]
    if m.radio_reach > 0.0 and way > m.radio_reach * m.radio_reach:
        events.asleep = max(events.asleep, h)
    command[COMMAND_ASLEEP] = 1.0 if events.asleep > 0.0 else 0.0
    events.asleep -= h


@kernel
def stride(m, state, late, h, left, report):
    """How many ticks of h the next step takes, of so many left: 4 or 2 where no rotor, no stall and
    no ground wants short ones, else 1."""
    ticks = min(left, m.most_ticks)
    new = late[ALONG, 0] == 0.0 and late[UPWARD, 0] == 0.0
    if ticks < 2 or new or report[SEPARATING] > QUIET or m.n_swinging > 0:
        return 1
    ticks = 4 if ticks >= 4 else 2
    rate = state[10] * state[10] + state[11] * state[11] + state[12] * state[12]
    while ticks > 1 and rate * (ticks * h) * (ticks * h) > TURN * TURN:
        ticks //= 2
    return 1 if near_ground(m, state, ticks * h) else ticks


@kernel
def cuts_of(m, state, ticks, h, report):
    """Into how many each tick is cut: none but where something comes near the ground, and few of
    what rolls on it."""
    if ticks > 1 or not near_ground(m, state, h):
        return 1
    rolls = report[TOUCHING] > 0.5 and report[BREAKING] < SOFTLY
    return m.roll_cuts if rolls else NEAR_CUTS


@kernel
def through_the_wind(m, state):
    """Speed through the steady wind [m/s]: that at which gusts are met, whatever they do."""
    north, east, down = to_field(
        state[3], state[4], state[5], state[6], state[7], state[8], state[9]
    )
    share = profile(-state[2], m.roughness)
    north -= share * m.wind_north
    east -= share * m.wind_east
    return sqrt(north * north + east * east + down * down)


@kernel
def near_ground(m, state, h):
    """Whether anything of the airframe may touch the ground within h seconds."""
    _, _, sinks = to_field(state[3], state[4], state[5], state[6], state[7], state[8], state[9])
    rate = sqrt(state[10] * state[10] + state[11] * state[11] + state[12] * state[12])
    return clearance(m, state) < NEAR + h * (max(0.0, sinks) + rate * m.reach)


@kernel
def advance(body, flight, noise, h, start, scratch):
    """Fly a tick of h for every row of the noise; stops early when something ends the flight.

    noise: (ticks, NOISE_SIZE) normal deviates for the turbulence; start: seconds since the
    release. Returns the ticks flown.
    """
    m, events = body.record[0], flight.events[0]
    state, command, gust, report = flight.state, flight.command, flight.gust, flight.report
    held, n = command[COMMAND_HELD] > 0.5, 0
    while n < noise.shape[0]:
        ticks = stride(m, state, flight.late, h, noise.shape[0] - n, report)
        speed = through_the_wind(m, state) if m.gust_wind > 0.0 else 0.0
        update(m, -state[2], speed, start + n * h, noise[n : n + ticks], h, gust)
        supply(m, state, command, ticks * h, events, report)
        cuts = 1 if held else cuts_of(m, state, ticks, h, report)
        for _ in range(cuts):
            if cuts > 1 or report[TOUCHING] > 0.5:  # what the ground does, slopes do not foresee
                flight.before[0, SIZE] = 0.0
            step_of(
                body,
                state,
                flight.late,
                flight.before,
                command,
                gust,
                ticks,
                h / cuts,
                report,
                scratch,
            )
            load_up(m, command, ticks * h / cuts, scratch[0].squares, events)
            if not held:
                judge(m, state, ticks * h / cuts, events, report)
            if events.word != FLYING:
                events.time = start + (n + ticks) * h
                return n + ticks
        n += ticks
        if command[COMMAND_TICKS] > 0.0:
            command[COMMAND_TICKS] = max(0.0, command[COMMAND_TICKS] - ticks)
            if command[COMMAND_TICKS] == 0.0:
                for k in range(m.n_surfaces):
                    command[COMMAND_SURFACE + k] = command[COMMAND_NEXT + k]
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
