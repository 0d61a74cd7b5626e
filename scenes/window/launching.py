"""The launch in the window: a countdown, a thrower who is not always the same, and the drill of
the first ten seconds. `app` is the window's; nothing here draws."""

from __future__ import annotations

import math
from random import randrange

from firstthrow.scenes.flight import first_ten
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.throw import drawn, planned, words
from firstthrow.scenes.hands.bindings import key_words
from firstthrow.scenes.words.instruments import Card, throttle_words
from firstthrow.sim.describe.replace import trouble
from firstthrow.sim.study.odds.scatter import Scatter

COUNT = 3.0  # [s]
NOTE_STAYS = 5.0  # [s]


class Five:
    """One drill: which launch it is at, and what the launches so far came to."""

    def __init__(self, seed: int, scatter: Scatter):
        self.seed, self.scatter = seed, scatter
        self.number = 0  # of the launch, from 0
        self.scores: list[first_ten.Score] = []
        self.scored = False  # the present launch
        self.watch = first_ten.Watch(0.0)
        self.trouble = ""
        self.earlier: list[str] = []

    @property
    def over(self) -> bool:
        return self.scored and len(self.scores) == len(first_ten.GROWTH)

    def afresh(self) -> None:
        """The present launch from the hand once more."""
        self.scored = False
        self.watch = first_ten.Watch(first_ten.GROWTH[self.number])

    def throw(self, airframe):
        return drawn(airframe, self.scatter, self.seed, self.number, first_ten.GROWTH[self.number])


class Launching:
    """`act` takes what concerns the launch, `frame` counts and scores, `card` speaks of it."""

    def __init__(self, app, settings: Settings):
        self.app = app
        self.counts = settings.countdown
        self.scatter: Scatter | None = None
        self.seed = app.rehearsal.seed
        self.count: float | None = None  # [s] to the throw
        self.five: Five | None = None
        self.note, self.told_for = "", 0.0  # [s] since it was told
        self.ask(settings)

    def ask(self, settings: Settings) -> None:
        """No throw like the other, where that is asked for."""
        self.scatter = settings.scatter
        if self.scatter is not None:
            self._use_thrower()
            self.app.rehearsal.again()

    def act(self, action: str) -> bool:
        """Whether the action was about the launch and is done; others go on to the window."""
        self.note = ""
        rehearsal = self.app.rehearsal
        if action == "release":
            if self.five is not None and self.five.scored:
                self._next(self.five)
                return True
            ready = rehearsal.held and not rehearsal.clock.paused
            if self.count is None and ready and (self.counts or self.five):
                self.count = COUNT
                return True
            return self.count is not None
        if action == "again":
            if self.five is not None and self.five.scored:
                self._next(self.five)
                return True
            return False
        if action == "countdown":
            if rehearsal.held and not rehearsal.clock.paused:
                self.count = None if self.count is not None else COUNT
        elif action == "scatter":
            self._switch_scatter()
        elif action == "first_ten":
            self._leave_drill() if self.five is not None else self._start_drill()
        else:
            return False
        return True

    def restart(self) -> None:
        """It is back in the hand."""
        self.count = None
        if self.five is not None and not self.five.scored:
            self.five.afresh()

    def frame(self, wall_seconds: float) -> None:
        rehearsal = self.app.rehearsal
        self.told_for += wall_seconds
        if self.told_for > NOTE_STAYS:
            self.note = ""
        if self.count is not None and not rehearsal.clock.paused and rehearsal.held:
            self.count -= min(wall_seconds, 0.1)
            if self.count <= 0.0:
                self.count = None
                rehearsal.release()
        if not rehearsal.held:
            self.count = None
        five = self.five
        if five is None or five.scored or rehearsal.held:
            return
        five.watch.see(rehearsal.reading)
        if five.watch.done or rehearsal.over:
            self._score(five, rehearsal.flight.outcome)

    @property
    def corner(self) -> str:
        """For the line in the corner; empty when there is nothing to say."""
        five, rehearsal = self.five, self.app.rehearsal
        if five is None:
            return "scatter" if self.scatter is not None else ""
        at = f"launch drill {five.number + 1} of {len(first_ten.GROWTH)}"
        if rehearsal.flown and not five.scored:
            at += f", {max(0.0, first_ten.SECONDS - five.watch.seconds):.0f} s to go"
        return at

    def card(self) -> Card | None:
        """What there is to say in the middle; None for the window's own."""
        rehearsal, five = self.app.rehearsal, self.five
        if self.note:
            return Card("No launch drill", (self.note,))
        if five is not None and five.over:
            return self._end_card(five)
        if five is not None and five.scored:
            return self._score_card(five)
        if rehearsal.clock.paused or not rehearsal.held:
            return None
        if self.count is not None:
            return self._count_card(math.ceil(self.count))
        if five is not None:
            return self._ready_card(five)
        return None

    def _use_thrower(self) -> None:
        def thrower(number: int):
            airframe = self.app.rehearsal.airframe
            if self.five is not None:
                return self.five.throw(airframe)
            if self.scatter is None:
                return None
            return drawn(airframe, self.scatter, self.seed, number)

        self.app.rehearsal.thrower = thrower

    def _switch_scatter(self) -> None:
        self.scatter = Scatter() if self.scatter is None else None
        self._use_thrower()
        if self.app.rehearsal.held:
            self.app.act("again")

    def _start_drill(self) -> None:
        rehearsal = self.app.rehearsal
        launch = rehearsal.launch or rehearsal.airframe.launch.kind
        if launch != "hand" or rehearsal.pilot is not None:
            self.told_for = 0.0
            own = "is flown by a script" if rehearsal.pilot is not None else "rolls on its wheels"
            self.note = f"{rehearsal.airframe.name} {own}: the drill is for your own hand launches."
            return
        self.five = Five(randrange(2**31), self.scatter or Scatter())
        self._use_thrower()
        self.five.afresh()
        self.app.act("again")

    def _leave_drill(self) -> None:
        self.five = None
        self.app.act("again")

    def _next(self, five: Five) -> None:
        if five.over:
            self._start_drill()
            return
        five.number += 1
        five.afresh()
        self.app.act("again")

    def _score(self, five: Five, outcome) -> None:
        app = self.app
        five.scored = True
        five.scores.append(five.watch.score(outcome))
        app.rehearsal.clock.paused = True
        if five.over:
            rehearsal = app.rehearsal
            name = rehearsal.airframe.name
            five.earlier = first_ten.earlier(name, u=rehearsal.airframe.units)
            try:
                first_ten.keep(name, rehearsal.field.name, five.seed, five.scores)
            except OSError as error:
                five.trouble = f"Not kept: {trouble(error)}"

    def _count_card(self, seconds: int) -> Card:
        share = f"{100 * self.app.facts.launch_throttle:.0f} %"
        return Card(f"{seconds}", (f"Throttle up now: {share} is planned. Hands on the sticks.",))

    def _ready_card(self, five: Five) -> Card:
        growth = first_ten.GROWTH[five.number]
        scatter = f"{growth:g} times the usual scatter" if growth else "as planned"
        throw = key_words("release")
        return Card(
            f"Launch {five.number + 1} of {len(first_ten.GROWTH)}: thrown {scatter}",
            (
                f"{throw} starts a count of {COUNT:.0f}. {throttle_words()}.",
                f"Keep it alive for {first_ten.SECONDS:.0f} seconds.",
            ),
            (f"{key_words('first_ten')} leaves the drill.",),
        )

    def _score_card(self, five: Five) -> Card:
        airframe = self.app.rehearsal.airframe
        score = five.scores[-1]
        throw = words(five.throw(airframe), planned(airframe), airframe.units)
        lines = (*first_ten.words(score, airframe.units).split(", "), f"It was thrown {throw}.")
        title = f"Launch {five.number + 1}: {'alive' if score.alive else 'lost'}"
        small = (f"{key_words('release')}: the next launch. {key_words('first_ten')}: leave.",)
        return Card(title, lines, small, not score.alive)

    def _end_card(self, five: Five) -> Card:
        u = self.app.facts.units
        lines = tuple(f"{k}: {first_ten.words(s, u)}" for k, s in enumerate(five.scores, start=1))
        small = tuple(f"before, {line}" for line in five.earlier)
        if five.trouble:
            small = (five.trouble, *small)
        small = (*small, f"{key_words('release')}: five more. {key_words('first_ten')}: leave.")
        return Card("First ten seconds", (first_ten.total(five.scores, u), *lines), small)
