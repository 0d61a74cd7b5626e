"""The airframe in the hand, or on its wheels, before there is compiled physics to fly it.

`Unready` is `flying.Flying` as a rehearsal is; nothing is compiled for it, nothing about it moves.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from firstthrow.scenes.flight.clock import Clock
from firstthrow.scenes.flight.resting import resting
from firstthrow.scenes.flight.track import Track
from firstthrow.sim.build.controller import Burden
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.straight import Straight
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.record import columns, reading_type

ATTITUDE = ("attitude_w", "attitude_x", "attitude_y", "attitude_z")


class Held:
    """Its flight, which has not begun."""

    time = 0.0
    outcome: Outcome | None = None
    burdens: tuple[Burden, ...] = ()

    def __init__(self, held: bool):
        self.held = held


class Unready:
    """Raises ValueError for a launch that the airframe does not have."""

    recorded = True  # nothing of it is worked out for the window, and nothing can be asked
    over = flown = False
    handed = False
    top = 0.0
    seconds: float | None = None
    track: Track | None = None
    thrower: Callable | None = None
    straight: Straight | None = None
    model: Any = None
    sticks = Sticks()

    def __init__(self, airframe, field, pilot=None, launch: str | None = None, seed: int = 0):
        self.airframe, self.field, self.pilot = airframe, field, pilot
        self.launch, self.seed = launch, seed
        kind = launch or airframe.launch.kind
        if getattr(airframe.launch, kind) is None:
            raise ValueError(f"{airframe.name} has no [launch.{kind}] in its file")
        self.held, self.standing = kind == "hand", kind == "ground"
        self.flight = Held(self.held)
        self.clock = Clock()
        self.clock.paused = True  # one can look round meanwhile
        self.finished: list = []
        self.reading = self.before = self._reading()

    @property
    def scripted(self) -> bool:
        return self.pilot is not None

    def _reading(self):
        """Where it is and how it stands, with nothing running."""
        airframe, names = self.airframe, columns(self.airframe)
        rests = resting(airframe, self.field, "hand" if self.held else "ground")
        known = dict(zip(ATTITUDE, rests.attitude, strict=True))
        known |= {"height_m": rests.height, "pitch_deg": math.degrees(rests.pitch)}
        known |= dict(zip(("wind_north_m_s", "wind_east_m_s"), rests.wind, strict=True))
        for span, angle in zip(surface_spans(airframe), rests.surfaces, strict=True):
            known[f"surface_{span.name}_deg"] = math.degrees(angle)
        known |= {"supply_V": airframe.controller.supply}
        known |= {"pack_V": airframe.controller.cutoff * airframe.pack.cells}
        return reading_type(names)(*(known.get(name, 0.0) for name in names))

    def frame(self, wall_seconds: float, sticks: Sticks) -> None:
        """No time goes by."""

    def release(self) -> None:
        """Not yet."""

    def again(self) -> None:
        """It is in the hand."""

    def stop(self) -> None:
        """Nothing flies."""

    def hand_over(self) -> None:
        """Nobody could fly it."""

    def change(self, airframe, field, model, /, **told) -> None:
        """Nothing could be flown of it."""

    def refit(self, airframe, field, model, /, **told) -> None:
        """The same."""
