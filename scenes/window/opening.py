"""Opens the window."""

from __future__ import annotations

import pyglet
from pyglet import gl

TITLE = "Firstthrow"
SIZE = (1280, 720)
SMALLEST = (800, 500)


def open_window(size: tuple[int, int] = SIZE, unseen: bool = False) -> pyglet.window.Window:
    """An OpenGL 3.3 window. Raises pyglet's errors when the machine has none to give."""
    config = gl.Config(
        major_version=3,
        minor_version=3,
        forward_compatible=True,
        double_buffer=True,
        depth_size=24,
        stencil_size=8,
        red_size=8,
        green_size=8,
        blue_size=8,
        alpha_size=8,
    )
    window = pyglet.window.Window(
        *size,
        caption=TITLE,
        resizable=True,
        config=config,
        vsync=not unseen,
        visible=not unseen,
    )
    if not unseen:
        window.set_minimum_size(*SMALLEST)
    return window
