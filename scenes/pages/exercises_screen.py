"""The exercises in the window: three of 40 s that measure the person's hands, and what they found.

The line says where the nose should point, the airframe from behind how it is banked; both answer
the sticks as the airframe itself would. Measuring goes on beside the window.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from math import cos, degrees, sin
from random import randrange
from textwrap import wrap

from firstthrow.scenes.hands import own_hands
from firstthrow.scenes.hands.bindings import NOW, key_words
from firstthrow.scenes.pages.screens import LEFT, Screen
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.flight.skills import steers_by_rudder
from firstthrow.sim.paper.page import Line, Page, Part, Words, box, disc
from firstthrow.sim.study.hands import told
from firstthrow.sim.study.hands.element import FRAME, Element, element
from firstthrow.sim.study.hands.exercise import FRAMES, NAMES, TITLES, Doing, Flown
from firstthrow.sim.study.hands.measure import Measured, measure, unusable
from firstthrow.sim.study.subject import Subject

ENTER = ("RETURN", "ENTER", "NUM_ENTER")
MIDDLE = (148.5, 92.0)  # of the picture on the page [mm]
DEGREE = 2.0  # of pitch, on the page [mm]
HALF = 118.0  # of the line
WING = 44.0  # of the airframe's picture
LIMIT = 66.0  # the line leaves the picture no further [mm]
TALL = 12.0  # of a whole bar of the chart [mm]
SOONEST = 0.5  # [s] a page stands before a key goes on from it
HOW = (
    ("Stick back where the line is above the nose, forward where it is below.",),
    ("Gusts roll it: keep its wings level.",),
    ("The line moves and gusts roll it: hold both.",),
)


class ExercisesScreen(Screen):
    """One exercise after another, then the result; `app` is the window's."""

    def __init__(self, app):
        self.pool = ThreadPoolExecutor(1)
        airframe, field = app.sound
        subject = Subject(airframe, field, model=app.models[""] if not app.fault else None)
        self.by_yaw = steers_by_rudder(airframe)
        self.app = app
        self.work: Future | None = self.pool.submit(element, subject)
        self.steered: Element | None = None
        self.seed = randrange(2**31)
        self.doing: Doing | None = None
        self.runs: list[Flown] = []
        self.found: Measured | None = None
        self.trouble = ""
        self.since = ""  # what changed since the last time
        self.days = self._days()
        self.stood, self.owed = 0.0, 0.0
        super().__init__(app)
        if app.thumbs.straight is not None:
            self.trouble = (
                "The device sends channels that are mixed already: no stick can be seen in them. "
                "Switch its mixing off, or take the keyboard."
            )

    def _days(self) -> list[own_hands.Practised]:
        """Of this airframe in this field, as `firstthrow hands` kept them."""
        if not self.app.keeps:
            return []
        airframe, field = self.app.sound
        try:
            return own_hands.kept().days(airframe.name, field.name)
        except (OSError, ConfigError):
            return []

    def key(self, name: str) -> bool:
        if name not in ENTER:
            return False
        self.act("release")
        return True

    def act(self, action: str) -> None:
        """The button that throws goes on, too."""
        if action != "release" or self.stood < SOONEST or self.steered is None or self.work:
            return
        if self.app.thumbs.straight is not None:
            return
        if self.doing is not None:
            return
        if self.found is not None or self.trouble:
            self._afresh()
        elif len(self.runs) < len(NAMES):
            self.app.thumbs.restart()
            self.doing = Doing(self.steered, len(self.runs), self.seed, self.by_yaw)
        self.stood = self.owed = 0.0

    def unplugged(self) -> None:
        """What was begun with it cannot be gone on with by other means."""
        if self.doing is not None or (self.runs and self.found is None and not self.work):
            self._afresh()
            self.doing, self.stood = None, 0.0
            self.trouble = "The gamepad was unplugged. The keyboard has the sticks."

    def _afresh(self) -> None:
        self.seed = randrange(2**31)
        self.runs, self.found, self.trouble, self.since = [], None, "", ""

    def frame(self, seconds: float, sticks: Sticks) -> None:
        self.stood += seconds
        if self.work and self.work.done():
            self._take()
        if self.doing is None:
            return
        self.owed += min(seconds, 0.1)
        while self.owed >= FRAME and not self.doing.done:
            self.doing.step(sticks, self.app.thumbs.held(sticks))
            self.owed -= FRAME
        if self.doing.done:
            self._over(self.doing.flown())

    def _take(self) -> None:
        """What was worked out beside the window."""
        done, self.work = self.work, None
        assert done is not None
        try:
            found = done.result()
        except ValueError as error:
            self.trouble = _sentence(str(error))
            return
        if isinstance(found, Element):
            self.steered = found
            return
        self.found = found
        self._keep(found)

    def _keep(self, found: Measured) -> None:
        if not self.app.keeps:
            return
        try:
            own = own_hands.add(self.app.sound[0].name, self.app.thumbs.source, found)
        except (OSError, ConfigError) as error:
            self.since = f"Not kept: {trouble(error)}"
            return
        last, before = own.last, own.before(self.app.thumbs.source)
        if last and before:
            days = before.when.date(), last.when.date()
            self.since = told.since(found, before.measured, *days)

    def _over(self, flown: Flown) -> None:
        self.doing, self.stood = None, 0.0
        why = unusable(flown)
        if why:
            self.trouble = _sentence(why)
            return
        self.runs.append(flown)
        if len(self.runs) == len(NAMES) and self.steered is not None:
            keys = self.app.thumbs.source == "keyboard"
            self.work = self.pool.submit(measure, self.steered, tuple(self.runs), keys)

    def close(self) -> None:
        super().close()
        self.pool.shutdown(wait=False, cancel_futures=True)

    def page(self) -> Page:
        if self.doing is not None:
            return Page(tuple(self._picture(self.doing)))
        if self.found is not None:
            return Page(tuple(self._result(self.found)))
        return Page(tuple(self._words()))

    def _head(self, title: str) -> list[Part]:
        leave = f"{key_words('exercises')} or Esc leaves"
        return [
            Words(LEFT, 190.0, title, 7.0, True),
            Words(283.0, 8.0, leave, 3.8, anchor="right"),
        ]

    def _words(self) -> list[Part]:
        """Between exercises: what comes, or what went wrong."""
        go = "Enter" if NOW.buttons is None else f"Enter or {key_words('release')}"
        number = len(self.runs)
        lines: tuple[str, ...]
        if self.trouble:
            title, lines = "Your hands", (self.trouble,)
            if self.steered is not None and self.app.thumbs.straight is None:
                lines = (*lines, f"{go}: from the beginning.")
        elif self.work:
            title = "Your hands"
            lines = ("Working it out ..." if self.steered else "Getting ready ...",)
        else:
            title = f"{number + 1} of {len(NAMES)}: {TITLES[number]}"
            lines = (
                *HOW[number],
                "First it jumps three times: answer each as you would in flight.",
                f"It takes {FRAMES * FRAME:.0f} s. {go} starts it.",
            )
        parts: list[Part] = self._head(title)
        y = 172.0
        for line in lines:
            for row in told.wrapped(line):
                parts.append(Words(LEFT, y, row, 5.0))
                y -= 8.0
        return parts

    def _picture(self, doing: Doing) -> list[Part]:
        pitch, bank = doing.errors
        x, y = MIDDLE
        up = max(-LIMIT, min(LIMIT, DEGREE * degrees(pitch)))
        left = FRAMES * FRAME - doing.seconds
        parts: list[Part] = [
            *self._head(TITLES[doing.kind]),
            Words(283.0, 190.0, f"{left:.0f} s", 7.0, True, "right"),
            box(x - HALF - 6.0, y - LIMIT - 6.0, 2.0 * HALF + 12.0, 2.0 * LIMIT + 12.0, 0.95, 0.3),
        ]
        if doing.kind != 1:
            parts.append(Line(((x - HALF, y + up), (x + HALF, y + up)), 1.6))
        else:
            parts.append(Line(((x - HALF, y), (x + HALF, y)), 0.5, 0.4, (4.0, 3.0)))
        parts += _behind(x, y, -bank)
        return parts

    def _result(self, found: Measured) -> list[Part]:
        parts: list[Part] = self._head("Your hands beside beginner, club and expert hands")
        y = 172.0
        for row in told.rows(found):
            parts += _scale(row, LEFT + 34.0, y, 80.0)
            parts.append(Words(LEFT, y - 1.2, row.name, 3.8, True))
            for k, line in enumerate(wrap(row.sentence, 62)):
                parts.append(Words(LEFT + 124.0, y - 1.2 - 5.0 * k, line, 3.8))
            y -= 13.6
        y -= 1.0
        name = self.app.sound[0].name
        more = f"Enter: measure again. firstthrow hands {name}: the odds, and what to practise."
        after = (self.since, told.sides(found), told.NOT_A_FIELD, more)
        for line in after:
            for piece in wrap(line, 118) if line else ():
                parts.append(Words(LEFT, y, piece, 3.8))
                y -= 5.4
            y -= 1.6
        return [*parts, *_chart(self.days, LEFT, 8.0)]


def _sentence(reason: str) -> str:
    return f"{reason[0].upper()}{reason[1:]}."


def _chart(days: Sequence[own_hands.Practised], x: float, y: float) -> list[Part]:
    """How often it survived with these hands, a bar a day; nothing for no days."""
    if not days:
        return []
    head = f"Launches of {days[0].airframe} that survive with your hands, day by day"
    parts: list[Part] = [Words(x, y + TALL + 9.0, head, 3.8, True)]
    for k, one in enumerate(days):
        share = one.survived / max(one.flown, 1)
        at = x + 22.0 * k
        parts.append(box(at, y + 4.0, 12.0, max(TALL * share, 0.2), 0.7, 0.4))
        parts.append(
            Words(at + 6.0, y + 5.2 + TALL * share, f"{told.of_100(share)} %", 3.4, anchor="center")
        )
        parts.append(Words(at + 6.0, y, f"{one.when:%m-%d}", 3.4, anchor="center"))
    return parts


def _behind(x: float, y: float, bank: float) -> list[Part]:
    """The airframe from behind: wing, fin and nose; bank to the right goes clockwise."""

    def at(right: float, up: float) -> tuple[float, float]:
        c, s = cos(-bank), sin(-bank)
        return round(x + c * right - s * up, 1), round(y + s * right + c * up, 1)

    return [
        Line((at(-WING, 0.0), at(WING, 0.0)), 2.6),
        Line((at(0.0, 0.0), at(0.0, 15.0)), 1.6),
        disc(x, y, 3.0, 1.0, 1.0),
    ]


def _scale(row: told.Row, x: float, y: float, wide: float) -> list[Part]:
    """The skills' letters on a line, these hands as a disc on their interval."""

    def at(value: float) -> float:
        return round(x + wide * row.place(value), 1)

    parts: list[Part] = [Line(((x, y), (x + wide, y)), 0.3, 0.5)]
    for name, value in row.skills.items():
        parts.append(Line(((at(value), y - 1.4), (at(value), y + 1.4)), 0.4))
        parts.append(Words(at(value), y + 2.4, name[0], 3.6, anchor="center"))
    parts.append(Line(((at(row.figure.low), y), (at(row.figure.high), y)), 1.6))
    parts.append(disc(at(row.figure.value), y, 1.9, 0.0, 0.0))
    return parts
