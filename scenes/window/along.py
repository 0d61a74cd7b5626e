"""What goes with the airframe in the window: streamer, tracing, free view, sound, launch.

`app` is the window's; it calls `act`, `frame` and `draw`, each on its own occasion.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from pyglet import gl

from firstthrow.scenes.flight.eyes import TURN_RATE
from firstthrow.scenes.flight.flying import Course, Flying
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.track import Track
from firstthrow.scenes.window import edged, loupe
from firstthrow.scenes.window.aftermath import Aftermath
from firstthrow.scenes.window.impact import Impact
from firstthrow.scenes.window.launching import Launching
from firstthrow.scenes.window.schooling import Schooling
from firstthrow.scenes.words import placing
from firstthrow.scenes.words.instruments import Card
from firstthrow.scenes.words.loupe_card import LoupeCard
from firstthrow.scenes.words.sound import Sound, voice_of
from firstthrow.scenes.words.speaking import Speaking
from firstthrow.scenes.words.synth import Voice
from firstthrow.scenes.world.camera import Box, Pose, View, on_screen, pilot_eye, skyline
from firstthrow.scenes.world.marks import Marks
from firstthrow.scenes.world.meshes import AirframeMesh, airframe_mesh
from firstthrow.scenes.world.streamer import POINTS, SECONDS, Streamer
from firstthrow.scenes.world.tracing import Tracing
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.kernels.integrate import BROWN_OUT, RESTART

LEAST = 1.0  # [s] a flight must have lasted to be worth a tracing
BEHIND = 0.7  # lengths behind the centre of gravity that the streamer starts
WHEEL = 0.9  # one notch of the mouse's wheel nearer


class Last(NamedTuple):
    """The flight whose tracing is drawn."""

    track: Track
    mesh: AirframeMesh
    words: str


class Aids:
    def __init__(self, app, settings: Settings):
        self.app, self.settings = app, settings
        self.streamer = Streamer()
        self.streamer_shown = True
        self.flight: Course | None = None
        self.track = Track((), ())
        self.mesh: AirframeMesh = app.mesh
        self.last: Last | None = None
        self.tracing: Tracing | None = None
        self.tracing_shown = settings.tracing is not None
        if settings.tracing is not None:
            given = settings.tracing
            mesh = airframe_mesh(given.airframe, balance(parts(given.airframe)).place)
            self.last = Last(given.track, mesh, given.words)
        self.sound = Sound(settings.mute, not settings.unseen)
        self.speaking, self.speaks = Speaking(), settings.speech
        self.marks = Marks(pilot_eye(app.rehearsal.field.heading))
        self.marks_shown = False
        self.loupe_wanted = True  # by the person
        self.loupe_shown = False
        self.loupe_card: LoupeCard | None = None
        self.away = 0.0  # [m] from the eye to the airframe
        self.launching = Launching(app, settings)
        self.schooling = Schooling(app, settings)
        self.after = Aftermath(app, settings.unseen)
        self.impact = Impact(app)
        self.starved = -math.inf  # [s] of flight when the receiver last had too little voltage
        app.window.push_handlers(on_mouse_drag=self._drag, on_mouse_scroll=self._scroll)

    def act(self, action: str) -> bool:
        """Whether the action is done; others go on to the window."""
        if self.schooling.act(action) or self.launching.act(action) or self.after.act(action):
            return True
        if action == "streamer":
            self.streamer_shown = not self.streamer_shown
        elif action == "tracing":
            self.tracing_shown = not self.tracing_shown
        elif action == "marks":
            self.marks_shown = not self.marks_shown
        elif action == "loupe":
            self.loupe_wanted = not self.loupe_wanted
        elif action == "mute":
            self.sound.mute = not self.sound.mute
            self.app.remember(mute=self.sound.mute)
        elif action == "speech":
            self.speaks = not self.speaks
            self.app.remember(speech=self.speaks)
        elif action == "steady":
            self.app.eyes.steady = not self.app.eyes.steady
        else:
            return False
        return True

    def card(self) -> Card | None:
        return self.schooling.card() or self.launching.card() or self.after.card()

    @property
    def corner(self) -> str:
        """For the line in the corner of the window."""
        found = [self.schooling.corner, self.launching.corner]
        if self.app.eyes.steady:
            found.append("steady horizon")
        if self.tracing_shown:
            found.append(f"tracing: {self.last.words}" if self.last else "tracing: no flight yet")
        if self.speaks:
            found.append("spoken words")
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
        self.schooling.frame()
        self.impact.frame(wall_seconds)
        self._look_round(wall_seconds)
        self._keep_track()
        self.after.frame()
        self.sound.hear(self._voice())
        said = self.speaking.due(reading, self.app.facts)
        if said and self.speaks and not self.app.rehearsal.over:
            self.sound.say(said)

    def keep_outline(self) -> None:
        """The flight that has ended is the tracing of the next, however short it was."""
        if len(self.track) > 1:
            self.last = Last(self.track, self.mesh, "the throw before")
            self.tracing_shown = True

    def draw(self, view: View, pose: Pose) -> None:
        """Over the finished scene, in the same canvas."""
        canvas = self.app.canvas
        aspect = canvas.width / canvas.height
        self.schooling.draw(view, aspect)
        if self.marks_shown:
            self.marks.draw(view, aspect, pose.place)
        if self.tracing_shown and self.last is not None:
            self._draw_tracing(self.last, view, canvas)
        if self.streamer_shown and self.app.rehearsal.flown:
            mesh, reading = self.app.mesh, self.app.rehearsal.reading
            behind = BEHIND * mesh.length / max(2.0, reading.airspeed_m_s)
            time = self.app.rehearsal.flight.time - behind
            self.streamer.show(*self.track.recent(time, SECONDS, POINTS), mesh.span)
            self.streamer.draw(view, canvas.width, canvas.height)
        self.impact.draw(view, aspect)
        spot = on_screen(view, aspect, pose.place)
        panels = self.app.panels
        aim = self.schooling.aim
        to = None if aim is None else on_screen(view, aspect, aim)
        panels.side = placing.side_away(panels.side, spot and spot[0], to and to[0])
        bearing = math.atan2(view.ahead[1], view.ahead[0])
        towards, speed = math.atan2(pose.wind[1], pose.wind[0]), math.hypot(*pose.wind)
        panels.show_wind(towards - bearing, speed)
        self._draw_loupe(view, pose)

    def edges(self, view: View, pose: Pose) -> list[Box] | None:
        """Where the picture has edges to soften; None for all of it."""
        self._settle_loupe(view, pose)
        app, size = self.app, self._size
        things = [*app.picture.hard(pose), *self.schooling.outlines]
        airframes = [(app.picture.airframe, pose)]
        if self.tracing_shown and self.last is not None and len(self.last.track) >= 2:
            airframes.append((self.last.mesh, self.last.track.at(app.rehearsal.flight.time)))
        boxes = edged.boxes(view, size, things, airframes)
        if boxes is None or (self.marks_shown and skyline(view, 0.0) is None):
            return None
        if self.marks_shown:
            boxes.append((0, 0, size[0], _pixel(skyline(view, 0.0) or 0.0, size[1])))
        if self.loupe_shown and app.panels.loupe is not None:
            left, low, *glass = self._glass(app.panels.loupe)
            near = loupe.loupe_view(view.eye, pose.place, app.mesh.span)
            x, y, wide, tall = edged.through(near, (glass[0], glass[1]), *airframes[0])
            boxes.append((left + x, low + y, wide, tall))
        return boxes

    def _glass(self, placed: placing.Placed) -> Box:
        """In pixels of the canvas."""
        fine = self.app.canvas.width / self.app.panels.width
        left, low, wide, tall = (round(fine * value) for value in placed.glass)
        return left, low, wide, tall

    def hidden(self) -> list[Box]:
        """What of the picture lies under tags, the loupe's card and the bench's panels, of which
        nothing need be drawn; but for a rim, at which edges are softened that end there."""
        app, fine = self.app, self.app.canvas.width / self.app.panels.width
        rects = app.panels.tags_shown(app.instruments)
        if self.loupe_shown and app.panels.loupe is not None:
            rects.append(app.panels.loupe.card)
        rects += app.bench.papers
        boxes = [placing.whole_pixels(rect, fine) for rect in rects]
        return [
            (x + 1, y + 1, wide - 2, tall - 2) for x, y, wide, tall in boxes if min(wide, tall) > 2
        ]

    @property
    def _size(self) -> tuple[int, int]:
        return self.app.canvas.width, self.app.canvas.height

    def draw_over(self) -> None:
        """Over the instruments, in the window itself."""
        if self.loupe_shown and self.loupe_card is not None:
            self.loupe_card.draw(f"{self.app.facts.units.distance(self.away)} away")

    def _settle_loupe(self, view: View, pose: Pose) -> None:
        """Shown where the standing eye sees it too small, unless a card or the bench has the
        place."""
        app = self.app
        standing = app.view_name == "standing" and not app.eyes.free
        free = not app.bench.visible and app.card is None
        share = loupe.share_of_height(view, pose.place, app.mesh.span)
        self.loupe_shown = (
            app.panels.loupe is not None
            and self.loupe_wanted
            and standing
            and free
            and loupe.is_wanted(self.loupe_shown, share)
        )

    def _draw_loupe(self, view: View, pose: Pose) -> None:
        app, canvas, placed = self.app, self.app.canvas, self.app.panels.loupe
        if placed is None or not self.loupe_shown:
            return
        self.away = float(np.linalg.norm(pose.place - view.eye))
        if self.loupe_card is None or self.loupe_card.placed != placed:
            self.loupe_card = LoupeCard(placed, app.panels.scale)
        box = self._glass(placed)
        gl.glEnable(gl.GL_SCISSOR_TEST)
        gl.glScissor(*box)
        near = loupe.loupe_view(view.eye, pose.place, app.mesh.span)
        app.picture.draw(near, box[2], box[3], pose, (box[0], box[1]), alone=True)
        gl.glDisable(gl.GL_SCISSOR_TEST)
        gl.glViewport(0, 0, canvas.width, canvas.height)

    def close(self) -> None:
        self.after.close()
        self.sound.close()

    def _draw_tracing(self, last: Last, view: View, canvas) -> None:
        track, mesh, _ = last
        if not self.app.rehearsal.flown or len(track) < 2:
            return
        if self.tracing is None or self.tracing.mesh is not mesh:
            if self.tracing is not None:
                self.tracing.delete()
            self.tracing = Tracing(self.app.picture, mesh)
        pose = track.at(self.app.rehearsal.flight.time)
        self.tracing.draw(view, canvas.width, canvas.height, pose)

    def _keep_track(self) -> None:
        """The flight so far; the one before becomes the tracing unless another was asked for."""
        rehearsal: Flying = self.app.rehearsal
        if rehearsal.flight is not self.flight:
            if self.settings.tracing is None and self.track.end > LEAST:
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


def _pixel(up: float, tall: int) -> int:
    """Row of a height in the picture (-1..1)."""
    return min(tall, max(0, round(0.5 * tall * (1.0 + up))))
