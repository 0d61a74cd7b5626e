"""The three exercises: hold the nose on a moving line, wings level in gusts, and both at once.

First three jumps, which show the first move; then sums of sines whose periods fit a whole number
of times into what is measured, all different and each on one axis alone, with random phases: nobody
can foresee them, and nothing leaks between frequencies. Shown is only what is left to correct, so
that a person answers errors and nothing else.
Source: McRuer and Jex, IEEE Trans. Human Factors in Electronics HFE-8 (1967), from memory
(compensatory tracking of sums of sines, low frequencies strong, high ones weak).

Our assumptions: sizes of jumps and sines; gusts are told as the bank that they alone would give.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.study.hands.element import ANGLES, FRAME, RATES, Element

FRAMES = 2400  # 40 s
MEASURED = 480  # frames before this one are not measured by their spectrum
FADE = 90  # frames in which the sines come up before it
PERIODS = ((2, 5, 9, 14, 22, 34, 53, 79), (3, 7, 11, 17, 27, 43, 67))  # of pitch and of bank
CORNER = 1.8  # sines weaken beyond it [rad/s]
SIZE = (float(np.radians(9.0)), float(np.radians(14.0)))  # of the sines, root mean square [rad]
JUMP = (float(np.radians(14.0)), float(np.radians(18.0)))
JUMPS = (30, 165, 300)  # frames of the jumps, later by up to LATER
LATER = 30
BACK = 400  # from here on the line creeps back, until MEASURED
LOST = 2.2  # an angle beyond which it is lost [rad]; small motions know no upside down
NAMES = ("nose", "wings", "both")
TITLES = ("Hold the nose on the line", "Hold the wings level in gusts", "Hold both")
STEERED = ((0,), (1,), (0, 1))  # axes of each exercise: 0 pitch, 1 bank


class Jump(NamedTuple):
    frame: int
    axis: int  # 0 pitch, 1 bank
    size: float  # the error it leaves to correct, + up or right [rad]


class Forcing(NamedTuple):
    """What is asked of the person: errors that come by themselves."""

    angles: np.ndarray  # (FRAMES, 2) pitch and bank asked [rad]
    rates: np.ndarray  # (FRAMES, 2) how fast they grow, but for the jumps [rad/s]
    jumps: tuple[Jump, ...]


def forcing(kind: int, seed: int) -> Forcing:
    """Of an exercise, 0..2 of NAMES."""
    random = np.random.default_rng([seed, kind])
    angles, rates = np.zeros((FRAMES, 2)), np.zeros((FRAMES, 2))
    time = FRAME * (np.arange(FRAMES) - MEASURED)
    fade = np.clip((np.arange(FRAMES) - (MEASURED - FADE)) / FADE, 0.0, 1.0)
    for axis in STEERED[kind]:
        w = 2.0 * np.pi * np.array(PERIODS[axis]) / ((FRAMES - MEASURED) * FRAME)
        sizes = 1.0 / (1.0 + (w / CORNER) ** 2) + 0.03
        sizes *= SIZE[axis] / np.sqrt(0.5 * np.sum(sizes**2))
        phase = random.uniform(0.0, 2.0 * np.pi, len(w))
        turns = np.outer(time, w) + phase
        angles[:, axis] = fade * (np.sin(turns) @ sizes)
        rates[:, axis] = fade * (np.cos(turns) @ (sizes * w))
    jumps, creeps = [], np.clip((MEASURED - np.arange(FRAMES)) / (MEASURED - BACK), 0.0, 1.0)
    for frame in JUMPS:
        axis = int(random.choice(STEERED[kind]))
        start = frame + int(random.integers(LATER))
        size = float(random.choice((-1.0, 1.0))) * JUMP[axis]
        angles[start:, axis] += size * creeps[start:]
        rates[BACK:MEASURED, axis] -= size / ((MEASURED - BACK) * FRAME)
        jumps.append(Jump(start, axis, size))
    return Forcing(angles, rates, tuple(jumps))


class Flown(NamedTuple):
    """One exercise as it was done; sticks by axis: pitch (+ back), and the one that rolls."""

    kind: int
    jumps: tuple[Jump, ...]
    errors: np.ndarray  # (frames, 2) left to correct, + nose up, + right [rad]
    rates: np.ndarray  # (frames, 2) how fast they grow [rad/s]
    sticks: np.ndarray  # (frames, 2) as the hand held them
    lost: bool


class Doing:
    """An exercise while it is done: `errors` is what is to be seen now, `step` takes the sticks
    of the next frame. The window and simulated hands do it alike."""

    def __init__(self, steered: Element, kind: int, seed: int, by_yaw: bool = False) -> None:
        self.element, self.kind, self.by_yaw = steered, kind, by_yaw
        self.asked = forcing(kind, seed)
        self.frame = 0
        self.lost = False
        self.state = np.zeros(len(steered.step))
        self._rows: list[tuple[np.ndarray, np.ndarray, tuple[float, float]]] = []

    @property
    def done(self) -> bool:
        return self.lost or self.frame >= FRAMES

    @property
    def seconds(self) -> float:
        return self.frame * FRAME

    @property
    def errors(self) -> np.ndarray:
        """(2,) what is left to correct in pitch and bank [rad]; none on an axis not steered."""
        return self._left(self.asked.angles, ANGLES)

    @property
    def rates(self) -> np.ndarray:
        """(2,) how fast that grows [rad/s]."""
        return self._left(self.asked.rates, RATES)

    def _left(self, asked: np.ndarray, slots: list[int]) -> np.ndarray:
        left = np.zeros(2)
        for axis in STEERED[self.kind]:
            left[axis] = asked[min(self.frame, FRAMES - 1), axis] - self.state[slots[axis]]
        return left

    def step(self, sticks: Sticks, held: Sticks | None = None) -> None:
        """One frame with these sticks; nothing once it is done. `held`: as the hand holds them,
        where the device makes something else of that (a dead zone)."""
        if self.done:
            return
        moved = self._pair(sticks)
        self._rows.append((self.errors, self.rates, self._pair(held or sticks)))
        push = np.zeros(2)
        for axis in STEERED[self.kind]:
            push[axis] = moved[axis]
        self.state = self.element.step @ self.state + self.element.push @ push
        self.frame += 1
        self.lost = bool(np.any(np.abs(self.state[ANGLES]) > LOST))

    def _pair(self, sticks: Sticks) -> tuple[float, float]:
        return float(sticks.pitch), float(sticks.yaw if self.by_yaw else sticks.roll)

    def flown(self) -> Flown:
        errors, rates, sticks = (np.array(part) for part in zip(*self._rows, strict=True))
        return Flown(self.kind, self.asked.jumps, errors, rates, sticks, self.lost)
