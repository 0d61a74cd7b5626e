"""Draws one card: a notice that wraps into the room it is given, or a table over the whole window.
Needs a current context."""

from __future__ import annotations

from typing import NamedTuple

from pyglet.graphics import Batch, Group
from pyglet.shapes import Rectangle

from firstthrow.scenes.words.instruments import (
    BLUE,
    INK,
    MARK,
    PAPER,
    QUIET,
    TRAY,
    Card,
    Rect,
    begun,
    wrapped,
)
from firstthrow.scenes.words.lettering import FIXED, Line

HEAD, LINE, SMALL = 17.0, 11.5, 9.0  # points at scale 1
HEAD_TALL, ROW, SMALL_ROW, FOOT = 44.0, 22.0, 17.0, 14.0  # pixels at scale 1
PAD = 24.0  # left and right of the words
LETTER = 0.76  # pixels of width a letter takes on the average, for each point of its size
FIXED_LETTER = 0.804
SHRINK = 0.94
LEAST = 0.45  # smallest scale that a card is drawn at


class Set(NamedTuple):
    """A card's words as they fit a room."""

    scale: float
    title: tuple[str, ...]
    lines: tuple[str, ...]
    small: tuple[str, ...]

    @property
    def height(self) -> float:
        rows = HEAD_TALL + 25.0 * (len(self.title) - 1) + ROW * len(self.lines)
        return self.scale * (rows + SMALL_ROW * len(self.small) + FOOT)


def fitted(card: Card, room: Rect, scale: float) -> Set:
    """Its sentences wrapped into the room's width, smaller only where they are too many for its
    height."""
    while True:
        wide = room.width - 2.0 * PAD * scale

        def broken(texts, points, wide=wide, scale=scale) -> tuple[str, ...]:
            count = max(12, int(wide / (LETTER * points * scale)))
            return tuple(line for text in texts for line in wrapped(begun(text), count))

        found = Set(
            scale,
            broken((card.title,), 1.12 * HEAD),
            broken(card.lines, LINE),
            broken(card.small, SMALL),
        )
        if found.height <= room.height or scale <= LEAST:
            return found
        scale = max(LEAST, SHRINK * scale)


class Table(NamedTuple):
    """How a table's rows fall into columns and pages."""

    scale: float
    columns: int
    rows: int
    pages: int


def tabled(card: Card, room: Rect, scale: float) -> Table:
    """As many rows and columns a page as fit at a text size; smaller only where one is too wide."""
    most = max((len(line) for line in card.lines), default=1)
    while True:
        wide = (FIXED_LETTER * LINE * most + PAD) * scale
        columns = int((room.width - PAD * scale) / wide)
        tall = HEAD_TALL + FOOT + SMALL_ROW * (len(card.small) + 1)
        rows = int((room.height / scale - tall) / ROW)
        if (columns >= 1 and rows >= 4) or scale <= LEAST:
            break
        scale = max(LEAST, SHRINK * scale)
    columns, rows = max(1, columns), max(1, rows)
    count = len(card.lines)
    pages = -(-count // (columns * rows))
    columns = min(columns, -(-count // rows))
    if pages == 1:
        rows = -(-count // columns)
    return Table(scale, columns, rows, pages)


class CardDrawing:
    """Shows one card at a time; nothing is made anew while it stays the same."""

    def __init__(self, batch: Batch, groups: tuple[Group, Group]):
        self.batch, self.groups = batch, groups
        self.shown: tuple | None = None
        self.parts: list = []
        self.rect: Rect | None = None
        self.pages = 1

    def show(self, card: Card | None, room: Rect, scale: float, page: int = 0) -> None:
        """In the room's upper corner, on its left or its right as the room lies; a table in the
        middle of it."""
        wanted = (card, room, scale, page) if card else None
        if wanted == self.shown:
            return
        self.shown = wanted
        for part in self.parts:
            part.delete()
        self.parts, self.rect, self.pages = [], None, 1
        if card is not None and card.table:
            self._table(card, room, tabled(card, room, scale), page)
        elif card is not None:
            self._notice(card, room, scale)

    def _notice(self, card: Card, room: Rect, scale: float) -> None:
        found = fitted(card, room, scale)
        made, wide = self._lines(card, found)
        while wide > room.width and found.scale > LEAST:  # glyphs are whole pixels wide
            for line in made:
                line.label.delete()
            found = fitted(card, room, max(LEAST, SHRINK * found.scale))
            made, wide = self._lines(card, found)
        s, tall = found.scale, found.height
        on_right = room.x > PAD * scale  # the left room begins at the window's edge
        left = room.x + room.width - wide if on_right else room.x
        top = room.y + room.height
        y = top - 32.0 * s
        for k, line in enumerate(made):
            line.place(left + PAD * s, y)
            last = k == len(found.title) + len(found.lines) - 1
            step = 25.0 if k < len(found.title) - 1 else ROW if k < len(found.title) else 0.0
            if k >= len(found.title):
                step = SMALL_ROW if k >= len(found.title) + len(found.lines) or last else ROW
            elif k == len(found.title) - 1:
                step = 26.0
            y -= step * s
        self._paper(Rect(left, top - tall, wide, tall), s, card.alarm)
        self.parts += [line.label for line in made]
        if card.share is not None:
            self._bar(left + PAD * s, top - tall, wide - 2.0 * PAD * s, s, card.share)

    def _bar(self, x: float, low: float, wide: float, s: float, share: float) -> None:
        """In a groove at the foot of the paper."""
        for colour, part in ((TRAY, 1.0), (BLUE, share)):
            group = self.groups[1]
            bar = Rectangle(
                x, low + 6 * s, part * wide, 6 * s, colour, batch=self.batch, group=group
            )
            self.parts.append(bar)

    def _lines(self, card: Card, found: Set) -> tuple[list[Line], float]:
        """Not yet in their places, and the width that they need."""
        s, front = found.scale, self.groups[1]
        kinds = [
            *((text, HEAD, MARK if card.alarm else INK, True) for text in found.title),
            *((text, LINE, INK, False) for text in found.lines),
            *((text, SMALL, QUIET, False) for text in found.small),
        ]
        made = []
        for text, points, colour, bold in kinds:
            made.append(Line(self.batch, front, 0, 0, points * s, colour, bold))
            made[-1].say(text)
        wide = max(line.label.content_width for line in made)
        return made, wide + 2.0 * PAD * s

    def _table(self, card: Card, room: Rect, table: Table, page: int) -> None:
        s, front = table.scale, self.groups[1]
        self.pages = table.pages
        page = page % table.pages
        count = table.columns * table.rows
        lines = card.lines[page * count : (page + 1) * count]
        turn = f"Page {page + 1} of {table.pages}: Left and Right turn.   "
        small = ((turn if table.pages > 1 else "") + " ".join(card.small),)
        title = Line(self.batch, front, 0, 0, HEAD * s, INK, True)
        title.say(card.title)
        made = []
        for text in lines:
            made.append(Line(self.batch, front, 0, 0, LINE * s, INK, False, FIXED))
            made[-1].say(text)
        notes = []
        for text in small:
            notes.append(Line(self.batch, front, 0, 0, SMALL * s, QUIET))
            notes[-1].say(text)
        each = max(line.label.content_width for line in made) + PAD * s
        wide = max(each * table.columns, *(n.label.content_width for n in notes)) + PAD * s
        tall = (HEAD_TALL + ROW * table.rows + SMALL_ROW * len(notes) + FOOT) * s
        left = room.x + 0.5 * (room.width - wide)
        top = room.y + 0.5 * (room.height + tall)
        title.place(left + PAD * s, top - 32.0 * s)
        for k, line in enumerate(made):
            column, row = divmod(k, table.rows)
            line.place(left + PAD * s + column * each, top - (58.0 + ROW * row) * s)
        for k, line in enumerate(notes):
            line.place(left + PAD * s, top - (58.0 + ROW * table.rows + SMALL_ROW * k) * s)
        self._paper(Rect(left, top - tall, wide, tall), s, card.alarm)
        self.parts += [line.label for line in (title, *made, *notes)]

    def _paper(self, rect: Rect, s: float, alarm: bool) -> None:
        back, front = self.groups
        thick = (12 if alarm else 5) * s
        self.rect = rect
        self.parts = [
            Rectangle(*rect, PAPER, batch=self.batch, group=back),
            Rectangle(
                rect.x,
                rect.y,
                thick,
                rect.height,
                MARK if alarm else INK,
                batch=self.batch,
                group=front,
            ),
        ]
