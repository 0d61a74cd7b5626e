"""Draws the dust and grass of an impact over the finished scene. Needs a current context."""

from __future__ import annotations

from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.marks import FRAGMENT, VERTEX
from firstthrow.scenes.world.matrices import camera_matrix, columns
from firstthrow.scenes.world.wreck import BLADES, PUFFS, SECONDS, thrown_up


class Dust:
    """One list of triangles, moved in each frame."""

    def __init__(self) -> None:
        self.program = shaders.program(VERTEX, FRAGMENT)
        count = 3 * (8 * PUFFS + BLADES)
        nothing = [0.0] * (4 * count)
        self.list = self.program.vertex_list(
            count, gl.GL_TRIANGLES, place=("f", nothing[: 3 * count]), tint=("f", nothing)
        )

    def draw(self, view: View, aspect: float, place, travel, seconds: float) -> None:
        if not 0.0 <= seconds < SECONDS:
            return
        corners, tints = thrown_up(place, travel, seconds, view.eye)
        self.list.set_attribute_data("place", corners.ravel().tolist())
        self.list.set_attribute_data("tint", tints.ravel().tolist())
        self.program.use()
        self.program["camera"] = columns(camera_matrix(view, aspect))
        gl.glEnable(gl.GL_DEPTH_TEST)
        gl.glDepthMask(gl.GL_FALSE)
        gl.glEnable(gl.GL_BLEND)
        gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
        self.list.draw(gl.GL_TRIANGLES)
        gl.glDepthMask(gl.GL_TRUE)
        gl.glDisable(gl.GL_DEPTH_TEST)
