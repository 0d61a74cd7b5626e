"""What a debrief finds in a flight: one sentence each, how bad, when, and how far past what."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from firstthrow.sim.answer import Answer, frozen


class Severity(StrEnum):
    """In order of badness."""

    NOTE = "note"
    CAUTION = "caution"
    DANGER = "danger"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return (Severity.DANGER, Severity.CAUTION, Severity.NOTE).index(self)


class Kind(StrEnum):
    """What a finding is about: the outcome, else the rule of `debrief` that found it."""

    OUTCOME = "outcome"
    UNLIMITED = "unlimited"
    HEIGHT_LOST = "height_lost"
    PITCHED_UP = "pitched_up"
    STALLED = "stalled"
    SLOW = "slow"
    RAN_OUT = "ran_out"
    FULL_STICK = "full_stick"
    HELD_OVER = "held_over"
    BLOWN_BACK = "blown_back"
    STEEP = "steep"
    SAGGED = "sagged"
    OVER_CURRENT = "over_current"
    CUT_OUT = "cut_out"
    BENT = "bent"
    LET_GO = "let_go"


@frozen
class Finding(Answer):
    """`value` and `limit` in the unit the text uses."""

    kind: Kind
    text: str
    severity: Severity
    start_s: float
    end_s: float
    value: float
    limit: float

    @property
    def is_trouble(self) -> bool:
        return self.severity is not Severity.NOTE


def worst_first(found: Iterable[Finding]) -> list[Finding]:
    """Dangers before cautions before notes, each in order of time."""
    return sorted(found, key=lambda finding: (finding.severity.rank, finding.start_s))
