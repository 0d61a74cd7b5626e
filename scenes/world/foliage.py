"""Draws what grows as flat pictures: trees and tufts that turn to the eye, hedges and woods that
stand. Needs a current context to draw."""

from __future__ import annotations

import numpy as np
from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import View
from firstthrow.scenes.world.kept import kept
from firstthrow.scenes.world.leaves import Plants, atlas, corners_of, filled
from firstthrow.scenes.world.levels import levels
from firstthrow.scenes.world.light import Light
from firstthrow.scenes.world.matrices import columns
from firstthrow.scenes.world.textures import texture

AROUND = np.array([(0, 0), (1, 0), (1, 1), (0, 0), (1, 1), (0, 1)])  # two triangles


class Foliage:
    """All plants of a field in its light."""

    def __init__(self, plants: Plants, sun: np.ndarray, light: Light):
        self.program = shaders.program(shaders.FOLIAGE_VERTEX, shaders.FOLIAGE_FRAGMENT)
        picture = kept("leaves", (), lambda: levels(atlas()))
        self.leaves = texture(picture)
        self.program.use()
        self.program["leaves"], self.program["sun"] = 0, sun.tolist()
        self.program["sunlight"], self.program["haze_colour"] = light.sun, light.haze
        self.program["above"], self.program["below"] = light.above, light.below
        count = len(plants.feet)
        self.triangles = 2 * count
        every, which = np.unique(plants.cells, axis=0, return_inverse=True)
        cells = np.array([corners_of(cell) for cell in every.tolist()])[which]
        used = np.array([filled(cell, picture[0]) for cell in every.tolist()])[which]
        # only as much of a picture as has something in it
        shares = used[:, None, :2] + AROUND * (used[:, 2:] - used[:, :2])[:, None]
        sizes = np.column_stack([plants.halves, plants.heights])
        low, size = cells[:, None, :2], (cells[:, 2:] - cells[:, :2])[:, None]
        rows = {
            "foot": np.repeat(plants.feet, 6, axis=0),
            "along": np.repeat(plants.alongs, 6, axis=0),
            "tint": np.repeat(plants.tints, 6, axis=0),
            "reach": sizes[:, None] * (shares * (2.0, 1.0) - (1.0, 0.0)),
            "spot": low + size * shares,
        }
        corners = {name: row.reshape(6 * count, -1) for name, row in rows.items()}
        self.list = shaders.triangles(self.program, **corners)

    def draw(self, view: View, camera: np.ndarray) -> None:
        """Over what lies behind it."""
        self.program.use()
        self.program["camera"] = columns(camera)
        self.program["eye"] = view.eye.tolist()
        gl.glActiveTexture(gl.GL_TEXTURE0)
        gl.glBindTexture(gl.GL_TEXTURE_2D, self.leaves)
        gl.glEnable(gl.GL_BLEND)
        gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
        self.list.draw(gl.GL_TRIANGLES)
        gl.glDisable(gl.GL_BLEND)
