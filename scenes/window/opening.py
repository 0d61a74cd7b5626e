"""Opens the window."""

from __future__ import annotations

import pyglet
from pyglet import gl

TITLE = "Firstthrow"
SIZE = (1280, 720)
SMALLEST = (800, 500)


def needed(**more: float) -> gl.Config:
    """What the pictures need of OpenGL."""
    return gl.Config(  # type: ignore[abstract]  # the platform's own stands in its place
        major_version=3, minor_version=3, forward_compatible=True, **more
    )


def open_window(size: tuple[int, int] = SIZE, unseen: bool = False) -> pyglet.window.Window:
    """An OpenGL 3.3 window. Raises pyglet's errors when the machine has none to give."""
    config = needed(
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
