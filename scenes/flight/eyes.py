"""All the views of one airframe: which one is asked for, and a free one round it. Pure."""

from __future__ import annotations

import math

import numpy as np

from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.world.camera import (
    BOARD_ANGLE,
    CALM_TIME,
    TOWED_ANGLE,
    TOWED_TIME,
    WIDE,
    Standing,
    Towed,
    View,
    board_view,
    level_view,
    rotation,
)
from firstthrow.scenes.world.meshes import AirframeMesh

DRAG = 0.007  # [rad] a pixel of the mouse turns the free view
TURN_RATE = 1.4  # [rad/s] a key turns it
NEAREST, FURTHEST = 0.9, 60.0  # spans
TAIL_TILT = math.radians(27.0)


class Orbit:
    """A free eye round the airframe: where it is seen from, and how far away."""

    def __init__(self, heading: float, span: float):
        self.span = span
        self.bearing = heading + math.radians(155.0)  # [rad] from the airframe to the eye
        self.height = math.radians(18.0)  # [rad] above it
        self.distance = 2.6 * span

    def turn(self, round_: float, up: float) -> None:
        """By angles [rad]."""
        self.bearing = (self.bearing + round_) % (2.0 * math.pi)
        self.height = min(math.radians(86.0), max(math.radians(-60.0), self.height + up))

    def near(self, factor: float) -> None:
        self.distance = min(FURTHEST * self.span, max(NEAREST * self.span, self.distance * factor))

    def look(self, place: np.ndarray, angle: float) -> View:
        level = math.cos(self.height)
        out = np.array(
            [level * math.cos(self.bearing), level * math.sin(self.bearing), -math.sin(self.height)]
        )
        eye = place + self.distance * out
        eye[2] = min(eye[2], -0.08)  # never under the grass
        return level_view(eye, place - eye, angle)


class Eyes:
    """`look` gives the view of a name in `camera.VIEWS`, or the free one while `free`."""

    def __init__(self, heading: float, mesh: AirframeMesh, settings: Settings):
        self.heading, self.settings = heading, settings
        self.steady = settings.is_steady
        self.free = False
        angle = settings.view_angle
        self.board_angle = angle or BOARD_ANGLE
        self.towed_angle = angle or TOWED_ANGLE
        self.standing = Standing(heading, mesh.span, angle or WIDE)
        self.standing.zooms = not settings.reduced_motion
        self.orbit = Orbit(heading, mesh.span)
        self.wear(mesh)

    def wear(self, mesh: AirframeMesh) -> None:
        """Looks at another airframe from now on."""
        self.mesh = mesh
        self.standing.span = self.orbit.span = mesh.span
        self.tail = tail_seat(mesh)
        self.afresh()

    def afresh(self) -> None:
        """Back at the launch point, with nothing to follow yet."""
        self.standing.gaze = None
        swing = CALM_TIME if self.settings.reduced_motion else TOWED_TIME
        self.towed = Towed(self.heading, self.mesh.span, self.towed_angle, swing)

    def look(self, name: str, seconds: float, pose, reading) -> View:
        """After another `seconds`, of an airframe in a `picture.Pose`; `reading` has its speed."""
        body = rotation(tuple(pose.attitude))
        travel = body @ np.array([reading.u_m_s, reading.v_m_s, reading.w_m_s])
        # both follow all the time, so that a change of view finds them where they belong
        standing = self.standing.look(seconds, pose.place)
        towed = self.towed.look(seconds, pose.place, travel, body[:, 0])
        if self.free:
            return self.orbit.look(pose.place, self.towed_angle)
        if name == "towed":
            return towed
        if name == "riding":
            return board_view(pose.place, body, self.mesh.seat, self.board_angle, self.steady)
        if name == "tail":
            return board_view(pose.place, body, self.tail, self.board_angle, self.steady, TAIL_TILT)
        return standing

    def drag(self, right: float, up: float) -> None:
        """By pixels of the mouse."""
        self.orbit.turn(-DRAG * right, -DRAG * up)


def tail_seat(mesh: AirframeMesh) -> np.ndarray:
    """Body axes, from the CG: on a stick behind and above, so that the surfaces are in sight."""
    size = max(mesh.length, 0.5 * mesh.span)
    low = mesh.fixed.places.min(axis=0)
    return np.array([low[0] - 0.85 * size, 0.0, min(low[2], -0.1 * size) - 0.42 * size])
