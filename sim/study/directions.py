"""The check before every flight: what must move where for each stick, and which way it pulls.

Nothing is taken for granted: the surfaces are where the mixing puts them, the air's moment on
them comes from the flight's own strips, and the thrust from the flight's own drive. A movement is
right when the moment it makes turns the airframe the way the stick asks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from math import cos, degrees, radians, sin
from typing import ClassVar, NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import SurfaceSpan, spoken
from firstthrow.sim.build.sticks import PITCHES, ROLLS, YAWS, Stick, Sticks
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.study.servos import level_alpha
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.turning import PropellerRow, alone, propeller

STILL = radians(0.5)  # a surface that moves less does not answer
SIDESLIP = radians(5.0)
NOTHING = 1e-6  # [N m]
TAKES = {Stick.ROLL: ROLLS, Stick.PITCH: PITCHES, Stick.YAW: YAWS}


class Turn(StrEnum):
    """Which way the airframe goes."""

    ROLL_RIGHT = "roll right"
    ROLL_LEFT = "roll left"
    NOSE_UP = "nose up"
    NOSE_DOWN = "nose down"
    NOSE_RIGHT = "nose right"
    NOSE_LEFT = "nose left"
    NOTHING = "nothing"


class Moves(StrEnum):
    """Which way a trailing edge goes."""

    UP = "up"
    DOWN = "down"
    RIGHT = "right"
    LEFT = "left"
    STILL = "still"


class Movement(StrEnum):
    OK = "ok"
    WRONG = "wrong"


# By the axis of a moment: roll right, nose up, nose right, and the other way.
TURNS = (
    (Turn.ROLL_RIGHT, Turn.ROLL_LEFT),
    (Turn.NOSE_UP, Turn.NOSE_DOWN),
    (Turn.NOSE_RIGHT, Turn.NOSE_LEFT),
)
AXIS = {turn: axis for axis, turns in enumerate(TURNS) for turn in turns}


class Way(NamedTuple):
    """One movement of a stick, and what the airframe must do."""

    stick: Stick
    side: float
    name: str
    must: Turn

    @property
    def sign(self) -> float:
        """Of the moment that it must make."""
        return 1.0 if self.must is TURNS[AXIS[self.must]][0] else -1.0


WAYS = (
    Way(Stick.ROLL, 1.0, "stick right", Turn.ROLL_RIGHT),
    Way(Stick.ROLL, -1.0, "stick left", Turn.ROLL_LEFT),
    Way(Stick.PITCH, 1.0, "stick back", Turn.NOSE_UP),
    Way(Stick.PITCH, -1.0, "stick forward", Turn.NOSE_DOWN),
    Way(Stick.YAW, 1.0, "rudder right", Turn.NOSE_RIGHT),
    Way(Stick.YAW, -1.0, "rudder left", Turn.NOSE_LEFT),
)


@frozen
class Stand(Answer):
    """Where a surface stands: trailing edge up, of an upright one to the right."""

    angle_up_deg: float
    edge_up_m: float
    off: bool  # it has come off


@frozen
class Moved(Answer):
    """Where a surface stands with a stick at its end, and what it has done to get there."""

    angle_up_deg: float
    edge_up_m: float
    off: bool
    moves_deg: float
    moves_edge_m: float
    moves: Moves
    moves_edge_low_rates_m: float  # as far with low rates on
    helps_N_m: float  # towards what the stick asks


@frozen
class MotorChange(Answer):
    throttle_change: float


@frozen
class StickRow(Answer):
    """One movement of a stick: changes from sticks in the middle."""

    left_out_when_none: ClassVar = frozenset({"roll_moment_of_5_deg_sideslip_N_m"})

    stick: Stick
    name: str
    must: str
    answers: bool
    surfaces: Mapping[str, Moved]
    motors: Mapping[str, MotorChange]
    moment_roll_right_N_m: float
    moment_nose_up_N_m: float
    moment_nose_right_N_m: float
    turns: Turn
    right_way: bool
    problems: tuple[str, ...] = ()
    roll_moment_of_5_deg_sideslip_N_m: float | None = None  # where the nose rolls it

    @property
    def moment(self) -> float:
        """About the axis that it turns [N m]."""
        moments = (
            self.moment_roll_right_N_m,
            self.moment_nose_up_N_m,
            self.moment_nose_right_N_m,
        )
        return moments[AXIS.get(self.turns, 2)]


@frozen
class Directions(Answer):
    airframe: str
    speed_m_s: float
    alpha_deg: float
    neutral: Mapping[str, Stand]  # by surface
    sticks: tuple[StickRow, ...]  # those that move something
    propellers: tuple[PropellerRow, ...]
    problems: tuple[str, ...]
    verdict: Movement

    def stick(self, name: str) -> StickRow:
        """By the name of its movement; KeyError for one that moves nothing."""
        return {row.name: row for row in self.sticks}[name]


def study(subject: Subject) -> Directions:
    """The whole answer; moments at the cruise."""
    speed = subject.cruise
    at = _Air(subject.model, speed, level_alpha(subject.model, speed))
    neutral = _angles(subject, Sticks())
    ways = [_way(subject, at, way, neutral) for way in WAYS]
    drives = tuple(propeller(subject, k) for k in range(len(subject.airframe.motors)))
    rows: tuple[StickRow | PropellerRow, ...] = (*ways, *drives)
    problems = dict.fromkeys(text for row in rows for text in row.problems)
    return Directions(
        airframe=subject.airframe.name,
        speed_m_s=speed,
        alpha_deg=degrees(at.alpha),
        neutral={s.name: _stand(s, neutral[s.slot]) for s in subject.surfaces},
        sticks=tuple(way for way in ways if way.answers),
        propellers=drives,
        problems=tuple(problems),
        verdict=Movement.WRONG if problems else Movement.OK,
    )


class _Air(NamedTuple):
    model: Model
    speed: float
    alpha: float

    def moment(self, angles: np.ndarray, sideslip: float = 0.0) -> np.ndarray:
        """(3,) roll right, nose up, nose right [N m]; sideslip positive with wind from the right
        of the nose."""
        across = sin(sideslip)
        along = cos(sideslip)
        air = -self.speed * np.array([cos(self.alpha) * along, across, sin(self.alpha) * along])
        return air_load(self.model, air, surfaces=angles)[0][3:]


def is_off(span: SurfaceSpan) -> bool:
    return span.described.off and span.described.faulty(span.side)


def _angles(subject: Subject, sticks: Sticks) -> np.ndarray:
    """(surfaces,) [rad]: where they stand, with those that are stuck where they stick."""
    found = np.array(subject.mixer.angles(sticks))
    for span in subject.surfaces:
        if span.described.stuck is not None and span.described.faulty(span.side):
            found[span.slot] = span.described.stuck
        if is_off(span):
            found[span.slot] = 0.0
    return found


def _stand(span: SurfaceSpan, angle: float) -> Stand:
    """`angle` trailing edge down [rad]."""
    edge = span.described.chord * sin(-angle)
    return Stand(degrees(-angle) + 0.0, edge + 0.0, is_off(span))


def _way(subject: Subject, at: _Air, way: Way, neutral: np.ndarray) -> StickRow:
    pushed = Sticks().pushed(way.stick, way.side)
    angles = _angles(subject, pushed)
    low = _angles(subject, pushed._replace(low_rates=True))
    rest = at.moment(neutral)
    change = at.moment(angles) - rest
    moved = [s for s in subject.surfaces if abs(angles[s.slot] - neutral[s.slot]) > STILL]
    motors, moment = _differential(subject, way)
    change[2] += moment
    takers = _takers(subject, way.stick)
    by_yaw = way.stick is Stick.ROLL and not takers and bool(moved)
    must = TURNS[2][int(way.sign < 0.0)] if by_yaw else way.must
    axis = AXIS[must]
    does = way.sign * change[axis]
    surfaces = {}
    for span in subject.surfaces:
        one = neutral.copy()
        one[span.slot] = angles[span.slot]
        helps = way.sign * (at.moment(one) - rest)[axis]
        surfaces[span.name] = _moved(span, angles, low, neutral, helps)
    row = StickRow(
        stick=way.stick,
        name=way.name,
        must=f"{must}, and roll with it" if by_yaw else must.value,
        answers=bool(moved or motors or takers),
        surfaces=surfaces,
        motors=motors,
        moment_roll_right_N_m=float(change[0]),
        moment_nose_up_N_m=float(change[1]),
        moment_nose_right_N_m=float(change[2]),
        turns=TURNS[axis][int(way.sign * does < 0.0)] if abs(does) > NOTHING else Turn.NOTHING,
        right_way=bool(does > NOTHING),
    )
    if not row.answers:
        return row
    problems = []
    if not row.right_way:
        told = "does nothing" if row.turns is Turn.NOTHING else f"makes it {row.turns}"
        problems.append(f"{way.name} {told}: it must {_to(must)}")
    elif by_yaw:
        rolls = _leans(at, neutral, way)
        leans = way.sign * rolls > NOTHING
        row = replace(row, roll_moment_of_5_deg_sideslip_N_m=rolls, right_way=leans)
        if not row.right_way:
            problems.append(f"{way.name} swings the nose, but the wing does not roll with it")
    for span in takers:
        problems += _complaints(span, surfaces[span.name], way)
    return replace(row, problems=tuple(problems))


def _to(must: Turn) -> str:
    return must.value if AXIS[must] == 0 else f"bring the {must}"


def _takers(subject: Subject, stick: Stick) -> list[SurfaceSpan]:
    return [s for s in subject.surfaces if s.role in TAKES[stick]]


def _moved(span: SurfaceSpan, angles, low, neutral, helps: float) -> Moved:
    stand, before = _stand(span, angles[span.slot]), _stand(span, neutral[span.slot])
    gentle = _stand(span, low[span.slot])
    turned = neutral[span.slot] - angles[span.slot]
    ways = (Moves.RIGHT, Moves.LEFT) if span.upright else (Moves.UP, Moves.DOWN)
    return Moved(
        angle_up_deg=stand.angle_up_deg,
        edge_up_m=stand.edge_up_m,
        off=stand.off,
        moves_deg=degrees(turned) + 0.0,
        moves_edge_m=stand.edge_up_m - before.edge_up_m,
        moves=ways[int(turned < 0.0)] if abs(turned) > STILL else Moves.STILL,
        moves_edge_low_rates_m=gentle.edge_up_m - before.edge_up_m,
        helps_N_m=float(helps),
    )


def _complaints(span: SurfaceSpan, moved: Moved, way: Way) -> list[str]:
    called = spoken(span.name)
    if moved.off:
        return [f"the {called} is not there"]
    if moved.moves is Moves.STILL:
        return [f"the {called} does not move with {way.name}"]
    if moved.helps_N_m < -NOTHING:
        return [f"the {called} moves the wrong way with {way.name}"]
    return []


def _leans(at: _Air, neutral: np.ndarray, way: Way) -> float:
    """Moment to the right [N m] of a nose swung to that side: the wing that comes forward lifts."""
    slip = -way.sign * SIDESLIP  # nose right: the wind comes from the left
    return float((at.moment(neutral, slip) - at.moment(neutral))[0])


def _differential(subject: Subject, way: Way) -> tuple[dict[str, MotorChange], float]:
    """Two motors that a stick tells apart: change of throttle by name, and about what moment
    it gives, the motors standing and thrust taken as proportional to throttle [N m]."""
    half = subject.mixer.throttles(Sticks(throttle=0.5))
    asked = subject.mixer.throttles(Sticks(throttle=0.5).pushed(way.stick, way.side))
    found, moment = {}, 0.0
    for k, (name, motor) in enumerate(subject.airframe.motors.items()):
        more = asked[k] - half[k]
        if abs(more) > 0.01:
            found[name] = MotorChange(more)
            moment -= more * equilibrium(alone(subject.model, k), 1.0).thrust * motor.right
    return found, moment
