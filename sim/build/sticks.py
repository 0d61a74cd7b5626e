"""Sticks to channels: rates, expo, mixing, reflex, trims, limits, as the airframe file has them.

`mixer` lays the definition out once as the table that `kernels.mix` reads. Flight, reports and
bench sheet all go through it, about a microsecond a call.
"""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import SurfaceSpan, area, pieces, surface_spans
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import Role, Surface
from firstthrow.sim.kernels.compiled import plainly
from firstthrow.sim.kernels.layout import (
    COMMAND_SIZE,
    COMMAND_SURFACE,
    COMMAND_THROTTLE,
    MAX_MOTORS,
)
from firstthrow.sim.kernels.mix import (
    HIGHEST,
    LOWEST,
    MIX_FIELDS,
    NOSE_UP,
    RIGHT,
    SIGN,
    YAW,
    all_mixed,
    mix,
    mixed,
    turned,
)
from firstthrow.sim.kernels.parameters import record_type
from firstthrow.sim.once import once_for

PITCHES = (Role.ELEVON, Role.ELEVATOR, Role.RUDDERVATOR)  # roles that take each stick
ROLLS = (Role.ELEVON, Role.AILERON, Role.FLAPERON)
YAWS = (Role.RUDDER, Role.RUDDERVATOR)
_TABLE = record_type(MIX_FIELDS)


class Stick(StrEnum):
    """Of the four, those that turn the airframe; named as in `Sticks`."""

    ROLL = "roll"
    PITCH = "pitch"
    YAW = "yaw"


class Sticks(NamedTuple):
    """Roll, pitch, yaw in -1..1 (right, back, right are positive); throttle in 0..1."""

    roll: float = 0.0
    pitch: float = 0.0
    yaw: float = 0.0
    throttle: float = 0.0
    low_rates: bool = False

    def pushed(self, stick: Stick, to: float) -> Sticks:
        """The same with one of them elsewhere."""
        match stick:
            case Stick.ROLL:
                return self._replace(roll=to)
            case Stick.PITCH:
                return self._replace(pitch=to)
            case Stick.YAW:
                return self._replace(yaw=to)


class Mixer:
    """An airframe's mixing, which nobody changes once made. `tables`: (1,) of `kernels.mix`'s
    fields; throws, trims and angles in rad."""

    def __init__(self, tables: np.ndarray) -> None:
        tables.flags.writeable = False
        self.tables = tables
        self._surfaces = int(tables[0].n_surfaces)

    def _changed(self, **fields) -> Mixer:
        tables = self.tables.copy()
        for name, value in fields.items():
            tables[name] = value
        return Mixer(tables)

    def without_expo(self) -> Mixer:
        """Commands straight in the sticks."""
        return self._changed(mix_expo=0.0)

    def without_limits(self) -> Mixer:
        """Surfaces that go as far as they are asked to."""
        rows = self.tables["mix"].copy()
        rows[..., LOWEST], rows[..., HIGHEST] = -np.inf, np.inf
        return self._changed(mix=rows)

    @property
    def most(self) -> tuple[float, float, float]:
        """Angle at full roll, pitch and yaw stick, high rates [rad]."""
        return tuple(self.tables["mix_rates"][0, 0].tolist())

    @property
    def expo(self) -> tuple[float, float, float]:
        return tuple(self.tables["mix_expo"][0].tolist())

    @property
    def pitch_sense(self) -> float:
        """-1 where the surface that takes pitch lies ahead and moves down for nose up, else 1."""
        return next((float(x) for x in self.tables["mix"][0, :, NOSE_UP] if x), 1.0)

    def raised_by(self, slot: int) -> dict[Stick, float]:
        """Of each stick that takes the surface, the end (+-1, signs of `Sticks`) that moves its
        trailing edge up, of an upright one to the right, with servos and leads as they should
        be."""
        row = self.tables["mix"][0, slot]
        ends = {Stick.ROLL: -row[RIGHT], Stick.PITCH: row[NOSE_UP], Stick.YAW: -row[YAW]}
        return {stick: float(end) for stick, end in ends.items() if end}

    def command(self, sticks: Sticks) -> np.ndarray:
        """(COMMAND_SIZE,) surface angles asked [rad] and the throttle of each motor, 0..1."""
        asked = np.zeros(COMMAND_SIZE)
        roll, pitch, yaw, throttle, low = sticks
        # One type of argument, so that the kernel is compiled once.
        mixed(self.tables, float(roll), float(pitch), float(yaw), float(throttle), bool(low), asked)
        return asked

    def angles(self, sticks: Sticks) -> list[float]:
        """Angle asked of each surface [rad], in slot order, trailing edge down or left positive."""
        return self.command(sticks)[COMMAND_SURFACE : COMMAND_SURFACE + self._surfaces].tolist()

    def let_go(self) -> list[float]:
        """The same with the sticks let go, for what is seen before anything is compiled."""
        asked = np.zeros(COMMAND_SIZE)
        plainly(mix)(self.tables[0], *Sticks(), asked)
        return asked[COMMAND_SURFACE : COMMAND_SURFACE + self._surfaces].tolist()

    def all_angles(self, sticks: np.ndarray, low_rates: bool) -> np.ndarray:
        """(n, surfaces) the same of many: (n, 3) roll, pitch and yaw, the throttle closed."""
        moved, asked = np.zeros((len(sticks), 4)), np.zeros((len(sticks), COMMAND_SIZE))
        moved[:, :3] = sticks
        all_mixed(self.tables, moved, low_rates, asked)
        return asked[:, COMMAND_SURFACE : COMMAND_SURFACE + self._surfaces]

    def throttles(self, sticks: Sticks) -> list[float]:
        """Throttle of each motor there may be, 0..1."""
        return self.command(sticks)[COMMAND_THROTTLE : COMMAND_THROTTLE + MAX_MOTORS].tolist()

    def turned(self, sticks: Sticks) -> tuple[float, float, float]:
        """Angles that the sticks ask of roll, nose up and nose right, with the trims [rad]."""
        roll, pitch, yaw, _, low = sticks
        return turned(self.tables, float(roll), float(pitch), float(yaw), bool(low))


@once_for(32)
def mixer(airframe: Airframe) -> Mixer:
    """The airframe's mixing as a table."""
    mixing, spans = airframe.mixing, surface_spans(airframe)
    tables, ahead = np.zeros(1, _TABLE), _ahead(airframe)
    table = tables[0]
    table.n_surfaces = len(spans)
    for span in spans:
        table.mix[span.slot] = _row(airframe, span, span.slot in ahead)
        takes = _other_side(span, spans) if mixing.swapped else span
        table.mix_takes[span.slot] = takes.slot
        if takes.described.faulty(takes.side):  # the surface that moves by this row
            table.mix[span.slot, :SIGN] *= takes.described.follows
    every = (mixing.high, mixing.low, mixing.expo)
    table.mix_rates[0], table.mix_rates[1], table.mix_expo[:] = (
        (rate.roll, rate.pitch, rate.yaw) for rate in every
    )
    table.mix_sense[:] = [
        -1.0 if stick in mixing.reversed else 1.0 for stick in ("roll", "pitch", "yaw")
    ]
    reflex = mixing.reflex + airframe.corrections.reflex
    table.mix_trim[:] = (mixing.roll_trim, reflex, mixing.yaw_trim)
    table.mix_down_going = 1.0 - mixing.differential
    for k, (name, motor) in enumerate(airframe.motors.items()):
        table.mix_motor_yaw[k] = -np.sign(motor.right) * mixing.yaw_to_throttle
        table.mix_motor_free[k] = _free_motor(airframe, name)
    return Mixer(tables)


def stuck(airframe: Airframe) -> dict[int, float]:
    """Slots of the surfaces that no servo moves, and where each stands [rad]."""
    spans = surface_spans(airframe)
    return {
        span.slot: span.described.stuck
        for span in spans
        if span.described.stuck is not None and span.described.faulty(span.side)
    }


def _ahead(airframe: Airframe) -> set[int]:
    """Slots of surfaces hinged ahead of the middle of the flat sheets: trailing edge up, they
    put the nose down."""
    found = pieces(airframe)
    flat = [piece for piece in found if abs(piece.normal[2]) > 0.5]
    size = sum(area(piece.corners) for piece in flat)
    middle = sum(area(piece.corners) * piece.corners[:, 0].mean() for piece in flat)
    return {p.surface for p in flat if p.hinge is not None and p.hinge[:, 0].mean() * size < middle}


def _row(airframe: Airframe, span: SurfaceSpan, ahead: bool) -> tuple[float, ...]:
    """What moves one surface, in the columns of `kernels.mix`: shares of nose-up, right-roll and
    nose-right angle, each +-1 or 0, the roll stick's share of the yaw throw, neutral [rad], the
    free table, sign and limits [rad].

    V-tails: to swing the nose right, the force on the tail must point left. A panel's
    downward surface pushes along its normal, and a right panel with dihedral leans left."""
    sheet, surface, role = airframe.sheets[span.sheet], span.described, span.role
    right = -1.0 if span.side == "left" else 1.0
    yaw = {Role.RUDDER: -1.0, Role.RUDDERVATOR: right * (1.0 if sheet.dihedral >= 0.0 else -1.0)}
    return (
        (-1.0 if ahead else 1.0) * (role in PITCHES),
        -right if role in ROLLS else 0.0,
        yaw.get(role, 0.0),
        yaw.get(role, 0.0) * airframe.mixing.roll_to_yaw,
        airframe.mixing.droop if role == Role.FLAPERON else 0.0,
        *_free(airframe, span, right),
        -1.0 if reversed_on(surface, span.side) else 1.0,
        -min(surface.travel, surface.most_up or surface.travel),
        min(surface.travel, surface.most_down or surface.travel),
    )


def reversed_on(surface: Surface, side: str) -> bool:
    """Whether the surface on this side moves the wrong way."""
    own = {"left": surface.reversed_left, "right": surface.reversed_right}.get(side, False)
    return surface.reversed != own


def _other_side(span: SurfaceSpan, spans: tuple[SurfaceSpan, ...]) -> SurfaceSpan:
    same = [s for s in spans if (s.sheet, s.surface) == (span.sheet, span.surface)]
    return next((s for s in same if s.side != span.side), span)


Free = tuple[float, float, float, float]  # angle or share at full roll, pitch, yaw, throttle


def _free(airframe: Airframe, span: SurfaceSpan, right: float) -> Free:
    """Angle of a surface at full roll, pitch, yaw stick and throttle by the free table [rad]."""
    found = dict.fromkeys(("roll", "pitch", "yaw", "throttle"), 0.0)
    for also in airframe.mixing.also.values():
        if also.moves in (span.name, span.surface):
            found[also.stick] += also.angle * (right if also.opposite else 1.0)
    return found["roll"], found["pitch"], found["yaw"], found["throttle"]


def _free_motor(airframe: Airframe, name: str) -> Free:
    found = dict.fromkeys(("roll", "pitch", "yaw", "throttle"), 0.0)
    for also in airframe.mixing.also.values():
        if also.moves == name:
            found[also.stick] += also.share
    return found["roll"], found["pitch"], found["yaw"], found["throttle"]


def surface_angles(airframe: Airframe, sticks: Sticks) -> np.ndarray:
    """(surfaces,) `Mixer.angles` of an airframe, for a single question."""
    return np.array(mixer(airframe).angles(sticks))


def command(airframe: Airframe, sticks: Sticks) -> np.ndarray:
    """(COMMAND_SIZE,) `Mixer.command` of an airframe, for a single question."""
    return mixer(airframe).command(sticks)
