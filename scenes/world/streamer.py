"""Draws the streamer of the last seconds, as wide as a part of the wing and banked as it was.
Needs a current context."""

from __future__ import annotations

import numpy as np
from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.matrices import camera_matrix, columns

SECONDS, POINTS = 6.0, 90
WIDTH = 0.16  # of the span

# Its upper and under side differ; a band every half second tells the speed; near the eye it
# clears away.
NOTHING = np.zeros((0, 2, 3))
VERTEX = """#version 330 core
in vec3 place; in float age;
uniform mat4 camera; uniform vec3 eye;
out float old; out float near;
void main() {
    old = age;
    near = distance(place, eye);
    gl_Position = camera * vec4(place, 1.0);
}
"""
FRAGMENT = """#version 330 core
in float old; in float near;
uniform float seconds; uniform float span;
out vec4 seen;
void main() {
    vec3 base = gl_FrontFacing ? vec3(0.93, 0.47, 0.13) : vec3(0.12, 0.27, 0.43);
    float band = step(0.5, fract(old));
    float fade = 1.0 - old / seconds;
    float clear = smoothstep(0.4 * span, 1.6 * span, near);
    seen = vec4(mix(base, vec3(0.98, 0.96, 0.90), 0.55 * band), 0.72 * fade * clear);
}
"""


class Streamer:
    """One strip; `show` lays it along a flight, `draw` paints it into the current canvas."""

    def __init__(self):
        self.program = shaders.program(VERTEX, FRAGMENT)
        self.strip = None
        self.count = 0
        self.edges = NOTHING  # (m, 2, 3) field axes: both sides of what is shown

    def show(self, places: np.ndarray, wings: np.ndarray, span: float) -> None:
        """(n, 3) places with the right wing's direction at each, n at most POINTS + 1."""
        self.span = span
        self.count = len(places)
        if self.count < 2:
            self.edges = NOTHING
            return
        half = 0.5 * WIDTH * span
        corners = np.empty((2 * POINTS + 2, 3))
        corners[0 : 2 * self.count : 2] = places - half * wings
        corners[1 : 2 * self.count : 2] = places + half * wings
        shown = corners[: 2 * self.count]
        self.edges = np.stack([shown[:-2], shown[2:]], axis=1)
        corners[2 * self.count :] = corners[2 * self.count - 1]  # unused ones lie on the last
        ages = np.zeros(2 * POINTS + 2)
        step = SECONDS / POINTS
        ages[: 2 * self.count] = np.repeat(step * np.arange(self.count - 1, -1, -1), 2)
        if self.strip is None:
            self.strip = self.program.vertex_list(
                len(corners),
                gl.GL_TRIANGLE_STRIP,
                place=("f", corners.ravel().tolist()),
                age=("f", ages.tolist()),
            )
        else:
            self.strip.place[:] = corners.ravel().tolist()
            self.strip.age[:] = ages.tolist()

    def draw(self, view: View, aspect: float) -> None:
        if self.strip is None or self.count < 2:
            return
        self.program.use()
        self.program["camera"] = columns(camera_matrix(view, aspect))
        self.program["eye"] = view.eye.tolist()
        self.program["seconds"], self.program["span"] = SECONDS, self.span
        gl.glEnable(gl.GL_DEPTH_TEST)
        gl.glDepthMask(gl.GL_FALSE)
        gl.glEnable(gl.GL_BLEND)
        gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
        self.strip.draw(gl.GL_TRIANGLE_STRIP)
        gl.glDepthMask(gl.GL_TRUE)
        gl.glDisable(gl.GL_DEPTH_TEST)
