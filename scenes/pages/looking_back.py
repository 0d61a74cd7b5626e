"""The last seconds of a flight again, slowly, from the side and from behind: the forces on the
airframe as arrows, its balance and neutral point, the angle of attack against the stall, and a
sentence for each moment."""

from __future__ import annotations

import math

import numpy as np
from pyglet import gl

from firstthrow.scenes.flight.posing import pose_of, turn_propellers
from firstthrow.scenes.flight.replay import Replay
from firstthrow.scenes.hands.bindings import NOW, key_words, words_of
from firstthrow.scenes.pages.screens import Screen
from firstthrow.scenes.words import force_arrows
from firstthrow.scenes.words.force_drawing import ForceDrawing
from firstthrow.scenes.words.instruments import Rect
from firstthrow.scenes.world.camera import Pose, View, level_view, rotation
from firstthrow.sim.learn.aftermath.explained import span
from firstthrow.sim.learn.aftermath.said import at, moments

RATES = (0.25, 0.1, 0.5)  # seconds of flight a second
ANGLE = math.radians(40.0)  # vertical field of view
NEAR = 3.4  # lengths of the airframe from the eye to it, seen from the side
ABOVE = 0.12  # of that distance, the eye stands above it
BESIDE = 0.40  # of the window's height, the picture from behind
FILLED = 0.55  # of its width, the span
SMOOTH = 0.6  # [s] over which the course is taken that the eyes go by
STEP = 1.0 / 60.0  # [s] of flight, a step by key
LEAST_ROOM = 720.0, 450.0  # pixels of the window that words and labels of scale 1 need


class LookingBack(Screen):
    """`app` is the window's; its flight is over. Keys: stop, steps, slower; the window's own go on
    working: the same throw put right, to the file."""

    def __init__(self, app):
        self.after = app.aids.after
        flown = self.after.explaining.flown or self.after.flown()
        self.record = flown.record
        self.replay = Replay(flown.record, flown.airframe, flown.field)
        times = span(flown.record)
        self.start = float(times[0]) if len(times) else self.replay.start
        self.end = self.replay.end
        self.replay.seek(self.start)
        self.paused, self.rate = False, RATES[0]
        self.sentences = moments(self.record)
        self.course = _courses(self.record)
        self.turns = [0.0 for _ in app.mesh.propellers]
        self.seen: tuple[Pose, View, View] | None = None
        super().__init__(app)

    @property
    def time(self) -> float:
        return self.replay.flight.time

    def resize(self) -> None:
        wide, tall = self.app.window.get_size()
        self.width, self.height = float(wide), float(tall)
        self.scale = min(self.app.panels.scale, self.width / LEAST_ROOM[0], tall / LEAST_ROOM[1])
        self.drawing = ForceDrawing(self.scale)
        size = round(BESIDE * tall)
        gap = round(16.0 * self.scale)
        self.whole = Rect(0.0, 0.0, self.width, self.height)
        self.beside = Rect(self.width - size - gap, self.height - size - gap, size, size)

    def key(self, name: str) -> bool:
        action = NOW.actions.get(name)
        if action in ("look_back", "put_right", "to_bench"):
            self.act(action)
        elif name in ("SPACE", "P"):
            if self.time >= self.end - 1e-6:
                self.replay.seek(self.start)
                self.paused = False
            else:
                self.paused = not self.paused
        elif name in ("LEFT", "RIGHT"):
            self.paused = True
            step = STEP if name == "RIGHT" else -STEP
            self.replay.seek(min(self.end, max(self.start, self.time + step)))
        elif name == "T":
            self.rate = RATES[(RATES.index(self.rate) + 1) % len(RATES)]
        elif name in ("HOME", "END"):
            self.replay.seek(self.start if name == "HOME" else self.end)
        else:
            return False
        return True

    def act(self, action: str) -> None:
        """Buttons: as the keys do."""
        if action in ("release", "pause"):
            self.key("SPACE")
        elif action == "slower":
            self.key("T")
        elif action in ("look_back", "quit", "again"):
            self.app.leave()
        elif action in ("put_right", "to_bench"):
            self.after.act(action)

    def frame(self, seconds: float, sticks) -> None:
        if not self.paused and self.time < self.end:
            self.replay.seek(min(self.end, self.time + self.rate * min(seconds, 0.1)))
        found = self.after.explaining.found
        if found is not None and found.moments:
            self.sentences = found.moments

    def scene(self):
        """From the side, the nose to the right."""
        facts = self.app.facts
        turn_propellers(self.turns, self.replay, facts, 0.0)
        pose = pose_of(self.replay, facts, self.turns)
        away = self._distance()
        course = float(np.interp(self.time, self.course[0], self.course[1]))
        ahead = np.array([math.cos(course), math.sin(course), 0.0])
        right = np.array([-math.sin(course), math.cos(course), 0.0])
        up = np.array([0.0, 0.0, -1.0])
        eye = pose.place + away * right + ABOVE * away * up
        side = level_view(_over_grass(eye), pose.place - _over_grass(eye), ANGLE)
        mesh = self.app.mesh
        back = 0.5 * mesh.span / FILLED / math.tan(0.5 * ANGLE) + 0.5 * mesh.length
        eye = _over_grass(pose.place - back * ahead + 0.25 * back * up)
        self.seen = pose, side, level_view(eye, pose.place - eye, ANGLE)
        return pose, side

    def _distance(self) -> float:
        mesh = self.app.mesh
        return NEAR * max(mesh.length, 0.5 * mesh.span)

    def draw_beside(self) -> None:
        """The picture from behind, over the corner of the one from the side, in its canvas."""
        if self.seen is None:
            return
        pose, _, behind = self.seen
        canvas = self.app.canvas
        fine = canvas.width / self.width
        x, y, wide, tall = (round(fine * value) for value in self.beside)
        gl.glEnable(gl.GL_SCISSOR_TEST)
        gl.glScissor(x, y, wide, tall)
        self.app.picture.draw(behind, wide, tall, pose, (x, y))
        gl.glDisable(gl.GL_SCISSOR_TEST)
        gl.glViewport(0, 0, canvas.width, canvas.height)

    def draw(self) -> None:
        if self.seen is None:
            return
        drawing, s = self.drawing, self.scale
        pose, side, behind = self.seen
        drawing.begin()
        drawing.frame(self.beside)
        forces = self.after.explaining.forces
        gap = 16.0 * s
        left = Rect(gap, 0.0, min(0.34 * self.width, 460.0 * s), self.height - gap)
        told = [(f"{self.time:.2f} s, {self._pace()}", True)]
        told.append((at(self.sentences, self.time), False))
        if forces is None and self.after.explaining.busy:
            told.append(("Working out the forces ...", False))
        tall = drawing.text("said", tuple(told), left)
        foot = self._foot()
        if forces is not None:
            moment = forces.at(self.time)
            low = left.y + left.height - tall - 66.0 * s
            drawing.gauge(force_arrows.gauge(moment, forces), Rect(gap, low, left.width, 52.0 * s))
            card = Rect(gap, low, left.width, self.height - low)
            cg = force_arrows.spot((0.0, 0.0, 0.0), pose, side, self.whole)
            np_ = force_arrows.spot(forces.neutral_point, pose, side, self.whole)
            marks = drawing.marks(cg, np_, "side") if cg is not None and np_ is not None else ()
            for view, frame, key in ((side, self.whole, "side"), (behind, self.beside, "behind")):
                seen = force_arrows.arrows(moment, pose, view, frame, key == "side")
                rim = Rect(*(v + d * gap for v, d in zip(self.beside, (-1, -1, 2, 2), strict=True)))
                kept = (card, foot, rim, *marks) if key == "side" else ()
                drawing.arrows(seen, frame, key, kept)
        drawing.draw()

    def _foot(self) -> Rect:
        """The cause and the keys along the lower edge; where they stand."""
        reason = self.after.reason
        told = ((reason, True), (self._keys(), False)) if reason else ((self._keys(), False),)
        gap = 16.0 * self.scale
        wide = self.width - 2.0 * gap
        place = Rect(gap, gap, wide, self.drawing.height_of(told, wide))
        self.drawing.text("foot", told, place)
        return place

    def _pace(self) -> str:
        if self.time >= self.end - 1e-6:
            return "the end"
        return "stopped" if self.paused else f"time x {self.rate:g}"

    def _keys(self) -> str:
        again = self.after.put_right_words
        return (
            f"Forces: times the weight. {words_of('SPACE')}: stop, go on. Left, Right: steps. "
            f"T: slower. {key_words('put_right')}: {again}. {key_words('quit')}: back."
        )

    def close(self) -> None:
        self.drawing.begin()


def _over_grass(eye: np.ndarray) -> np.ndarray:
    return np.array([eye[0], eye[1], min(float(eye[2]), -0.15)])


def _courses(record) -> tuple[np.ndarray, np.ndarray]:
    """Times and the course over the ground [rad] without its quick changes; where it hardly moves
    the heading."""
    time = record.column("time_s")
    names = ("attitude_w", "attitude_x", "attitude_y", "attitude_z")
    attitudes = np.column_stack([record.column(name) for name in names])
    speeds = np.column_stack([record.column(f"{axis}_m_s") for axis in "uvw"])
    ways = np.array(
        [rotation(tuple(a)) @ v for a, v in zip(attitudes.tolist(), speeds, strict=True)]
    )[:, :2]
    headings = np.radians(record.column("heading_deg"))
    still = np.hypot(*ways.T) < 1.0
    ways[still] = np.column_stack([np.cos(headings), np.sin(headings)])[still]
    ways /= np.hypot(*ways.T)[:, None]
    width = max(1, round(SMOOTH / STEP))
    kernel = np.ones(width) / width
    padded = np.pad(ways, ((width // 2, width - 1 - width // 2), (0, 0)), mode="edge")
    smooth = np.column_stack([np.convolve(padded[:, k], kernel, "valid") for k in range(2)])
    return time, np.unwrap(np.arctan2(smooth[:, 1], smooth[:, 0]))
