"""A stretch of a recorded flight flown again: through the air that was met, as the sticks asked."""

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.drive import load_up
from firstthrow.sim.kernels.integrate import FLYING, STEP, judge, step_of, stride, supply
from firstthrow.sim.kernels.layout import (
    COMMAND_ASLEEP,
    GUST_RATE,
    HINGE,
    MAX_SURFACES,
    ROLL_GUST,
    SIZE,
    SUPPLY_VOLTAGE,
    SURFACE,
    TOUCHING,
)
from firstthrow.sim.kernels.mix import mix
from firstthrow.sim.kernels.servo import hang
from firstthrow.sim.kernels.wind import fade, profile

FRAME_STEPS = 4  # physics steps between two readings
BEFORE = 30  # readings from which the servos are taken to have followed the sticks
RUN_IN = 20  # readings after which what is separated no longer knows how it began
RELEASED = 1.0  # slower than this over the ground it is still in the hand [m/s]
SLEEPS = 5  # column of the sticks: 1 where the receiver restarts, whatever the supply says


@kernel
def ask(m, sticks, row, command):
    """Fill the command by a row of sticks."""
    roll, pitch, yaw = sticks[row, 0], sticks[row, 1], sticks[row, 2]
    mix(m, roll, pitch, yaw, sticks[row, 3], sticks[row, 4] > 0.5, command)


@kernel
def follow_servos(m, sticks, row, command, state):
    """Put the surfaces where servos without load have brought them by a row of the sticks."""
    start = max(0, row - BEFORE)
    for at in range(start, row + 1):
        ask(m, sticks, at, command)
        for k in range(m.n_surfaces):
            reach = m.servo_speed[k] * FRAME_STEPS * STEP
            if m.servo_speed[k] <= 0.0:
                state[SURFACE + k] = m.stuck_at[k]
            elif at == start:
                state[SURFACE + k] = command[k]
            else:
                off = command[k] - state[SURFACE + k]
                state[SURFACE + k] += min(max(off, -reach), reach)
    for k in range(m.n_surfaces, MAX_SURFACES):
        state[SURFACE + k] = 0.0


@kernel
def meet_air(m, air, row, share, state, gust):
    """Fill the gust so that the air at the state's height is what was met on the way to a row."""
    steady = profile(-state[2], m.roughness)
    left = max(fade(-state[2]), 1e-3)
    for k in range(3):
        grows = air[row, k] - air[row - 1, k]
        gust[k] = (air[row - 1, k] + share * grows) / left
        gust[GUST_RATE + k] = grows / (FRAME_STEPS * STEP) / left
    gust[0] -= m.wind_north * steady / left
    gust[1] -= m.wind_east * steady / left


@kernel
def follow(body, moving, seen, sticks, air, first, rows, late, scratch, found):
    """Fly on from row `first` of a record for so many rows; returns those flown.

    seen: (n, SIZE) states of the record but for the surfaces; those before the first let the
    separated flow come to be what it was. sticks: (n, 6) roll, pitch, yaw, throttle, low rates,
    asleep, each in force up to its row; they reach the servos `late` rows later. air: (n, 3) its
    velocity over the ground at each row [m/s], straight in between: north, east, down; a step, as
    long as in flight, meets its mean. found:
    (rows, SIZE), the state at each row. Surfaces begin where the sticks have brought them, in a
    wide play where air and weight lay them. The gust's gradient across the span is not in a record:
    there is none. Stops early when something ends the flight.
    """
    m, events = body.record[0], moving.events[0]
    state, command, gust, report = moving.state, moving.command, moving.gust, moving.report
    gust[ROLL_GUST] = 0.0
    moving.late[:] = 0.0
    moving.before[:] = 0.0
    for k in range(m.n_surfaces):
        report[HINGE + k] = 0.0
    begins = max(1, first + 1 - RUN_IN)
    while begins > 1 and sticks[begins - 1, SLEEPS] > 0.5:  # back to where it fell silent
        begins -= 1
    for row in range(begins, first + rows + 1):
        before = row - 1
        flown, idle = before >= first, sticks[before, SLEEPS] > 0.5
        if before <= first:
            for k in range(SURFACE):
                state[k] = seen[before, k]
            for k in range(SURFACE + MAX_SURFACES, SIZE):
                state[k] = seen[before, k]
            if not idle or row == begins:  # while it restarts, surfaces go where the air puts them
                follow_servos(m, sticks, max(0, before - late), command, state)
            hang(m, state, report)
            report[SUPPLY_VOLTAGE] = m.supply_voltage
        events.word = FLYING
        ask(m, sticks, max(0, row - late), command)
        done = 0
        while done < FRAME_STEPS:
            ticks = FRAME_STEPS
            if flown or idle:  # as it was flown
                ticks = stride(m, state, moving.late, STEP, FRAME_STEPS - done, report)
            h = ticks * STEP
            meet_air(m, air, row, (done + 0.5 * ticks) / FRAME_STEPS, state, gust)
            if flown:
                supply(m, state, command, h, events, report)
            command[COMMAND_ASLEEP] = max(command[COMMAND_ASLEEP], sticks[row, SLEEPS])
            if report[TOUCHING] > 0.5 or (done == 0 and before <= first):
                moving.before[0, SIZE] = 0.0
            step_of(
                body,
                state,
                moving.late,
                moving.before,
                command,
                gust,
                ticks,
                STEP,
                report,
                scratch,
            )
            done += ticks
            if flown:
                load_up(m, command, h, scratch[0].squares, events)
                judge(m, state, h, events, report)
                if events.word != FLYING:
                    return before - first
        if flown:
            for k in range(SIZE):
                found[before - first, k] = state[k]
        else:
            u, v, w = seen[before, 7], seen[before, 8], seen[before, 9]
            if u * u + v * v + w * w < RELEASED * RELEASED:
                moving.late[:] = 0.0
    return rows
