"""Opens the window, and says what its instruments need to know of an airframe."""

from __future__ import annotations

import pyglet
from pyglet import gl

from scenes import hud
from sim.shape import surface_names

TITLE = "Firstthrow"
SIZE = (1280, 720)
SMALLEST = (800, 500)


def facts_of(airframe, launch: str | None) -> hud.Facts:
    """What the instruments need to know of an airframe, in the units they show."""
    kind = launch or airframe.launch.kind
    return hud.Facts(
        name=airframe.name,
        kind=kind,
        motors=tuple(airframe.motors),
        surfaces=surface_names(airframe),
        capacity_mAh=airframe.pack.capacity / 3.6,
        cutoff_V=airframe.controller.cutoff * airframe.pack.cells,
        launch_throttle=getattr(airframe.launch, kind).throttle,
        supply_V=airframe.controller.supply,
    )


def open_window(size: tuple[int, int] = SIZE, unseen: bool = False) -> pyglet.window.Window:
    """An OpenGL 3.3 window. Raises pyglet's errors when the machine has none to give."""
    config = gl.Config(
        major_version=3, minor_version=3, forward_compatible=True, double_buffer=True,
        depth_size=24, stencil_size=8, red_size=8, green_size=8, blue_size=8, alpha_size=8,
    )  # fmt: skip
    window = pyglet.window.Window(
        *size, caption=TITLE, resizable=True, config=config, vsync=not unseen,
        visible=not unseen,
    )  # fmt: skip
    if not unseen:
        window.set_minimum_size(*SMALLEST)
    return window
