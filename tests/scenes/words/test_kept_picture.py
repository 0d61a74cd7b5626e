"""A box of the window, put there again as it was."""

from __future__ import annotations

import numpy as np
import pytest

BOX = (10, 20, 30, 15)


@pytest.mark.window
def test_a_kept_box_comes_back_and_nothing_beside_it(display):
    from pyglet import gl

    from firstthrow.scenes.window.opening import open_window
    from firstthrow.scenes.words.kept_picture import KeptPicture
    from firstthrow.scenes.world.snapshot import pixels

    window = open_window((200, 100))
    try:
        kept, page = KeptPicture(), object()
        gl.glClearColor(1.0, 0.0, 0.0, 1.0)
        gl.glClear(gl.GL_COLOR_BUFFER_BIT)
        assert not kept.shows(page, BOX)
        kept.keep(page, BOX)
        gl.glClearColor(0.0, 0.0, 1.0, 1.0)
        gl.glClear(gl.GL_COLOR_BUFFER_BIT)
        assert not kept.shows(object(), BOX)
        assert not kept.shows(page, (11, *BOX[1:]))
        assert not (pixels(window)[::-1, :, 0] > 0).any()
        assert kept.shows(page, BOX)
        red = pixels(window)[::-1, :, 0] > 200
        window.flip()
    finally:
        gl.glClearColor(0.0, 0.0, 0.0, 1.0)
        window.close()
    x, y, wide, tall = BOX
    wanted = np.zeros((100, 200), dtype=bool)
    wanted[y : y + tall, x : x + wide] = True
    assert (red == wanted).all()
