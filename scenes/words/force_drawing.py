"""Draws the arrows, marks and gauge of `force_arrows` over the window. Needs a current context."""

from __future__ import annotations

import math

from pyglet.graphics import Batch, Group
from pyglet.shapes import Circle, Line, Rectangle, Triangle

from firstthrow.scenes.words import force_arrows
from firstthrow.scenes.words.force_arrows import Arrow, Gauge
from firstthrow.scenes.words.instruments import INK, MARK, PAPER, TRAY, Rect, wrapped
from firstthrow.scenes.words.lettering import Line as Words

NAME, TEXT, HEAD = 10.0, 11.5, 9.5  # points at scale 1
THICK, RIM = 4.0, 7.5  # pixels at scale 1: of an arrow, and of the paper round it
TIP = 13.0
LETTER = 0.76  # width of a letter for each point of its size, on the average
PAD, ROW = 10.0, 20.0


class ForceDrawing:
    """Made anew for every picture but for its words, which stay as long as they do not change."""

    def __init__(self, scale: float) -> None:
        self.scale = scale
        self.batch = Batch()
        self.groups = [Group(k) for k in range(6)]
        self.shapes: list = []
        self.words: dict[str, Words] = {}
        self.used: set[str] = set()

    def begin(self) -> None:
        for shape in self.shapes:
            shape.delete()
        self.shapes, self.used = [], set()

    def draw(self) -> None:
        for key in [key for key in self.words if key not in self.used]:
            self.words.pop(key).label.delete()
        self.batch.draw()

    def arrows(
        self, found: list[Arrow], frame: Rect, key: str, kept: tuple[Rect, ...] = ()
    ) -> None:
        """With their names at the tips, clear of what is `kept` free; `key` tells the words of one
        view from another's."""
        for arrow in found:
            self._arrow(arrow)
        lines = [self._words(f"{key} {a.name}", force_arrows.told(a), NAME) for a in found]
        widths = [line.label.content_width + PAD * self.scale for line in lines]
        spots = force_arrows.name_spots(found, widths, self.scale, frame, kept)
        for arrow, line, wide, (x, y) in zip(found, lines, widths, spots, strict=True):
            tall = force_arrows.ROW * self.scale
            self._add(Rectangle, x, y, wide, tall, PAPER, group=3)
            self._add(Rectangle, x, y, 4.0 * self.scale, tall, arrow.colour, group=4)
            line.place(x + 7.0 * self.scale, y + 0.28 * tall)

    def marks(
        self, cg: tuple[float, float], np_: tuple[float, float], key: str
    ) -> tuple[Rect, ...]:
        """The centre of gravity, a disc in quarters; the neutral point, a triangle on its tip;
        returns where their names stand, under them."""
        s = self.scale
        x, y = cg
        self._add(Circle, x, y, 8.0 * s, color=INK, group=4)
        self._add(Circle, x, y, 6.4 * s, color=PAPER, group=4)
        for dx, dy in ((1.0, 1.0), (-1.0, -1.0)):
            box = x + min(0.0, dx) * 5.4 * s, y + min(0.0, dy) * 5.4 * s
            self._add(Rectangle, *box, 5.4 * s, 5.4 * s, INK, group=5)
        x, y = np_
        for size, colour, group in ((10.0, PAPER, 4), (7.0, COLOUR_NP, 5)):
            r = size * s
            self._add(Triangle, x - r, y + r, x + r, y + r, x, y - r, color=colour, group=group)
        low, taken = 30.0 * s, []
        for name, (mx, my), side in (("CG", cg, cg[0] >= np_[0]), ("NP", np_, np_[0] > cg[0])):
            line = self._words(f"{key} mark {name}", name, NAME, True)
            wide = line.label.content_width + 8.0 * s
            left = mx + 12.0 * s if side else mx - 12.0 * s - wide
            taken.append(Rect(left, my - low - 4.0 * s, wide, 16.0 * s))
            self._add(Rectangle, *taken[-1], PAPER, group=3)
            line.place(left + 4.0 * s, my - low)
        return tuple(taken)

    def gauge(self, found: Gauge, place: Rect) -> None:
        """A needle over a groove whose ends, where it stalls, are marked and hatched."""
        s = self.scale
        self.paper(place, found.stalled)
        x, wide = place.x + PAD * s, place.width - 2.0 * PAD * s
        y, tall = place.y + 9.0 * s, 14.0 * s
        self._add(Rectangle, x, y, wide, tall, TRAY, group=2)
        for a, b in ((0.0, found.low), (found.high, 1.0)):
            self._add(Rectangle, x + a * wide, y, (b - a) * wide, tall, MARK, group=3)
            step = 6.0 * s
            for k in range(int((b - a) * wide / step)):
                left = x + a * wide + k * step
                self._add(Line, left, y, left + 0.7 * step, y + tall, 1.2 * s, PAPER, group=4)
        needle = x + found.needle * wide
        self._add(Rectangle, needle - 2.5 * s, y - 4.0 * s, 5.0 * s, tall + 8.0 * s, INK, group=5)
        line = self._words("gauge", found.words, HEAD, True, MARK if found.stalled else INK)
        line.place(x, y + tall + 8.0 * s)

    def text(self, key: str, sentences: tuple[tuple[str, bool], ...], place: Rect) -> float:
        """Lines of a card from the upper edge of a place down, each bold or not; returns the height
        that they take, paper and all."""
        s, step = self.scale, ROW * self.scale
        lines = self._rows(sentences, place.width)
        tall = self.height_of(sentences, place.width)
        top = place.y + place.height
        self.paper(Rect(place.x, top - tall, place.width, tall))
        for k, (row, bold) in enumerate(lines):
            line = self._words(f"{key} {k}", row, TEXT, bold)
            line.place(place.x + PAD * s, top - 0.7 * PAD * s - (k + 0.75) * step)
        return tall

    def height_of(self, sentences: tuple[tuple[str, bool], ...], wide: float) -> float:
        """That a card of so many sentences takes."""
        return (ROW * len(self._rows(sentences, wide)) + 1.4 * PAD) * self.scale

    def _rows(self, sentences: tuple[tuple[str, bool], ...], wide: float) -> list[tuple[str, bool]]:
        count = max(16, int((wide / self.scale - 2.0 * PAD) / (LETTER * TEXT)))
        return [(row, bold) for text, bold in sentences for row in wrapped(text, count)]

    def paper(self, place: Rect, alarm: bool = False) -> None:
        edge = (8.0 if alarm else 4.0) * self.scale
        self._add(Rectangle, *place, PAPER, group=1)
        self._add(Rectangle, place.x, place.y, edge, place.height, MARK if alarm else INK, group=2)

    def frame(self, place: Rect) -> None:
        """A rim of paper round a picture within the window."""
        s = 5.0 * self.scale
        x, y, wide, tall = place
        for box in (
            (x - s, y - s, wide + 2 * s, s),
            (x - s, y + tall, wide + 2 * s, s),
            (x - s, y, s, tall),
            (x + wide, y, s, tall),
        ):
            self._add(Rectangle, *box, PAPER, group=1)

    def _arrow(self, arrow: Arrow) -> None:
        """Over a wider one of paper, so that it is seen on foam, grass and sky alike."""
        s = self.scale
        (x, y), (a, b) = arrow.start, arrow.end
        length = max(1e-6, math.hypot(a - x, b - y))
        ux, uy = (a - x) / length, (b - y) / length
        tip = min(TIP * s, 0.6 * length)
        neck = a - tip * ux, b - tip * uy
        for grow, thick, colour, group in (
            (RIM - THICK, RIM, PAPER, 3),
            (0.0, THICK, arrow.colour, 4),
        ):
            g = 0.6 * grow * s
            self._add(Line, x - g * ux, y - g * uy, *neck, thick * s, colour, group=group)
            half = 0.5 * tip + g
            self._add(
                Triangle,
                a + 1.6 * g * ux,
                b + 1.6 * g * uy,
                neck[0] - g * ux - half * uy,
                neck[1] - g * uy + half * ux,
                neck[0] - g * ux + half * uy,
                neck[1] - g * uy - half * ux,
                color=colour,
                group=group,
            )
        if arrow.cut:  # a bar across: it goes on
            self._add(
                Line,
                neck[0] - tip * (0.4 * ux + 0.6 * uy),
                neck[1] - tip * (0.4 * uy - 0.6 * ux),
                neck[0] - tip * (0.4 * ux - 0.6 * uy),
                neck[1] - tip * (0.4 * uy + 0.6 * ux),
                2.5 * s,
                arrow.colour,
                group=4,
            )
        self._add(Circle, x, y, 3.5 * s, color=arrow.colour, group=4)

    def _words(self, key: str, text: str, points: float, bold=False, colour=INK) -> Words:
        self.used.add(key)
        if key not in self.words:
            self.words[key] = Words(
                self.batch, self.groups[5], 0, 0, points * self.scale, colour, bold
            )
        self.words[key].say(text, colour)
        return self.words[key]

    def _add(self, kind, *where, group: int, **how) -> None:
        self.shapes.append(kind(*where, batch=self.batch, group=self.groups[group], **how))


COLOUR_NP = force_arrows.COLOURS["surface"]
