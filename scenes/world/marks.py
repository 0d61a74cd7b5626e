"""Marks on the grass that say how far and how high: rings round the pilot, a plumb line under the
airframe. Needs a current context."""

from __future__ import annotations

import math

import numpy as np
from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.matrices import camera_matrix, columns

RINGS = (10.0, 25.0, 50.0, 100.0)  # [m] from the pilot
LIFT = 0.03  # [m] above the grass
THIN = 0.0016  # [rad] least width of a line, as the eye sees it
SIDES = 96
CHALK, LEAD = (0.97, 0.96, 0.88), (0.10, 0.11, 0.12)

VERTEX = """#version 330 core
in vec3 place; in vec4 tint;
uniform mat4 camera;
out vec4 shown;
void main() { shown = tint; gl_Position = camera * vec4(place, 1.0); }
"""
FRAGMENT = """#version 330 core
in vec4 shown;
out vec4 seen;
void main() { seen = shown; }
"""


def ring(middle: np.ndarray, radius: float, half: float) -> np.ndarray:
    """(6 SIDES, 3) corners of triangles: a band on the grass, `half` [m] to either side."""
    turns = np.linspace(0.0, 2.0 * math.pi, SIDES + 1)
    rays = np.column_stack([np.cos(turns), np.sin(turns), np.zeros(SIDES + 1)])
    centre = np.array([middle[0], middle[1], -LIFT])
    inner, outer = centre + (radius - half) * rays, centre + (radius + half) * rays
    a, b, c, d = inner[:-1], outer[:-1], outer[1:], inner[1:]
    return np.stack([a, b, c, a, c, d], axis=1).reshape(-1, 3)


def plumb(place: np.ndarray, eye: np.ndarray, half_angle: float) -> np.ndarray:
    """(n, 3) corners: a band that faces the eye, from the airframe straight down, and a disc on the
    grass where it ends."""
    foot = np.array([place[0], place[1], -LIFT])
    away = foot - eye
    side = np.array([-away[1], away[0], 0.0])
    side = side / max(1e-6, float(np.linalg.norm(side)))
    half = max(0.006, half_angle * float(np.linalg.norm(away)))
    a, b, c, d = foot - half * side, foot + half * side, place + half * side, place - half * side
    turns = np.linspace(0.0, 2.0 * math.pi, 17)
    rim = foot + 6.0 * half * np.column_stack([np.cos(turns), np.sin(turns), np.zeros(17)])
    disc = [corner for k in range(16) for corner in (foot, rim[k], rim[k + 1])]
    return np.array([a, b, c, a, c, d, *disc])


class Marks:
    """Rings that stay where the pilot stands, wider where they are seen flatter; `draw` paints them
    and the line of the moment."""

    def __init__(self, pilot: np.ndarray):
        self.program = shaders.program(VERTEX, FRAGMENT)
        corners = np.concatenate([ring(pilot, r, max(0.06, 0.0002 * r * r)) for r in RINGS])
        self.rings = self._list(corners, (*CHALK, 0.8))
        self.line = self._list(np.zeros((6 + 48, 3)), (*LEAD, 0.85))

    def draw(self, view: View, aspect: float, place: np.ndarray) -> None:
        """Into the current canvas, over the finished scene; `place` is the airframe's."""
        half = THIN * max(0.3, view.height_angle)
        self.line.place[:] = plumb(place, view.eye, half).ravel().tolist()
        self.program.use()
        self.program["camera"] = columns(camera_matrix(view, aspect))
        gl.glEnable(gl.GL_DEPTH_TEST)
        gl.glDepthMask(gl.GL_FALSE)
        gl.glEnable(gl.GL_BLEND)
        gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
        gl.glEnable(gl.GL_POLYGON_OFFSET_FILL)  # over the grass, however far
        gl.glPolygonOffset(-2.0, -8.0)
        self.rings.draw(gl.GL_TRIANGLES)
        gl.glDisable(gl.GL_POLYGON_OFFSET_FILL)
        if place[2] < -0.5:
            self.line.draw(gl.GL_TRIANGLES)
        gl.glDepthMask(gl.GL_TRUE)
        gl.glDisable(gl.GL_DEPTH_TEST)

    def _list(self, corners: np.ndarray, tint: tuple[float, ...]):
        count = len(corners)
        return self.program.vertex_list(
            count,
            gl.GL_TRIANGLES,
            place=("f", corners.ravel().tolist()),
            tint=("f", np.tile(tint, count).tolist()),
        )
