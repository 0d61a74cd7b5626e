"""The window where the physics has still to be compiled: the scene is there at once, a process
beside it compiles, and the airframe can be thrown when that is done."""

from __future__ import annotations

import math
from collections.abc import Callable

from firstthrow.scenes.flight.prepare import COMPLETE, READY, prepare
from firstthrow.scenes.flight.rehearsal import Rehearsal
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.unready import Unready
from firstthrow.scenes.window.beside import Beside
from firstthrow.scenes.window.launching import NOTE_STAYS
from firstthrow.scenes.window.sight import Sight
from firstthrow.scenes.window.window import App
from firstthrow.scenes.words.instruments import Card, preparing_card
from firstthrow.sim.flight.compiling import STAGES, missing

ALL = 6.0  # [s] that all of it takes a usual machine: by this the bar moves on between stages
# What can be done meanwhile.
SEEN = ("view", "zoom", "steady", "loupe", "marks", "bigger", "smaller")
MEANWHILE = frozenset((*SEEN, "help", "keys", "devices", "mute", "speech", "quit"))
LOOKS = 0.3  # [s] between looks at what is kept
HANDS_LATER = "Simulated hands are still being prepared."
CALM = 1.0 / 30.0  # [s] a frame, to leave processor for compiling


class Preparing(Beside):
    """What the process has come to."""

    def __init__(self) -> None:
        super().__init__()
        self.stage = missing()[:1]  # that is compiled now; none at the end
        self.since = 0.0  # [s] it has been
        self.looked = 0.0  # [s] since what is kept was looked at
        self.ready = not self.stage  # for a throw
        self.complete = False  # for all that the flight may ask

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
        sight: Sight | None = None,
    ):
        self.rehearse, self.relief, self.later = rehearse, relief, (fault, settings)
        self.preparing = Preparing()
        if not self.preparing.begin(work, unready.airframe, unready.field, unready.launch):
            self.preparing.ready = self.preparing.complete = True
        first = settings._replace(scatter=None, drill=False, lesson=None)
        try:
            super().__init__(unready, hands, settings=first, sight=sight)
        except BaseException:  # nobody would end the process beside it
            self.preparing.close()
            raise
        self.cut_off.append(self.preparing.close)
        self.aids.after.gets_ready = False  # which would compile the same again
        self.told_for = NOTE_STAYS  # [s] since it was told that hands are not there yet
        self.instruments = False
        self.usual, self.least_frame = self.least_frame, max(CALM, self.least_frame)

    @property
    def waits(self) -> bool:
        """Whether it cannot be thrown yet."""
        return isinstance(self.rehearsal, Unready)

    def frame(self, wall_seconds: float) -> None:
        preparing = self.preparing
        self.told_for += wall_seconds
        if not preparing.complete:
            preparing.frame(wall_seconds)
            self.judging.rested = 0.0  # which would compile the same again
            self._relieve()
        if self.waits and preparing.ready and not self.waiting.covered:
            self._begin()
        super().frame(wall_seconds)

    def _relieve(self) -> None:
        """Simulated hands can take over, once all is there."""
        if self.preparing.complete and isinstance(self.rehearsal, Rehearsal):
            if self.relief is not None:
                self.rehearsal.relief = self.rehearsal.stands_by = self.relief
            self.aids.after.gets_ready = True

    def _begin(self) -> None:
        """The physics is there: what was asked for when the window opened."""
        fault, settings = self.later
        self.rehearsal = self.waiting.rehearsal = rehearsal = self.rehearse()
        self._relieve()
        self.models = {"": rehearsal.model}
        self.instruments, self.least_frame = True, self.usual
        self.wear(rehearsal.airframe)
        self._afresh()
        self.refit()
        self.aids.launching.ask(settings)
        self.aids.schooling.wanted = settings.lesson
        if settings.drill:
            self.act("first_ten")
        if fault:
            self.set_fault(fault)

    def act(self, action: str) -> None:
        if self.waits and action not in MEANWHILE:
            return
        early = action == "hand_over" and self.relief is not None and not self.preparing.complete
        self.told_for = 0.0 if early else NOTE_STAYS
        super().act(action)

    def refit(self) -> None:
        """To the device in use: not before there is something to be refitted."""
        if not self.waits:
            super().refit()

    def _card(self) -> Card | None:
        if self.asking or self.helping:
            return super()._card()
        if not self.waits:
            told = self.told_for < NOTE_STAYS
            return Card("No hands yet", (HANDS_LATER,)) if told else super()._card()
        share = math.floor(100.0 * self.preparing.share) / 100.0
        return preparing_card(self.facts, self.preparing.words, share)

    def close(self) -> None:
        self.preparing.close()
        super().close()
