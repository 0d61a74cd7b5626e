"""What differs from launch to launch: the throw, the motor hand, the build, the balance.

Spreads are standard deviations of normal scatter, all our assumptions (common practice, no
source): a builder who has measured an arm's throw writes a file.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from scipy.special import ndtri

from firstthrow.sim.build.weights import Part, parts
from firstthrow.sim.describe.airframe import Airframe, Described
from firstthrow.sim.flight.skills import SKILLS
from firstthrow.sim.kernels import batch, human
from firstthrow.sim.kernels.layout import MAX_SURFACES
from firstthrow.sim.study.balance import part_spreads
from firstthrow.sim.units import Angle, Fraction, NonNegativeLength, Speed, Time

BLOCK = 256  # cases drawn together, so that a case does not depend on how many are asked for


class Scatter(Described):
    speed: Speed = 0.7  # of the throw
    pitch: Angle = float(np.radians(4.0))
    bank: Angle = float(np.radians(5.0))
    slip: Angle = float(np.radians(3.0))  # nose beside the throw's direction
    height: NonNegativeLength = 0.1
    roll_rate: Angle = float(np.radians(15.0))  # a twist of the wrist, per second
    throttle: Fraction = 0.05
    throttle_late: Time = 0.0  # the motor comes on later than the throw by about this, 0: before
    build: Angle = float(np.radians(0.5))  # neutral of each surface against the file's
    parts: Literal["guessed", "none"] = "guessed"  # scatter masses and places of guessed parts
    skill: Literal["beginner", "club", "expert"] = "club"


def draws(seed: int, first: int, count: int, width: int, stream: int = 0) -> np.ndarray:
    """(count, width) normal deviates of cases first, first + 1, ...; by case, not by call.

    Streams are independent of one another: what is drawn from one does not shift another.
    """
    blocks = range(first // BLOCK, (first + count - 1) // BLOCK + 1)
    key = seed + (stream << 34)
    rows = [
        np.random.Generator(np.random.Philox(key=[key, block])).standard_normal((BLOCK, width))
        for block in blocks
    ]
    start = first - BLOCK * (first // BLOCK)
    return np.concatenate(rows)[start : start + count]


class Drawn:
    """The scattered quantities of the cases first .. first + count - 1.

    case: (count, CASE_SIZE) for `batch`, hands: (count, HANDS_SIZE) for `human`,
    parts: (count, listed, 4) deviates of mass and place of each of `listed` parts.
    """

    def __init__(
        self,
        airframe: Airframe,
        scatter: Scatter,
        hands: np.ndarray,
        human_flies: bool,
        seed: int,
        first: int,
        count: int,
        listed: int,
    ) -> None:
        z = draws(seed, first, count, 10 + MAX_SURFACES)
        launch = airframe.launch.hand
        case = np.zeros((count, batch.CASE_SIZE))
        case[:, batch.SPEED] = np.maximum(0.5, launch.speed + scatter.speed * z[:, 0])
        case[:, batch.PITCH_UP] = launch.pitch + scatter.pitch * z[:, 1]
        case[:, batch.BANK] = launch.bank + scatter.bank * z[:, 2]
        case[:, batch.SLIP] = scatter.slip * z[:, 3]
        case[:, batch.HEIGHT] = np.maximum(0.5, launch.height + scatter.height * z[:, 4])
        case[:, batch.ROLL_RATE] = scatter.roll_rate * z[:, 5]
        case[:, batch.THROTTLE] = np.clip(launch.throttle + scatter.throttle * z[:, 6], 0.0, 1.0)
        late = scatter.throttle_late
        case[:, batch.THROTTLE_LATE] = (
            np.maximum(0.0, late * (1.0 + 0.3 * z[:, 7])) if late > 0.0 else -1.0
        )
        case[:, batch.HUMAN] = float(human_flies)
        built = slice(batch.BUILT, batch.BUILT + MAX_SURFACES)
        case[:, built] = scatter.build * z[:, 8 : 8 + MAX_SURFACES]
        chance = SKILLS[scatter.skill].wrong_chance
        at = 8 + MAX_SURFACES
        self.case, self.hands = case, np.tile(hands, (count, 1))
        for column, z_wrong in ((human.WRONG_PITCH, z[:, at]), (human.WRONG_ROLL, z[:, at + 1])):
            self.hands[:, column] = np.where(z_wrong < ndtri(chance), -1.0, 1.0)
        # A stream for each part, so that one part more does not change what happens to others.
        self.parts = np.zeros((count, listed, 4))
        if scatter.parts == "guessed":
            for k in range(listed):
                self.parts[:, k] = draws(seed, first, count, 4, stream=1 + k)


class Guesses:
    """The parts of an airframe with the spreads of those that are guessed, worked out once."""

    def __init__(self, airframe: Airframe) -> None:
        self.parts = parts(airframe)
        self.spreads = [part_spreads(airframe, part) for part in self.parts]

    def scattered(self, deviates: np.ndarray) -> tuple[Part, ...]:
        """The parts with masses and places moved by (parts, 4) deviates."""
        found = []
        for part, (mass, place), z in zip(self.parts, self.spreads, deviates, strict=True):
            if mass == 0.0 and place == 0.0:
                found.append(part)
                continue
            share = max(0.2, 1.0 + mass / part.mass * z[0])
            moved = part.place + place * z[1:]
            found.append(
                part._replace(mass=part.mass * share, inertia=part.inertia * share, place=moved)
            )
        return tuple(found)
