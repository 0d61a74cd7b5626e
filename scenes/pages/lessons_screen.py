"""The lessons in the window: nine of them in their order, the last marks of each, and the evening's
as one small chart. Every one can be chosen at any time."""

from __future__ import annotations

from datetime import datetime

from firstthrow.scenes.flight import lesson_log
from firstthrow.scenes.pages.screens import LEFT, Rows, choosing
from firstthrow.sim.learn.school.lessons import LESSONS
from firstthrow.sim.learn.school.marking import ALL_PASSED, EDGE
from firstthrow.sim.paper.page import Line, Page, Part, Words, box

TOP, STEP = 166.0, 10.4  # of the rows [mm]
AIM_AT, LAST_AT, BEST_AT = 70.0, 238.0, 283.0
CHART = (24.0, 14.0, 240.0, 30.0)  # x, y, width, height [mm]
PITCH = 10.0  # from bar to bar


class LessonsScreen(Rows):
    """Up and Down choose, Enter begins; the first row flies without a lesson."""

    count = len(LESSONS) + 1

    def __init__(self, app):
        self.note = ""
        self.kept: list[lesson_log.Kept] = []
        if app.keeps:
            try:
                self.kept = lesson_log.kept()
            except (OSError, ValueError) as error:
                self.note = f"The lessons flown so far cannot be read: {error}"
        now = app.aids.schooling.lesson
        self.at = LESSONS.index(now) + 1 if now else 1
        if now and lesson_log.row(self.kept, now.name) >= ALL_PASSED:
            self.at = min(len(LESSONS), self.at + 1)
        super().__init__(app)

    def take(self) -> None:
        schooling = self.app.aids.schooling
        self.app.leave()
        if self.at == 0:
            schooling.leave()
        else:
            schooling.begin(LESSONS[self.at - 1].name)

    def page(self) -> Page:
        parts: list[Part] = [
            Words(LEFT, 190.0, "Flying lessons", 7.0, True),
            Words(
                LEFT,
                182.0,
                f"{choosing('begins', 'lessons')} {EDGE:.0f} is at the stakes, 100 in the middle.",
                4.0,
            ),
            Words(LAST_AT, TOP + 7.0, "last three", 3.6, True, "center"),
            Words(BEST_AT, TOP + 7.0, "best", 3.6, True, "right"),
        ]
        rows = [("Free flight", "No lesson: nothing stands on the field.", "")]
        rows += [
            (f"{k}  {lesson.title}", lesson.aim, lesson.name)
            for k, lesson in enumerate(LESSONS, start=1)
        ]
        for k, (title, aim, name) in enumerate(rows):
            parts += self._row(TOP - STEP * k, title, aim, name, k == self.at)
        parts += chart(lesson_log.evening(self.kept, datetime.now().astimezone()))
        if self.note:
            parts.append(Words(LEFT, 3.6, self.note, 3.8, True))
        return Page(tuple(parts))

    def _row(self, y: float, title: str, aim: str, name: str, here: bool) -> list[Part]:
        parts: list[Part] = []
        if here:
            parts.append(box(LEFT - 4.0, y - 3.2, 277.0, STEP - 1.0, 0.86, 0.6))
        parts += [Words(LEFT, y, title, 4.4, True), Words(AIM_AT, y, aim, 3.6)]
        own = [one for one in self.kept if one.lesson == name]
        for k, one in enumerate(own[-3:]):
            x = LAST_AT - 13.0 + 9.0 * k
            parts.append(box(x, y - 1.6, 8.0, 6.2, 1.0 if one.passed else 0.75, 0.5))
            parts.append(Words(x + 4.0, y, f"{one.mark:.0f}", 3.4, one.passed, "center"))
        if own:
            parts.append(Words(BEST_AT, y, f"{max(o.mark for o in own):.0f}", 4.2, True, "right"))
        return parts


def chart(flown: list[lesson_log.Kept]) -> list[Part]:
    """One bar a flight, in order, the lesson's number under it; dark where it was passed."""
    x, y, wide, tall = CHART
    if not flown:
        return [Words(LEFT, y + tall - 4.0, "No lesson flown this evening.", 4.2)]
    numbers = {lesson.name: k for k, lesson in enumerate(LESSONS, start=1)}
    head = "This evening, flight by flight: mark over the lesson's number; dark: passed"
    parts: list[Part] = [
        Words(LEFT, y + tall + 4.0, head, 4.0, True),
        Line(((x, y), (x + wide, y)), 0.4),
        Line(((x, y + EDGE / 100.0 * tall), (x + wide, y + EDGE / 100.0 * tall)), 0.2, 0.5, (2, 2)),
        Line(((x, y + tall), (x + wide, y + tall)), 0.2, 0.5, (2, 2)),
        Words(x - 1.5, y + tall - 1.2, "100", 3.2, anchor="right"),
        Words(x - 1.5, y + EDGE / 100.0 * tall - 1.2, f"{EDGE:.0f}", 3.2, anchor="right"),
        Words(x - 1.5, y - 1.2, "0", 3.2, anchor="right"),
    ]
    for k, one in enumerate(flown):
        left = x + 2.0 + PITCH * k
        size = max(0.4, one.mark / 100.0 * tall)
        parts.append(box(left, y, PITCH - 3.0, size, 0.25 if one.passed else 0.85, 0.4))
        number = f"{numbers[one.lesson]}"
        parts.append(Words(left + 0.5 * (PITCH - 3.0), y - 4.6, number, 3.6, True, "center"))
    return parts
