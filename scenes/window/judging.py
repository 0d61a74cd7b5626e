"""The verdict of the pre-flight on what is in the hand: worked out beside the window, in a process
of its own, so that no frame waits for it."""

from __future__ import annotations

import multiprocessing
import os
from multiprocessing.connection import Connection

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.study.verdict import Ruling

RESTS = 1.0  # [s] an airframe stays as it is before it is judged
GENTLE = 10  # how much the process gives way to the window
WORKING = "Working out the verdict ..."
NONE = "No verdict came out: ask firstthrow check."


class Judging:
    """Of one airframe at a time: another one, or a change on the bench, starts it anew. `app` is
    the window's; `unseen`: nobody reads it."""

    def __init__(self, app, unseen: bool) -> None:
        self.app, self.unseen = app, unseen
        self.airframe: Airframe | None = None
        self.rested = 0.0  # [s] since it is this one
        self.ruling: Ruling | None = None
        self.asked: tuple[str, ...] = ()  # how to throw it, and what masters the motor
        self.failed = False
        self.process: multiprocessing.process.BaseProcess | None = None
        self.pipe: Connection | None = None

    @property
    def words(self) -> str:
        """The sentence of the verdict, or that it is being worked out."""
        if self.ruling is not None:
            return self.ruling.sentence
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
            self.ruling, self.asked = None, ()
        self.rested += seconds
        idle = self.process is None and self.ruling is None and not self.failed
        if idle and self.is_wanted and self.rested > RESTS:
            self._start(airframe)
        self._look()

    def _start(self, airframe: Airframe) -> None:
        alone = multiprocessing.get_context("spawn")
        self.pipe, theirs = alone.Pipe(duplex=False)
        self.process = alone.Process(target=judge, args=(theirs, airframe), daemon=True)
        try:
            self.process.start()
        except OSError:  # no process is to be had
            self.process, self.failed = None, True
        theirs.close()

    def _look(self) -> None:
        if self.pipe is None:
            return
        try:
            if not self.pipe.poll():
                return
            self.ruling, self.asked = self.pipe.recv()
        except (EOFError, OSError):  # it ended without a word
            self.failed = True
        self.close()

    def close(self) -> None:
        """Ends the process, if one works."""
        if self.pipe is not None:
            self.pipe.close()
        if self.process is not None:
            self.process.terminate()
            self.process.join()
        self.process = self.pipe = None


def judge(pipe: Connection, airframe: Airframe) -> None:
    """What the process does. What is not to be flown is not told how."""
    from firstthrow.sim.study.check import ruling
    from firstthrow.sim.study.gist.throw import asked
    from firstthrow.sim.study.subject import Subject
    from firstthrow.sim.study.verdict import Verdict

    if hasattr(os, "nice"):
        os.nice(GENTLE)
    subject = Subject(airframe)
    ruled = ruling(subject)
    pipe.send((ruled, asked(subject) if ruled.verdict is Verdict.GO else ()))
    pipe.close()
