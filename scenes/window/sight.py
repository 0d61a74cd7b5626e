"""A window with the field in it, and the airframe where it will be flown from.

What the program needs besides takes longer to be loaded than this takes to be seen: so nothing of
that is imported here.
"""

from __future__ import annotations

from firstthrow.scenes.window.look import hand_of
from firstthrow.scenes.world.canvas import new_canvas
from firstthrow.scenes.world.meshes import AirframeMesh, airframe_mesh
from firstthrow.scenes.world.picture import Seen, picture_of


class Sight:
    """A window, and all that draws an airframe over a field in it; with a thrower who holds it at
    a height `hand` [m], or None. Raises pyglet's errors."""

    def __init__(self, mesh: AirframeMesh, field: Seen, hand: float | None, window):
        self.mesh, self.window = mesh, window
        window.dispatch_events()  # its size; and some systems show none that does not listen
        self.renderer = window.context.get_info().get_renderer()
        self.picture = picture_of(mesh, field, hand)
        width, height = window.get_framebuffer_size()
        self.canvas = new_canvas(width, height, self.renderer)


def sight_of(airframe, field, launch: str | None, window) -> Sight:
    """Of what is described, by the launch asked for or its own."""
    from firstthrow.sim.build.weights import balance, parts

    mesh = airframe_mesh(airframe, balance(parts(airframe)).place)
    return Sight(mesh, field, hand_of(airframe, launch), window)
