"""What is compiled for a first flight: whether it has been, and what it is to a person."""

from __future__ import annotations

import os
from typing import NamedTuple

from firstthrow.sim.kernels.compiled import CACHE, PLAIN
from firstthrow.sim.kernels.machine.kept import _file


class Stage(NamedTuple):
    kernel: str  # its file and name
    begins: float  # after this share of the time, on a usual machine
    words: str


# In the order in which they are done.
STAGES = (
    Stage("drive.in_stream", 0.0, "the propeller's stream"),
    Stage("mix.mixed", 0.02, "what the sticks move"),
    Stage("held.load", 0.03, "the air on every strip"),
    Stage("held.most_held_lift", 0.11, "the stall"),
    Stage("derivative.derivative", 0.12, "all forces together"),
    Stage("integrate.step", 0.33, "a step of the flight"),
    Stage("integrate.advance", 0.97, "the flight"),
)
# And then for simulated hands.
HANDS = (
    "steady.steady",
    "steady.place",
    "settled.settle",
    "mix.turned",
    "human.wake",
    "batch.show",
    "human.look",
    "circuit.guide",
    "human.act",
)


def missing() -> tuple[Stage, ...]:
    """What the next first flight has to compile; all of it where nothing can be kept."""
    return tuple(stage for stage in STAGES if not _is_kept(stage.kernel))


def hands_missing() -> bool:
    """Whether simulated hands would have to compile something."""
    return not all(_is_kept(kernel) for kernel in HANDS)


def _is_kept(kernel: str) -> bool:
    """Whether there is nothing to compile of it on this machine."""
    if PLAIN or CACHE is None:
        return PLAIN
    if os.name != "posix":
        return any(CACHE.rglob(f"{kernel}-*.nbi"))
    return any(CACHE.glob(_file(CACHE, f"{kernel}-*").name))
