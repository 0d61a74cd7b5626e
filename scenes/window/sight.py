"""The first sight: a window with the field in it, and the airframe where it will be flown from.

What the program needs besides takes longer to be loaded than this takes to be seen: so it is shown
before the rest is so much as imported.
"""

from __future__ import annotations

from firstthrow.scenes.window.look import Look
from firstthrow.scenes.window.opening import SIZE, open_window
from firstthrow.scenes.world.canvas import new_canvas
from firstthrow.scenes.world.picture import picture_of


class Sight:
    """All that draws a look, in a `window` of its own where none is given. Raises pyglet's errors
    when the machine has none to give."""

    def __init__(self, look: Look, window=None):
        self.look = look
        self.window = window or open_window(SIZE)
        self.window.dispatch_events()  # its size; and some systems show none that does not listen
        self.renderer = self.window.context.get_info().get_renderer()
        self.picture = picture_of(look.mesh, look, look.hand)
        wide, tall = self.window.get_framebuffer_size()
        self.canvas = new_canvas(wide, tall, self.renderer)

    def show(self) -> None:
        """One picture. Whatever is typed from now on waits for who can answer it."""
        self.window.switch_to()
        self.canvas.begin()
        self.picture.draw(self.look.view, self.canvas.width, self.canvas.height, self.look.pose)
        self.canvas.show()
        self.window.flip()
