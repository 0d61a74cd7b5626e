"""One throw after another: in the hand, in the air, over; and again. No window, no drawing."""

from __future__ import annotations

from collections.abc import Callable

from scenes.clock import RECORD_EVERY, STEP, Clock
from sim.flight import Flight, Outcome
from sim.sticks import Sticks

SCRIPTED_HOLD = 1.0  # [s] a scripted pilot is shown in the hand before it throws


class Rehearsal:
    """Flies `airframe` over `field` by whatever sticks it is given, and keeps what was flown.

    `pilot` (reading -> Sticks) replaces the sticks given; `record_factory` gives a recorder
    for each flight that leaves the hand; `seconds` of flight time end a flight.
    """

    def __init__(
        self, airframe, field, pilot=None, launch=None, seed=0,
        record_factory: Callable | None = None, seconds: float | None = None,
        flight_type: Callable = Flight,
    ):  # fmt: skip
        self.airframe, self.field = airframe, field
        self.pilot, self.launch, self.seed = pilot, launch, seed
        self.record_factory, self.seconds = record_factory, seconds
        self.flight_type = flight_type
        self.clock = Clock()
        self.finished: list[Flight] = []
        self.throws = 0
        self._begin()

    def _begin(self) -> None:
        self.flight = self.flight_type(
            self.airframe, self.field, launch=self.launch, seed=self.seed + self.throws
        )
        self.recorder = None
        self.waited = 0.0  # [s] in the hand
        self.steps_recorded = 0
        self.top = 0.0  # [m] highest
        self.sticks = Sticks()
        self.reading = self.before = self.flight.reading()
        self.clock.restart()

    @property
    def held(self) -> bool:
        return self.flight.held

    @property
    def over(self) -> bool:
        return self.flight.outcome is not None

    @property
    def flown(self) -> bool:
        """Whether this flight left the hand, or moved on its wheels."""
        return not self.held and self.flight.time > 0.0

    def release(self) -> None:
        """Throws; nothing unless it is in the hand and time runs."""
        if self.held and not self.clock.paused:
            self.flight.release()
            self.reading = self.before = self.flight.reading()

    def again(self) -> None:
        """Back in the hand; a flight still going on is stopped and kept."""
        self.stop()
        self.throws += 1
        self._begin()

    def stop(self) -> None:
        """Ends the flight that goes on, as 'stopped'; nothing when it never left the hand."""
        if self.flown and not self.over:
            self._finish(Outcome("stopped", f"Stopped after {self.flight.time:.1f} s."))

    def frame(self, wall_seconds: float, sticks: Sticks) -> None:
        """Moves the flight on by as many whole steps as the wall's time asks for."""
        if self.over:
            return
        due = self.clock.steps(wall_seconds)
        while due > 0 and not self.over:
            count = min(due, RECORD_EVERY - self.steps_recorded % RECORD_EVERY)
            self._advance(count, sticks)
            due -= count

    def _advance(self, count: int, sticks: Sticks) -> None:
        self.sticks = self.pilot(self.reading) if self.pilot else sticks
        if self.held:
            self._wait(count)
        elif self.recorder is None and self.record_factory is not None:
            self.recorder = self.record_factory()
            self.recorder.write(self.reading)
        if count > 1:
            self.flight.advance((count - 1) * STEP, self.sticks)
        self.before = self.flight.reading() if count > 1 else self.reading
        self.flight.advance(STEP, self.sticks)
        self.reading = self.flight.reading()
        self.top = max(self.top, self.reading.height_m)
        if self.held:
            return
        self.steps_recorded += count
        if self.recorder is not None and self.steps_recorded % RECORD_EVERY == 0:
            self.recorder.write(self.reading)
        if self.seconds is not None and not self.over and self.flight.time >= self.seconds - 1e-9:
            self._finish(Outcome("time-up", f"Time is up after {self.flight.time:.1f} s."))
        elif self.over:
            self._finish(self.flight.outcome)

    def _wait(self, count: int) -> None:
        self.waited += count * STEP
        if self.pilot is not None and self.waited >= SCRIPTED_HOLD:
            self.release()

    def _finish(self, outcome: Outcome) -> None:
        self.flight.outcome = outcome
        self.finished.append(self.flight)
        if self.recorder is not None:
            self.recorder.close(outcome)
