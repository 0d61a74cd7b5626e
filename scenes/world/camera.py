"""Where the eyes are: a standing pilot, a towed, seats on board. Pure mathematics.

Field axes (north, east, down), metres, radians. A `View` is an eye, the directions it looks
and holds its head, and its vertical field of view; matrices are 4x4, for column vectors,
with OpenGL's clip space.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

VIEWS = ("standing", "towed", "riding", "tail")
EYE_HEIGHT = 1.7  # [m] of a standing person
BEHIND, ASIDE = 4.0, -1.3  # [m] the pilot's feet: behind the launch point, to its left
WIDE, NARROW = math.radians(48.0), math.radians(6.0)  # vertical fields of view
WIDEST = math.radians(100.0)  # that an airframe high overhead may ask for
RISE = 0.6  # of half the picture: so far above the middle the airframe may stand
SUNK = 0.5  # of half the picture: so far below the middle the horizon may sink
LAG = 0.15  # of the field of view that the eyes may be behind
LEAST_SIZE = 0.065  # of the picture's height, the slow zoom keeps the span at least so large
ZOOM_TIME = 0.9  # [s] time constant of the slow zoom
GAZE_TIME = 0.10  # [s] time constant of the eyes following
TOWED_TIME = 0.45  # [s] time constant of the towed swinging round
CALM_TIME = 2.5  # [s] the same with reduced motion
TOWED_ANGLE, BOARD_ANGLE = math.radians(46.0), math.radians(62.0)  # vertical fields of view
Box = tuple[int, int, int, int]  # x, y, width, height [pixels], from the lower left
DOWN = np.array([0.0, 0.0, 1.0])


class View(NamedTuple):
    eye: np.ndarray  # (3,) north, east, down [m]
    ahead: np.ndarray  # (3,) unit
    up: np.ndarray  # (3,) unit, square to ahead
    height_angle: float  # vertical field of view [rad]


class Pose(NamedTuple):
    """How the airframe stands, for one picture."""

    place: np.ndarray  # (3,) CG, field axes [m]
    attitude: np.ndarray  # quaternion w, x, y, z
    surfaces: tuple[float, ...]  # [rad] in slot order
    turns: tuple[float, ...]  # [rad] each propeller has turned
    rpm: tuple[float, ...]
    wind: tuple[float, float]  # north, east: where the air moves to [m/s]
    gone: float = 0.0  # [s] since the throw, for the thrower who walks away


def rotation(quaternion: tuple[float, float, float, float]) -> np.ndarray:
    """(3, 3) body to field, of a unit quaternion w, x, y, z. Standard direction cosines."""
    w, x, y, z = quaternion
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


def cross(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Of two vectors; numpy's own takes ten times as long for a single pair."""
    (a, b, c), (x, y, z) = one.tolist(), other.tolist()
    return np.array([b * z - c * y, c * x - a * z, a * y - b * x])


def blend(first: np.ndarray, second: np.ndarray, share: float) -> np.ndarray:
    """Quaternion between two near ones, the short way round, unit length."""
    if float(first @ second) < 0.0:
        second = -second
    mixed = (1.0 - share) * first + share * second
    return mixed / np.linalg.norm(mixed)


def level_view(eye: np.ndarray, ahead: np.ndarray, height_angle: float) -> View:
    """A view with a level horizon; straight up or down, north is at the top."""
    ahead = ahead / np.linalg.norm(ahead)
    right = cross(DOWN, ahead)
    size = np.linalg.norm(right)
    right = right / size if size > 1e-6 else np.array([0.0, 1.0, 0.0])
    return View(eye, ahead, cross(right, ahead), height_angle)


def view_matrix(view: View) -> np.ndarray:
    """Field to eye coordinates (x right, y up, z backwards)."""
    right = cross(view.ahead, view.up)
    matrix = np.eye(4)
    matrix[0, :3], matrix[1, :3], matrix[2, :3] = right, view.up, -view.ahead
    matrix[:3, 3] = -matrix[:3, :3] @ view.eye
    return matrix


def projection_matrix(height_angle: float, aspect: float, near: float, far: float) -> np.ndarray:
    """Perspective. Source: OpenGL 2.1 reference, gluPerspective."""
    f = 1.0 / math.tan(0.5 * height_angle)
    matrix = np.zeros((4, 4))
    matrix[0, 0], matrix[1, 1] = f / aspect, f
    matrix[2, 2] = (far + near) / (near - far)
    matrix[2, 3] = 2.0 * far * near / (near - far)
    matrix[3, 2] = -1.0
    return matrix


def on_screen(view: View, aspect: float, point: np.ndarray) -> tuple[float, float] | None:
    """Place of a field point in the picture, -1..1 right and up; None behind the eye."""
    place = view_matrix(view) @ np.append(point, 1.0)
    if place[2] > -1e-6:
        return None
    f = 1.0 / math.tan(0.5 * view.height_angle)
    return float(f / aspect * place[0] / -place[2]), float(f * place[1] / -place[2])


def skyline(view: View, least: float) -> float | None:
    """How high in the picture (-1..1) what stands on the ground may reach, seen at most `least`
    [rad] above the horizon; None where the horizon is not level or the eye is high."""
    if abs(float(cross(view.ahead, view.up)[2])) > 1e-3 or view.eye[2] < -3.0 * EYE_HEIGHT:
        return None
    lower = least - elevation_of(view.ahead)
    return math.tan(min(1.4, lower)) / math.tan(0.5 * view.height_angle)


def pilot_eye(heading: float) -> np.ndarray:
    """The standing pilot's eye, behind and beside a launch point at the field's origin."""
    cos, sin = math.cos(heading), math.sin(heading)
    north = -BEHIND * cos - ASIDE * sin
    east = -BEHIND * sin + ASIDE * cos
    return np.array([north, east, -EYE_HEIGHT])


def zoom_angle(distance: float, span: float, wide: float = WIDE) -> float:
    """Vertical field of view in which a span at a distance fills `LEAST_SIZE`, within limits."""
    size = 2.0 * math.atan(0.5 * span / max(distance, 0.1))
    return min(wide, max(NARROW, size / LEAST_SIZE))


class Standing:
    """A pilot on the grass who looks at the airframe, and narrows the eyes on a far one."""

    def __init__(self, heading: float, span: float, wide: float = WIDE):
        self.eye = pilot_eye(heading)
        self.heading = heading
        self.span = span
        self.zooms = True
        self.gaze: np.ndarray | None = None
        self.wide = self.angle = wide

    def look(self, seconds: float, place: np.ndarray) -> View:
        """The view after another `seconds`; `place` is the airframe's, in field axes."""
        to = place - self.eye
        distance = float(np.linalg.norm(to))
        want = zoom_angle(distance, self.span, self.wide) if self.zooms else self.wide
        share = 1.0 - math.exp(-seconds / ZOOM_TIME)
        self.angle *= (want / self.angle) ** share
        aim = to / max(distance, 1e-6)
        if self.gaze is None:
            self.gaze, self.angle = aim, want
        self.angle = max(self.angle, angle_with_ground(elevation_of(aim)))
        share = 1.0 - math.exp(-seconds / GAZE_TIME)
        gaze = self.gaze + share * (aim - self.gaze)
        gaze = gaze / np.linalg.norm(gaze)
        # eyes may lag behind a fast pass, but never so far that it leaves the picture
        limit = LAG * self.angle
        lag = math.acos(max(-1.0, min(1.0, float(gaze @ aim))))
        if lag > limit:
            gaze = aim + (gaze - aim) * (limit / lag)
            gaze = gaze / np.linalg.norm(gaze)
        self.gaze = gaze
        return level_view(self.eye, lowered(gaze, self.angle), self.angle)


def elevation_of(gaze: np.ndarray) -> float:
    """Above the horizon [rad]."""
    return math.atan2(-gaze[2], math.hypot(gaze[0], gaze[1]))


def angle_with_ground(elevation: float) -> float:
    """The least field of view [rad] that holds what stands at an elevation and enough ground below
    it: the horizon no deeper than `SUNK`, the airframe no higher than `RISE`.

    With t the tangent of half the angle, atan(SUNK t) + atan(RISE t) is the elevation; the sum of
    two arcs gives a quadratic in t.
    """
    if elevation <= 0.0:
        return 0.0
    size = math.tan(min(elevation, 1.5))
    both = SUNK + RISE
    square = both * both + 4.0 * SUNK * RISE * size * size
    half = (math.sqrt(square) - both) / (2.0 * SUNK * RISE * size)
    return min(WIDEST, 2.0 * math.atan(half))


def lowered(gaze: np.ndarray, height_angle: float) -> np.ndarray:
    """Gaze turned down when it points above the horizon, so that ground stays in sight: what it
    points at stands up to `RISE` above the middle of the picture."""
    level = math.hypot(gaze[0], gaze[1])
    elevation = elevation_of(gaze)
    if level < 1e-6 or elevation <= 0.0:
        return gaze
    lower = max(0.0, elevation - math.atan(RISE * math.tan(0.5 * height_angle)))
    scale = math.cos(lower) / level
    return np.array([gaze[0] * scale, gaze[1] * scale, -math.sin(lower)])


class Towed:
    """Follows behind and above, level, swinging round with the flight path."""

    def __init__(
        self, heading: float, span: float, angle: float = TOWED_ANGLE, swing: float = TOWED_TIME
    ):
        self.angle, self.swing = angle, swing
        self.distance = max(1.5, 2.3 * span)
        self.way = np.array([math.cos(heading), math.sin(heading), 0.0])

    def look(self, seconds: float, place: np.ndarray, travel: np.ndarray, nose: np.ndarray) -> View:
        """`travel` is the velocity over the ground [m/s], `nose` the body's x axis."""
        level = np.array([travel[0], travel[1], 0.0])
        speed = float(np.linalg.norm(level))
        if speed < 2.0:  # in the hand, or mushing down: the nose says where it goes
            level = np.array([nose[0], nose[1], 0.0])
            speed = float(np.linalg.norm(level))
        if speed > 0.2:
            share = 1.0 - math.exp(-seconds / self.swing)
            way = self.way + share * (level / speed - self.way)
            size = float(np.linalg.norm(way))
            self.way = way / size if size > 1e-3 else level / speed
        eye = place - self.distance * self.way - 0.42 * self.distance * DOWN
        eye[2] = min(eye[2], -0.25)  # never under the grass
        return level_view(eye, place - 0.08 * self.distance * DOWN - eye, self.angle)


def board_view(
    place: np.ndarray,
    body: np.ndarray,
    seat: np.ndarray,
    angle: float = BOARD_ANGLE,
    steady: bool = False,
    tilt: float = math.radians(4.0),
) -> View:
    """From a `seat` (body axes, from the CG) along the nose and `tilt` below it, so that some
    ground shows in level flight. The head tilts with the airframe, or stays level if `steady`."""
    eye = place + body @ seat
    eye[2] = min(eye[2], -0.05)  # never under the grass
    if steady:
        level = np.array([body[0, 0], body[1, 0], 0.0])
        size = float(np.linalg.norm(level))
        level = level / size if size > 0.05 else np.array([1.0, 0.0, 0.0])
        return level_view(eye, math.cos(tilt) * level + math.sin(tilt) * DOWN, angle)
    ahead = body @ np.array([math.cos(tilt), 0.0, math.sin(tilt)])
    up = body @ np.array([math.sin(tilt), 0.0, -math.cos(tilt)])
    return View(eye, ahead, up, angle)
