"""Where the scene is drawn: the same edges softened, whoever draws."""

from __future__ import annotations

import numpy as np
import pytest
from driven import never_turned

SIZE = (80, 60)


@pytest.mark.window
@pytest.mark.parametrize("samples", [0, 4])
def test_a_card_shows_what_was_drawn_and_turns_nothing_over(display, monkeypatch, samples):
    """With samples, and where they were refused."""
    never_turned(monkeypatch)
    sharp, card = drawn("A card", samples, None), drawn("A card", samples, [(0, 0, *SIZE)])
    np.testing.assert_array_equal(card, sharp)
    assert card[0, :70].min() == 255
    assert card[22:].max() == 0


@pytest.mark.window
def test_in_software_a_box_is_softened_as_the_whole_would_be(display):
    name = "llvmpipe (LLVM 15.0.6, 256 bits)"
    box, whole = drawn(name, 0, [(0, 0, *SIZE)])[1:-1, 1:-1], drawn(name, 0, None)[1:-1, 1:-1]
    np.testing.assert_array_equal(box, whole)
    assert ((box > 0) & (box < 255)).any()


def drawn(renderer: str, samples: int, edges: list | None) -> np.ndarray:
    """(60, 80, 3), the lowest row first: white stairs at the lower left."""
    from pyglet import gl

    from firstthrow.scenes.window.opening import open_window
    from firstthrow.scenes.world import canvas as drawing
    from firstthrow.scenes.world.snapshot import pixels

    window = open_window(SIZE)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawing, "SAMPLES", samples)
        canvas = drawing.new_canvas(*SIZE, renderer)
    try:
        canvas.ready()
        canvas.begin(edges)
        gl.glViewport(0, 0, *SIZE)
        gl.glClearColor(0.0, 0.0, 0.0, 1.0)
        gl.glClear(gl.GL_COLOR_BUFFER_BIT)
        gl.glEnable(gl.GL_SCISSOR_TEST)
        gl.glClearColor(1.0, 1.0, 1.0, 1.0)
        for up in range(1, 20):
            gl.glScissor(0, 0, SIZE[0] - 3 * up, up)
            gl.glClear(gl.GL_COLOR_BUFFER_BIT)
        gl.glDisable(gl.GL_SCISSOR_TEST)
        canvas.show(edges)
        seen = pixels(window)[::-1]
        window.flip()
    finally:
        gl.glClearColor(0.0, 0.0, 0.0, 1.0)
        canvas.delete()
        window.close()
    return seen
