"""Why a flight went as it did: worked out beside the window, in a process of its own, so that no
frame waits for it. A new throw ends what is being worked out of the one before."""

from __future__ import annotations

from multiprocessing.connection import Connection

from firstthrow.scenes.window.beside import Beside, give_way
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.learn.aftermath.explained import Explained, Flown, explain, pulls, warm
from firstthrow.sim.learn.aftermath.forces import Forces

WORKING = "Looking for the cause ..."
GENTLE = 3  # how much the process gives way to the window; the person waits for what it says
NONE = "No cause came out: ask firstthrow debrief."

Described = tuple[Airframe, Field]


class Explaining(Beside):
    """Of one flight at a time. The process starts with the first throw, so that what every flight
    of the airframe needs is there when the flight ends."""

    def __init__(self, unseen: bool) -> None:
        super().__init__()
        self.unseen = unseen
        self.flown: Flown | None = None  # the flight that is, or was last, asked about
        self.forces: Forces | None = None
        self.found: Explained | None = None
        self.failed = False
        self.ready_for: Described | None = None  # what the process has been told to get ready for

    @property
    def busy(self) -> bool:
        """Whether an answer is still to come."""
        return self.flown is not None and self.found is None and not self.failed

    def get_ready(self, described: Described) -> None:
        """A flight of this airframe has begun."""
        if self.unseen or self.ready_for == described:
            return
        if self.pipe is None and not self.begin(work):
            self.failed = True
        self.ready_for = described
        self._send(described)

    def ask(self, flown: Flown) -> None:
        """A flight has ended."""
        self.forget()
        self.flown = flown
        self.get_ready(flown.described)
        self._send(flown)

    def forget(self) -> None:
        """Another flight begins: what is worked out of the last one is not waited for."""
        if self.busy:
            self.close()
        self.flown = self.forces = self.found = None
        self.failed = False

    def work_out(self, flown: Flown) -> None:
        """The same without a process: for pictures, which can wait."""
        self.forget()
        self.flown, self.forces, self.found = flown, pulls(flown), explain(flown)

    def look(self) -> bool:
        """Called on every frame; whether something has come."""
        try:
            told = self.told()
        except EOFError:  # it ended without a word
            self.failed, died_of = self.busy, self.ready_for
            self.close()
            self.ready_for = died_of  # which is not begun again on every frame
            return True
        if told is None:
            return False
        if isinstance(told, Explained):
            self.found = told
        else:
            self.forces = told
        return True

    def _send(self, what: Described | Flown) -> None:
        if self.pipe is None:
            self.failed = self.busy
            return
        try:
            self.pipe.send(what)
        except OSError:
            self.failed = self.busy
            self.close()

    def close(self) -> None:
        super().close()
        self.ready_for = None


def work(pipe: Connection) -> None:
    """What the process does: gets ready for an airframe, then tells of each of its flights the
    forces, which are quick, and the cause."""
    give_way(GENTLE)
    while True:
        try:
            what = pipe.recv()
        except EOFError:  # the window is gone
            return
        if isinstance(what, Flown):
            pipe.send(pulls(what))
            pipe.send(explain(what))
        else:
            warm(what)
