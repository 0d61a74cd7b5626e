"""Draws the streamer of the last seconds, as wide as a part of the wing and banked as it was.
Needs a current context."""

from __future__ import annotations

import math

import numpy as np
from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.matrices import camera_matrix, columns

SECONDS, POINTS = 6.0, 90
WIDTH = 0.16  # of the span

# Its upper and under side differ; a band every half second tells the speed; near the eye it
# clears away. It is drawn half a pixel wider at either side, over which it fades: so its edges need
# no softening.
VERTEX = """#version 330 core
in vec3 place; in vec4 edge; in float age;
uniform mat4 camera; uniform vec3 eye; uniform float pixel;
out float old; out float near; out float side;
void main() {
    old = age;
    near = distance(place, eye);
    side = edge.w * (1.0 + 0.5 * pixel * near / max(length(edge.xyz), 1e-6));
    gl_Position = camera * vec4(place + side * edge.xyz, 1.0);
}
"""
FRAGMENT = """#version 330 core
in float old; in float near; in float side;
uniform float seconds; uniform float span;
out vec4 seen;
void main() {
    vec3 base = gl_FrontFacing ? vec3(0.93, 0.47, 0.13) : vec3(0.12, 0.27, 0.43);
    float band = step(0.5, fract(old));
    float fade = 1.0 - old / seconds;
    float clear = smoothstep(0.4 * span, 1.6 * span, near);
    float within = clamp(0.5 + (1.0 - abs(side)) / max(fwidth(side), 1e-6), 0.0, 1.0);
    seen = vec4(mix(base, vec3(0.98, 0.96, 0.90), 0.55 * band), 0.72 * fade * clear * within);
}
"""


class Streamer:
    """One strip; `show` lays it along a flight, `draw` paints it into the current canvas."""

    def __init__(self):
        self.program = shaders.program(VERTEX, FRAGMENT)
        self.strip = None
        self.count = 0

    def show(self, places: np.ndarray, wings: np.ndarray, span: float) -> None:
        """(n, 3) places with the right wing's direction at each, n at most POINTS + 1."""
        self.span = span
        self.count = len(places)
        if self.count < 2:
            return
        middles = np.empty((2 * POINTS + 2, 3))
        edges = np.zeros((2 * POINTS + 2, 4))  # to the right one, and which it is
        shown = slice(0, 2 * self.count)
        middles[shown] = np.repeat(places, 2, axis=0)
        edges[shown, :3] = np.repeat(0.5 * WIDTH * span * wings, 2, axis=0)
        edges[0::2, 3], edges[1::2, 3] = -1.0, 1.0
        # unused ones lie on the last
        middles[2 * self.count :] = places[-1]
        edges[2 * self.count :] = edges[2 * self.count - 1]
        ages = np.zeros(2 * POINTS + 2)
        step = SECONDS / POINTS
        ages[shown] = np.repeat(step * np.arange(self.count - 1, -1, -1), 2)
        rows = {"place": middles.ravel(), "edge": edges.ravel(), "age": ages}
        if self.strip is None:
            self.strip = self.program.vertex_list(len(middles), gl.GL_TRIANGLE_STRIP)
        for name, row in rows.items():
            getattr(self.strip, name)[:] = row.tolist()

    def draw(self, view: View, width: int, height: int) -> None:
        if self.strip is None or self.count < 2:
            return
        self.program.use()
        self.program["camera"] = columns(camera_matrix(view, width / height))
        self.program["eye"] = view.eye.tolist()
        self.program["pixel"] = 2.0 * math.tan(0.5 * view.height_angle) / height
        self.program["seconds"], self.program["span"] = SECONDS, self.span
        gl.glEnable(gl.GL_DEPTH_TEST)
        gl.glDepthMask(gl.GL_FALSE)
        gl.glEnable(gl.GL_BLEND)
        gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
        self.strip.draw(gl.GL_TRIANGLE_STRIP)
        gl.glDepthMask(gl.GL_TRUE)
        gl.glDisable(gl.GL_DEPTH_TEST)
