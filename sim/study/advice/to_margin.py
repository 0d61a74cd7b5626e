"""Every way to a static margin, checked and flown."""

from __future__ import annotations

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.study.advice.answer import Standing, before_and_after
from firstthrow.sim.study.advice.search import is_better, tried
from firstthrow.sim.study.alternatives import NAMES
from firstthrow.sim.study.margin import ToMargin, told, ways
from firstthrow.sim.study.subject import Subject


@frozen
class Flown(Answer):
    """The airframe as it is and with each way, by few launches; None where there is no such way,
    or where it changes nothing."""

    now: Standing
    ballast: Standing | None
    move_pack: Standing | None
    lighter_surfaces: Standing | None
    longer_nose: Standing | None
    cut_leading_edge: Standing | None

    def words(self, after: Standing | None) -> str:
        """What a way does, before and after; empty where it was not flown."""
        if after is None:
            return ""
        return f"checked: {before_and_after(self.now, after, is_better(self.now, after))}"


def to_margin_flown(
    subject: Subject, margin: float, at: str | None, along: str | None, per_length: float
) -> tuple[ToMargin, Flown]:
    """Raises NoSuchPlace."""
    found = ways(subject, margin, at, along, per_length)
    after = {way.name: way.after for way in found.others if way.reaches}
    if found.ballast:
        after["ballast"] = found.ballast.after
    stands = {
        name: tried(after[name]) if name in after and after[name] is not subject else None
        for name in ("ballast", *NAMES)
    }
    flown = Flown(now=tried(subject), **stands)
    return told(subject, margin, found, per_length), flown
