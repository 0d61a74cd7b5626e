"""Draws the airframe of another flight pale, over the finished scene. Needs a current context."""

from __future__ import annotations

from pyglet import gl

from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.matrices import body_matrix, camera_matrix, columns, turn_about
from firstthrow.scenes.world.meshes import AirframeMesh
from firstthrow.scenes.world.picture import Picture, Pose, least_growth

PALE = (0.93, 0.95, 1.0)
SHARE, ALPHA = 0.62, 0.55  # how much of the paleness is in it, how much of it is there


class Tracing:
    """One airframe's shape in the card's memory, beside the one that flies."""

    def __init__(self, picture: Picture, mesh: AirframeMesh):
        self.picture, self.mesh = picture, mesh
        self.fixed = picture.list_of(mesh.fixed)
        self.parts = [picture.list_of(part.mesh) for part in mesh.surfaces]

    def delete(self) -> None:
        for shown in (self.fixed, *self.parts):
            shown.delete()

    def draw(self, view: View, width: int, height: int, pose: Pose) -> None:
        """First its depth alone, then its nearest faces: seen through, it is one shape."""
        picture, body = self.picture, body_matrix(pose)
        moved = [(self.fixed, body)] + [
            (shown, body @ turn_about(part.hinge, part.axis, pose.surfaces[part.surface]))
            for part, shown in zip(self.mesh.surfaces, self.parts, strict=True)
        ]
        solid = picture.solid
        solid.use()
        solid["camera"] = columns(camera_matrix(view, width / max(1, height)))
        solid["eye"] = view.eye.tolist()
        solid["grow"] = least_growth(view, pose.place, height)
        solid["alpha"] = ALPHA
        solid["haze_colour"], solid["flat_colour"] = PALE, SHARE
        gl.glEnable(gl.GL_DEPTH_TEST)
        gl.glDepthFunc(gl.GL_LEQUAL)
        gl.glEnable(gl.GL_BLEND)
        gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
        for paints in (gl.GL_FALSE, gl.GL_TRUE):
            gl.glColorMask(paints, paints, paints, paints)
            for shown, matrix in moved:
                picture.draw_list(shown, matrix)
        gl.glDisable(gl.GL_DEPTH_TEST)
        solid["haze_colour"], solid["flat_colour"] = picture.light.haze, 0.0
