"""A flying lesson in the window: its aims on the field, its mark once it is flown, what comes next.
`app` is the window's."""

from __future__ import annotations

import numpy as np

from firstthrow.scenes.flight import lesson_log
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.hands.bindings import key_words
from firstthrow.scenes.words.cautions import cautions
from firstthrow.scenes.words.instruments import Card, throttle_words
from firstthrow.scenes.world.aims import Aims
from firstthrow.scenes.world.camera import View
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.learn.school.lessons import BY_NAME, FAULTS, LESSONS, Lesson, after, in_wind
from firstthrow.sim.learn.school.marking import ALL_PASSED, Attempt, Mark
from firstthrow.sim.study.faults import FAULTS as FAULT_CARDS
from firstthrow.sim.study.faults import apply


class Schooling:
    """`act` takes what concerns the lesson, `frame` watches the flight, `card` speaks of it."""

    def __init__(self, app, settings: Settings):
        self.app = app
        self.lesson: Lesson | None = None
        self.aims: Aims | None = None
        self.field = app.sound[1]  # as it was before a lesson brought wind
        self.flight: object = None  # that is watched
        self.attempt: Attempt | None = None
        self.mark: Mark | None = None
        self.helped = False  # simulated hands have flown a part of it
        self.row = 0  # passed in a row, with the present one
        self.tries = 0
        self.trouble = ""
        self.wanted = settings.lesson  # begun with the first frame
        self.set_before = ""  # the fault that was set when the lessons began

    def begin(self, name: str) -> None:
        """Back in the hand with that lesson; its card says where that cannot be."""
        app = self.app
        if app.rehearsal.pilot is not None and not app.rehearsal.handed:
            self.trouble = "A script flies: lessons are for your own hands."
            return
        if self.lesson is None:
            self.set_before = app.fault
        self._end()
        self.lesson = BY_NAME[name]
        self.field = app.sound[1]
        self.aims = Aims(app.picture, self.lesson, self.field.heading)
        self.tries = 0
        windy = in_wind(self.lesson, self.field)
        if windy is not self.field:
            self._blow(windy)
        app.aids.launching.five = None
        app.set_fault(self._fault())

    def leave(self) -> None:
        """Back in the hand without a lesson, and without what it brought."""
        if self.lesson is not None:
            self._end()
            self.app.set_fault(self.set_before)

    def _end(self) -> None:
        if self.aims is not None:
            self.aims.delete()
        if self.lesson is not None and self.lesson.wind and self.app.sound[1] is not self.field:
            self._blow(self.field)
        self.lesson, self.aims, self.attempt, self.mark = None, None, None, None

    def _blow(self, field) -> None:
        self.app.sound = (self.app.sound[0], field)
        self.app.models = {}

    def _fault(self) -> str:
        """A mild one in turn that this airframe can have; none in most lessons."""
        if self.lesson is None or not self.lesson.faulty:
            return ""
        for k in range(len(FAULTS)):
            name = FAULTS[(self.tries + k) % len(FAULTS)]
            try:
                apply(name, *self.app.sound)
            except ConfigError:
                continue
            return name
        return ""

    def act(self, action: str) -> bool:
        """Whether the action was about the lesson and is done; others go on to the window."""
        if self.mark is None:
            self.trouble = ""
        if self.lesson is None:
            return False
        if action in ("release", "again") and self.mark is not None:
            self.tries += 1
            self.mark = None
            if self.lesson.faulty:
                self.app.set_fault(self._fault())
            else:
                self.app.act("again")
            return True
        if action == "first_ten":
            self.leave()
        return False

    def frame(self) -> None:
        if self.wanted is not None:
            self.begin(self.wanted)
            self.wanted = None
        rehearsal = self.app.rehearsal
        if rehearsal.recorded:
            return
        self._tell_record(rehearsal)
        if self.lesson is None:
            return
        if rehearsal.flight is not self.flight or self.attempt is None:
            self.flight = rehearsal.flight
            self.attempt = Attempt(self.lesson, rehearsal.field.heading)
            self.mark, self.helped = None, False
        if not rehearsal.flown or self.mark is not None:
            return
        self.helped = self.helped or rehearsal.pilot is not None
        self.attempt.see(rehearsal.reading)
        if self.attempt.done or rehearsal.over:
            self._score(self.attempt, rehearsal)

    def _tell_record(self, rehearsal) -> None:
        """What the record of the next flight says of the lesson."""
        name = self.lesson.name if self.lesson else None
        if rehearsal.changed.get("lesson") != name:
            told = {key: value for key, value in rehearsal.changed.items() if key != "lesson"}
            rehearsal.changed = {**told, "lesson": name} if name else told

    def _score(self, attempt: Attempt, rehearsal) -> None:
        finished = attempt.done and attempt.lesson.box is None
        self.mark = attempt.mark(None if finished else rehearsal.flight.outcome)
        rehearsal.clock.paused = True
        self.trouble = ""
        if self.helped:
            return
        try:
            if self.app.keeps:
                lesson_log.keep(rehearsal.airframe.name, self.mark)
                self.row = lesson_log.row(lesson_log.kept(), attempt.lesson.name)
                return
        except (OSError, ValueError) as error:
            self.trouble = f"Not kept: {trouble(error)}"
        self.row = self.row + 1 if self.mark.passed else 0

    def draw(self, view: View, aspect: float) -> None:
        if self.aims is not None and self.attempt is not None:
            self.aims.draw(view, aspect, self.attempt.at)

    @property
    def aim(self) -> np.ndarray | None:
        """Field place of what is to be flown to next."""
        if self.aims is None or self.attempt is None:
            return None
        return self.aims.middle(self.attempt.at)

    @property
    def outlines(self) -> list[np.ndarray]:
        """(n, 3) field places round each aim that is drawn."""
        if self.aims is None or self.attempt is None:
            return []
        return list(self.aims.places.values())

    @property
    def keeps_secret(self) -> bool:
        """Whether what is wrong with the airframe is for the pilot to find: until its mark."""
        return self.lesson is not None and self.lesson.faulty and self.mark is None

    @property
    def corner(self) -> str:
        """For the line in the corner; empty when there is nothing to say."""
        if self.lesson is None or self.attempt is None:
            return ""
        gates, at = len(self.lesson.gates), self.attempt.at
        coming = f"gate {at + 1} of {gates}" if at < gates else "box" if self.lesson.box else "done"
        return f"lesson: {self.lesson.title.lower()}, {coming}"

    def card(self) -> Card | None:
        """What there is to say of the lesson; None for the window's own words."""
        rehearsal = self.app.rehearsal
        if self.trouble and self.mark is None:
            return Card("No lesson", (self.trouble,))
        if self.lesson is None:
            return None
        if self.mark is not None:
            return self._mark_card(self.lesson, self.mark)
        waits = rehearsal.held or rehearsal.standing
        if rehearsal.clock.paused or not waits or self.app.aids.launching.count is not None:
            return None
        return self._ready_card(self.lesson)

    def _ready_card(self, lesson: Lesson) -> Card:
        number = LESSONS.index(lesson) + 1
        go = f"{throttle_words()} ({100 * self.app.facts.launch_throttle:.0f} % is planned)."
        throw = () if self.app.facts.kind == "ground" else (f"{key_words('release')} throws.",)
        mixed = self.app.thumbs.straight is not None
        warned = cautions(self.app.facts, self.app.rehearsal.reading, mixed)
        return Card(
            f"Lesson {number} of {len(LESSONS)}: {lesson.title.lower()}",
            (*warned, lesson.aim, " ".join((go, *throw))),
            (f"{key_words('lessons')}: another lesson, or none.",),
            bool(warned),
        )

    def _mark_card(self, lesson: Lesson, mark: Mark) -> Card:
        outcome = self.app.rehearsal.flight.outcome
        lines = [mark.words[0].upper() + mark.words[1:]]
        if outcome is not None and not mark.whole:
            lines.insert(0, outcome.text)
        if self.helped:
            lines = ["Simulated hands flew a part of it: it has no mark of yours."]
        elif self.row >= ALL_PASSED and mark.passed:
            lines.append(f"{self.row} in a row. Next: {after(lesson.name).title.lower()}.")
        elif mark.passed:
            lines.append(f"{self.row} of {ALL_PASSED} in a row.")
        if self.app.fault:
            lines.append(f"What was wrong: {FAULT_CARDS[self.app.fault].line}.")
        small = (
            *((self.trouble,) if self.trouble else ()),
            f"{key_words('release')}: once more. {key_words('lessons')}: another lesson, or none.",
        )
        return Card(lesson.title, tuple(lines), small, not mark.whole)
