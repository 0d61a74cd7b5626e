"""The streamer's edges, which nothing else softens."""

from __future__ import annotations

import math

import numpy as np
import pytest

SIZE = (200, 100)


@pytest.mark.window
def test_edges_fade_over_a_pixel(display):
    """Aslant before black: between what is bare and what is covered there are values between, and
    the strip is as wide as it is said to be."""
    from pyglet import gl

    from firstthrow.scenes.window.opening import open_window
    from firstthrow.scenes.world.camera import View
    from firstthrow.scenes.world.snapshot import pixels
    from firstthrow.scenes.world.streamer import WIDTH, Streamer

    view = View(np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, -1.0]), 0.8)
    slant = 0.1
    places = np.column_stack([np.full(61, 30.0), np.linspace(-15.0, 15.0, 61), np.zeros(61)])
    places[:, 2] = slant * places[:, 1]
    wings = np.tile(np.array([0.0, slant, -1.0]) / math.hypot(slant, 1.0), (61, 1))
    window = open_window(SIZE)
    try:
        streamer = Streamer()
        streamer.show(places, wings, 20.0)
        gl.glViewport(0, 0, *SIZE)
        gl.glClear(gl.GL_COLOR_BUFFER_BIT | gl.GL_DEPTH_BUFFER_BIT)
        streamer.draw(view, *SIZE)
        red = pixels(window)[:, :, 0].astype(float)
        window.flip()
    finally:
        window.close()
    band = red[:, 103:110]  # of one colour
    column = band / band.max(axis=0)
    between = ((column > 0.15) & (column < 0.85)).sum(axis=0)
    assert (between >= 1).all()
    pixel = 2.0 * math.tan(0.4) / SIZE[1] * 30.0
    upright = WIDTH * 20.0 * math.hypot(slant, 1.0) / pixel
    assert column.sum(axis=0) == pytest.approx(np.full(7, upright), abs=0.6)
