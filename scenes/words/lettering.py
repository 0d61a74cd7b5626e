"""Lines of text in the faces that come with matplotlib. Needs a current context."""

from __future__ import annotations

import pyglet
from pyglet.text import Label

from firstthrow.sim.paper.faces import folder

FACE, FIXED = "DejaVu Sans", "DejaVu Sans Mono"


def load_fonts() -> None:
    """The DejaVu faces that come with matplotlib, so that text needs no font of the system."""
    for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "DejaVuSansMono.ttf"):
        with (folder() / name).open("rb") as file:  # given a path, pyglet leaves it open
            pyglet.font.add_file(file)


class Line:
    """One line of text; costs nothing while its words stay the same."""

    def __init__(self, batch, group, x, y, points, colour, bold=False, face=FACE, anchor="left"):
        self.label = Label(
            "",
            font_name=face,
            font_size=points,
            weight="bold" if bold else "normal",
            x=round(x),
            y=round(y),
            color=(*colour, 255),
            anchor_x=anchor,
            anchor_y="baseline",
            batch=batch,
            group=group,
        )

    def place(self, x: float, y: float) -> None:
        """On whole pixels: between two of them, glyphs lose a row."""
        self.label.position = (round(x), round(y), 0)

    def say(self, words: str, colour=None) -> None:
        if words != self.label.text:
            self.label.text = words
        if colour is not None and tuple(self.label.color[:3]) != colour:
            self.label.color = (*colour, 255)
