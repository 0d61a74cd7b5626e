"""A record flown again half a second at a time, each time from the record's own motion.

A whole flight flown again goes its own way within seconds, whatever was wrong; a short stretch
tells what the airframe did with the sticks and the air it was given (multiple shooting: Bock
1983, from memory). What is compared is motion and propeller speed, as a log has them; where the
surfaces stood is worked out from the sticks and never read from the record.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import radians
from typing import NamedTuple, Protocol

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.flight.record import Record
from firstthrow.sim.kernels.follow import SLEEPS, follow
from firstthrow.sim.kernels.gusts import intensities, rolling, scale_lengths
from firstthrow.sim.kernels.layout import (
    ATTITUDE,
    BENDING,
    CHARGE,
    POSITION,
    RATE,
    ROTOR,
    SIZE,
    VELOCITY,
)
from firstthrow.sim.kernels.moving import moving, scratch
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import from_mah, from_rpm

ROWS = 30  # readings of a stretch, half a second
LOOKS = (6, 15, 30)  # readings into it at which motions are compared
SHORT = 3  # readings over which a rotor tells whether its motor is driven
SHORT_MISS = 0.03  # and by how much it is not, at the least (share of its speed)
LOW = 0.7  # nearer to the ground than this the ground has a say [m]
UNBROKEN = 1e6  # times its strength, so that it flies on
CHANNELS = 10  # velocity, rates, attitude, propeller speed

# What a flight leaves beside a log: how far the model may be trusted of a real airframe, at the
# looks: velocity [m/s], rates [rad/s], attitude [rad], propeller speed (share); our judgement.
NOISE = np.array(
    [
        [*[0.08] * 3, *[radians(4.0)] * 3, *[radians(0.5)] * 3, 0.04],
        [*[0.13] * 3, *[radians(6.0)] * 3, *[radians(1.3)] * 3, 0.04],
        [*[0.20] * 3, *[radians(8.0)] * 3, *[radians(2.5)] * 3, 0.04],
    ]
)
# What it leaves beside a record of the program's own, whose physics is the model's: half as much
# again as the root mean square that 24 sound flights of `pantry` left, each off its file by all
# that is not known, once that was fitted (seeds 300 to 323 of `benchmarks/diagnose.py`).
OWN = np.array(
    [
        [0.012, 0.015, 0.03, *np.radians([4.0, 3.0, 1.5, 0.5, 0.25, 0.2]), 0.01],
        [0.02, 0.035, 0.06, *np.radians([5.0, 2.5, 2.5, 1.3, 0.6, 0.4]), 0.01],
        [0.04, 0.06, 0.08, *np.radians([5.0, 2.5, 4.0, 2.0, 1.0, 1.3]), 0.01],
    ]
)


class Supposes(Protocol):
    """What a cause says that flew."""

    @property
    def airframe(self) -> Airframe: ...
    @property
    def model(self) -> Model: ...
    @property
    def asleep(self) -> np.ndarray | None: ...


class Stretch(NamedTuple):
    """Rows of a record: the one it begins at, and how many follow."""

    first: int
    rows: int


def stretches(record: Record, until: float = np.inf) -> list[Stretch]:
    """Those of the flight through free air, up to `until` seconds after the release."""
    time, height = record.column("time_s"), record.column("height_m")
    free = (time > 0.0) & (time <= until) & (height > LOW)
    found, row = [], int(np.searchsorted(time, 1e-6))  # at 0 the hand still holds it
    while row + LOOKS[0] < len(time):
        blocked = np.flatnonzero(~free[row : row + ROWS + 1])
        rows = min(int(blocked[0]) - 1 if blocked.size else ROWS, len(time) - 1 - row)
        if rows >= LOOKS[0]:
            found.append(Stretch(row, rows))
        row += max(rows, 1)
    return found


def _motion(states: np.ndarray, motors: int) -> np.ndarray:
    """(n, 4 + 7) attitude quaternion, velocity, rates, mean speed of the rotors [rad/s]."""
    spin = np.abs(states[:, ROTOR : ROTOR + motors]).mean(axis=1) if motors else states[:, :1] * 0.0
    return np.column_stack(
        [
            states[:, ATTITUDE : ATTITUDE + 4],
            states[:, VELOCITY : VELOCITY + 3],
            states[:, RATE : RATE + 3],
            spin,
        ]
    )


def _turned(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """(n, 3) rotation from one attitude to the other, body axes [rad]; quaternions (n, 4)."""
    w, v = one[:, :1], -one[:, 1:]
    ow, ov = other[:, :1], other[:, 1:]
    scalar = w * ow - np.sum(v * ov, axis=1, keepdims=True)
    vector = w * ov + ow * v + np.cross(v, ov)
    vector *= np.where(scalar < 0.0, -1.0, 1.0)
    size = np.linalg.norm(vector, axis=1, keepdims=True)
    angle = 2.0 * np.arctan2(size, np.abs(scalar))
    return vector * np.where(size > 1e-9, angle / np.maximum(size, 1e-9), 2.0)


def _apart(seen: np.ndarray, flown: np.ndarray) -> np.ndarray:
    """(n, CHANNELS) what was seen less what was flown, of rows of `_motion`."""
    spin = np.log((seen[:, 10:] + 30.0) / (flown[:, 10:] + 30.0))
    return np.column_stack([(seen - flown)[:, 4:10], _turned(flown[:, :4], seen[:, :4]), spin])


def _rolling_gust(subject: Subject) -> float:
    """Standard deviation of the gust's gradient across the span 5 m up [rad/s], which no record
    holds; see `kernels.gusts`."""
    _, vertical = intensities(5.0, subject.field.gusts.wind_at_6_m)
    return float(vertical * rolling(subject.model.record.span, scale_lengths(5.0)[1]))


def _at_readings(met: np.ndarray) -> np.ndarray:
    """The air at each reading, which lies between the mean over the frame before it, as a record
    has it, and that over the frame after it; (n, 3) both."""
    return 0.5 * (met + np.concatenate([met[1:], met[-1:]]))


class Seen:
    """What a record shows: the motion, sticks and air of its stretches. `met`: the air of each
    reading in the mean over the frame before it, as it is recorded; `air`: at the reading."""

    def __init__(
        self,
        record: Record,
        subject: Subject,
        until: float = np.inf,
        noise: np.ndarray | None = None,
    ) -> None:
        """noise: (looks, CHANNELS) of the log itself, one standard deviation each."""
        airframe = subject.airframe
        self.record, self.parts = record, stretches(record, until)

        def columns(*names: str) -> np.ndarray:
            return np.column_stack([record.column(name) for name in names])

        sticks = columns("stick_roll", "stick_pitch", "stick_yaw", "throttle", "low_rates")
        self.sticks = np.ascontiguousarray(np.column_stack([sticks, np.zeros(len(sticks))]))
        self.met = columns("wind_north_m_s", "wind_east_m_s", "wind_down_m_s")
        self.air = _at_readings(self.met)
        self.motors = len(airframe.motors)
        self.exact = noise is None or not noise.any()
        self.states = np.zeros((len(sticks), SIZE))
        self.states[:, POSITION : POSITION + 2] = columns("north_m", "east_m")
        self.states[:, POSITION + 2] = -record.column("height_m")
        names = (f"attitude_{axis}" for axis in "wxyz")
        self.states[:, ATTITUDE : ATTITUDE + 4] = columns(*names)
        self.states[:, VELOCITY : VELOCITY + 3] = columns("u_m_s", "v_m_s", "w_m_s")
        rates = columns("p_deg_s", "q_deg_s", "r_deg_s")
        self.states[:, RATE : RATE + 3] = np.radians(rates)
        for k, name in enumerate(airframe.motors):  # no log tells which way one turns
            self.states[:, ROTOR + k] = from_rpm(1.0) * np.abs(record.column(f"motor_{name}_rpm"))
        self.states[:, CHARGE] = from_mah(1.0) * record.column("pack_used_mAh")
        self.motion = _motion(self.states, self.motors)
        self.folded = record.outcome is not None and record.outcome.word is Ending.FOLDED
        every = OWN if noise is None else np.hypot(NOISE, noise)
        self.noise = np.tile(every, (len(self.parts), 1, 1))
        rolls = _rolling_gust(subject) * np.array([0.4, 0.8, 1.0])
        self.noise[:, :, 3] = np.hypot(self.noise[:, :, 3], rolls)
        self.noise[:, :, 6] = np.hypot(self.noise[:, :, 6], rolls * np.array(LOOKS) / 120.0)
        self.valid = np.array(
            [[look <= part.rows for look in LOOKS] for part in self.parts], dtype=bool
        ).reshape(-1, len(LOOKS))


def misses(
    seen: Seen, airframe: Airframe, model: Model, asleep: np.ndarray | None = None
) -> np.ndarray:
    """(stretches, looks, CHANNELS) what was seen less what this airframe does, over the noise.

    0 where a stretch was too short for a look; where the airframe of the hypothesis
    diverges before a look, its motion stays what it was, which no flight does.
    asleep: (rows,) where the receiver restarts, whatever the supply says.
    """
    looks = np.array(LOOKS)
    states = np.zeros((len(seen.parts), len(LOOKS), SIZE))
    for k, flown in enumerate(_flights(seen, airframe, model, seen.parts, asleep)):
        states[k] = flown[np.minimum(looks, len(flown)) - 1]
    ends = np.array([part.first for part in seen.parts])[:, None] + looks
    ends = np.minimum(ends, len(seen.motion) - 1)
    flown = _motion(states.reshape(-1, SIZE), seen.motors)
    apart = _apart(seen.motion[ends.ravel()], flown).reshape(*ends.shape, CHANNELS)
    return np.where(seen.valid[..., None], apart / seen.noise, 0.0)


def _flights(
    seen: Seen,
    airframe: Airframe,
    model: Model,
    parts: Iterable[Stretch],
    asleep: np.ndarray | None,
) -> Iterator[np.ndarray]:
    """(rows, SIZE) states of each stretch flown again; overwritten by the next."""
    for flown, _ in _flown_again(seen, airframe, model, parts, asleep):
        yield flown


def bendings(seen: Seen, airframe: Airframe, model: Model) -> np.ndarray:
    """(rows,) bending over what the board bears, at each reading in free flight, and up to the last
    where it folded, under the loads of the motion that was seen; 0 elsewhere."""
    found = np.zeros(len(seen.sticks))
    rows = [first + k for first, many in seen.parts for k in range(1, many + 1)]
    if seen.folded:
        rows += range(max([1, *(row + 1 for row in rows)]), len(found))
    each = [Stretch(row - 1, 1) for row in rows]
    found[rows] = [bend for _, bend in _flown_again(seen, airframe, model, each, None)]
    return found


def _flown_again(
    seen: Seen,
    airframe: Airframe,
    model: Model,
    parts: Iterable[Stretch],
    asleep: np.ndarray | None,
) -> Iterator[tuple[np.ndarray, float]]:
    """The states of each stretch, and how far it was bent at its end."""
    sticks = seen.sticks.copy()
    if asleep is not None:
        sticks[:, SLEEPS] = asleep
    late = round(60.0 * max((servo.delay for servo in airframe.servos.values()), default=0.0))
    senses = [-1.0 if motor.leads_swapped else 1.0 for motor in airframe.motors.values()]
    moved = model.record.copy()
    moved.still = 0.0  # the record's air may move where the field's does not
    moved.root_strength *= UNBROKEN  # what it bears is told by `bendings`: it is not known well
    body = model.with_body(moved).body
    space, around = scratch(), moving()
    states = seen.states.copy()
    states[:, ROTOR : ROTOR + seen.motors] *= senses
    for first, rows in parts:
        flown = np.tile(states[first], (rows, 1))
        follow(body, around, states, sticks, seen.air, first, rows, late, space, flown)
        yield flown, float(around.report[BENDING]) * UNBROKEN


def restarts(seen: Seen, airframe: Airframe, model: Model) -> np.ndarray:
    """(rows,) 1 where the rotors do what they do without throttle, although the stick asks for it:
    the receiver restarts, or the controller does."""
    parts = [
        Stretch(row, SHORT)
        for part in seen.parts
        for row in range(part.first, part.first + part.rows - SHORT + 1, SHORT)
    ]
    driven = _spins(seen, airframe, model, parts, asleep=False)
    missed = np.flatnonzero(driven > SHORT_MISS)
    parts = [parts[k] for k in missed]
    free = _spins(seen, airframe, model, parts, asleep=True)
    found = np.zeros(len(seen.sticks))
    for part, is_free in zip(parts, free < driven[missed], strict=True):
        if is_free:
            found[part.first + 1 : part.first + SHORT + 1] = 1.0
    for edge in np.flatnonzero(np.diff(found)) + 1:
        _place(seen, airframe, model, found, int(edge))
    return found


def _place(seen: Seen, airframe: Airframe, model: Model, found: np.ndarray, edge: int) -> None:
    """The row at which a silence begins or ends, among those near the edge that was found: the one
    that leaves least of the rotors' speeds, row by row."""
    low, high = max(2, edge - SHORT), min(len(found) - 1, edge + SHORT)
    parts = [Stretch(row - 1, 1) for row in range(low, high)]
    begins = bool(found[edge] > 0.5)
    before = _spins(seen, airframe, model, parts, asleep=not begins)
    after = _spins(seen, airframe, model, parts, asleep=begins)
    left = [before[:k].sum() + after[k:].sum() for k in range(high - low + 1)]
    at = low + int(np.argmin(left))
    found[low:at], found[at:high] = 1.0 - begins, begins


def _spins(
    seen: Seen, airframe: Airframe, model: Model, parts: list[Stretch], *, asleep: bool
) -> np.ndarray:
    """How far the rotors end off their speeds (share), where the receiver restarts or not."""
    ends = [first + rows for first, rows in parts]
    sleeps = np.full(len(seen.sticks), float(asleep))
    states = [flown[-1].copy() for flown in _flights(seen, airframe, model, parts, sleeps)]
    flown = _motion(np.array(states).reshape(-1, SIZE), seen.motors)
    return np.abs(_apart(seen.motion[ends], flown)[:, -1])
