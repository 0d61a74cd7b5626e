"""After an impact in the window: the airframe drawn as it broke, and dust while time goes on.
`app` is the window's."""

from __future__ import annotations

import math

from firstthrow.scenes.flight.track import attitude_of, place_of
from firstthrow.scenes.world.camera import View, rotation
from firstthrow.scenes.world.dust import Dust
from firstthrow.scenes.world.wreck import broken


class Impact:
    def __init__(self, app) -> None:
        self.app = app
        self.dust = Dust()
        self.flight: object = None  # of which the wreck is drawn
        self.since = math.inf  # [s] the impact

    def frame(self, wall_seconds: float) -> None:
        """Once a frame; the wreck is taken away with the flight."""
        rehearsal = self.app.rehearsal
        outcome = rehearsal.flight.outcome
        if self.flight is not None and (rehearsal.flight is not self.flight or outcome is None):
            self.flight, self.since = None, math.inf
            self.app.picture.wear(self.app.mesh)
        if self.flight is None and outcome is not None and outcome.word.broken:
            self.flight, self.since = rehearsal.flight, 0.0
            self.app.picture.wear(broken(self.app.mesh, outcome.word))
        self.since += min(wall_seconds, 0.1) * rehearsal.clock.rate

    def draw(self, view: View, aspect: float) -> None:
        """Over the finished scene, where it came down."""
        reading = self.app.rehearsal.reading
        if math.isinf(self.since) or reading.height_m > self.app.mesh.span:
            return
        speeds = (reading.u_m_s, reading.v_m_s, reading.w_m_s)
        travel = rotation(tuple(attitude_of(reading))) @ speeds
        self.dust.draw(view, aspect, place_of(reading), travel, self.since)
