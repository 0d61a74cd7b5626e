"""How near a flight came to a lesson's aims: a mark of 0 to 100, by deviation.

100 is through the middle of every gate and at rest in the middle of the box; at the stakes it is
50, a whole half-width outside them nothing. The mark of a lesson is the mean over its aims; what
broke halves it. A flight whose sticks were left alone has no mark, wherever it went.
"""

from __future__ import annotations

import math
from typing import Any

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.record import Record, reading_type
from firstthrow.sim.learn.school.lessons import BY_NAME, Box, Gate, Lesson

EDGE = 50.0  # the mark at a stake
REACH = 2.0  # half-widths from the middle at which nothing is left of it
MOVED = 0.3  # of full stick, all sticks and all movements together: less is nobody's flight
STICKS = ("stick_roll", "stick_pitch", "stick_yaw", "throttle")
ALL_PASSED = 3  # in a row, and the next lesson is shown


@frozen
class Aimed(Answer):
    """One aim: how far from its middle it was met, in half-widths; None where it was not."""

    aim: str
    deviation: float | None
    mark: float


@frozen
class Mark(Answer):
    lesson: str
    mark: float  # 0..100
    passed: bool  # every aim met within its edges, and in one piece
    flown: bool  # somebody moved the sticks
    whole: bool  # it did not break
    aims: tuple[Aimed, ...]

    @property
    def words(self) -> str:
        """Such as '72 of 100, passed: gate 1 88, gate 2 56.'"""
        if not self.flown:
            return "no mark: the sticks were left alone."
        verdict = "passed" if self.passed else "not passed"
        each = ", ".join(
            f"{one.aim} {'missed' if one.deviation is None else f'{one.mark:.0f}'}"
            for one in self.aims
        )
        broken = "" if self.whole else "; what broke halves it"
        return f"{self.mark:.0f} of 100, {verdict}: {each}{broken}."


def worth(deviation: float) -> float:
    """The mark of a deviation in half-widths."""
    if deviation <= 1.0:
        return 100.0 - (100.0 - EDGE) * deviation
    return max(0.0, EDGE * (REACH - deviation) / (REACH - 1.0))


def through(gate: Gate, was: tuple, now: tuple) -> float | None:
    """Deviation of a step from place to place (ahead, right, up) [m] that passes a gate the right
    way; None for one that does not, or passes it further off than counts."""
    angle = math.radians(gate.toward)
    c, s = math.cos(angle), math.sin(angle)

    def along(place: tuple) -> float:
        return c * (place[0] - gate.ahead) + s * (place[1] - gate.right)

    before, after = along(was), along(now)
    if not before < 0.0 <= after:
        return None
    share = -before / (after - before)
    ahead, right, up = (a + share * (b - a) for a, b in zip(was, now, strict=True))
    side = -s * (ahead - gate.ahead) + c * (right - gate.right)
    off = max(abs(side) / gate.half, abs(up - gate.height) / gate.tall)
    return off if off < REACH else None


def rest(box: Box, place: tuple) -> float | None:
    """Deviation of a place of rest from the middle of the box; None further off than counts."""
    off = max(abs(place[0] - box.ahead) / box.long, abs(place[1] - box.right) / box.wide)
    return off if off < REACH else None


class Attempt:
    """Sees the readings of one flight, from the release on; `heading` [rad] is the pilot's."""

    def __init__(self, lesson: Lesson, heading: float):
        self.lesson = lesson
        self.c, self.s = math.cos(heading), math.sin(heading)
        self.met: list[float] = []  # deviation of each gate passed, in order
        self.moved = 0.0
        self.seconds = 0.0
        self.place: tuple | None = None
        self.sticks: tuple | None = None

    @property
    def at(self) -> int:
        """Which gate comes next; the number of gates once all are behind."""
        return len(self.met)

    @property
    def done(self) -> bool:
        """Whether nothing more can be gained before it comes to rest."""
        lesson = self.lesson
        gates = self.at == len(lesson.gates) and lesson.box is None
        return (gates and self.seconds >= lesson.stays) or self.seconds >= lesson.seconds

    def see(self, reading: Any) -> None:
        """A reading later than the last; those from the hand don't count."""
        if reading.time_s <= 0.0 or self.done:
            return
        ahead = self.c * reading.north_m + self.s * reading.east_m
        right = -self.s * reading.north_m + self.c * reading.east_m
        place = ahead, right, reading.height_m
        sticks = tuple(getattr(reading, name) for name in STICKS)
        if self.place is not None and self.sticks is not None:
            self.moved += sum(abs(a - b) for a, b in zip(sticks, self.sticks, strict=True))
            if self.at < len(self.lesson.gates):
                off = through(self.lesson.gates[self.at], self.place, place)
                if off is not None:
                    self.met.append(off)
        self.place, self.sticks, self.seconds = place, sticks, reading.time_s

    def mark(self, outcome: Outcome | None) -> Mark:
        """`outcome` None while it flies."""
        lesson = self.lesson
        whole = outcome is None or outcome.word.survived
        flown = self.moved >= MOVED
        offs: list[float | None] = [*self.met, *[None] * (len(lesson.gates) - self.at)]
        names = [f"gate {k}" for k in range(1, len(offs) + 1)]
        if lesson.box is not None:
            down = outcome is not None and outcome.word == "landed" and self.place is not None
            ready = down and self.at == len(lesson.gates)
            offs.append(rest(lesson.box, self.place) if ready and self.place else None)
            names.append("box")
        if lesson.stays:
            alive = self.seconds >= lesson.stays
            offs.append(0.0 if alive and self.at else None)
            names.append(f"{lesson.stays:.0f} s")
        aims = tuple(
            Aimed(
                name, None if off is None else round(off, 3), worth(off) if off is not None else 0
            )
            for name, off in zip(names, offs, strict=True)
        )
        mean = sum(one.mark for one in aims) / len(aims)
        value = (mean if whole else 0.5 * mean) if flown else 0.0
        within = all(off is not None and off <= 1.0 for off in offs)
        return Mark(lesson.name, round(value, 1), within and whole and flown, flown, whole, aims)


def of_record(record: Record) -> Mark | None:
    """The mark of a recorded lesson; None for a flight that was none, or was flown by others."""
    lesson = BY_NAME.get(record.meta.get("lesson") or "")
    if lesson is None or record.meta.get("handed_over_at_s"):
        return None
    attempt = Attempt(lesson, float(record.meta.get("field_si", {}).get("heading", 0.0)))
    kind = reading_type(record.columns)
    for row in record.rows:
        attempt.see(kind(*row.tolist()))
    outcome = record.outcome
    return attempt.mark(None if attempt.done and lesson.box is None else outcome)


def sentence(record: Record) -> str:
    """For a debrief; empty for a flight that was no lesson."""
    found = of_record(record)
    return "" if found is None else f"Lesson, {BY_NAME[found.lesson].title.lower()}: {found.words}"


def in_a_row(passed: list[bool]) -> int:
    """How many of the last were passed without one between that was not."""
    count = 0
    for one in reversed(passed):
        if not one:
            break
        count += 1
    return count
