"""Verdicts, and the one table of words for each of them."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from firstthrow.sim.answer import Answer, frozen


class Verdict(StrEnum):
    """Of the whole pre-flight and of each of its parts."""

    GO = "go"
    NO_GO = "no-go"


@frozen
class Ruling(Answer):
    """The verdict of the whole pre-flight as every report quotes it, and what decides it, in one
    sentence; `stopped_by`: the parts that forbid it."""

    verdict: Verdict
    sentence: str
    stopped_by: tuple[str, ...]


class BalanceVerdict(StrEnum):
    """Where the balance lies against its limits."""

    OK = "ok"
    TOO_FAR_AFT = "too-far-aft"
    TOO_FAR_FORWARD = "too-far-forward"
    NO_BAND = "no-band"
    BEHIND_NEUTRAL_POINT = "behind-neutral-point"
    NO_PITCH_CONTROL = "no-pitch-control"
    PITCH_TOO_WEAK = "pitch-too-weak"

    @property
    def is_hopeless(self) -> bool:
        """Whether it cannot fly at all like this."""
        return self in (
            BalanceVerdict.BEHIND_NEUTRAL_POINT,
            BalanceVerdict.NO_PITCH_CONTROL,
            BalanceVerdict.PITCH_TOO_WEAK,
        )

    @property
    def fact(self) -> str:
        """What is so, in words."""
        return BALANCE_WORDS[self].fact

    @property
    def headline(self) -> str:
        return f"NO-GO: {self.fact}" if self.is_hopeless else self.fact

    @property
    def told(self) -> str:
        """What is so and what to do about it, in a line."""
        remedy = BALANCE_WORDS[self].remedy
        return f"{self.headline}; {remedy}" if remedy else self.headline


class Words(NamedTuple):
    fact: str
    remedy: str


BALANCE_WORDS = {
    BalanceVerdict.OK: Words("inside the allowed band", ""),
    BalanceVerdict.TOO_FAR_AFT: Words(
        "the CG lies behind the rear limit", "balance further forward"
    ),
    BalanceVerdict.TOO_FAR_FORWARD: Words(
        "the CG lies ahead of the front limit", "balance further aft"
    ),
    BalanceVerdict.NO_BAND: Words(
        "no balance suits: what it can be trimmed at and what is stable do not meet", ""
    ),
    BalanceVerdict.BEHIND_NEUTRAL_POINT: Words(
        "the CG lies behind the neutral point: it cannot fly by itself", "balance further forward"
    ),
    BalanceVerdict.NO_PITCH_CONTROL: Words("no elevator or elevon: nothing holds the nose up", ""),
    BalanceVerdict.PITCH_TOO_WEAK: Words(
        "the elevator or elevon is too weak: at this balance it holds the nose at no attitude", ""
    ),
}
