"""Simulated hands as a pilot: a skill of `skills` on the sticks of one airframe."""

from __future__ import annotations

import math

import numpy as np

from firstthrow.sim.build.model import Model, built
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.skills import CHANCES, SKILLS, Skill, chance_moves, hands
from firstthrow.sim.kernels import human
from firstthrow.sim.kernels.batch import show
from firstthrow.sim.kernels.circuit import guide
from firstthrow.sim.kernels.layout import ATTITUDE, POSITION, SIZE, VELOCITY

LOOKS_A_SECOND = 60.0  # of simulated hands, as in `batch`
NONE = np.zeros(2)  # hands without remnant


def skill_of(who: str) -> str:
    """The skill of 'human:expert'; 'human' alone is of a club. Raises ValueError."""
    name, _, skill = who.partition(":")
    skill = skill or "club"
    if name != "human" or skill not in SKILLS:
        raise ValueError(f"{who}: wanted human, or human: with {', '.join(SKILLS)}")
    return skill


class Human:
    """Hands (`kernels.human`) that fly an airframe round (`kernels.circuit`) and land it.

    They take the sticks when the airframe leaves the hand or begins to roll, or in flight when
    they are first asked there; a time that runs back, or a second without them, starts them over.
    What chance does to them is drawn by `seed`. Raises ValueError for an airframe that weighs
    nothing.
    """

    def __init__(
        self,
        airframe: Airframe,
        field: Field,
        skill: str | Skill = "club",
        launch: str | None = None,
        seed: int = 0,
        model: Model | None = None,
    ) -> None:
        self.skill = SKILLS[skill] if isinstance(skill, str) else skill
        self.throttle = launch_throttle(airframe, launch)
        self.on_wheels = (launch or airframe.launch.kind) == "ground"
        model = model or built(airframe, field)
        self.hands = hands(self.skill, model, airframe, self.throttle, field.heading)
        self.mind = np.zeros(1, human.MIND)[0]
        self._random = np.random.default_rng(seed)
        self._begin(0.0)

    def _begin(self, time: float) -> None:
        self.start = self.time = time
        self.looks = 0
        drawn = self._random.standard_normal((1, CHANCES))
        chance_moves(self.hands.reshape(1), self.skill, drawn)
        human.wake(self.mind, self.hands, self.on_wheels and time <= 0.0)

    def __call__(self, reading) -> Sticks:
        now = reading.time_s
        if now < self.time or now > self.time + 1.0:
            self._begin(max(now, 0.0))
        if now < 0.0:
            return Sticks(throttle=self.throttle)
        self.time = now
        due = int((now - self.start) * LOOKS_A_SECOND + 0.5) + 1 - self.looks
        shown = self._shown(reading)
        frame = 1.0 / LOOKS_A_SECOND
        for _ in range(due):
            since = self.looks / LOOKS_A_SECOND
            human.look(self.mind, shown)
            guide(self.mind, self.hands, since, frame)
            deviates = self._random.standard_normal(2) if self.skill.remnant else NONE
            human.act(self.mind, self.hands, since, frame, deviates)
            self.looks += 1
        mind = self.mind
        return Sticks(float(mind.roll), float(mind.pitch), float(mind.yaw), float(mind.throttle))

    def _shown(self, reading) -> np.ndarray:
        """(SEEN,) what there is to be seen of a reading."""
        state, shown = np.zeros(SIZE), np.zeros(human.SEEN)
        state[POSITION : POSITION + 3] = reading.north_m, reading.east_m, -reading.height_m
        state[ATTITUDE : ATTITUDE + 4] = (
            reading.attitude_w,
            reading.attitude_x,
            reading.attitude_y,
            reading.attitude_z,
        )
        state[VELOCITY : VELOCITY + 3] = reading.u_m_s, reading.v_m_s, reading.w_m_s
        rates = math.radians(reading.p_deg_s), math.radians(reading.q_deg_s)
        show(state, rates, float(reading.airspeed_m_s), float(self.hands.course), shown)
        return shown
