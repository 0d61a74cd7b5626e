"""One launch from the hand or off the wheels, to its end under simulated hands: the unit of
`launches`.

Everything it flies through is the derivative and the integrator of the live flight.
"""

from math import cos, degrees, radians, sin, sqrt
from typing import NamedTuple

import numpy as np

from firstthrow.sim.kernels.circuit import guide, turned
from firstthrow.sim.kernels.compiled import exact, kernel
from firstthrow.sim.kernels.derivative import derivative_of
from firstthrow.sim.kernels.drive import THRUST_SHAPE, THRUST_SLOPE, TORQUE_SHAPE, TORQUE_SLOPE
from firstthrow.sim.kernels.gusts import start as blow
from firstthrow.sim.kernels.human import MIND, SEEN, WANDERS, look, move, sway, wake
from firstthrow.sim.kernels.integrate import DIVERGED, FLYING, LANDED, STEP, advance
from firstthrow.sim.kernels.layout import (
    AIR,
    CHANNELS,
    COMMAND_HELD,
    COMMAND_NEXT,
    COMMAND_TICKS,
    MAX_STRIPS,
    MAX_SURFACES,
    SHARE,
    SIZE,
    SPECIFIC_FORCE,
    SUPPLY_VOLTAGE,
    SURFACE,
    TOUCHING,
)
from firstthrow.sim.kernels.mix import mix
from firstthrow.sim.kernels.moving import Moving, moving, scratch
from firstthrow.sim.kernels.parameters import Body, record_type
from firstthrow.sim.kernels.rotation import angles, from_angles, to_field

GUST_ROWS = 2  # rows of the noise that start the turbulence
FRAME_STEPS = 4  # physics steps between two looks of the pilot
HELD_BACK = 0.5  # for so long after the release a stick that was held back stays there [s]
HELD_FRAMES = 30  # half a second in the hand with the motor running
SETTLED = 0.6  # the stall margin counts from here on [s]
OFF = 0.15  # above its rest on the wheels it has lifted off [m]

# The throw, the motor hand, how the surfaces were built.
CASE = record_type(
    [
        ("speed", "f8"),  # [m/s]
        ("pitch_up", "f8"),  # [rad]
        ("bank", "f8"),  # [rad]
        ("slip", "f8"),  # nose beside the throw's direction [rad]
        ("height", "f8"),  # [m]
        ("roll_rate", "f8"),  # [rad/s]
        ("throttle", "f8"),  # 0..1
        ("throttle_late", "f8"),  # when it comes on, after the release [s]
        ("back", "f8"),  # pitch stick held back as it leaves the hand
        ("human", "?"),  # whether hands fly it
        ("wheels", "?"),  # whether it stands on its wheels, and no hand throws it
        ("built", "f8", (MAX_SURFACES,)),  # error of each surface's neutral [rad]
    ]
)
# How the tables of a case differ from those that all cases share (see `Common`).
CHANGE = record_type(
    [
        ("slopes", "f8", (MAX_STRIPS,)),  # lift of each strip, over that of the shared
        ("thrust", "f8"),  # the same of the propellers' thrust and torque
        ("torque", "f8"),
        ("pitch", "f8"),  # of the propellers, more than shared, as a share of it
        ("stalls", "?"),  # whether the plate tables differ
        ("more", "f8"),  # that surfaces do to a stalled sheet
        ("row", "i8"),  # of the stalls between which it stalls, and the share of the next
        ("next", "f8"),
    ]
)
RESULT = record_type(
    [
        ("word", "i8"),  # of `integrate`
        ("value", "f8"),  # what goes with it
        ("time", "f8"),  # flown after the release [s]
        ("height_lost", "f8"),  # below the throw [m]
        ("stall_margin", "f8"),  # slowest airspeed over stall speed, less 1; 1e9: not flown so far
        ("load", "f8"),  # worst load factor
        ("most_bank", "f8"),  # [rad]
        ("end_height", "f8"),  # [m]
        ("stayed", "?"),  # on its wheels, and never left the ground
    ]
)


class Setting(NamedTuple):
    """What all cases of a set-up have in common."""

    frames: int  # of 1/60 s after the release, at most
    heading: float  # of the throw [rad]
    stall_speed: float  # [m/s]
    lag: int  # whole steps between a command and the servo


class Common(NamedTuple):
    """What the tables of all cases are made from."""

    body: Body
    by_pitch: np.ndarray  # slopes of the propellers' tables by their pitch, as a share of it
    by_more: np.ndarray  # of the plate tables by what surfaces of a stalled sheet do more
    bent: np.ndarray  # (tables,) what they do, 0..1
    bends: np.ndarray  # (tables, angle) whether they do anything there
    shares: np.ndarray  # (stalls, tables, angle, deflection) separated shares, later and later
    waits: np.ndarray  # (tables, angle) whether these differ there


class Space(NamedTuple):
    """What a case is flown in; overwritten by the next."""

    moving: Moving
    mind: np.record  # MIND
    shown: np.ndarray  # (SEEN,) what there is to be seen
    past: np.ndarray  # (lag // FRAME_STEPS + 2, MAX_SURFACES) commands on their way to the servos
    scratch: np.ndarray  # (1,) SCRATCH
    waves: np.ndarray  # (frames, WANDERS, 2) those of the hands, the same of every case


def space(lag: int, frames: int) -> Space:
    past = np.zeros((lag // FRAME_STEPS + 2, MAX_SURFACES))
    waves = np.zeros((frames, len(WANDERS), 2))
    return Space(moving(), np.zeros(1, MIND)[0], np.zeros(SEEN), past, scratch(), waves)


def noise_rows(frames: int) -> int:
    """Rows of normal deviates that a case of so many frames takes."""
    return GUST_ROWS + (HELD_FRAMES + frames) * FRAME_STEPS


@kernel
def _start(m, case, heading, state, command):
    """In the hand, as it will be thrown, or standing on its wheels."""
    for n in range(SIZE):
        state[n] = 0.0
    state[2] = -case.height
    w, x, y, z = from_angles(case.bank, case.pitch_up, heading + case.slip)
    state[3], state[4], state[5], state[6] = w, x, y, z
    mix(m, 0.0, 0.0, 0.0, 0.0, False, command)
    for k in range(m.n_surfaces):
        command[k] += case.built[k]
        state[SURFACE + k] = command[k] if m.servo_speed[k] > 0.0 else m.stuck_at[k]


@exact
def told(rate):
    """A rate [rad/s] as a reading tells it, in degrees, and back: the pilot sees no more."""
    return radians(degrees(rate))


@exact
def speed_of(a, b, c):
    """Of an airflow, as a reading tells it."""
    return sqrt(a * a + b * b + c * c)


@exact
def since_release(frame):
    """[s]"""
    return frame / 60.0


@exact
def show(state, rates, air, course, shown):
    """Fill shown, (SEEN,) of `human`, from a state, rates of roll and pitch as told, and airspeed;
    returns the bank [rad]."""
    roll, pitch, heading = angles(state[3], state[4], state[5], state[6])
    c, s = cos(course), sin(course)
    shown[0], shown[1], shown[2], shown[3] = pitch, roll, rates[1], rates[0]
    shown[4] = turned(heading - course)
    shown[5], shown[6] = c * state[0] + s * state[1], c * state[1] - s * state[0]
    shown[7], shown[8] = -state[2], air
    _, _, down = to_field(state[3], state[4], state[5], state[6], state[7], state[8], state[9])
    shown[9] = -down
    return roll


@kernel
def meet(body, space):
    """The report of the present state, as the live flight has it before it moves: twice, since the
    servos' current uses the hinge moments of the pass before; as if it had flown so for long."""
    moving, rates = space.moving, space.scratch[0].stages[0]
    moving.late[:] = 0.0
    moving.before[:] = 0.0
    for _ in range(2):
        derivative_of(
            body, moving.state, moving.command, moving.gust, rates, moving.report, space.scratch
        )


@kernel
def fly_case(body, setting, case, hands, noise, deviates, space, result):
    """Fly one case; fill `result` (RESULT).

    case: CASE; hands: HANDS of `human`; noise: (`noise_rows(frames)`, NOISE_SIZE) for the air,
    deviates: (frames, 2) for the hands' remnant, normal ones.
    """
    m, mind, past, moving = body.record[0], space.mind, space.past, space.moving
    shown = space.shown
    state, command, gust, report, events = (
        moving.state,
        moving.command,
        moving.gust,
        moving.report,
        moving.events[0],
    )
    wake(mind, hands, case.wheels)
    command[:] = 0.0
    gust[:] = 0.0
    report[:] = 0.0
    report[SUPPLY_VOLTAGE] = m.supply_voltage
    events.word, events.value, events.time, events.rest, events.asleep = FLYING, 0.0, 0.0, 0.0, 0.0
    events.moved = 0.0
    events.overload[:] = 0.0
    events.dead[:] = 0.0
    _start(m, case, setting.heading, state, command)
    for n in range(past.shape[0]):
        for k in range(MAX_SURFACES):
            past[n, k] = command[k]
    lowest, margin, load, bank_most = case.height, 1e9, 0.0, 0.0
    off = not case.wheels
    blow(noise[0:GUST_ROWS], gust)
    count = GUST_ROWS
    meet(body, space)
    for frame in range(0 if case.wheels else -HELD_FRAMES, setting.frames):
        since = since_release(frame)
        if frame == 0 and not case.wheels:
            u = case.speed / sqrt(1.0 + case.slip * case.slip)
            state[7], state[8], state[9] = u, -u * case.slip, 0.0
            state[10] = case.roll_rate
            meet(body, space)
        a, b, c = report[AIR], report[AIR + 1], report[AIR + 2]
        rates = told(state[10]), told(state[11])
        bank = show(state, rates, speed_of(a, b, c), setting.heading, shown)
        throttle = case.throttle
        if case.human and frame >= 0:
            look(mind, shown)
            guide(mind, hands, since, 1.0 / 60.0)
            waves = space.waves[frame]
            if waves[0, 0] == 0.0 and waves[0, 1] == 0.0:  # no case has flown so long yet
                sway(since, waves)
            for n in range(len(WANDERS)):
                mind.waves[n, 0], mind.waves[n, 1] = waves[n, 0], waves[n, 1]
            move(mind, hands, since, 1.0 / 60.0, deviates[frame])
            throttle = mind.throttle
        if since < case.throttle_late:
            throttle = 0.0
        pitch = max(mind.pitch, case.back) if since < HELD_BACK else mind.pitch
        mix(m, mind.roll, pitch, mind.yaw, throttle, False, command)
        command[COMMAND_HELD] = 1.0 if frame < 0 else 0.0
        for k in range(m.n_surfaces):
            command[k] += case.built[k]
        size = past.shape[0]
        now = (frame + HELD_FRAMES) % size
        for k in range(m.n_surfaces):
            past[now, k] = command[k]
        # The servos get a command `lag` steps late: within a frame first what was asked one
        # frame further back, then the next.
        frames_back = setting.lag // FRAME_STEPS
        older, newer = (now + size - frames_back - 1) % size, (now + size - frames_back) % size
        command[COMMAND_TICKS] = setting.lag % FRAME_STEPS
        for k in range(m.n_surfaces):
            command[k] = past[older if command[COMMAND_TICKS] > 0.0 else newer, k]
            command[COMMAND_NEXT + k] = past[newer, k]
        rows = noise[count : count + FRAME_STEPS]
        advance(body, moving, rows, STEP, since, space.scratch)
        count += FRAME_STEPS
        if frame >= 0 and events.word != LANDED:
            lowest = min(lowest, -state[2])
            bank_most = max(bank_most, abs(bank))
            off = off or -state[2] > case.height + OFF
            a, b, c = report[AIR], report[AIR + 1], report[AIR + 2]
            if report[TOUCHING] < 0.5:
                load = max(load, abs(report[SPECIFIC_FORCE + 2]) / m.gravity)
            if since > SETTLED and off and report[TOUCHING] < 0.5:
                margin = min(margin, sqrt(a * a + b * b + c * c) / setting.stall_speed - 1.0)
        if events.word != FLYING:
            break
    result.word = events.word
    result.value = events.value
    result.time = events.time if events.word != FLYING else setting.frames / 60.0
    result.height_lost = case.height - lowest
    result.stall_margin = margin
    result.load = load
    result.most_bank = bank_most
    result.end_height = -state[2]
    result.stayed = not off
    if events.word == DIVERGED:
        result.height_lost = case.height


@exact
def change(common, how, body):
    """Fill the tables of a body with the shared ones as they differ; how: CHANGE. Where plates
    never differ they are the shared ones already."""
    shared, n = common.body, common.body.record[0].n_strips
    for case in range(shared.response.shape[0]):
        for i in range(3 * n):
            for k in range(n):
                for out in range(4 * k, 4 * k + 4):
                    body.response[case, i, out] = how.slopes[k] * shared.response[case, i, out]
    blades = body.propellers
    for k in range(blades.shape[0]):
        for at in range(blades.shape[1]):
            for n in range(blades.shape[2]):
                more = how.pitch * common.by_pitch[k, at, n]
                blades[k, at, n] = shared.propellers[k, at, n] + more
            blades[k, at, THRUST_SHAPE] *= how.thrust
            blades[k, at, THRUST_SLOPE] *= how.thrust
            blades[k, at, TORQUE_SHAPE] *= how.torque
            blades[k, at, TORQUE_SLOPE] *= how.torque
    row, part = how.row, how.next
    for table in range(shared.plates.shape[0]):
        bent = common.bent[table]
        more = max(-bent, min(1.0 - bent, how.more)) if how.stalls else 0.0
        for a in range(shared.plates.shape[1]):
            if common.bends[table, a]:
                for d in range(shared.plates.shape[2]):
                    for n in range(CHANNELS):
                        found = more * common.by_more[table, a, d, n]
                        body.plates[table, a, d, n] = found + shared.plates[table, a, d, n]
            if not common.waits[table, a]:
                continue
            for d in range(shared.plates.shape[2]):
                share = shared.plates[table, a, d, SHARE]
                if how.stalls:
                    early = (1.0 - part) * common.shares[row, table, a, d]
                    share = early + part * common.shares[row + 1, table, a, d]
                body.plates[table, a, d, SHARE] = share


@kernel
def fly_cases(common, records, changes, room, setting, cases, hands, noise, deviates, space, found):
    """Fly a lot of cases, each with a body of its own, in one call.

    records: (n,) RECORD; changes: (n,) CHANGE; room: a body whose tables are overwritten; cases:
    (n,) CASE; hands: (n,) HANDS; noise and deviates: as for `fly_case`, one for each or one for
    all; found: (n,) RESULT.
    """
    for k in range(len(records)):
        change(common, changes[k], room)
        body = Body(records[k : k + 1], room.response, room.plates, room.propellers)
        air, hand = k % noise.shape[0], k % deviates.shape[0]
        fly_case(body, setting, cases[k], hands[k], noise[air], deviates[hand], space, found[k])
