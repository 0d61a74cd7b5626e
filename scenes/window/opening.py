"""Opens the window."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable

import pyglet
from pyglet import gl

from firstthrow.scenes.window.freed import give_back

TITLE = "Firstthrow"
SIZE = (1280, 720)
SMALLEST = (800, 500)
OFTEN = 700  # new objects between two looks for rings among them: each look is within a frame
LEAST = (320, 240)  # pages are laid out for no less, whatever the window is dragged to

_listening: list = []  # to the display: Xlib keeps no reference of its own


class Roomy(pyglet.window.Window):
    """A window that never says it is smaller than pages can be laid out in. What is drawn in it
    is larger then than it can show: a film's unseen window, whose size is asked for, is none."""

    def get_size(self) -> tuple[int, int]:
        wide, tall = super().get_size()
        return max(wide, LEAST[0]), max(tall, LEAST[1])

    def get_framebuffer_size(self) -> tuple[int, int]:
        wide, tall = super().get_framebuffer_size()
        return max(wide, 1), max(tall, 1)


def needed(**more: float) -> gl.Config:
    """What the pictures need of OpenGL."""
    return gl.Config(  # type: ignore[abstract]  # the platform's own stands in its place
        major_version=3, minor_version=3, forward_compatible=True, **more
    )


def open_window(size: tuple[int, int] = SIZE, unseen: bool = False) -> pyglet.window.Window:
    """An OpenGL 3.3 window. Raises pyglet's errors when the machine has none to give."""
    give_back()
    config = needed(
        double_buffer=True,
        depth_size=24,
        stencil_size=8,
        red_size=8,
        green_size=8,
        blue_size=8,
        alpha_size=8,
    )
    window = (pyglet.window.Window if unseen else Roomy)(
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


def look_often() -> None:
    """From the first frame on rings among objects are looked for as often as is usual, so that no
    frame waits long for it; what has been loaded by then stays, and is not looked through again."""
    gc.freeze()
    gc.set_threshold(OFTEN)


def when_display_goes(*last: Callable[[], object]) -> None:
    """What is done last when the X display is lost, which ends the program: Xlib has it so."""
    if not sys.platform.startswith("linux") or pyglet.options.headless:
        return
    from pyglet.libs.x11 import xlib

    def gone(display) -> int:
        try:
            for act in last:
                act()
            print("The display is gone; what was flown is recorded.", file=sys.stderr, flush=True)
        finally:
            os._exit(1)

    _listening[:] = [xlib.XIOErrorHandler(gone)]
    xlib.XSetIOErrorHandler(_listening[0])
