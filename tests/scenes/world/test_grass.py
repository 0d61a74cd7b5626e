"""The grass as it is drawn: its pixels against the picture of blades they are taken from."""

from __future__ import annotations

import numpy as np
import pytest

from firstthrow.scenes.world.turf import SIZE, layers

TONE = 0.7  # of the grass; what the shader makes of it without haze
DARK, LIGHT = 0.62 * TONE, 0.76 * TONE
PIXELS = 64


def smoothed(rows: np.ndarray, places: np.ndarray) -> np.ndarray:
    """(n,) at (n, 2) places in texels, of rows that repeat: each texel is at its middle."""
    side = len(rows)
    across, up = (places - 0.5).T
    i, j = np.floor(across).astype(int), np.floor(up).astype(int)
    u, v = across - i, up - j
    a, b, c, d = (rows[(j + y) % side, (i + x) % side] for y in (0, 1) for x in (0, 1))
    return (1.0 - v) * ((1.0 - u) * a + u * b) + v * ((1.0 - u) * c + u * d)


@pytest.mark.window
@pytest.mark.parametrize("level", [0, 1, 3, 6])
def test_each_level_lies_over_the_ones_before(display, level):
    """So that nothing is moved where one gives way to the next."""
    from pyglet import gl

    from firstthrow.scenes.window.opening import open_window
    from firstthrow.scenes.world import shaders
    from firstthrow.scenes.world.snapshot import pixels
    from firstthrow.scenes.world.textures import layered

    chance = np.random.default_rng(4)
    sides = [SIZE >> k for k in range(9)]
    picture = tuple(chance.integers(0, 256, (side, side, 1), dtype=np.uint8) for side in sides)
    low, wide = np.array([-0.31, 0.57]), 0.3
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, -1), (1, 1), (-1, 1)], dtype=float)
    window = open_window((PIXELS, PIXELS))
    try:
        grass = shaders.program(shaders.GRASS_VERTEX, shaders.GRASS_FRAGMENT)
        grass.use()
        grass["camera"], grass["eye"] = np.eye(4).ravel().tolist(), (0.0, 0.0, 0.0)
        grass["haze_colour"], grass["blades"] = (0.0, 0.0, 0.0), 0
        grass["shrinks"] = 2.0 ** (0.5 * level) * 1.1
        layered(layers(picture))
        square = shaders.triangles(
            grass,
            place=np.column_stack([corners, np.zeros(6)]),
            plan=low + wide * (0.5 + 0.5 * corners),
            tone=np.full((6, 3), TONE),
        )
        gl.glDisable(gl.GL_DEPTH_TEST)
        gl.glDisable(gl.GL_BLEND)
        square.draw(gl.GL_TRIANGLES)
        seen = pixels(window)[::-1, :, 1] / 255.0
        window.flip()
    finally:
        window.close()
    middles = (np.arange(PIXELS) + 0.5) / PIXELS
    spots = low + wide * np.stack(np.meshgrid(middles, middles), axis=2).reshape(-1, 2)
    wanted = smoothed(picture[level][:, :, 0] / 255.0, spots * SIZE / 2.0**level)
    found = (seen.ravel() - DARK) / LIGHT
    np.testing.assert_allclose(found, wanted, atol=2.5 / 255.0 / LIGHT)
