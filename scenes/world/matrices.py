"""Where everything in the picture stands, as (4, 4) matrices. Pure."""

from __future__ import annotations

import math

import numpy as np

from firstthrow.scenes.world.camera import (
    DOWN,
    Pose,
    View,
    cross,
    projection_matrix,
    rotation,
    view_matrix,
)
from firstthrow.scenes.world.meadow import sock_droop, turn

NEAR, FAR = 0.06, 1200.0
WALKED = 4.0  # [s] after a throw, in which the thrower gets out of the way


def shadow_matrix(sun: np.ndarray, lift: float = 0.015) -> np.ndarray:
    """(4, 4) that lays every point along the sun's ray onto a plane `lift` above the ground."""
    matrix = np.eye(4)
    matrix[0, 2], matrix[1, 2] = -sun[0] / sun[2], -sun[1] / sun[2]
    matrix[2] = [0.0, 0.0, 0.0, -lift]
    return matrix


def camera_matrix(view: View, aspect: float) -> np.ndarray:
    """(4, 4) from field axes to clip space; `aspect` is width over height."""
    return projection_matrix(view.height_angle, aspect, NEAR, FAR) @ view_matrix(view)


def in_sight(camera: np.ndarray, places: np.ndarray) -> bool:
    """Whether what lies between (n, 3) field places may be in the picture: unless all lie beyond
    one of its four sides, or behind the eye."""
    ends = places @ camera[:, :3].T + camera[:, 3]
    aside, ahead = ends[:, :2], ends[:, 3:]
    beyond = np.concatenate([aside > ahead, -aside > ahead, ahead < 0.0], axis=1)
    return not beyond.all(axis=0).any()


def body_matrix(pose: Pose) -> np.ndarray:
    matrix = np.eye(4)
    matrix[:3, :3] = rotation(tuple(pose.attitude))
    matrix[:3, 3] = pose.place
    return matrix


def turn_about(point: np.ndarray, axis: np.ndarray, angle: float) -> np.ndarray:
    """(4, 4) rotation about a line. Source: Rodrigues' formula."""
    x, y, z = axis
    skew = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    matrix = np.eye(4)
    matrix[:3, :3] += math.sin(angle) * skew + (1.0 - math.cos(angle)) * (skew @ skew)
    matrix[:3, 3] = point - matrix[:3, :3] @ point
    return matrix


def propeller_matrix(place: np.ndarray, axis: np.ndarray, angle: float) -> np.ndarray:
    """(4, 4) from a propeller drawn round the x axis to its place, turned by `angle`."""
    matrix = np.eye(4)
    side = cross(DOWN, axis)
    side = side / np.linalg.norm(side)
    matrix[:3, :3] = np.column_stack([axis, side, cross(axis, side)])
    matrix[:3, 3] = place
    return matrix @ turn_about(np.zeros(3), np.array([1.0, 0.0, 0.0]), angle)


def sock_matrix(place: np.ndarray, wind: tuple[float, float], heading: float) -> np.ndarray:
    """(4, 4) that hangs the sock at its mast, along the wind and drooping in a light one."""
    speed = math.hypot(*wind)
    bearing = math.atan2(wind[1], wind[0]) if speed > 0.05 else heading + 0.7
    droop = sock_droop(speed)
    c, s = math.cos(bearing), math.sin(bearing)
    along = np.array([c * math.cos(droop), s * math.cos(droop), math.sin(droop)])
    side = np.array([-s, c, 0.0])
    matrix = np.eye(4)
    matrix[:3, :3] = np.column_stack([along, side, cross(along, side)])
    matrix[:3, 3] = place
    return matrix


def walked(seconds: float, heading: float) -> np.ndarray:
    """(4, 4) that takes the thrower aside and behind the pilot in the seconds after a throw."""
    share = min(1.0, max(0.0, seconds) / WALKED)
    matrix = np.eye(4)
    matrix[:3, 3] = turn(heading) @ np.array([-7.0 * share, 2.5 * math.sin(math.pi * share), 0.0])
    return matrix


def columns(matrix: np.ndarray) -> list[float]:
    return matrix.T.ravel().tolist()
