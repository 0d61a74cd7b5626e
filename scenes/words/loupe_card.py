"""The paper round the loupe's glass, and the line under it. Needs a current context."""

from __future__ import annotations

import math

from pyglet.graphics import Batch, Group
from pyglet.shapes import Polygon, Rectangle

from firstthrow.scenes.words import placing
from firstthrow.scenes.words.instruments import INK, PAPER
from firstthrow.scenes.words.lettering import Line

WORDS = 9.0  # points at scale 1


class LoupeCard:
    """For a loupe at one place; make a new one when it moves to the other side."""

    def __init__(self, placed: placing.Placed, scale: float):
        self.placed = placed
        self.batch = Batch()
        back, front = Group(0), Group(1)
        x, y, wide, tall = placed.card
        g = placed.glass
        middle = g.x + 0.5 * g.width, g.y + 0.5 * g.height
        rays = [(math.cos(t), math.sin(t)) for t in (math.pi * k / 32.0 for k in range(65))]
        half = 0.5 * g.width
        self.parts: list[Rectangle | Polygon] = [
            Rectangle(x, y, wide, g.y - y, PAPER, group=back, batch=self.batch),
            Rectangle(x, g.y, g.x - x, tall - (g.y - y), PAPER, group=back, batch=self.batch),
            Rectangle(
                g.x + g.width,
                g.y,
                x + wide - g.x - g.width,
                tall - (g.y - y),
                PAPER,
                group=back,
                batch=self.batch,
            ),
            Rectangle(
                g.x,
                g.y + g.height,
                g.width,
                y + tall - g.y - g.height,
                PAPER,
                group=back,
                batch=self.batch,
            ),
            Rectangle(x, y, 4 * scale, tall, INK, group=front, batch=self.batch),
        ]
        # from the glass out to its square in paper, and the rim of the glass
        rounds = [1.0 / max(abs(c), abs(s)) for c, s in rays]
        rims = [1.0] * 65, [0.955] * 65
        for (outer, inner), colour, group in (
            ((rounds, rims[0]), PAPER, back),
            (rims, INK, front),
        ):
            out, into = (
                [
                    (middle[0] + half * r * c, middle[1] + half * r * s)
                    for r, (c, s) in zip(reach, rays, strict=True)
                ]
                for reach in (outer, inner)
            )
            for k in range(64):
                corners = into[k], out[k], out[k + 1], into[k + 1]
                self.parts.append(Polygon(*corners, color=colour, group=group, batch=self.batch))
        self.words = Line(
            self.batch, front, x + 0.5 * wide, y + 9 * scale, WORDS * scale, INK, anchor="center"
        )

    def draw(self, words: str) -> None:
        self.words.say(words)
        self.batch.draw()
