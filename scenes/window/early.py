"""The window from its first picture until somebody flies in it: it stays a window meanwhile.

What the program still needs is loaded in a thread beside it. So long it is drawn again when it was
covered or has another size, it goes when it is closed, and what is typed waits for who can answer.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from pyglet.event import EVENT_HANDLED

from firstthrow.scenes.window.aside import Aside
from firstthrow.scenes.window.held_back import held_back
from firstthrow.scenes.window.look import Look
from firstthrow.scenes.window.sight import Sight

TURN = 1.0 / 50.0  # [s] between looks at what happened to it
Done = TypeVar("Done")


class Early:
    """A look in its window, shown. Raises pyglet's errors."""

    def __init__(self, look: Look, window):
        self.look, self.window = look, window
        self.left = self.stale = self.readied = False
        self.typed: list[tuple] = []
        self._hears = {
            "on_close": self._leave,
            "on_expose": self._spoil,
            "on_resize": self._spoil,
            "on_key_press": lambda *key: self._keep("on_key_press", *key),
            "on_key_release": lambda *key: self._keep("on_key_release", *key),
        }
        window.push_handlers(**self._hears)
        self.sight = Sight(look.mesh, look, look.hand, window)
        self.show()

    def show(self) -> None:
        """One picture."""
        self.stale = False
        canvas, size = self.sight.canvas, self.window.get_framebuffer_size()
        self.window.switch_to()
        if size != (canvas.width, canvas.height):
            canvas.fit(*size)
        canvas.begin()
        self.sight.picture.draw(self.look.view, canvas.width, canvas.height, self.look.pose)
        canvas.show()
        self.window.flip()

    def during(self, work: Callable[[], Done]) -> Done:
        """What `work` gives, done beside the window, which may have been `left` by then; nothing of
        it may draw. Raises what it raises; KeyboardInterrupt once it is done."""
        with held_back(self._leave):
            aside = Aside(work)
            if not self.readied:  # while there is time for it
                self.readied = True
                import pyglet.font  # Windows lets only the window's thread be the first to ask
                import pyglet.image  # noqa: F401 for what reads letters and pictures

                self.sight.canvas.ready()
            while not aside.over(TURN):
                self._turn()
            if self.left:  # since the last turn
                self.close()
            return aside.given()

    def hand_over(self) -> None:
        """Others listen from now on; what was typed comes first."""
        self.window.remove_handlers(**self._hears)
        for happened in self.typed:
            self.window.dispatch_event(*happened)

    def close(self) -> None:
        """Unless it is closed."""
        if self.window.context is not None:
            self.window.close()

    def _turn(self) -> None:
        if not self.left:
            self.window.dispatch_events()
        if self.left:
            self.close()
        elif self.stale:
            self.show()

    def _leave(self):
        self.left = True
        return EVENT_HANDLED

    def _spoil(self, *size) -> None:
        self.stale = True

    def _keep(self, *happened):
        self.typed.append(happened)
        return EVENT_HANDLED  # else Escape would close it
