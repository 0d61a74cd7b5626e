"""The direction drill: which fault is set, which answers are offered, which count as right."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import degrees
from random import Random
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import spoken, surface_spans
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.study import faults
from firstthrow.sim.study.servos import CORNERS

SOUND = "none"
SHOWN = (
    SOUND,
    "reversed-roll",
    "reversed-pitch",
    "swapped-elevons",
    "propeller-backwards",
    "motor-reversed",
    "elevon-stuck",
    "elevon-off",
)
SAME = 2.0  # [deg] two answers to the sticks that differ less look alike from behind


class Answer(NamedTuple):
    fault: str
    words: str


@dataclass
class Score:
    """How many were answered, and how many rightly, while the window is open."""

    asked: int = 0
    right: int = 0
    missed: list[str] = field(default_factory=list)  # faults not recognised, the last ones last

    def count(self, fault: str, right: bool) -> None:
        self.asked += 1
        self.right += right
        if not right:
            self.missed.append(fault)


class Question(NamedTuple):
    fault: str
    airframe: Airframe  # with the fault
    answers: tuple[Answer, ...]
    right: frozenset[str]  # the faults that cannot be told from the one that is set

    def is_right(self, number: int) -> bool:
        """Whether the answer of that number, from 1, is right."""
        return self.answers[number - 1].fault in self.right


def possible(airframe, meadow, led: Callable = lambda described: described) -> dict[str, Airframe]:
    """The airframe with every fault of the drill that it can have, by the fault's name; `led`
    gives each the servo leads that the device in use needs."""
    found = {SOUND: led(airframe)}
    sound = _answer(found[SOUND])
    for name in SHOWN[1:]:
        try:
            faulty = led(faults.apply(name, airframe, meadow)[0])
        except ConfigError:
            continue  # such as elevons to swap on an airframe without
        if not _same(sound, _answer(faulty)):  # such as a stick that moves nothing
            found[name] = faulty
    return found


def question(airframe, meadow, random: Random, last: str = "", *led: Callable) -> Question:
    """The next one, by chance; the fault of the one before comes again only half as often."""
    able = possible(airframe, meadow, *led)
    names = list(able)
    weights = [0.5 if name == last else 1.0 for name in names]
    fault = random.choices(names, weights)[0]
    answers = tuple(Answer(name, called(name, airframe)) for name in names)
    return Question(fault, able[fault], answers, alike(fault, able))


def alike(fault: str, able: dict[str, Airframe]) -> frozenset[str]:
    """The faults that move surfaces and propeller just as this one does. Reversed roll and
    exchanged elevon leads look the same on most airframes: only the leads themselves tell."""
    mine = _answer(able[fault])
    return frozenset(name for name, other in able.items() if _same(mine, _answer(other))) | {fault}


def _answer(airframe) -> tuple[np.ndarray, tuple]:
    mix: Callable = mixer(airframe).angles
    angles = np.degrees([mix(Sticks(*corner)) for corner in CORNERS.values()])
    others = [(m.leads_swapped, m.propeller.backwards) for m in airframe.motors.values()]
    for span in surface_spans(airframe):
        surface = span.described
        faulty = surface.faulty(span.side)
        if faulty and surface.stuck is not None:
            angles[:, span.slot] = degrees(surface.stuck)
        others.append((faulty and surface.off, faulty and surface.stuck is not None))
    return angles, tuple(others)


def _same(first: tuple, second: tuple) -> bool:
    return first[1] == second[1] and bool(np.abs(first[0] - second[0]).max(initial=0.0) < SAME)


def called(fault: str, airframe) -> str:
    """The answer's words for this airframe."""
    spans = surface_spans(airframe)
    before = {
        (s.sheet, s.surface, s.side): airframe.sheets[s.sheet].surfaces[s.surface] for s in spans
    }
    if fault in ("elevon-stuck", "elevon-off"):
        struck = _struck(fault, airframe, before)
        return f"{struck} {'does not move' if fault == 'elevon-stuck' else 'has come off'}"
    return {
        SOUND: "nothing is wrong",
        "reversed-roll": "roll is reversed",
        "reversed-pitch": "pitch is reversed",
        "swapped-elevons": "left and right leads exchanged",
        "propeller-backwards": "propeller is on back to front",
        "motor-reversed": "motor turns the wrong way",
    }[fault]


def _struck(fault: str, airframe, before: dict) -> str:
    """'left elevon': the surface that the fault changes."""
    from firstthrow.sim.describe.field import STANDARD

    after = faults.apply(fault, airframe, STANDARD)[0]
    for span in surface_spans(airframe):
        surface = after.sheets[span.sheet].surfaces[span.surface]
        if surface != before[(span.sheet, span.surface, span.side)] and surface.faulty(span.side):
            return spoken(span.name)
    return "a surface"
