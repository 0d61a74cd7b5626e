"""Lessons flown so far, kept in the user's folder: marks, what was passed, one evening's."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import platformdirs

from firstthrow.scenes.flight import kept_list
from firstthrow.sim.learn.school.lessons import BY_NAME
from firstthrow.sim.learn.school.marking import Mark, in_a_row

PAUSE = timedelta(hours=3)  # a longer one ends an evening
MOST = 24  # of an evening that are shown


class Kept(NamedTuple):
    when: datetime
    lesson: str
    airframe: str
    mark: float  # 0..100
    passed: bool


def path() -> Path:
    """Where they are kept; it need not exist."""
    return platformdirs.user_data_path("firstthrow", appauthor=False) / "lessons.json"


def kept() -> list[Kept]:
    """All so far, the oldest first; entries that are none are passed over. Raises OSError,
    ValueError."""
    found = []
    for one in kept_list.read(path()):
        try:
            when = datetime.fromisoformat(one["when"]).astimezone()
            entry = Kept(when, one["lesson"], one["airframe"], float(one["mark"]), one["passed"])
            known = entry.lesson in BY_NAME and 0.0 <= entry.mark <= 100.0
        except (KeyError, TypeError, ValueError, OverflowError):
            continue
        if known:
            found.append(entry)
    return found


def keep(airframe: str, mark: Mark) -> None:
    """Raises OSError."""
    told = {"airframe": airframe, "lesson": mark.lesson, "mark": mark.mark, "passed": mark.passed}
    kept_list.add(path(), told)


def evening(flown: list[Kept], now: datetime) -> list[Kept]:
    """The last ones up to now, without a long pause between them."""
    found: list[Kept] = []
    after = now
    for one in reversed(flown):
        if after - one.when > PAUSE or len(found) == MOST:
            break
        found.insert(0, one)
        after = one.when
    return found


def row(flown: list[Kept], lesson: str) -> int:
    """How often that lesson was passed in a row, up to the last time it was flown."""
    return in_a_row([one.passed for one in flown if one.lesson == lesson])


def passed() -> list[str]:
    """Lessons that were passed at least once; none where nothing is kept or can be read."""
    try:
        return sorted({one.lesson for one in kept() if one.passed})
    except (OSError, ValueError):
        return []
