"""One throw after another: in the hand, in the air, over; and again. No window, no drawing."""

from __future__ import annotations

from array import array
from collections import deque
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from firstthrow.scenes.flight.clock import FRAME, Clock
from firstthrow.scenes.flight.throw import Throw
from firstthrow.scenes.flight.track import Track
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.straight import Straight
from firstthrow.sim.flight.flight import SPIN_UP, Flight
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.record import Record, Recorder, flight_meta, is_sound, sidecar

TOUCHED = 0.05  # throttle from which a flight on wheels has begun
HOLD = SPIN_UP  # [s] a scripted pilot stays in the hand; and of it, a record keeps so much


class Repeat(NamedTuple):
    """A throw to be done once more: how it leaves the hand (None: as planned), and the throttle
    that it is held and thrown with. Turbulence is drawn anew."""

    throw: Throw | None
    throttle: float


class Rehearsal:
    """Flies `airframe` over `field` by whatever sticks it is given, and keeps what was flown.

    `pilot` (reading -> Sticks) replaces the sticks given; `record_factory` gives a recorder
    for each flight that leaves the hand, called with what `change` told; `seconds` of flight time
    end a flight. A `model` built before for the same airframe and field saves building it again.
    """

    recorded = False
    track: Track | None = None  # known when it has been flown

    def __init__(
        self,
        airframe,
        field,
        pilot=None,
        launch=None,
        seed=0,
        record_factory: Callable[..., Recorder] | None = None,
        seconds: float | None = None,
        model=None,
    ):
        self.airframe, self.field = airframe, field
        self.pilot, self.launch, self.seed = pilot, launch, seed
        self.relief: Callable | None = None  # who takes the sticks when they are handed over
        self.stands_by: Callable | None = None  # is asked once before the throw, to be quick later
        self.handed = False  # whether they are handed over now
        self.straight: Straight | None = None  # servos follow channels: a pilot's sticks get mixed
        self.changed: dict = {}  # what a recorder must know of a change made since
        self.record_factory, self.seconds = record_factory, seconds
        self.model = model or Flight(airframe, field, launch, seed).model  # one for all flights
        # a first step loads the compiled physics before any window waits for it
        Flight(airframe, field, launch, seed, self.model).advance(FRAME, Sticks())
        self.thrower: Callable | None = None  # number of the throw -> throw.Throw or None
        self.clock = Clock()
        self.finished: list[Outcome] = []  # how each has ended
        self.throws = 0
        self.repeat: Repeat | None = None  # what the next flight is to be, once
        self.repeats: Repeat | None = None  # what this flight is
        self._begin()

    def _begin(self) -> None:
        self.repeat, self.repeats = None, self.repeat
        self.flight = Flight(
            self.airframe, self.field, self.launch, self.seed + self.throws, self.model
        )
        self._draw_throw()
        self.begun = False  # on its wheels: the throttle has been touched
        self.recorder: Recorder | None = None
        self.rows = array("d")  # of the flight, as its record has them
        self.refitted = False  # whether it was changed as it flew
        self.waited = 0  # frames in the hand
        self.in_hand: deque = deque(maxlen=round(HOLD / FRAME))
        self.top = 0.0  # [m] highest
        self.sticks = Sticks()
        self.reading = self.before = self.flight.reading()
        self.clock.restart()

    def _draw_throw(self) -> None:
        drawn = self.thrower(self.throws) if self.thrower and self.flight.held else None
        self.throw: Throw | None = self.repeats.throw if self.repeats else drawn
        if self.throw is not None:
            self.throw.hold(self.flight)

    @property
    def held(self) -> bool:
        return self.flight.held

    @property
    def standing(self) -> bool:
        """Whether it waits on its wheels for the first throttle; time has not begun."""
        return self.flight.standing and not self.begun

    @property
    def over(self) -> bool:
        return self.flight.outcome is not None

    @property
    def flown(self) -> bool:
        """Whether this flight left the hand, or moved on its wheels."""
        return not self.held and self.flight.time > 0.0

    @property
    def scripted(self) -> bool:
        """Whether a script flies, and not the person or who relieves them."""
        return self.pilot is not None and not self.handed

    def release(self) -> None:
        """Throws; nothing unless it is in the hand and time runs."""
        if self.held and not self.clock.paused:
            self.flight.release()
            if self.throw is not None:
                self.throw.leave(self.flight)
            self.reading = self.before = self.flight.reading()

    def hand_over(self) -> None:
        """The relief takes the sticks; the next time they go back to who had them."""
        if self.pilot is None and self.relief is None:
            return
        self.pilot, self.relief = self.relief, self.pilot
        self.handed = not self.handed
        if self.held:
            self.waited = 0  # a throw comes with the motor running
        elif self.recorder is not None and not self.over:
            self._note_hand_over(self.recorder)

    def again(self) -> None:
        """Back in the hand of the person; a flight still going on is stopped and kept."""
        self.stop()
        if self.handed:
            self.hand_over()
        self.throws += 1
        self._begin()

    def change(self, airframe, field, model, /, **told) -> None:
        """Back in the hand with another description; `told` goes to `record_factory` with it."""
        self.stop()
        self.airframe, self.field, self.model = airframe, field, model
        self.changed = {"airframe": airframe, **told} if told else {}
        self.throws += 1
        self._begin()

    def refit(self, airframe, field, model, /, **told) -> None:
        """Flies on with another description of the same airframe (see `Flight.refit`).

        A record that is being written keeps the description it began with, and notes when it
        was left; the records of the next flights get the new one.
        """
        self.airframe, self.field, self.model = airframe, field, model
        self.changed = {"airframe": airframe, **told}
        if self.over:
            return
        self.refitted = self.flown
        left = self.reading
        self.flight.refit(airframe, field, model)
        if self.held and self.thrower is not None:
            self._draw_throw()
        self.reading = now = self.flight.reading()
        moved = {
            name: getattr(self.before, name) + getattr(now, name) - getattr(left, name)
            for name in ("north_m", "east_m", "height_m")
        }
        self.before = self.before._replace(**moved)
        if self.recorder is not None:
            self.recorder.meta.setdefault("changed_at_s", []).append(round(self.flight.time, 3))

    def record(self) -> Record:
        """The flight so far, as its file would be."""
        flight, told = self.flight, {k: v for k, v in self.changed.items() if k != "field"}
        if self.recorder is not None:
            meta = dict(self.recorder.meta)
        else:
            about = flight_meta(
                self.field,
                seed=flight.seed,
                launch=flight.launch,
                pilot="script" if self.scripted else "thumbs",
            )
            told.pop("airframe", None)
            meta = sidecar(self.airframe, {**about, **told}, flight.outcome)
        width = len(flight.columns)
        return Record(flight.columns, np.array(self.rows).reshape(-1, width), meta)

    def stop(self) -> None:
        """Ends the flight that goes on, as 'stopped'; nothing when it never left the hand."""
        if self.flown and not self.over:
            self.flight.finish(Ending.STOPPED, f"Stopped after {self.flight.time:.1f} s.")
            self._finish()

    def frame(self, wall_seconds: float, sticks: Sticks) -> None:
        """Moves the flight on by as many whole frames of its own as the wall's time asks for."""
        if self.over:
            return
        for _ in range(self.clock.steps(wall_seconds)):
            if not self.over:
                self._advance(sticks)

    def _advance(self, sticks: Sticks) -> None:
        """One frame, up to the next row of the record."""
        seen = self.reading
        if self.held:  # a script reads how long it is to the throw
            seen = seen._replace(time_s=self.waited * FRAME - HOLD)
        self.sticks = self._flown_by(self.pilot(seen)) if self.pilot else sticks
        if self.held and self.repeats is not None:
            self.sticks = self.sticks._replace(throttle=self.repeats.throttle)
        self.begun = self.begun or self.pilot is not None or self.sticks.throttle > TOUCHED
        waits = self.held or self.standing
        if not waits and not self.rows:
            self._open()
        self.before = self.reading
        self.flight.advance(FRAME, self.sticks)
        if self.standing:
            self.flight.stand()
        self.reading = self.flight.reading()
        if waits:
            self._wait()
            return
        self.top = max(self.top, self.reading.height_m)
        self._write(self.reading)
        if self.seconds is not None and self.flight.time >= self.seconds - 1e-9:
            self.flight.finish(Ending.TIME_UP, f"Still flying after {self.flight.time:.0f} s.")
        if self.over:
            self._finish()

    def _flown_by(self, sticks: Sticks) -> Sticks:
        """What goes to the airframe for a pilot's sticks."""
        return sticks if self.straight is None else self.straight.channels(sticks)

    def _wait(self) -> None:
        self.waited += 1
        self.in_hand.append(self.reading)
        if self.stands_by is not None and self.waited > 1:  # once there is a picture of it
            asked, self.stands_by = self.stands_by, None
            asked(self.reading)
        goes = self.pilot is not None or self.repeats is not None
        if self.held and goes and self.waited * FRAME >= HOLD - 1e-9:
            self.release()

    def _open(self) -> None:
        """Starts the record with the last moments in the hand, their time counted back from the
        throw."""
        if self.record_factory is not None:
            self.recorder = self.record_factory(**self.changed)
            self.recorder.meta["seed"] = self.flight.seed
            if self.handed:
                self._note_hand_over(self.recorder)
        for k, reading in enumerate(self.in_hand):
            self._write(reading._replace(time_s=(k - len(self.in_hand)) * FRAME))
        self._write(self.reading)

    def _write(self, reading) -> None:
        if is_sound(reading):
            self.rows.extend(reading)
        if self.recorder is not None:
            self.recorder.write(reading)

    def _note_hand_over(self, recorder: Recorder) -> None:
        """Sticks go to others than the record's pilot, or back to that one."""
        times = recorder.meta.setdefault("handed_over_at_s", [])
        times.append(round(self.flight.time, 3))

    def _finish(self) -> None:
        assert self.flight.outcome is not None, "it has ended"
        self.finished.append(self.flight.outcome)
        if self.recorder is not None:
            self.recorder.close(self.flight.outcome)
