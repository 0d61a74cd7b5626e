"""What the window asks of that which flies in it: a rehearsal, or the replay of a record."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol, runtime_checkable

from firstthrow.scenes.flight.clock import Clock
from firstthrow.scenes.flight.track import Track
from firstthrow.sim.build.controller import Burden
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.straight import Straight
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.pilot import Pilot

Reading = Any  # one row of a record: its fields are the airframe's, see `record.reading_type`


@runtime_checkable
class Course(Protocol):
    """One flight, as far as it has got; another flight is another object."""

    @property
    def time(self) -> float:
        """Seconds since the release; negative in the hand."""

    @property
    def outcome(self) -> Outcome | None:
        """None while it goes on."""

    @property
    def held(self) -> bool:
        """Whether it has not left the hand yet."""

    @property
    def burdens(self) -> tuple[Burden, ...]:
        """What its speed controllers bear now; none where that is not known."""


@runtime_checkable
class Flying(Protocol):
    recorded: bool  # whether all of it has been flown before
    clock: Clock
    straight: Straight | None  # servos follow channels: a pilot's sticks get mixed

    @property
    def sticks(self) -> Sticks:
        """Flown with last."""

    @property
    def airframe(self) -> Airframe: ...

    @property
    def field(self) -> Field: ...

    @property
    def model(self) -> Model: ...

    @property
    def launch(self) -> str | None:
        """None where it is the airframe's own."""

    @property
    def seed(self) -> int: ...

    @property
    def flight(self) -> Course: ...

    @property
    def reading(self) -> Reading:
        """Of the last step."""

    @property
    def before(self) -> Reading:
        """Of the step before it; pictures stand between the two."""

    @property
    def held(self) -> bool:
        """Whether it waits for its throw."""

    @property
    def standing(self) -> bool:
        """Whether it waits on its wheels for the first throttle."""

    @property
    def flown(self) -> bool:
        """Whether it has left the hand, or moved on its wheels."""

    @property
    def over(self) -> bool: ...

    @property
    def top(self) -> float:
        """Highest up to now [m]."""

    @property
    def track(self) -> Track | None:
        """The whole of it, where it is known before it is shown."""

    @property
    def pilot(self) -> Pilot | None:
        """None: the person at the window."""

    @property
    def scripted(self) -> bool:
        """Whether a script flies, and not the person or who relieves them."""

    @property
    def seconds(self) -> float | None:
        """Flight time that ends it; None without a limit."""

    @property
    def finished(self) -> list: ...

    @property
    def thrower(self) -> Callable | None: ...

    def frame(self, wall_seconds: float, sticks: Sticks) -> None: ...

    def release(self) -> None: ...

    def again(self) -> None: ...

    def stop(self) -> None: ...

    def hand_over(self) -> None: ...

    def change(self, airframe: Airframe, field: Field, model: Model, /, **told: Any) -> None: ...

    def refit(self, airframe: Airframe, field: Field, model: Model, /, **told: Any) -> None: ...
