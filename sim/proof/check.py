"""A check: published values, how the program works out its own, and how near they must be."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

import numpy as np


class Sure(StrEnum):
    """How sure a value from outside is."""

    PUBLISHED = "published"
    COPY = "published, read in a secondary copy"
    OPEN = "open data"
    DERIVED = "worked out apart from the program"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Check:
    """One quantity at one or more conditions. The gap is ours less the outside value; a value
    may be off by `relative` of the outside value and by `absolute` beside that.

    A check of which a value is further off than that says so: `missed` tells why, and `band` is
    where all its gaps lie, in parts of what is allowed. So a miss neither hides nor grows.
    """

    name: str
    quantity: str
    outside: tuple[float, ...]
    ours: Callable[[], Sequence[float] | np.ndarray]
    source: str
    sure: Sure
    relative: float = 0.0
    absolute: float = 0.0
    at: tuple = ()  # what each value belongs to: a number, or words
    of: str = ""  # what those numbers are, with their unit
    missed: str = ""
    band: tuple[float, float] = (-1.0, 1.0)

    @property
    def allowed(self) -> np.ndarray:
        """How far off each value may be, (n,)."""
        return self.relative * np.abs(self.outside) + self.absolute

    def gaps(self, ours: Sequence[float] | np.ndarray) -> np.ndarray:
        """Ours less the outside values, in parts of what is allowed, (n,)."""
        return (np.asarray(ours, float) - self.outside) / self.allowed

    def place(self, n: int) -> str:
        """The condition of a value in words."""
        if not self.at:
            return ""
        at = self.at[n]
        if isinstance(at, str):
            return at
        what, _, unit = self.of.partition(" [")
        return f"{what} {at:g} {unit.removesuffix(']')}".strip()


class Line(NamedTuple):
    """A line of the program's own over a curve's conditions."""

    name: str
    x: Sequence[float] | np.ndarray
    y: Sequence[float] | np.ndarray


@dataclass(frozen=True)
class Curve:
    """A plot: values from outside as points, the program's own as lines."""

    title: str
    x: str
    y: str
    points: tuple[str, ...]  # names of checks
    lines: Callable[[], Sequence[Line]]
    marks: Callable[[], Sequence[Line]] | None = None  # points by line, where checks have none


class Proved(NamedTuple):
    """A check that was run."""

    subject: str
    check: Check
    ours: tuple[float, ...]

    @property
    def gaps(self) -> np.ndarray:
        return self.check.gaps(self.ours)

    @property
    def worst(self) -> int:
        """Which of its values is furthest off, for what is allowed."""
        return int(np.argmax(np.abs(self.gaps)))

    @property
    def misses(self) -> bool:
        return bool(np.abs(self.gaps).max() > 1.0)

    @property
    def holds(self) -> bool:
        """Whether all its gaps lie where the check says; a miss that is not told is none."""
        low, high = self.check.band
        return bool(np.all((self.gaps >= low) & (self.gaps <= high)))
