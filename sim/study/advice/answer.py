"""Advice as it is told: the changes, their price, and the airframe before and after."""

from __future__ import annotations

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.study.odds.survival import ByHands
from firstthrow.sim.study.verdict import Verdict

LITTLE = 0.5e-3  # [kg] less added is not told


@frozen
class Step(Answer):
    """One change, with what it weighs and takes."""

    text: str
    mass_change_kg: float
    work_min: float
    place_m: tuple[float, float, float] | None = None  # of what is added: aft, right, up


@frozen
class Standing(Answer):
    """An airframe as it was checked and flown; the odds are those of its own launch."""

    verdict: Verdict
    static_margin_percent: float
    odds: ByHands
    stopped_by: tuple[str, ...]  # parts of the verdict that forbid it
    because: str = ""  # the first reason


def before_and_after(before: Standing, after: Standing, is_better: bool) -> str:
    """What a change does, such as 'go, margin 8.0 %, 30 of 30 launches survive (now 3.0 %, 11 of
    30)'."""
    ends = "go" if after.verdict is Verdict.GO else f"no-go for {' and '.join(after.stopped_by)}"
    words = (
        f"{ends}, margin {after.static_margin_percent:.1f} %, {after.odds.words} "
        f"(now {before.static_margin_percent:.1f} %, {before.odds.survived} of "
        f"{before.odds.flown})"
    )
    return words if is_better else f"{words}: no better than as it is, leave it"


@frozen
class Needed(Answer):
    """The slowest throw at which enough launches survive; None where none up to twice the stall
    speed does."""

    text: str  # with what
    speed_m_s: float | None


@frozen
class Advice(Answer):
    """No steps where nothing that was tried helps."""

    steps: tuple[Step, ...]
    mass_change_kg: float
    work_min: float
    before: Standing
    after: Standing
    throws: tuple[Needed, ...]  # what a throw has to be, where it is the throw that fails

    @property
    def goes(self) -> bool:
        return bool(self.steps) and self.after.verdict is Verdict.GO

    def words(self, units: Units = METRIC) -> str:
        if not self.steps:
            return "Nothing that was tried helps: it takes another layout."
        what = "; ".join(step.text for step in self.steps)
        was = self.before
        mass = units.mass(self.mass_change_kg, sign="+")
        added = f"{mass}, " if abs(self.mass_change_kg) >= LITTLE else ""
        rest = (
            f"margin {self.after.static_margin_percent:.1f} %, {self.after.odds.words} "
            f"(now {was.static_margin_percent:.1f} %, {was.odds.survived} of {was.odds.flown}); "
            f"{added}{_time(self.work_min)}"
        )
        if self.goes:
            return f"{what[:1].upper()}{what[1:]}: go, {rest}."
        return (
            f"Nothing that was tried makes it go. Nearest: {what}: {rest}; still no-go for "
            f"{' and '.join(self.after.stopped_by)}"
            f"{f': {self.after.because}' if self.after.because else ''}."
        )

    def throw_words(self, units: Units = METRIC) -> str:
        """What a throw has to be, and what lowers it; empty where it is not the throw."""
        told = [
            f"{one.text} {units.throw(one.speed_m_s)}"
            if one.speed_m_s
            else f"{one.text} no throw does"
            for one in self.throws
        ]
        return f"Throw it at least: {', '.join(told)}." if told else ""


def _time(minutes: float) -> str:
    if minutes < 90.0:
        return f"some {max(5, 5 * round(minutes / 5)):.0f} min of work"
    return f"some {minutes / 60.0:.0f} h of work"
