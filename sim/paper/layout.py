"""Words and tables set from the top of a page down, as one reads them.

x goes to the right, y down, both in mm from the top left corner; what comes out is a `Page`.
"""

from __future__ import annotations

from collections.abc import Iterable

from firstthrow.sim.paper.letters import leading, wrapped
from firstthrow.sim.paper.page import Anchor, Line, Page, Part, Point, Words, box

SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # [mm], ISO 216 and ANSI/ASME Y14.1
THIN, LINE, THICK = 0.15, 0.25, 0.5  # [mm]


class Layout:
    """One page that is being filled."""

    def __init__(self, size: str) -> None:
        """Raises KeyError for a size that is none of SIZES."""
        self.width, self.height = SIZES[size]
        self._parts: list[Part] = []

    @property
    def page(self) -> Page:
        return Page(tuple(self._parts), self.width, self.height)

    def at(self, x: float, y: float) -> Point:
        """A place of the layout on the page."""
        return x, self.height - y

    def add(self, parts: Iterable[Part]) -> None:
        """What is drawn on the page already, in its own coordinates."""
        self._parts += parts

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        width: float = LINE,
        grey: float = 0.0,
        dash: tuple[float, ...] = (),
    ) -> None:
        self._parts.append(Line((self.at(x1, y1), self.at(x2, y2)), width, grey, dash))

    def box(self, x: float, y: float, wide: float, tall: float, edge: float = LINE) -> None:
        self._parts.append(box(*self.at(x, y + tall), wide, tall, None, edge))

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float,
        bold: bool = False,
        anchor: Anchor = "left",
    ) -> None:
        """`y` is the base line."""
        self._parts.append(Words(*self.at(x, y), words, size, bold, anchor))

    def paragraph(
        self, x: float, y: float, wide: float, words: str, size: float, bold: bool = False
    ) -> float:
        """Words wrapped to a width, the first base line at y; the y of the next base line."""
        for row in wrapped(words, wide, size, bold):
            self.text(x, y, row, size, bold)
            y += leading(size)
        return y
