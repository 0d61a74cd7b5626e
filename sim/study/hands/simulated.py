"""Simulated hands doing the exercises, as a person does them: frame by frame."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.skills import Skill, hands, steers_by_rudder
from firstthrow.sim.kernels import human
from firstthrow.sim.study.hands.element import FRAME, Element
from firstthrow.sim.study.hands.exercise import NAMES, Doing, Flown
from firstthrow.sim.study.subject import Subject


def do_all(
    subject: Subject,
    steered: Element,
    skill: Skill,
    seed: int,
    through: Callable[[], Callable[[Sticks], Sticks]] = lambda: lambda wanted: wanted,
) -> list[Flown]:
    """The three exercises by hands of a skill; `through` makes a device between hand and stick."""
    airframe = subject.airframe
    own = hands(skill, subject.model, airframe, launch_throttle(airframe))
    by_yaw = steers_by_rudder(airframe)
    return [
        do(Doing(steered, kind, seed, by_yaw), own, skill, seed, through())
        for kind in range(len(NAMES))
    ]


class Pilot:
    """Hands (HANDS of `human`) before one exercise; what is chance about them is drawn by `seed`.
    Asked once a frame, they give the sticks for what is to be seen."""

    def __init__(self, doing: Doing, own: np.record, skill: Skill, seed: int) -> None:
        self.doing, self.own, self.skill = doing, own, skill
        self.random = np.random.default_rng([seed, 7, doing.kind])
        self.jumps = {jump.frame: jump.axis for jump in doing.asked.jumps}
        self.mind, self.shown = np.zeros(1, human.MIND)[0], np.zeros(human.SEEN)
        human.wake(self.mind, own, False)
        self.mind.aim_pitch = 0.0
        self.since = 1e3  # the last jump [s]

    def sticks(self) -> Sticks:
        doing, own, shown = self.doing, self.own, self.shown
        if doing.frame in self.jumps:
            wrong = -1.0 if self.random.random() < self.skill.wrong_chance else 1.0
            in_pitch = self.jumps[doing.frame] == 0
            own.wrong_pitch, own.wrong_roll = (wrong, 1.0) if in_pitch else (1.0, wrong)
            self.since = 0.0
        shown[human.PITCH], shown[human.BANK] = -doing.errors
        shown[human.PITCH_RATE], shown[human.ROLL_RATE] = -doing.rates
        human.look(self.mind, shown)
        human.act(self.mind, own, self.since, FRAME, self.random.standard_normal(2))
        self.since += FRAME
        side = float(self.mind.roll)
        return Sticks(side, float(self.mind.pitch), side, 0.0)


def do(
    doing: Doing, own: np.record, skill: Skill, seed: int, device: Callable[[Sticks], Sticks]
) -> Flown:
    """One exercise by hands (HANDS of `human`)."""
    pilot = Pilot(doing, own, skill, seed)
    while not doing.done:
        doing.step(device(pilot.sticks()))
    return doing.flown()
