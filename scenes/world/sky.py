"""Draws the sky and its clouds behind everything, and the water that mirrors it. Needs a current
context to draw."""

from __future__ import annotations

import math

import numpy as np
from pyglet import gl

from firstthrow.scenes.world import shaders
from firstthrow.scenes.world.camera import Box, View, cross, view_matrix
from firstthrow.scenes.world.heavens import atlas, pieces
from firstthrow.scenes.world.kept import kept
from firstthrow.scenes.world.levels import levels
from firstthrow.scenes.world.light import Light
from firstthrow.scenes.world.matrices import columns
from firstthrow.scenes.world.meadow import BANK, Water, turn
from firstthrow.scenes.world.textures import texture

CREST = 850.0  # [m] to the hills, over which the sky begins
DEEP = np.array([0.16, 0.20, 0.13])  # what water itself sends back, in the light of noon
# cells across and up the picture, between whose corners its colour is mixed: near the sun, and away
# from it, where larger cells are drawn faster
FINE, COARSE = (20, 16), (4, 12)
GLARE = math.radians(18.0)  # round the sun, in which its glow is bent too much for large cells

# of one grey level, from a pixel to the one beside it and the one above. Source: M. Roberts, "The
# Unreasonable Effectiveness of Quasirandom Sequences" (2018), R2; from memory
GRAIN = 0.7548777, 0.5698403


def lowest_row(view: View, aspect: float) -> float:
    """How far down in the picture (-1..1) sky may be seen; 1 where none is."""
    up = math.tan(0.5 * view.height_angle)
    # somewhat more than the hills' crest can lie below an eye above them
    below = math.atan2(1.6 * max(0.0, -float(view.eye[2])) + 2.0, CREST)
    level = np.array([view.ahead[0], view.ahead[1], 0.0])
    size = float(np.linalg.norm(level))
    if size < 0.3:  # nearly straight up or down
        return -1.0
    over = math.sin(below) * level / size - math.cos(below) * np.array([0.0, 0.0, 1.0])
    right = cross(view.ahead, view.up)
    rise = up * float(over @ view.up)
    if rise < 1e-6:
        return -1.0
    starts = [over @ (view.ahead + side * up * aspect * right) for side in (-1.0, 1.0)]
    return float(np.clip(min(-start / rise for start in starts), -1.0, 1.0))


def _clouds():
    """Their picture, and where pieces of it lie in the sky."""
    whole = atlas()
    return levels(whole), *pieces(whole)


class Sky:
    """Of one field in its light."""

    def __init__(self, heading: float, sun: np.ndarray, light: Light):
        self.program = shaders.program(shaders.SKY_VERTEX, shaders.SKY_FRAGMENT)
        self.program.use()
        self.program["haze_colour"], self.program["sun"] = light.haze, sun.tolist()
        self.program["zenith"], self.program["glow"] = light.zenith, light.glow
        self.sun = sun
        self.fine, self.coarse = (
            shaders.triangles(self.program, corner=cells(*size)) for size in (FINE, COARSE)
        )
        self.cloud = shaders.program(shaders.CLOUD_VERTEX, shaders.CLOUD_FRAGMENT)
        self.cloud.use()
        self.cloud["clouds"], self.cloud["share"] = 0, light.clouds
        self.cloud["base"], self.cloud["crown"] = light.base, light.crown
        picture, places, spots = kept("clouds", (), _clouds)
        self.clouds = texture(picture)
        self.triangles = len(places) // 3
        places = places @ turn(heading).T
        self.cloud_list = shaders.triangles(self.cloud, place=places, spot=spots)

    def draw(self, view: View, camera: np.ndarray, box: Box, alone: bool) -> None:
        """After what may hide much of it and before all else, as it leaves no depth; `alone`
        without clouds. In a corner, and alone, it stays within whatever is drawn in now."""
        left, below, width, height = box
        aspect = width / max(1, height)
        up = math.tan(0.5 * view.height_angle)
        within = alone or left > 0 or below > 0
        low = 0 if within else int(0.5 * height * (1.0 + lowest_row(view, aspect)))
        gl.glDepthMask(gl.GL_FALSE)
        if low > 0:
            gl.glEnable(gl.GL_SCISSOR_TEST)
            gl.glScissor(0, low, width, height - low)
        self.program.use()
        self.program["turn"] = view_matrix(view)[:3, :3].ravel().tolist()  # transposed: to field
        self.program["reach"] = up * aspect, up
        self.program["grain"] = 0.5 * width * GRAIN[0], 0.5 * height * GRAIN[1]
        corner = math.atan(up * math.hypot(1.0, aspect))
        away = math.acos(float(np.clip(view.ahead @ self.sun, -1.0, 1.0)))
        (self.fine if away < corner + GLARE else self.coarse).draw(gl.GL_TRIANGLES)
        if not alone:
            gl.glEnable(gl.GL_BLEND)
            gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
            self.cloud.use()
            self.cloud["camera"] = columns(camera)
            gl.glActiveTexture(gl.GL_TEXTURE0)
            gl.glBindTexture(gl.GL_TEXTURE_2D, self.clouds)
            self.cloud_list.draw(gl.GL_TRIANGLES)
            gl.glDisable(gl.GL_BLEND)
        if low > 0:
            gl.glDisable(gl.GL_SCISSOR_TEST)
        gl.glDepthMask(gl.GL_TRUE)


def cells(across: int, up: int) -> np.ndarray:
    """(3n, 2) corners of triangles over the whole picture."""
    xs, ys = np.linspace(-1.0, 1.0, across + 1), np.linspace(-1.0, 1.0, up + 1)
    x0, y0 = (g.ravel() for g in np.meshgrid(xs[:-1], ys[:-1]))
    x1, y1 = (g.ravel() for g in np.meshgrid(xs[1:], ys[1:]))
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y0), (x1, y1), (x0, y1)]
    return np.stack([np.column_stack(c) for c in corners], axis=1).reshape(-1, 2)


class WaterFace:
    """The stream of one field in its light."""

    def __init__(self, water: Water, sun: np.ndarray, light: Light):
        self.program = shaders.program(shaders.WATER_VERTEX, shaders.WATER_FRAGMENT)
        self.program.use()
        self.program["sun"] = sun.tolist()
        self.program["haze_colour"], self.program["zenith"] = light.haze, light.zenith
        self.program["glow"] = light.glow
        self.program["deep"] = tuple(DEEP * light.on_grass)
        self.program["bank_colour"] = tuple(0.7 * BANK * light.on_grass)
        self.triangles = len(water.places) // 3
        self.list = shaders.triangles(self.program, place=water.places, bank=water.banks)

    def draw(self, view: View, camera: np.ndarray) -> None:
        self.program.use()
        self.program["camera"] = columns(camera)
        self.program["eye"] = view.eye.tolist()
        self.list.draw(gl.GL_TRIANGLES)
