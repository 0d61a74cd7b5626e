"""What goes with the airframe in the window: ribbon, ghost, free view, sound, launch.

`app` is the window's; it calls `act`, `frame` and `draw`, each on its own occasion.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from firstthrow.scenes.flight.eyes import TURN_RATE
from firstthrow.scenes.flight.flying import Course, Flying
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.track import Track
from firstthrow.scenes.window.launching import Launching
from firstthrow.scenes.words.instruments import Card
from firstthrow.scenes.words.sound import Sound, voice_of
from firstthrow.scenes.words.synth import Voice
from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.ghost import Ghost
from firstthrow.scenes.world.meshes import AirframeMesh, airframe_mesh
from firstthrow.scenes.world.ribbon import POINTS, SECONDS, Ribbon
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.kernels.integrate import BROWN_OUT, RESTART

LEAST = 1.0  # [s] a flight must have lasted to be worth a ghost
BEHIND = 0.7  # lengths behind the centre of gravity that the ribbon starts
WHEEL = 0.9  # one notch of the mouse's wheel nearer


class Last(NamedTuple):
    """The flight whose ghost is drawn."""

    track: Track
    mesh: AirframeMesh
    words: str


class Aids:
    def __init__(self, app, settings: Settings):
        self.app, self.settings = app, settings
        self.ribbon = Ribbon()
        self.ribbon_shown = True
        self.flight: Course | None = None
        self.track = Track((), ())
        self.mesh: AirframeMesh = app.mesh
        self.last: Last | None = None
        self.ghost: Ghost | None = None
        self.ghost_shown = settings.ghost is not None
        if settings.ghost is not None:
            given = settings.ghost
            mesh = airframe_mesh(given.airframe, balance(parts(given.airframe)).place)
            self.last = Last(given.track, mesh, given.words)
        self.sound = Sound(settings.mute, not settings.unseen)
        self.launching = Launching(app, settings)
        self.starved = -math.inf  # [s] of flight when the receiver last had too little voltage
        app.window.push_handlers(on_mouse_drag=self._drag, on_mouse_scroll=self._scroll)

    def act(self, action: str) -> bool:
        """Whether the action is done; others go on to the window."""
        if self.launching.act(action):
            return True
        if action == "ribbon":
            self.ribbon_shown = not self.ribbon_shown
        elif action == "ghost":
            self.ghost_shown = not self.ghost_shown
        elif action == "mute":
            self.sound.mute = not self.sound.mute
        elif action == "steady":
            self.app.eyes.steady = not self.app.eyes.steady
        else:
            return False
        return True

    def card(self) -> Card | None:
        return self.launching.card()

    @property
    def corner(self) -> str:
        """For the line in the corner of the window."""
        found = [self.launching.corner]
        if self.app.eyes.steady:
            found.append("steady horizon")
        if self.ghost_shown:
            found.append(f"ghost: {self.last.words}" if self.last else "ghost: no flight yet")
        if self.sound.mute:
            found.append("mute")
        return "   ".join(word for word in found if word)

    @property
    def asleep(self) -> bool:
        """Whether the receiver restarts: from a supply too low until a while after."""
        return 0.0 <= self.app.rehearsal.reading.time_s - self.starved <= RESTART

    def frame(self, wall_seconds: float) -> None:
        reading = self.app.rehearsal.reading
        if reading.supply_V < BROWN_OUT * self.app.facts.supply_V:
            self.starved = reading.time_s
        self.launching.frame(wall_seconds)
        self._look_round(wall_seconds)
        self._keep_track()
        self.sound.hear(self._voice())

    def draw(self, view: View) -> None:
        """Over the finished scene, in the same canvas."""
        canvas = self.app.canvas
        if self.ghost_shown and self.last is not None:
            self._draw_ghost(self.last, view, canvas)
        if self.ribbon_shown and self.app.rehearsal.flown:
            mesh, reading = self.app.mesh, self.app.rehearsal.reading
            behind = BEHIND * mesh.length / max(2.0, reading.airspeed_m_s)
            time = self.app.rehearsal.flight.time - behind
            self.ribbon.show(*self.track.recent(time, SECONDS, POINTS), mesh.span)
            self.ribbon.draw(view, canvas.width / canvas.height)

    def close(self) -> None:
        self.sound.close()

    def _draw_ghost(self, last: Last, view: View, canvas) -> None:
        track, mesh, _ = last
        if not self.app.rehearsal.flown or len(track) < 2:
            return
        if self.ghost is None or self.ghost.mesh is not mesh:
            if self.ghost is not None:
                self.ghost.delete()
            self.ghost = Ghost(self.app.picture, mesh)
        pose = track.at(self.app.rehearsal.flight.time)
        self.ghost.draw(view, canvas.width, canvas.height, pose)

    def _keep_track(self) -> None:
        """The flight so far; the one before becomes the ghost unless another was asked for."""
        rehearsal: Flying = self.app.rehearsal
        if rehearsal.flight is not self.flight:
            if self.settings.ghost is None and self.track.end > LEAST:
                self.last = Last(self.track, self.mesh, "the flight before")
            self.flight, self.mesh = rehearsal.flight, self.app.mesh
            self.starved = -math.inf
            self.track = rehearsal.track or Track(
                tuple(surface.name for surface in self.app.facts.surfaces), self.app.facts.motors
            )
        if rehearsal.flown and not rehearsal.over:
            self.track.add(rehearsal.flight.time, rehearsal.reading)

    def _look_round(self, wall_seconds: float) -> None:
        """Arrow keys turn the free view while the flight is paused; going on leaves it."""
        app = self.app
        if not app.can_look_round:
            app.eyes.free = False
            return
        across = ("roll_right" in app.keys) - ("roll_left" in app.keys)
        upward = ("pitch_forward" in app.keys) - ("pitch_back" in app.keys)
        nearer = ("throttle_up" in app.keys) - ("throttle_down" in app.keys)
        if across or upward or nearer:
            app.eyes.free = True
            turn = TURN_RATE * min(wall_seconds, 0.1)
            app.eyes.orbit.turn(turn * across, turn * upward)
            app.eyes.orbit.near(1.0 - nearer * min(wall_seconds, 0.1))

    def _drag(self, x, y, dx, dy, buttons, modifiers) -> None:
        if self.app.can_look_round and not self.app.takes_mouse(x, y):
            self.app.eyes.free = True
            self.app.eyes.drag(dx, dy)

    def _scroll(self, x, y, scroll_x, scroll_y) -> None:
        if self.app.can_look_round:
            self.app.eyes.free = True
            self.app.eyes.orbit.near(WHEEL**scroll_y)

    def _voice(self) -> Voice:
        app, rehearsal = self.app, self.app.rehearsal
        if rehearsal.clock.paused or rehearsal.over or app.screen is not None:
            return Voice()
        return voice_of(rehearsal.airframe, rehearsal.reading, app.seen_from)
