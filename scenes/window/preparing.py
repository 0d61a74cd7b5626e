"""The window where the physics has still to be compiled: the scene is there at once, a process
beside it compiles, and the airframe can be thrown when that is done."""

from __future__ import annotations

import math
from collections.abc import Callable
from multiprocessing.connection import Connection

from firstthrow.scenes.flight.rehearsal import Rehearsal
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.unready import Unready
from firstthrow.scenes.window.beside import Beside
from firstthrow.scenes.window.opening import when_display_goes
from firstthrow.scenes.window.window import App
from firstthrow.scenes.words.instruments import Card, preparing_card
from firstthrow.sim.flight.compiling import STAGES, missing

ALL = 30.0  # [s] that all of it takes a usual machine: by this the bar moves on between stages
READY, COMPLETE = "ready", "complete"
# What can be done meanwhile.
SEEN = ("view", "zoom", "steady", "loupe", "marks", "bigger", "smaller")
MEANWHILE = frozenset((*SEEN, "help", "keys", "devices", "mute", "speech", "quit"))
LOOKS = 0.3  # [s] between looks at what is kept
CALM = 1.0 / 30.0  # [s] a frame, to leave processor for compiling


class Preparing(Beside):
    """What the process has come to."""

    def __init__(self) -> None:
        super().__init__()
        self.stage = missing()[:1]  # that is compiled now; none at the end
        self.since = 0.0  # [s] it has been
        self.looked = 0.0  # [s] since what is kept was looked at
        self.ready = self.complete = False  # for a throw; for all that the flight may ask

    @property
    def share(self) -> float:
        """How far it is to a throw, 0 to 1: by stages, and by time within one."""
        if not self.stage:
            return 1.0
        begins = self.stage[0].begins
        ends = min((one.begins for one in STAGES if one.begins > begins), default=1.0)
        return ends - (ends - begins) * math.exp(-self.since / (ALL * (ends - begins)))

    @property
    def words(self) -> str:
        return self.stage[0].words if self.stage else "its last touch"

    def frame(self, wall_seconds: float) -> None:
        """Called on every frame."""
        self.since += wall_seconds
        self.looked += wall_seconds
        if self.looked > LOOKS:
            self.looked, stage = 0.0, missing()[:1]
            if stage != self.stage:
                self.stage, self.since = stage, 0.0
        try:
            told = self.told()
        except EOFError:  # what it has not done is compiled when it is first asked for
            told = COMPLETE
        self.ready = self.ready or told in (READY, COMPLETE)
        if told == COMPLETE:
            self.complete = True
            self.close()


def prepare(pipe: Connection, airframe, field, launch: str | None) -> None:
    """What the process does: what a throw takes first, then what simulated hands do."""
    from firstthrow.sim.flight.simulated_hands import Human

    model = Rehearsal(airframe, field, launch=launch).model
    pipe.send(READY)
    Human(airframe, field, launch=launch, model=model)
    pipe.send(COMPLETE)
    pipe.close()


class FirstApp(App):
    """`rehearse` makes the rehearsal once its physics is there; `relief` takes the sticks over."""

    rehearsal: Unready | Rehearsal

    def __init__(
        self,
        unready: Unready,
        hands,
        rehearse: Callable[[], Rehearsal],
        relief: Callable | None,
        fault: str = "",
        settings: Settings = Settings(),  # noqa: B008 immutable
        work: Callable[..., None] = prepare,
    ):
        self.rehearse, self.relief, self.later = rehearse, relief, (fault, settings)
        self.preparing = Preparing()
        if not self.preparing.begin(work, unready.airframe, unready.field, unready.launch):
            self.preparing.ready = self.preparing.complete = True
        first = settings._replace(scatter=None, drill=False, lesson=None)
        super().__init__(unready, hands, settings=first)
        self.instruments = False
        self.usual, self.least_frame = self.least_frame, max(CALM, self.least_frame)

    @property
    def waits(self) -> bool:
        """Whether it cannot be thrown yet."""
        return isinstance(self.rehearsal, Unready)

    def frame(self, wall_seconds: float) -> None:
        preparing = self.preparing
        if not preparing.complete:
            preparing.frame(wall_seconds)
            self.judging.rested = 0.0  # which would compile the same again
            if preparing.complete and not self.waits:
                self.rehearsal.relief = self.relief
        if self.waits and preparing.ready and not self.waiting.covered:
            self._begin()
        super().frame(wall_seconds)

    def _begin(self) -> None:
        """The physics is there: what was asked for when the window opened."""
        fault, settings = self.later
        self.rehearsal = self.waiting.rehearsal = rehearsal = self.rehearse()
        rehearsal.relief = self.relief if self.preparing.complete else None
        self.models = {"": rehearsal.model}
        self.instruments, self.least_frame = True, self.usual
        self.wear(rehearsal.airframe)
        self._afresh()
        when_display_goes(rehearsal.stop, self.judging.close, self.preparing.close)
        self.refit()
        self.aids.launching.ask(settings)
        self.aids.schooling.wanted = settings.lesson
        if settings.drill:
            self.act("first_ten")
        if fault:
            self.set_fault(fault)

    def act(self, action: str) -> None:
        if not self.waits or action in MEANWHILE:
            super().act(action)

    def _card(self) -> Card | None:
        if not self.waits or self.asking or self.helping:
            return super()._card()
        share = math.floor(100.0 * self.preparing.share) / 100.0
        return preparing_card(self.facts, self.preparing.words, share)

    def close(self) -> None:
        self.preparing.close()
        super().close()
