"""How a flight ends: every word for it, and what the words mean for the airframe."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from firstthrow.sim.kernels import integrate


class Ending(StrEnum):
    """The words of records and of answers."""

    LANDED = "landed"
    TIME_UP = "time-up"
    STOPPED = "stopped"
    BROKE = "broke"
    FOLDED = "folded"
    PROPELLER_STRIKE = "propeller-strike"
    LEFT_FIELD = "left-field"
    DIVERGED = "diverged"

    @property
    def survived(self) -> bool:
        """Whether the airframe came down in one piece, or still flew when the flight was ended."""
        return self in (Ending.LANDED, Ending.TIME_UP, Ending.STOPPED)

    @property
    def broken(self) -> bool:
        """Whether there is no airframe left, or no flight that could be gone on with; what flew
        out of the field is lost, but whole."""
        return not self.survived and self is not Ending.LEFT_FIELD

    @property
    def plain(self) -> str:
        """For people, in a list: propeller strike."""
        return _PLAIN[self][0]

    @property
    def sentence(self) -> str:
        """For people, to open a sentence with: The turning propeller hit the ground."""
        return _PLAIN[self][1]


_PLAIN = {
    Ending.LANDED: ("landed", "Landed in one piece"),
    Ending.TIME_UP: ("time up", "Still flying at the end"),
    Ending.STOPPED: ("stopped", "Stopped before it ended"),
    Ending.BROKE: ("broke on the ground", "Broke on the ground"),
    Ending.FOLDED: ("folded", "The wing folded"),
    Ending.PROPELLER_STRIKE: ("propeller strike", "The turning propeller hit the ground"),
    Ending.LEFT_FIELD: ("left the field", "It flew out of the field"),
    Ending.DIVERGED: ("numbers broke down", "The numbers broke down"),
}


class Outcome(NamedTuple):
    word: Ending
    text: str


ENDINGS = {  # by the numbers that the kernels tell
    integrate.LANDED: Ending.LANDED,
    integrate.BROKE: Ending.BROKE,
    integrate.FOLDED: Ending.FOLDED,
    integrate.STRUCK: Ending.PROPELLER_STRIKE,
    integrate.LEFT: Ending.LEFT_FIELD,
    integrate.DIVERGED: Ending.DIVERGED,
}
# The same numbers, and what still flies, for many flights at once.
SURVIVING = (integrate.FLYING, *(k for k, ending in ENDINGS.items() if ending.survived))
