"""One launch flown from the hand to its end under simulated hands: the unit of `launches`.

Everything it flies through is the derivative and the integrator of the live flight.
"""

from math import asin, atan2, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.gusts import start as blow
from firstthrow.sim.kernels.human import MIND_SIZE, PITCH, ROLL, RUDDER, act
from firstthrow.sim.kernels.integrate import (
    DIVERGED,
    EVENT_SIZE,
    EVENT_TIME,
    EVENT_WORD,
    FLYING,
    LANDED,
    STEP,
    advance,
)
from firstthrow.sim.kernels.layout import (
    AIR,
    COMMAND_HELD,
    COMMAND_SIZE,
    GUST_SIZE,
    MAX_SURFACES,
    REPORT_SIZE,
    SIZE,
    SPECIFIC_FORCE,
    SUPPLY_VOLTAGE,
    SURFACE,
    TOUCHING,
)
from firstthrow.sim.kernels.mix import mix
from firstthrow.sim.kernels.rotation import from_angles

GUST_ROWS = 2  # rows of the noise that start the turbulence
FRAME_STEPS = 4  # physics steps between two looks of the pilot
HELD_FRAMES = 30  # half a second in the hand with the motor running
SETTLED = 0.6  # the stall margin counts from here on [s]

# A case: the throw, the motor hand, how the surfaces were built.
SPEED, PITCH_UP, BANK, SLIP, HEIGHT, ROLL_RATE, THROTTLE, THROTTLE_LATE, HUMAN = range(9)
BUILT = 9  # error of each surface's neutral [rad]
CASE_SIZE = BUILT + MAX_SURFACES

WORD, VALUE, TIME, HEIGHT_LOST, STALL_MARGIN, LOAD, MOST_BANK, END_HEIGHT = range(8)
RESULT_SIZE = 8


def noise_rows(frames: int) -> int:
    """Rows of normal deviates that a case of so many frames takes."""
    return GUST_ROWS + (HELD_FRAMES + frames) * FRAME_STEPS


@kernel
def _start(m, case, heading, state, command):
    for n in range(SIZE):
        state[n] = 0.0
    state[2] = -case[HEIGHT]
    w, x, y, z = from_angles(case[BANK], case[PITCH_UP], heading + case[SLIP])
    state[3], state[4], state[5], state[6] = w, x, y, z
    mix(m, 0.0, 0.0, 0.0, 0.0, False, command)
    for k in range(m.n_surfaces):
        command[k] += case[BUILT + k]
        state[SURFACE + k] = command[k] if m.servo_speed[k] > 0.0 else m.stuck_at[k]


@kernel
def fly_case(
    m,
    response,
    plates,
    propellers,
    case,
    hands,
    noise,
    frames,
    heading,
    stall_speed,
    lag,
    state,
    mind,
    command,
    past,
    gust,
    events,
    report,
    work,
    stream,
    stages,
    result,
):
    """Fly one case for up to `frames` frames of 1/60 s after the release; fill `result`.

    hands: see `human`; noise: (`noise_rows(frames)`, NOISE_SIZE); lag: whole
    steps between a command and the servo; past: (lag // FRAME_STEPS + 2, MAX_SURFACES) scratch.
    """
    for n in range(MIND_SIZE):
        mind[n] = 0.0
    for n in range(COMMAND_SIZE):
        command[n] = 0.0
    for n in range(GUST_SIZE):
        gust[n] = 0.0
    for n in range(EVENT_SIZE):
        events[n] = 0.0
    for n in range(REPORT_SIZE):
        report[n] = 0.0
    report[SUPPLY_VOLTAGE] = m.supply_voltage
    _start(m, case, heading, state, command)
    for n in range(past.shape[0]):
        for k in range(MAX_SURFACES):
            past[n, k] = command[k]
    lowest, margin, load, bank_most = case[HEIGHT], 1e9, 0.0, 0.0
    blow(noise[0:2], gust)
    count = GUST_ROWS
    for frame in range(-HELD_FRAMES, frames):
        since = frame / 60.0
        if frame == 0:
            u = case[SPEED] / sqrt(1.0 + case[SLIP] * case[SLIP])
            state[7], state[8], state[9] = u, -u * case[SLIP], 0.0
            state[10] = case[ROLL_RATE]
        pitch = asin(max(-1.0, min(1.0, 2.0 * (state[3] * state[5] - state[6] * state[4]))))
        bank = atan2(
            2.0 * (state[3] * state[4] + state[5] * state[6]),
            1.0 - 2.0 * (state[4] * state[4] + state[5] * state[5]),
        )
        if frame >= 0 and case[HUMAN] > 0.5:
            act(mind, hands, pitch, bank, state[11], state[10], since, 1.0 / 60.0)
        throttle = case[THROTTLE] if since >= case[THROTTLE_LATE] else 0.0
        mix(m, mind[ROLL], mind[PITCH], hands[RUDDER] * mind[ROLL], throttle, False, command)
        command[COMMAND_HELD] = 1.0 if frame < 0 else 0.0
        for k in range(m.n_surfaces):
            command[k] += case[BUILT + k]
        size = past.shape[0]
        now = (frame + HELD_FRAMES) % size
        for k in range(m.n_surfaces):
            past[now, k] = command[k]
        # The servos get a command `lag` steps late: within a frame first what was asked one
        # frame further back, then the next.
        for newer in range(2):
            steps = FRAME_STEPS - lag % FRAME_STEPS if newer else lag % FRAME_STEPS
            then = (now + size - lag // FRAME_STEPS - 1 + newer) % size
            for k in range(m.n_surfaces):
                command[k] = past[then, k]
            if events[EVENT_WORD] == FLYING:
                start = since + (FRAME_STEPS - steps) * STEP * newer
                advance(
                    m,
                    response,
                    plates,
                    propellers,
                    state,
                    command,
                    gust,
                    noise[count : count + steps],
                    steps,
                    STEP,
                    start,
                    events,
                    report,
                    work,
                    stream,
                    stages,
                )
            count += steps
        if frame >= 0 and events[EVENT_WORD] != LANDED:
            lowest = min(lowest, -state[2])
            bank_most = max(bank_most, abs(bank))
            a, b, c = report[AIR], report[AIR + 1], report[AIR + 2]
            if report[TOUCHING] < 0.5:
                load = max(load, abs(report[SPECIFIC_FORCE + 2]) / m.gravity)
            if since > SETTLED and report[TOUCHING] < 0.5:
                margin = min(margin, sqrt(a * a + b * b + c * c) / stall_speed - 1.0)
        if events[EVENT_WORD] != FLYING:
            break
    result[WORD] = events[EVENT_WORD]
    result[VALUE] = events[1]
    result[TIME] = events[EVENT_TIME] if events[EVENT_WORD] != FLYING else frames / 60.0
    result[HEIGHT_LOST] = case[HEIGHT] - lowest
    result[STALL_MARGIN] = margin
    result[LOAD] = load
    result[MOST_BANK] = bank_most
    result[END_HEIGHT] = -state[2]
    if events[EVENT_WORD] == DIVERGED:
        result[HEIGHT_LOST] = case[HEIGHT]
