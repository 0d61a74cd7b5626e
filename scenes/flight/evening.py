"""What a person's own folder adds to the page of an evening: what was measured of their hands."""

from __future__ import annotations

from datetime import date

from firstthrow.scenes.hands import own_hands
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.study.hands.told import since


def hands_lines(day: date | None) -> list[str]:
    """Figures of the exercises of that day, and how they have changed since the time before; none
    where there are none."""
    try:
        own = own_hands.kept()
    except (ConfigError, OSError):
        return []
    last = own.last
    if last is None or last.when.date() != day:
        return []
    skill = last.measured.skill
    told = [f"Measured that day: they answer after {skill.delay:.2f} s."]
    before = own.before(last.device)
    if before is not None:
        days = before.when.date(), last.when.date()
        told.append(since(last.measured, before.measured, *days))
    return told
