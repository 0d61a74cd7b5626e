"""A box of the window, put there again as it was."""

from __future__ import annotations

import numpy as np
import pytest
from driven import never_turned

BOX = (10, 20, 30, 15)


@pytest.mark.window
@pytest.mark.parametrize("renderer", ["llvmpipe (LLVM 15.0.6, 256 bits)", "A card"])
def test_a_kept_box_comes_back_and_nothing_beside_it(display, monkeypatch, renderer):
    from pyglet import gl

    from firstthrow.scenes.window.opening import open_window
    from firstthrow.scenes.words.kept_picture import KeptPicture
    from firstthrow.scenes.world.snapshot import pixels

    if renderer == "A card":
        never_turned(monkeypatch)
    window = open_window((200, 100))
    x, y, wide, tall = BOX
    try:
        kept, page = KeptPicture(renderer), object()
        filled(1.0, 0.0, 0.0)
        gl.glEnable(gl.GL_SCISSOR_TEST)
        gl.glScissor(x, y, wide, 4)  # the lowest rows
        filled(1.0, 1.0, 0.0)
        gl.glDisable(gl.GL_SCISSOR_TEST)
        assert not kept.shows(page, BOX)
        kept.keep(page, BOX)
        filled(0.0, 0.0, 1.0)
        assert not kept.shows(object(), BOX)
        assert not kept.shows(page, (11, *BOX[1:]))
        assert not (pixels(window)[::-1, :, 0] > 0).any()
        assert kept.shows(page, BOX)
        red, green = np.moveaxis(pixels(window)[::-1, :, :2] > 200, 2, 0)
        window.flip()
    finally:
        gl.glClearColor(0.0, 0.0, 0.0, 1.0)
        window.close()
    for found, high in ((red, tall), (green, 4)):
        wanted = np.zeros((100, 200), dtype=bool)
        wanted[y : y + high, x : x + wide] = True
        assert (found == wanted).all()


def filled(*colour: float) -> None:
    from pyglet import gl

    gl.glClearColor(*colour, 1.0)
    gl.glClear(gl.GL_COLOR_BUFFER_BIT)


@pytest.mark.window
def test_tags_stay_as_they_were_written_until_they_say_something_else(display):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.flight.settings import Settings
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import App
    from firstthrow.scenes.world.snapshot import pixels
    from firstthrow.sim.describe.config import find, load_airframe, load_field

    pantry, field = find("airframes", "pantry"), find("fields", "water-meadow")
    rehearsal = Rehearsal(load_airframe(pantry), load_field(field))
    app = App(rehearsal, load_hands("keyboard"), settings=Settings(unseen=True))
    try:
        x, y, wide, tall = (round(edge) for edge in app.panels.places["height"])

        def drawn() -> np.ndarray:
            app.draw(0.0)
            seen = pixels(app.window)[::-1][y : y + tall, x : x + wide]
            app.window.flip()
            return seen

        written = drawn()
        writes = app.panels.instruments.draw
        app.panels.instruments.draw = None  # which would fail
        kept = drawn()
        app.panels.instruments.draw = writes
        tags = dict(app.panels.tags)
        tags["height"] = tags["height"]._replace(big="123 m")
        app.panels.say(tags, (), "")
        changed = drawn()
        said = app.panels.written
        app.panels.show_wind(1.0, 8.0)
        assert app.panels.written is said  # its words wait for the others
        app.panels.say(tags, (), "")
        assert app.panels.written is not said
        app.aids.draw = lambda view, pose: None
        windy = drawn()
    finally:
        app.close()
    np.testing.assert_array_equal(written, kept)
    assert (written != changed).any(axis=2).sum() > 50
    assert (changed != windy).any(axis=2).sum() > 50
