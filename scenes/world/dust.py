"""Draws what an impact leaves on the grass, and its dust, over the finished scene. Needs a current
context."""

from __future__ import annotations

from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.marks import FRAGMENT, VERTEX
from firstthrow.scenes.world.matrices import camera_matrix, columns
from firstthrow.scenes.world.wreck import BLADES, CLODS, PUFFS, SECONDS, SHARDS, strewn, thrown_up


class Dust:
    """Two lists of triangles: what is in the air, moved in each frame, and what lies."""

    def __init__(self) -> None:
        self.program = shaders.program(VERTEX, FRAGMENT)
        self.flying = self._list(3 * (8 * PUFFS + BLADES))
        self.lying = self._list(3 * (2 * SHARDS + 6 * CLODS))
        self.laid: tuple = ()  # where, how fast and of what span

    def _list(self, count: int):
        nothing = [0.0] * (4 * count)
        return self.program.vertex_list(
            count, gl.GL_TRIANGLES, place=("f", nothing[: 3 * count]), tint=("f", nothing)
        )

    def draw(self, view: View, aspect: float, place, travel, span: float, seconds: float) -> None:
        """So long after an airframe of that span broke there."""
        self.program.use()
        self.program["camera"] = columns(camera_matrix(view, aspect))
        gl.glEnable(gl.GL_DEPTH_TEST)
        impact = (*place, *travel, span)
        if impact != self.laid:
            self.laid = impact
            _put(self.lying, *strewn(place, travel, span))
        self.lying.draw(gl.GL_TRIANGLES)
        if seconds < SECONDS:
            gl.glDepthMask(gl.GL_FALSE)
            gl.glEnable(gl.GL_BLEND)
            gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
            _put(self.flying, *thrown_up(place, travel, seconds, view.eye))
            self.flying.draw(gl.GL_TRIANGLES)
            gl.glDepthMask(gl.GL_TRUE)
        gl.glDisable(gl.GL_DEPTH_TEST)


def _put(triangles, corners, tints) -> None:
    triangles.set_attribute_data("place", corners.ravel().tolist())
    triangles.set_attribute_data("tint", tints.ravel().tolist())
