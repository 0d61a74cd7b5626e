"""What pulled where on the airframe at moments of a record: weight, lift, drag, thrust, surfaces.

The compiled physics is asked again, at the record's own motion, air, rotor speeds and surface
angles; separated flow is run up to each moment as the sticks had it. The sum of all pulls is mass
times the acceleration that the physics gives there. `RESIDUAL` and `GUSTY` say how near the
record's own acceleration lies.

What is whose: a surface has the difference between the air's load with it where it stands and
with it neutral, all others where they stand; drag lies along the flow that the centre of gravity
meets; lift is all that is left of the air's, square to that flow. Each acts where its line meets
the plane of the main sheet, so that its moment about the centre of gravity is that of its load;
what the air resists of an acceleration (apparent mass) is put with lift and drag, at their place.
Couples about the line itself, such as a propeller's torque, are not drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import radians
from typing import NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.model import Model
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import state_at
from firstthrow.sim.flight.speeds import STALLED
from firstthrow.sim.kernels.derivative import derivative
from firstthrow.sim.kernels.follow import follow
from firstthrow.sim.kernels.held import load
from firstthrow.sim.kernels.layout import (
    AIR,
    ATTITUDE,
    COMMAND_HELD,
    DEFLECTION,
    GUST_RATE,
    LATE_SHARE,
    POSITION,
    RATE,
    REPORT_SIZE,
    ROTOR,
    SEPARATED,
    SIZE,
    THRUST,
    TOUCHING,
    VELOCITY,
)
from firstthrow.sim.kernels.moving import moving, scratch
from firstthrow.sim.kernels.rotation import to_body, to_field
from firstthrow.sim.kernels.wind import fade, profile
from firstthrow.sim.learn.stretches import Seen
from firstthrow.sim.study.subject import Subject

# Of the weight: within it the sum of the pulls is mass times the record's own acceleration
# (velocities of the readings before and after), in free air, at nine of ten readings. In still air
# 0.003 was the most of four airframes and faults; in gusts 0.028 to 0.050, since no record holds
# the gust across the span, nor what the air does between two readings.
RESIDUAL, GUSTY = 0.005, 0.06
FIRST = 2  # readings before a moment that its flow is run up from, at the least
SLOW = 0.5  # air slower than this has no direction [m/s]
SMALL = 0.01  # of the weight: pulls below it are not told
FAR = 1.1  # times as far as any sheet: a pull that acts further off is told as part of the lift
STEEPEST = radians(60.0)


class Pull(NamedTuple):
    """One force: its place from the centre of gravity [m] and itself [N], body axes."""

    name: str
    place: tuple[float, float, float]
    force: tuple[float, float, float]


@frozen
class Moment(Answer):
    """`acceleration`: of the centre of gravity over the ground, body axes [m/s2], as the physics
    gives it; `alpha_deg` angle of attack."""

    time_s: float
    pulls: tuple[Pull, ...]
    acceleration: tuple[float, float, float]
    alpha_deg: float
    stalled: bool


@frozen
class Forces(Answer):
    """Moments of a record in order of time, and the marks that do not move: neutral point, body
    axes from the centre of gravity [m]; angles of attack of the stall, upwards and downwards."""

    moments: tuple[Moment, ...]
    mass_kg: float
    neutral_point: tuple[float, float, float]
    stall_deg: float
    stall_below_deg: float

    def at(self, time: float) -> Moment:
        """The nearest to a time [s]."""
        times = [moment.time_s for moment in self.moments]
        return self.moments[int(np.argmin(np.abs(np.array(times) - time)))]


def forces(record: Record, subject: Subject, times: Iterable[float]) -> Forces | None:
    """At the readings nearest to times [s] after the release. `subject`: what was flown, fault
    and all. None where the record has no such readings in flight."""
    at = _Asked(record, subject)
    column = record.column("time_s")
    rows = sorted({int(np.argmin(np.abs(column - time))) for time in times})
    released = int(np.searchsorted(column, 1e-6))
    rows = [row for row in rows if row >= released + FIRST]
    if not rows:
        return None
    up, down = stall_angles(subject.model)
    return Forces(
        moments=tuple(at.moment(row) for row in rows),
        mass_kg=subject.mass,
        neutral_point=(subject.cg - subject.neutral_point, 0.0, 0.0),
        stall_deg=up,
        stall_below_deg=down,
    )


def stall_angles(model: Model) -> tuple[float, float]:
    """Angles of attack [deg] from which it counts as stalled, upwards and downwards, surfaces
    neutral and flow that has settled."""
    found = []
    for sign in (1.0, -1.0):
        angles = np.arange(0.0, STEEPEST, radians(0.25))
        for angle in angles:
            air = -np.cos(angle), 0.0, -sign * np.sin(angle)
            _, report = air_load(model, 10.0 * np.array(air))
            if report[SEPARATED] > STALLED:
                break
        found.append(sign * float(np.degrees(angle)))
    return found[0], found[1]


class _Asked:
    """The physics at rows of one record."""

    def __init__(self, record: Record, subject: Subject) -> None:
        self.record, self.subject = record, subject
        self.seen = Seen(record, subject)
        moved = subject.model.record.copy()
        moved.still = 0.0  # the record's air may move where the field's does not
        self.body = subject.model.with_body(moved).body
        bare = moved.copy()
        bare.n_contacts = 0
        self.bare = subject.model.with_body(bare).body
        self.m = moved
        senses = [-1.0 if one.leads_swapped else 1.0 for one in subject.airframe.motors.values()]
        self.states = self.seen.states.copy()
        self.states[:, ROTOR : ROTOR + len(senses)] *= senses
        servos = subject.airframe.servos.values()
        self.late = round(60.0 * max((servo.delay for servo in servos), default=0.0))
        self.around, self.space = moving(), scratch()
        main = moved.strip_main[: moved.n_strips]
        down = moved.strip_place[2, : moved.n_strips]
        self.plane = float(main @ down / main.sum()) if main.any() else 0.0
        far = np.linalg.norm(moved.strip_place[:, : moved.n_strips], axis=0).max(initial=0.0)
        self.reach = FAR * float(far)

    def moment(self, row: int) -> Moment:
        state, gust, rates, report = self._met(row)
        command = self.around.command
        m, own = self.m, self.space[0]
        derivative(self.body, state, command, gust, rates, report, self.space)
        speed, turn = state[VELOCITY : VELOCITY + 3], state[RATE : RATE + 3]
        acceleration = rates[VELOCITY : VELOCITY + 3] + np.cross(turn, speed)
        attitude = state[ATTITUDE : ATTITUDE + 4]
        weight = float(m.mass) * np.array(to_body(*attitude, 0.0, 0.0, float(m.gravity)))
        whole = float(m.mass) * acceleration - weight

        command[COMMAND_HELD] = 1.0  # then nothing but what acts from outside is summed
        derivative(self.body, state, command, gust, rates, report, self.space)
        touched = own.total[:6].copy()
        ground = np.zeros(6)
        if report[TOUCHING] > 0.5:
            derivative(self.bare, state, command, gust, rates, report, self.space)
            ground = touched - own.total[:6]
        outside = touched - ground
        command[COMMAND_HELD] = 0.0

        air = report[AIR : AIR + 3].copy()
        height = -state[POSITION + 2] - to_field(*attitude, *m.datum)[2]
        sheets = self._load(state, air, height, report)
        drive = outside - sheets
        surfaces = self._surfaces(state, air, height, report, sheets)
        pulls = [Pull("weight", (0.0, 0.0, 0.0), _three(weight))]
        pulls += self._thrusts(drive, report)
        rest, at = whole - drive[:3] - ground[:3], sheets.copy()
        for name, own_load in surfaces:
            place = self._place(own_load)
            small = np.linalg.norm(own_load[:3]) < SMALL * float(m.mass * m.gravity)
            if small or np.abs(place).max() > self.reach:
                continue
            pulls.append(Pull(name, _three(place), _three(own_load[:3])))
            rest, at = rest - own_load[:3], at - own_load
        centre = _three(self._place(at))
        flow = np.linalg.norm(air)
        along = air / flow if flow > SLOW else np.zeros(3)
        drag = (rest @ along) * along
        pulls += [Pull("lift", centre, _three(rest - drag)), Pull("drag", centre, _three(drag))]
        if ground.any():
            pulls.append(Pull("ground", _three(self._place(ground)), _three(ground[:3])))
        return Moment(
            time_s=float(self.record.column("time_s")[row]),
            pulls=tuple(pulls),
            acceleration=_three(acceleration),
            alpha_deg=float(self.record.column("alpha_deg")[row]),
            stalled=bool(self.record.column("separated_fraction")[row] > STALLED),
        )

    def _met(self, row: int):
        """State, gust, and room for rates and report at a row; the scratch knows how much is
        separated there, the command what the sticks asked."""
        seen, around, space = self.seen, self.around, self.space
        found = np.zeros((1, SIZE))
        how = self.states, seen.sticks, seen.air, row - 1, 1, self.late, space, found
        follow(self.body, around, *how)
        space["share"][0] = around.late[LATE_SHARE]
        space["lagging"][0] = 1.0
        around.command[COMMAND_HELD] = 0.0
        state = state_at(self.record, row, self.subject.airframe)
        height = -state[POSITION + 2]
        left = max(float(fade(height)), 1e-3)
        steady = float(profile(height, self.m.roughness))
        gust = np.zeros_like(around.gust)
        # A reading has the mean over the frame before it: the moment lies between two of them.
        before, after = seen.met[row], seen.met[min(row + 1, len(seen.met) - 1)]
        gust[:3] = 0.5 * (before + after) / left
        gust[:2] -= np.array([self.m.wind_north, self.m.wind_east]) * steady / left
        gust[GUST_RATE : GUST_RATE + 3] = 60.0 * (after - before) / left
        return state, gust, np.zeros(SIZE), np.zeros(REPORT_SIZE)

    def _load(self, state, air, height, report) -> np.ndarray:
        load(self.body, state, air, float(height), report, self.space)
        return self.space[0].total[:6].copy()

    def _surfaces(self, state, air, height, report, whole) -> list[tuple[str, np.ndarray]]:
        """What each surface adds to the load, by name."""
        found = []
        for span in self.subject.surfaces:
            told = report.copy()
            told[DEFLECTION + span.slot] = 0.0
            found.append((span.name, whole - self._load(state, air, height, told)))
        return found

    def _thrusts(self, drive: np.ndarray, report: np.ndarray) -> list[Pull]:
        """Of each propeller, at its hub: its thrust, and an even share of what all have across."""
        m, names = self.m, tuple(self.subject.airframe.motors)
        if not names:
            return []
        along = [report[THRUST + k] * m.motor_axis[k] for k in range(len(names))]
        rest = (drive[:3] - np.sum(along, axis=0)) / len(names)
        several = len(names) > 1
        return [
            Pull(
                f"thrust {name}" if several else "thrust",
                _three(m.motor_place[k]),
                _three(along[k] + rest),
            )
            for k, name in enumerate(names)
        ]

    def _place(self, load_: np.ndarray) -> np.ndarray:
        """Where the line of a force with its moment meets the main sheet's plane; for one along
        the plane its nearest point to the centre of gravity."""
        force, moment = load_[:3], load_[3:6]
        size = float(force @ force)
        if size < 1e-12:
            return np.zeros(3)
        near = np.cross(force, moment) / size
        if abs(force[2]) < 0.2 * np.sqrt(size):
            return near
        return near + force * (self.plane - near[2]) / force[2]


def _three(vector: np.ndarray) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in vector)
    return x, y, z
