"""Draws a `sim.paper.page.Page` over the window. Needs a current context."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from pyglet import shapes
from pyglet.graphics import Batch, Group
from pyglet.text import Label

from firstthrow.scenes.words.instruments import INK, PAPER
from firstthrow.scenes.words.lettering import FACE
from firstthrow.sim.paper.page import Area, Line, Page, Part, Words, dashes

BORDER = 14  # pixels round the page, from which the field still shows
LETTER = 0.75  # width of a letter over its size, at most
RIM = 0.4  # [mm] width of the line round a page
POINTS = 0.75  # of a pixel, at the 96 dots an inch that labels are sized by


class Sheet:
    """Keeps what it has drawn: of a page that changes a little, only that little is made anew."""

    def __init__(self, size: tuple[float, float], left: float = 0.0, bottom: float = 0.0):
        """`size` of the room it has in the window, from its lower left corner, in pixels."""
        self.width, self.height = size
        self.left, self.bottom = left, bottom
        self.batch, self.rim = Batch(), Batch()
        self.rim_parts: list = []
        self.groups: list[Group] = []
        self.drawn: dict[tuple, list] = {}
        self.page: Page | None = None
        self.told: tuple | None = None

    def show_for(self, told: tuple, make: Callable[[], Page]) -> None:
        """The page that `make` gives, asked for only when `told` is not what it was."""
        if told != self.told:
            self.told = told
            self.show(make())

    def show(self, page: Page | None) -> None:
        if page == self.page:
            return
        self.page = page
        parts = [] if page is None else [Area(_whole(page), 1.0), *page.parts]
        alike: Counter = Counter()
        wanted: dict[tuple, Any] = {}
        for level, part in zip(levels(parts), parts, strict=True):
            key = level, type(part).__name__, part
            wanted[*key, alike[key]] = None
            alike[key] += 1
        for shape in self.rim_parts:
            shape.delete()
        self.rim_parts = [] if page is None else self._rim(_whole(page))
        for key in [key for key in self.drawn if key not in wanted]:
            for shape in self.drawn.pop(key):
                shape.delete()
        for key in wanted:
            if key not in self.drawn:
                self.drawn[key] = self._make(2 * key[0], key[2])

    def draw(self) -> None:
        if self.page is not None:
            self.batch.draw()
            self.rim.draw()

    @property
    def scale(self) -> float:
        """Pixels a millimetre of the page."""
        wide, tall = self.page_size
        return min((self.width - 2 * BORDER) / wide, (self.height - 2 * BORDER) / tall)

    @property
    def page_size(self) -> tuple[float, float]:
        """Of what is shown [mm]."""
        assert self.page is not None, "nothing is shown"
        return self.page.width, self.page.height

    def place(self, point: tuple[float, float]) -> tuple[float, float]:
        """Window coordinates of a point of the page."""
        scale, (wide, tall) = self.scale, self.page_size
        left = self.left + 0.5 * (self.width - scale * wide)
        low = self.bottom + 0.5 * (self.height - scale * tall)
        return left + scale * point[0], low + scale * point[1]

    def _group(self, order: int) -> Group:
        while len(self.groups) <= order:
            self.groups.append(Group(len(self.groups)))
        return self.groups[order]

    def _make(self, order: int, part: Part) -> list:
        known: dict[str, Any] = {"batch": self.batch, "group": self._group(order)}
        if isinstance(part, Words):
            x, y = self.place((part.x, part.y))
            return [
                Label(
                    part.text,
                    x=round(x),
                    y=round(y),
                    color=(*INK, 255),
                    font_name=FACE,
                    font_size=POINTS * self.scale * part.size,
                    anchor_x=part.anchor,
                    weight="bold" if part.bold else "normal",
                    anchor_y="baseline",
                    **known,
                )
            ]
        if isinstance(part, Line):
            return self._strokes(part, known)
        made = []
        if part.grey is not None:
            points = [self.place(point) for point in part.points]
            made.append(shapes.Polygon(*points, color=(*_shade(part.grey), 255), **known))
        if part.edge:
            known["group"] = self._group(order + 1)
            made += self._strokes(Line((*part.points, part.points[0]), part.edge), known)
        return made

    def _rim(self, corners: tuple) -> list:
        return self._strokes(Line((*corners, corners[0]), RIM), {"batch": self.rim})

    def _strokes(self, line: Line, known: dict) -> list:
        thick = max(1.0, line.width * self.scale)
        return [
            shapes.Line(
                *self.place(a),
                *self.place(b),
                thickness=thick,
                color=(*_shade(line.grey), 255),
                **known,
            )
            for a, b in dashes(line)
        ]


def levels(parts: Sequence[Part]) -> list[int]:
    """For each part how many others lie under it, one over the other: those of one level do not
    touch, and can be drawn at once."""
    boxes = np.array([_bounds(part) for part in parts]).reshape(-1, 4)
    found = np.zeros(len(parts), dtype=int)
    for k in range(1, len(parts)):
        left, low, right, top = boxes[k]
        under = boxes[:k]
        touched = (
            (under[:, 0] < right) & (under[:, 2] > left) & (under[:, 1] < top) & (under[:, 3] > low)
        )
        if touched.any():
            found[k] = 1 + found[:k][touched].max()
    return found.tolist()


def _bounds(part: Part) -> tuple[float, float, float, float]:
    """Left, low, right, top; of words a generous guess."""
    if isinstance(part, Words):
        wide = LETTER * part.size * len(part.text)
        left = part.x - {"left": 0.0, "center": 0.5 * wide, "right": wide}[part.anchor]
        return left, part.y - 0.3 * part.size, left + wide, part.y + part.size
    half = 0.5 * (part.edge if isinstance(part, Area) else part.width)
    across, upward = zip(*part.points, strict=True)
    return min(across) - half, min(upward) - half, max(across) + half, max(upward) + half


def _shade(grey: float) -> tuple[int, int, int]:
    """The page's black is the instruments' ink, its white their paper."""
    red, green, blue = (round(i + grey * (p - i)) for i, p in zip(INK, PAPER, strict=True))
    return red, green, blue


def _whole(page: Page) -> tuple:
    return ((0.0, 0.0), (page.width, 0.0), (page.width, page.height), (0.0, page.height))
