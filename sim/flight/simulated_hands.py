"""Simulated hands as a pilot: a skill of `skills` on the sticks of one airframe."""

from __future__ import annotations

import math

import numpy as np

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.skills import CLIMB_AIM, SKILLS, hands
from firstthrow.sim.kernels import human

LOOKS_A_SECOND = 60.0  # of simulated hands, as in `batch`


def skill_of(who: str) -> str:
    """The skill of 'human:expert'; 'human' alone is of a club. Raises ValueError."""
    name, _, skill = who.partition(":")
    skill = skill or "club"
    if name != "human" or skill not in SKILLS:
        raise ValueError(f"{who}: wanted human, or human: with {', '.join(SKILLS)}")
    return skill


class Human:
    """Hands (`kernels.human`) on an airframe: nose on the climb, wings level, throttle still.

    They take the sticks when the airframe leaves the hand, or in flight when they are first
    asked there; a time that runs back, or a second without them, starts them over. Whether
    the first correction goes wrong is drawn by `seed`. Raises ValueError for an airframe
    that weighs nothing.
    """

    def __init__(
        self,
        airframe: Airframe,
        field: Field,
        skill: str = "club",
        launch: str | None = None,
        seed: int = 0,
        model: Model | None = None,
    ) -> None:
        self.skill = SKILLS[skill]
        self.throttle = launch_throttle(airframe, launch)
        model = model or build(airframe, field)
        self.hands = hands(self.skill, model, airframe, self.throttle, CLIMB_AIM)
        self.mind = np.zeros(1, human.MIND)[0]
        self._random = np.random.default_rng(seed)
        self._begin(0.0)

    def _begin(self, time: float) -> None:
        human.wake(self.mind)
        self.start = self.time = time
        self.looks = 0
        for axis in ("wrong_pitch", "wrong_roll"):
            muddled = self._random.random() < self.skill.wrong_chance
            self.hands[axis] = -1.0 if muddled else 1.0

    def __call__(self, reading) -> Sticks:
        now = reading.time_s
        if now < self.time or now > self.time + 1.0:
            self._begin(max(now, 0.0))
        if now < 0.0:
            return Sticks(throttle=self.throttle)
        self.time = now
        due = int((now - self.start) * LOOKS_A_SECOND + 0.5) + 1 - self.looks
        for _ in range(due):
            human.act(
                self.mind,
                self.hands,
                math.radians(reading.pitch_deg),
                math.radians(reading.roll_deg),
                math.radians(reading.q_deg_s),
                math.radians(reading.p_deg_s),
                self.looks / LOOKS_A_SECOND,
                1.0 / LOOKS_A_SECOND,
            )
            self.looks += 1
        roll, pitch = float(self.mind.roll), float(self.mind.pitch)
        return Sticks(roll, pitch, float(self.hands.rudder) * roll, self.throttle)
