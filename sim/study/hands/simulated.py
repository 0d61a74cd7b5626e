"""Simulated hands doing the exercises, as a person does them: frame by frame."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from firstthrow.sim.build.sticks import Sticks
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
    hand = airframe.launch.hand or airframe.launch.ground
    own = hands(skill, subject.model, airframe, hand.throttle if hand else 1.0)
    by_yaw = steers_by_rudder(airframe)
    return [
        do(Doing(steered, kind, seed, by_yaw), own, skill, seed, through())
        for kind in range(len(NAMES))
    ]


def do(
    doing: Doing, own: np.record, skill: Skill, seed: int, device: Callable[[Sticks], Sticks]
) -> Flown:
    """One exercise by hands (HANDS of `human`); what is chance about them is drawn by `seed`."""
    random, mind = np.random.default_rng([seed, 7, doing.kind]), np.zeros(1, human.MIND)[0]
    human.wake(mind, own, False)
    mind.aim_pitch = 0.0
    shown, since = np.zeros(human.SEEN), 1e3
    jumps = {jump.frame: jump.axis for jump in doing.asked.jumps}
    while not doing.done:
        if doing.frame in jumps:
            since, wrong = 0.0, -1.0 if random.random() < skill.wrong_chance else 1.0
            own.wrong_pitch, own.wrong_roll = (
                (wrong, 1.0) if jumps[doing.frame] == 0 else (1.0, wrong)
            )
        shown[human.PITCH], shown[human.BANK] = -doing.errors
        shown[human.PITCH_RATE], shown[human.ROLL_RATE] = -doing.rates
        human.look(mind, shown)
        human.act(mind, own, since, FRAME, random.standard_normal(2))
        side = float(mind.roll)
        doing.step(device(Sticks(side, float(mind.pitch), side, 0.0)))
        since += FRAME
    return doing.flown()
