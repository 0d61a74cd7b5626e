"""The verdict of the pre-flight on what is in the hand: worked out beside the window, in a process
of its own, so that no frame waits for it."""

from __future__ import annotations

from multiprocessing.connection import Connection

from firstthrow.scenes.hands import own_hands
from firstthrow.scenes.window.beside import Beside, give_way
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.flight.skills import Skill
from firstthrow.sim.study.verdict import Ruling

RESTS = 1.0  # [s] an airframe stays as it is before it is judged
GENTLE = 10  # how much the process gives way to the window
WORKING = "Working out the verdict ..."
NONE = "No verdict came out: ask firstthrow check."


class Judging(Beside):
    """Of one airframe at a time: another one, or a change on the bench, starts it anew. `app` is
    the window's; `unseen`: nobody reads it."""

    def __init__(self, app, unseen: bool) -> None:
        super().__init__()
        self.app, self.unseen = app, unseen
        self.airframe: Airframe | None = None
        self.rested = 0.0  # [s] since it is this one
        self.ruling: Ruling | None = None
        self.asked: tuple[str, ...] = ()  # how to throw it, and what masters the motor
        self.own = ""  # the odds with the person's own hands, where they were measured
        self.failed = False

    @property
    def words(self) -> str:
        """The sentence of the verdict, or that it is being worked out."""
        if self.ruling is not None:
            return f"{self.ruling.sentence} {self.own}".rstrip()
        return NONE if self.failed else WORKING

    @property
    def is_wanted(self) -> bool:
        """Whether it would be read: before a flight by hand, or on the bench."""
        flying = self.app.rehearsal
        ready = (flying.held or flying.standing) and flying.pilot is None
        return not self.unseen and not flying.recorded and (ready or self.app.bench.visible)

    def frame(self, seconds: float) -> None:
        """Called on every frame."""
        airframe = self.app.sound[0]
        if airframe is not self.airframe:
            self.close()
            self.airframe, self.rested, self.failed = airframe, 0.0, False
            self.ruling, self.asked, self.own = None, (), ""
        self.rested += seconds
        idle = self.process is None and self.ruling is None and not self.failed
        if idle and self.is_wanted and self.rested > RESTS:
            self.failed = not self.begin(judge, airframe, measured())
        self._look()

    def _look(self) -> None:
        try:
            told = self.told()
        except EOFError:  # it ended, without a word where there is no ruling
            self.failed = self.ruling is None
            self.close()
            return
        if told is None:
            return
        if self.ruling is None:
            self.ruling, self.asked = told
        else:
            self.own = told
            self.close()


def measured() -> Skill | None:
    """The person's own hands, where the exercises have measured them."""
    try:
        found = own_hands.kept().measured
    except (ConfigError, OSError):
        return None
    return found.skill if found else None


def judge(pipe: Connection, airframe: Airframe, mine: Skill | None = None) -> None:
    """What the process does: the ruling, then how the person's own hands fare. What is not to be
    flown is not told how."""
    from firstthrow.sim.study.check import ruling
    from firstthrow.sim.study.gist.throw import asked
    from firstthrow.sim.study.hands.told import beside_club
    from firstthrow.sim.study.odds.survival import by_hands, by_measured
    from firstthrow.sim.study.subject import Subject
    from firstthrow.sim.study.verdict import Verdict

    give_way(GENTLE)
    subject = Subject(airframe)
    ruled = ruling(subject)
    pipe.send((ruled, asked(subject) if ruled.verdict is Verdict.GO else ()))
    if mine is not None:
        pipe.send(f"{beside_club(by_measured(subject, mine), by_hands(subject))}.")
    pipe.close()
