"""What differs from launch to launch: the throw, the motor hand, the build, the balance.

Spreads are standard deviations of normal scatter, all our assumptions (common practice, no
source): a builder who has measured an arm's throw writes a file.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field as Key
from scipy.special import ndtri

from firstthrow.sim.build.weights import Part
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.described import Described
from firstthrow.sim.describe.quantities import (
    Angle,
    Fraction,
    NonNegativeLength,
    Speed,
    Time,
)
from firstthrow.sim.flight.skills import SKILLS
from firstthrow.sim.kernels.batch import CASE
from firstthrow.sim.kernels.human import HANDS
from firstthrow.sim.kernels.layout import MAX_SURFACES
from firstthrow.sim.study.spreads import board_spreads, effect_spreads, part_spreads, warped
from firstthrow.sim.study.subject import Subject

BOARDS = 1 << 20  # the first stream of the sheets: parts have those before it
EFFECT = 1 << 21  # that of the surfaces' effect
BLOCK = 256  # cases drawn together, so that a case does not depend on how many are asked for


class Scatter(Described):
    speed: Speed = Key(0.7, description="of the throw")
    pitch: Angle = float(np.radians(4.0))
    bank: Angle = float(np.radians(5.0))
    slip: Angle = Key(float(np.radians(3.0)), description="nose beside the throw's direction")
    height: NonNegativeLength = 0.1
    roll_rate: Angle = Key(float(np.radians(15.0)), description="a twist of the wrist, per second")
    throttle: Fraction = 0.05
    throttle_late: Time = Key(
        0.0, description="the motor comes on later than the throw by about this, 0: before"
    )
    build: Angle = Key(
        float(np.radians(0.5)), description="neutral of each surface against the file's"
    )
    parts: Literal["guessed", "none"] = Key(
        "guessed", description="scatter masses and places of guessed parts"
    )
    boards: Literal["guessed", "none"] = Key(
        "guessed",
        description="scatter bow and twist of every sheet, less where the file says them",
    )
    surfaces: Literal["guessed", "none"] = Key(
        "guessed", description="scatter the effect of all surfaces, as far as it is not known"
    )
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

    case: (count,) CASE of `batch`, hands: (count,) HANDS of `human`,
    parts: (count, listed, 4) deviates of mass and place of each of `listed` parts;
    effect: (count,) of the surfaces' effect, alike for all;
    boards: (count, sheets, 3) of bow, left twist and right twist of each sheet.
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
        listed: int,
    ) -> None:
        z = draws(seed, first, count, 10 + MAX_SURFACES)
        launch = airframe.launch.by_hand
        case = np.zeros(count, CASE)
        case["speed"] = np.maximum(0.5, launch.speed + scatter.speed * z[:, 0])
        case["pitch_up"] = launch.pitch + scatter.pitch * z[:, 1]
        case["bank"] = launch.bank + scatter.bank * z[:, 2]
        case["slip"] = scatter.slip * z[:, 3]
        case["height"] = np.maximum(0.5, launch.height + scatter.height * z[:, 4])
        case["roll_rate"] = scatter.roll_rate * z[:, 5]
        case["throttle"] = np.clip(launch.throttle + scatter.throttle * z[:, 6], 0.0, 1.0)
        late = scatter.throttle_late
        case["throttle_late"] = (
            np.maximum(0.0, late * (1.0 + 0.3 * z[:, 7])) if late > 0.0 else -1.0
        )
        case["human"] = human_flies
        case["built"] = scatter.build * z[:, 8 : 8 + MAX_SURFACES]
        chance = SKILLS[scatter.skill].wrong_chance
        at = 8 + MAX_SURFACES
        self.case, self.hands = case, np.zeros(count, HANDS)
        self.hands[:] = hands
        self.hands["wrong_pitch"] = np.where(z[:, at] < ndtri(chance), -1.0, 1.0)
        self.hands["wrong_roll"] = np.where(z[:, at + 1] < ndtri(chance), -1.0, 1.0)
        # A stream for each part, so that one part more does not change what happens to others.
        self.parts = np.zeros((count, listed, 4))
        if scatter.parts == "guessed":
            for k in range(listed):
                self.parts[:, k] = draws(seed, first, count, 4, stream=1 + k)
        self.effect = np.zeros(count)
        if scatter.surfaces == "guessed":
            self.effect = draws(seed, first, count, 1, stream=EFFECT)[:, 0]
        self.boards = np.zeros((count, len(airframe.sheets), 3))
        if scatter.boards == "guessed":
            for k in range(len(airframe.sheets)):
                self.boards[:, k] = draws(seed, first, count, 3, stream=BOARDS + k)


class Guesses:
    """Parts and sheets of an airframe with the spreads of those that are guessed, worked out
    once."""

    def __init__(self, subject: Subject) -> None:
        self.parts = subject.parts
        self.spreads = [part_spreads(subject.airframe, part) for part in self.parts]
        self.airframe = subject.airframe
        self.effect_spreads = effect_spreads(subject)
        self.board_spreads = [board_spreads(sheet) for sheet in self.airframe.sheets.values()]

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

    def warped(self, deviates: np.ndarray) -> Airframe:
        """The airframe with its sheets bowed and twisted by (sheets, 3) deviates."""
        sheets = {}
        for (name, sheet), (bow, twist), z in zip(
            self.airframe.sheets.items(), self.board_spreads, deviates, strict=True
        ):
            sheets[name] = warped(sheet, bow * z[0], twist * z[1], twist * z[2])
        return self.airframe.model_copy(update={"sheets": sheets})
