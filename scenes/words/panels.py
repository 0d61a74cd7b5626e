"""Draws what `instruments` says: paper tags, bars, cards. Needs a current context."""

from __future__ import annotations

from pathlib import Path

import matplotlib
import pyglet
from pyglet.graphics import Batch, Group
from pyglet.shapes import Rectangle
from pyglet.text import Label

from firstthrow.scenes.flight.facts import Facts, surface_angles
from firstthrow.scenes.words.instruments import (
    BLUE,
    CORNER_HEIGHT,
    GAP,
    INK,
    MARK,
    PAPER,
    QUIET,
    TAG_HEIGHT,
    TAGS,
    TRAY,
    Card,
    Rect,
    Tag,
    fitted,
    in_one_row,
    layout,
    stick_squares,
)

FACE, FIXED = "DejaVu Sans", "DejaVu Sans Mono"
TITLE, SMALL, BIG, HEAD, LINE = 8.6, 9.0, 18.0, 17.0, 11.5  # points at scale 1
SHOWN_ANGLE = 30.0  # [deg] that fills a surface's bar


def load_fonts() -> None:
    """The DejaVu faces that come with matplotlib, so that text needs no font of the system."""
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "DejaVuSansMono.ttf"):
        with (folder / name).open("rb") as file:  # given a path, pyglet leaves it open
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


class TagDrawing:
    """One tag: edge, title, big figure, small lines."""

    def __init__(self, batch: Batch, groups: tuple[Group, Group], rect: Rect, scale: float):
        back, front = groups
        x, y, wide, tall = rect
        self.scale, self.rect = scale, rect
        self.paper = Rectangle(x, y, wide, tall, PAPER, batch=batch, group=back)
        self.edge = Rectangle(x, y, 4 * scale, tall, INK, batch=batch, group=front)
        left = x + 14 * scale
        top = y + tall
        self.title = Line(batch, front, left, top - 17 * scale, TITLE * scale, QUIET, True)
        self.big = Line(batch, front, left, top - 45 * scale, BIG * scale, INK, True)
        self.small = [
            Line(batch, front, left, top - (63 + 16 * k) * scale, SMALL * scale, INK)
            for k in range(2)
        ]

    def say(self, tag: Tag) -> None:
        self.edge.width = (12 if tag.alarm else 4) * self.scale
        self.edge.color = MARK if tag.alarm else INK
        self.title.say(tag.title, MARK if tag.alarm else QUIET)
        self.big.say(tag.big, MARK if tag.alarm else INK)
        for k, line in enumerate(self.small):
            line.say(tag.small[k] if k < len(tag.small) else "")


class Gauge:
    """A bar in a groove from a middle or an end; `show` takes -1..1."""

    def __init__(self, batch, groups, rect: Rect, upright: bool, from_middle: bool):
        self.rect, self.upright, self.from_middle = rect, upright, from_middle
        self.tray = Rectangle(*rect, TRAY, batch=batch, group=groups[1])
        self.bar = Rectangle(*rect, BLUE, batch=batch, group=groups[2])

    def show(self, value: float) -> None:
        value = max(-1.0, min(1.0, value))
        x, y, wide, tall = self.rect
        size = (tall if self.upright else wide) * (0.5 if self.from_middle else 1.0)
        start = (y if self.upright else x) + (size if self.from_middle else 0.0)
        length = max(2.0, abs(value) * size)
        low = start - length if value < 0.0 else start
        if self.upright:
            self.bar.y, self.bar.height = low, length
        else:
            self.bar.x, self.bar.width = low, length


class Panels:
    """All instruments of a window of one size; make a new one when the size changes."""

    def __init__(self, width: int, height: int, scale: float, facts: Facts, mode: int):
        scale = fitted(width, height, scale)
        self.width, self.height, self.scale = width, height, scale
        self.facts, self.mode = facts, mode
        self.instruments, self.notices = Batch(), Batch()
        self.groups = (Group(0), Group(1), Group(2), Group(3))
        self.places = layout(width, height, scale)
        # what cards and warnings keep clear of, at the bottom of the middle
        self.below = (TAG_HEIGHT + GAP) * scale if in_one_row(width, scale) else 0.0
        self.drawings = {
            name: TagDrawing(self.instruments, self.groups[:2], self.places[name], scale)
            for name in TAGS
        }
        self._gauges()
        self._surface_lines()
        self._corner()
        self.card: Card | None = None
        self.card_parts: list = []
        self.warning_parts: list = []
        self.warned: tuple[str, ...] = ()

    def _gauges(self) -> None:
        s, batch, groups = self.scale, self.instruments, self.groups
        x, y, wide, _ = self.places["power"]
        bar = Rect(x + 14 * s, y + 6 * s, wide - 28 * s, 5 * s)
        self.throttle = Gauge(batch, groups, bar, False, False)
        x, y, wide, _ = self.places["air"]
        bar = Rect(x + 14 * s, y + 6 * s, wide - 28 * s, 5 * s)
        self.air = Gauge(batch, groups, bar, False, False)
        self.stall_mark = Rectangle(0, y + 4 * s, 2 * s, 9 * s, INK, batch=batch, group=groups[3])
        x, y, wide, _ = self.places["surfaces"]
        self.surfaces = []
        for surface in self.facts.surfaces:
            alike = [one for one in self.facts.surfaces if one.upright == surface.upright]
            pitch = 56 * s / len(alike)
            left, thick = x + 14 * s + alike.index(surface) * pitch, pitch - 4 * s
            if surface.upright:
                bar = Rect(left, y + 8 * s, thick, 8 * s)
            else:
                bar = Rect(left, y + 20 * s, thick, 52 * s)
            self.surfaces.append(Gauge(batch, groups, bar, not surface.upright, True))
        x, y, _, _ = self.places["sticks"]
        self.knobs = []
        for k in range(2):
            left, low, side = x + (14 + 60 * k) * s, y + 20 * s, 54 * s
            tray = Rectangle(left, low, side, side, TRAY, batch=batch, group=groups[1])
            middle = 0.5 * side
            cross = [
                Rectangle(left + middle, low, 1, side, PAPER, batch=batch, group=groups[2]),
                Rectangle(left, low + middle, side, 1, PAPER, batch=batch, group=groups[2]),
            ]
            knob = Rectangle(left, y, 10 * s, 10 * s, BLUE, batch=batch, group=groups[3])
            self.knobs.append((knob, tray, cross))
        self.drawings["sticks"].small[0].place(x + 14 * s, y + 6 * s)

    def _surface_lines(self) -> None:
        s = self.scale
        x, y, _, tall = self.places["surfaces"]
        self.surface_words = [
            Line(
                self.instruments,
                self.groups[1],
                x + 76 * s,
                y + tall - (36 + 16 * k) * s,
                0.88 * SMALL * s,
                INK,
            )
            for k in range(4)
        ]

    def _corner(self) -> None:
        s, gap = self.scale, GAP * self.scale
        tall = CORNER_HEIGHT * s
        self.corner_back = Rectangle(
            gap, self.height - gap - tall, 10, tall, INK, batch=self.notices, group=self.groups[0]
        )
        self.corner = Line(
            self.notices,
            self.groups[1],
            gap + 10 * s,
            self.height - gap - 16.5 * s,
            SMALL * s,
            PAPER,
        )

    def say(self, tags: dict[str, Tag], warnings: tuple[str, ...], corner: str) -> None:
        """New words; call it some ten times a second, as an eye reads."""
        for name, tag in tags.items():
            if name == "surfaces":
                self.drawings[name].say(tag._replace(small=()))
                for k, line in enumerate(self.surface_words):
                    line.say(tag.small[k] if k < len(tag.small) else "")
            else:
                self.drawings[name].say(tag)
        self.corner.say(corner)
        self.corner_back.width = self.corner.label.content_width + 20 * self.scale
        self._warn(warnings[:2])

    def move(self, reading) -> None:
        """Bars and knobs; call it on every frame."""
        self.throttle.show(reading.throttle)
        full = max(1.0, 2.5 * reading.stall_speed_m_s)
        self.air.show(reading.airspeed_m_s / full)
        x, _, wide, _ = self.air.rect
        self.stall_mark.x = x + wide * min(1.0, reading.stall_speed_m_s / full)
        for gauge, angle in zip(self.surfaces, surface_angles(reading, self.facts), strict=True):
            gauge.show(-angle / SHOWN_ANGLE)  # trailing edge up is up; left is left
        places = stick_squares(
            self.mode, reading.stick_roll, reading.stick_pitch, reading.stick_yaw, reading.throttle
        )
        for (knob, tray, _), (right, away) in zip(self.knobs, places, strict=True):
            span = tray.width - knob.width
            knob.x = tray.x + 0.5 * span * (1.0 + right)
            knob.y = tray.y + 0.5 * span * (1.0 + away)

    def show_card(self, card: Card | None) -> None:
        if card == self.card:
            return
        self.card = card
        for part in self.card_parts:
            part.delete()
        self.card_parts = self._card_parts(card) if card else []

    def draw(self, with_instruments: bool) -> None:
        if with_instruments and not (self.card and _is_wide(self.card)):  # that covers them
            self.instruments.draw()
        self.notices.draw()

    def _warn(self, words: tuple[str, ...]) -> None:
        if words == self.warned:
            return
        self.warned = words
        for part in self.warning_parts:
            part.delete()
        self.warning_parts = []
        s = self.scale
        for k, text in enumerate(words):
            y = self.below + (12 + 34 * k) * s
            line = Line(
                self.notices,
                self.groups[1],
                0.5 * self.width,
                y + 9 * s,
                LINE * s,
                PAPER,
                True,
                anchor="center",
            )
            line.say(text)
            wide = line.label.content_width + 28 * s
            back = Rectangle(
                0.5 * (self.width - wide),
                y,
                wide,
                28 * s,
                MARK,
                batch=self.notices,
                group=self.groups[0],
            )
            self.warning_parts += [back, line.label]

    def _card_parts(self, card: Card) -> list:
        columns = 2 if _is_wide(card) else 1
        rows = -(-len(card.lines) // columns)
        face = FIXED if columns == 2 else FACE
        tall = 60 + 22 * rows + 18 * len(card.small)
        room = self.height - (0 if columns == 2 else self.below) - 24
        s = min(self.scale, room / tall, self.scale if columns == 2 else (self.width - 40) / 620)
        made, wide = self._card_lines(card, s, face, columns)
        for _ in range(20):  # glyphs are whole pixels wide: it may take a second time
            if wide <= self.width - 40:
                break
            for line in made:
                line.label.delete()
            s *= min(0.98, (self.width - 40) / wide)
            made, wide = self._card_lines(card, s, face, columns)
        left = 0.5 * (self.width - wide)
        bottom = 0.5 * (self.height - tall * s)
        if columns == 1:  # high up, clear of the airframe and of the tags
            bottom = max(self.height - 44 * self.scale - tall * s, self.below + 10)
        top = bottom + tall * s
        made[0].place(left + 24 * s, top - 34 * s)
        for k, line in enumerate(made[1 : 1 + len(card.lines)]):
            column, row = divmod(k, rows)
            x = left + 24 * s + column * 0.5 * (wide - 24 * s)
            line.place(x, top - (60 + 22 * row) * s)
        for k, line in enumerate(made[1 + len(card.lines) :]):
            line.place(left + 24 * s, top - (62 + 22 * rows + 18 * k) * s)
        paper = Rectangle(
            left, bottom, wide, tall * s, PAPER, batch=self.notices, group=self.groups[2]
        )
        thick = (12 if card.alarm else 5) * s
        edge = Rectangle(
            left,
            bottom,
            thick,
            tall * s,
            MARK if card.alarm else INK,
            batch=self.notices,
            group=self.groups[3],
        )
        return [paper, edge, *(line.label for line in made)]

    def _card_lines(self, card: Card, s: float, face: str, columns: int) -> tuple[list, float]:
        """Title, lines and small lines, not yet in their places, and the width that they need."""
        kinds = [
            (card.title, HEAD, MARK if card.alarm else INK, True, FACE),
            *((text, LINE, INK, False, face) for text in card.lines),
            *((text, SMALL, QUIET, False, FACE) for text in card.small),
        ]
        made = []
        for text, points, colour, bold, used in kinds:
            made.append(Line(self.notices, self.groups[3], 0, 0, points * s, colour, bold, used))
            made[-1].say(text)
        wide = max(line.label.content_width for line in made)
        return made, wide * columns + 24 * s * (columns - 1) + 48 * s


def _is_wide(card: Card) -> bool:
    """Whether it takes two columns over the whole window."""
    return len(card.lines) > 12
