"""What differs from launch to launch: the throw, the motor hand, and all that is not known of the
airframe.

Spreads are standard deviations of normal scatter, those of `build.unknowns`: a builder who has
measured an arm's throw writes a file.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Literal
from zlib import crc32

import numpy as np
from pydantic import Field as Key

from firstthrow.sim.build.deviated import Offs
from firstthrow.sim.build.unknown_kinds import What, guessed
from firstthrow.sim.build.unknowns import Key as UnknownKey
from firstthrow.sim.build.unknowns import Unknown
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.described import Described
from firstthrow.sim.describe.quantities import (
    Angle,
    Fraction,
    Mass,
    NonNegativeLength,
    PositiveSpeed,
    Speed,
    Time,
)
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.skills import CHANCES, SKILLS, Skill, chance_moves
from firstthrow.sim.kernels.batch import CASE
from firstthrow.sim.kernels.human import HANDS
from firstthrow.sim.kernels.layout import MAX_SURFACES

PILOT = 1 << 29  # the stream of the pilot: unknowns have those before it
BLOCK = 256  # cases drawn together, so that a case does not depend on how many are asked for

Surer = Mapping[UnknownKey, float]  # what is left of an unknown's deviation

# Which kinds of unknowns scatter by which word of a file.
SCATTERED = {
    "parts": (What.MASS, What.AFT, What.RIGHT, What.UP),
    "boards": (What.BOW, What.TWIST_LEFT, What.TWIST_RIGHT, What.STRENGTH),
    "surfaces": (What.EFFECT,),
    "air": (
        What.NEUTRAL_POINT,
        What.SLOPE,
        What.SHEET_DRAG,
        What.PART_DRAG,
        What.STREAM,
        What.STALL,
        What.STALL_LAG,
        What.SHARE_LAG,
        What.STALLED_SURFACES,
        What.WAKE,
    ),
    "drive": (
        What.THRUST,
        What.TORQUE,
        What.PROPELLER_PITCH,
        What.THRUST_DOWN,
        What.THRUST_RIGHT,
    ),
}


class Scatter(Described):
    speed: Speed = Key(guessed(What.THROW_SPEED), description="of the throw")
    pitch: Angle = Key(guessed(What.THROW_PITCH), description="of the nose at the release")
    bank: Angle = Key(guessed(What.THROW_BANK), description="at the release")
    slip: Angle = Key(guessed(What.THROW_SLIP), description="nose beside the throw's direction")
    height: NonNegativeLength = Key(guessed(What.THROW_HEIGHT), description="of the hand")
    roll_rate: Angle = Key(guessed(What.THROW_ROLL), description="a twist of the wrist, per second")
    throttle: Fraction = Key(guessed(What.THROTTLE), description="at the release")
    throttle_late: Time = Key(
        0.0, description="the motor comes on later than the throw by about this, 0: before"
    )
    build: Angle = Key(
        guessed(What.NEUTRAL), description="neutral of each surface against the file's"
    )
    parts: Literal["guessed", "none"] = Key(
        "guessed", description="scatter masses and places of parts, less where they were measured"
    )
    boards: Literal["guessed", "none"] = Key(
        "guessed",
        description="scatter bow and twist of every sheet, less where the file says them",
    )
    surfaces: Literal["guessed", "none"] = Key(
        "guessed", description="scatter the effect of all surfaces, as far as it is not known"
    )
    air: Literal["guessed", "none"] = Key(
        "guessed",
        description="scatter neutral point, lift, drag and stall, as far as they are not known",
    )
    drive: Literal["guessed", "none"] = Key(
        "guessed",
        description="scatter thrust, torque and thrust line, as far as they are not known",
    )
    skill: Literal["beginner", "club", "expert"] = Key("club", description="of the hands that fly")
    arm_speed: PositiveSpeed = Key(11.5, description="of a careful throw with an empty hand")
    arm_mass: Mass = Key(0.65, description="of the arm that moves along")


def draws(seed: int, first: int, count: int, width: int, stream: int = 0) -> np.ndarray:
    """(count, width) normal deviates of cases first, first + 1, ...; by case, not by call.

    Streams are independent of one another: what is drawn from one does not shift another.
    """
    blocks = range(first // BLOCK, (first + count - 1) // BLOCK + 1)
    key = seed + (stream << 34)
    rows = [_block(key, block, width) for block in blocks]
    start = first - BLOCK * (first // BLOCK)
    return np.concatenate(rows)[start : start + count]


@lru_cache(maxsize=512)  # those that the next cases of an airframe are drawn from, too
def _block(key: int, block: int, width: int) -> np.ndarray:
    return np.random.Generator(np.random.Philox(key=[key, block])).standard_normal((BLOCK, width))


class Drawn:
    """The scattered quantities of the cases first .. first + count - 1.

    case: (count,) CASE of `batch`, hands: (count,) HANDS of `human`,
    off: (count, unknowns) how far each unknown of the airframe is off [SI].
    """

    def __init__(
        self,
        airframe: Airframe,
        scatter: Scatter,
        hands: np.record,
        human_flies: bool,
        seed: int,
        first: int,
        count: int,
        unknowns: tuple[Unknown, ...] = (),
        mine: Skill | None = None,
        stands: tuple[float, float] = (0.0, 0.0),
    ) -> None:
        """`mine`: measured hands in place of the scatter's skill; `stands`: height [m] and pitch
        [rad] on its wheels."""
        z = draws(seed, first, count, 8 + MAX_SURFACES)
        case = np.zeros(count, CASE)
        case["slip"] = scatter.slip * z[:, 3]
        throw = airframe.launch.thrown
        if throw is None:  # however it is pointed, it starts at rest
            case["wheels"] = True
            case["height"], case["pitch_up"] = stands
        else:
            case["speed"] = np.maximum(0.5, throw.speed + scatter.speed * z[:, 0])
            case["pitch_up"] = throw.pitch + scatter.pitch * z[:, 1]
            case["bank"] = throw.bank + scatter.bank * z[:, 2]
            case["height"] = np.maximum(0.5, throw.height + scatter.height * z[:, 4])
            case["roll_rate"] = scatter.roll_rate * z[:, 5]
            case["back"] = throw.back
        planned = launch_throttle(airframe)
        case["throttle"] = np.clip(planned + scatter.throttle * z[:, 6], 0.0, 1.0)
        late = scatter.throttle_late
        case["throttle_late"] = (
            np.maximum(0.0, late * (1.0 + 0.3 * z[:, 7])) if late > 0.0 else -1.0
        )
        case["human"] = human_flies
        case["built"] = scatter.build * z[:, 8 : 8 + MAX_SURFACES]
        self.case, self.hands = case, np.zeros(count, HANDS)
        self.hands[:] = hands
        if human_flies:
            chances = draws(seed, first, count, CHANCES, stream=PILOT)
            chance_moves(self.hands, mine or SKILLS[scatter.skill], chances)
            self.hands["throttle"] = case["throttle"]
        self.unknowns = unknowns
        # A stream for each, so that one unknown more does not change what happens to others.
        self.off = np.zeros((count, len(unknowns)))
        scattered = {
            what
            for word, kinds in SCATTERED.items()
            if getattr(scatter, word) == "guessed"
            for what in kinds
        }
        for k, one in enumerate(unknowns):
            if one.what in scattered:
                stream = 1 + (crc32(repr(one.key).encode()) >> 4)
                self.off[:, k] = one.spread * draws(seed, first, count, 1, stream)[:, 0]

    def keep(self, which: np.ndarray) -> None:
        """Only these rows."""
        self.case, self.hands, self.off = self.case[which], self.hands[which], self.off[which]

    def make_surer(self, shares: Surer) -> None:
        """Some unknowns are off by these shares of what was drawn; a surface's neutral, too."""
        self.off *= [shares.get(one.key, 1.0) for one in self.unknowns]
        neutrals = [one for one in self.unknowns if one.what is What.NEUTRAL]
        for slot, one in enumerate(neutrals):  # in the order of their slots
            self.case["built"][:, slot] *= shares.get(one.key, 1.0)

    def offs(self) -> Offs:
        """What is off, by unknown: (cases,) each; nothing that is off in none of them."""
        columns = zip(self.unknowns, self.off.T, strict=True)
        return {one.key: off for one, off in columns if off.any()}
