"""After an impact in the window: the airframe drawn as it broke, what lies about, its dust.
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
        self.flight: object = None  # that ended so
        self.since = math.inf  # [s] the impact
        self.wrecked = False  # whether the wreck is what is drawn

    def frame(self, wall_seconds: float) -> None:
        """Once a frame; the wreck is taken away with the flight."""
        app, rehearsal = self.app, self.app.rehearsal
        outcome = rehearsal.flight.outcome
        lies = outcome is not None and outcome.word.broken
        if lies and self.flight is not rehearsal.flight:
            self.flight, self.since = rehearsal.flight, 0.0
        elif not lies:
            self.flight, self.since = None, math.inf
        wrecked = lies and app.screen is None  # a page shows the flight before it broke
        if wrecked != self.wrecked:
            self.wrecked = wrecked
            worn = broken(app.mesh, outcome.word) if wrecked and outcome else app.mesh
            app.picture.wear(worn)
        self.since += min(wall_seconds, 0.1) * rehearsal.clock.rate

    def draw(self, view: View, aspect: float) -> None:
        """Over the finished scene, where it came down."""
        reading = self.app.rehearsal.reading
        if math.isinf(self.since) or reading.height_m > self.app.mesh.span:
            return
        speeds = (reading.u_m_s, reading.v_m_s, reading.w_m_s)
        travel = rotation(tuple(attitude_of(reading))) @ speeds
        self.dust.draw(view, aspect, place_of(reading), travel, self.app.mesh.span, self.since)
