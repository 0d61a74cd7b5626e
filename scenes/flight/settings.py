"""What a person may ask of eyes and ears when the window opens. Plain data."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from firstthrow.scenes.flight.track import Earlier
    from firstthrow.scenes.hands.preferences import Preferences
    from firstthrow.sim.study.odds.scatter import Scatter


class Settings(NamedTuple):
    """`view_angle` [rad] None leaves each view its own; `tracing` is another flight."""

    reduced_motion: bool = False  # no zoom, a towed that swings slowly, a steady horizon
    steady_horizon: bool = False  # level on board, too
    view_angle: float | None = None
    mute: bool = False
    speech: bool = False  # words are spoken over the flight
    tracing: Earlier | None = None
    countdown: bool = False  # the throw comes after three, two, one
    scatter: Scatter | None = None  # of the thrower; None: the same throw each time
    drill: bool = False  # begin with the launch drill
    lesson: str | None = None  # begin with that flying lesson

    preferences: Preferences | None = None  # None: the usual ones, and nothing is kept
    airframe_file: Path | None = None  # that the bench may write to
    unseen: bool = False  # a window for pictures only: not shown, not heard

    @property
    def is_steady(self) -> bool:
        return self.steady_horizon or self.reduced_motion
