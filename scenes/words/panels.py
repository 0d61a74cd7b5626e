"""Draws what `instruments` says: paper tags, bars, cards. Needs a current context."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pyglet.graphics import Batch, Group
from pyglet.shapes import Rectangle, Triangle

from firstthrow.scenes.flight.facts import Facts, surface_angles
from firstthrow.scenes.words import placing
from firstthrow.scenes.words.card_drawing import CardDrawing
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
    wind_words,
)
from firstthrow.scenes.words.kept_picture import KeptPicture
from firstthrow.scenes.words.lettering import Line
from firstthrow.scenes.words.placing import whole_pixels
from firstthrow.scenes.world.camera import Box

TITLE, SMALL, BIG, LINE = 8.6, 9.0, 18.0, 11.5  # points at scale 1
CARD_ROOM = 130.0  # pixels at scale 1: less is too low for a card
SHOWN_ANGLE = 30.0  # [deg] that fills a surface's bar
ARROW = 0.15  # [m/s] of wind from which its arrow shows


# an arrow that points up: right and up of its middle, in halves of its length
ARROW_SHAPE = (
    ((-0.7, 0.1), (0.0, 1.0), (0.7, 0.1)),
    ((-0.2, 0.1), (0.2, 0.1), (0.2, -1.0)),
    ((-0.2, 0.1), (0.2, -1.0), (-0.2, -1.0)),
)


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

    def __init__(self, batches, groups, rect: Rect, upright: bool, from_middle: bool):
        self.rect, self.upright, self.from_middle = rect, upright, from_middle
        self.tray = Rectangle(*rect, TRAY, batch=batches[0], group=groups[1])
        self.bar = Rectangle(*rect, BLUE, batch=batches[1], group=groups[2])

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
    """All instruments of a window of one size; make a new one when the size changes. Tags are put
    there again as they are `kept`, one picture each, until they say something else; what moves on
    them in every frame is drawn over it."""

    def __init__(
        self,
        width: int,
        height: int,
        scale: float,
        facts: Facts,
        mode: int,
        kept: Sequence[KeptPicture],
    ):
        scale = fitted(width, height, scale)
        self.width, self.height, self.scale = width, height, scale
        self.facts, self.mode = facts, mode
        self.instruments, self.moving, self.notices = Batch(), Batch(), Batch()
        self.kept, self.written = kept, object()  # which stands for what the tags say
        self.tags: dict[str, Tag] = {}
        self.groups = (Group(0), Group(1), Group(2), Group(3))
        self.places = layout(width, scale)
        # what cards and warnings keep clear of, at the bottom of the middle
        self.below = (TAG_HEIGHT + GAP) * scale if in_one_row(width, scale) else 0.0
        self.drawings = {
            name: TagDrawing(self.instruments, self.groups[:2], self.places[name], scale)
            for name in TAGS
        }
        self._gauges()
        self._surface_lines()
        self._corner()
        self.cards = CardDrawing(self.notices, self.groups[2:])
        self.side = -1  # where cards and the loupe stand: -1 left, 1 right
        self._wind()
        self.warning_parts: list = []
        self.warned: tuple[str, ...] = ()

    def _gauges(self) -> None:
        s, batch, groups = self.scale, self.instruments, self.groups
        batches = batch, self.moving
        x, y, wide, _ = self.places["power"]
        bar = Rect(x + 14 * s, y + 6 * s, wide - 28 * s, 5 * s)
        self.throttle = Gauge(batches, groups, bar, False, False)
        x, y, wide, _ = self.places["air"]
        bar = Rect(x + 14 * s, y + 6 * s, wide - 28 * s, 5 * s)
        self.air = Gauge(batches, groups, bar, False, False)
        self.stall_mark = Rectangle(
            0, y + 4 * s, 2 * s, 9 * s, INK, batch=self.moving, group=groups[3]
        )
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
            self.surfaces.append(Gauge(batches, groups, bar, not surface.upright, True))
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
            knob = Rectangle(left, y, 10 * s, 10 * s, BLUE, batch=self.moving, group=groups[3])
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
        if tags != self.tags or self.blows != self.wind_words.label.text:
            self.tags, self.written = tags, object()
        self.wind_words.say(self.blows)
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

    def show_card(self, card: Card | None, page: int = 0) -> None:
        """At the side away from the airframe; a table of keys over the whole window."""
        if card is not None and card.table:
            space = Rect(20.0, 20.0, self.width - 40.0, self.height - 40.0)
        else:
            space = placing.room(self.width, self.height, self.scale, self.places, self.side)
            if space.height < CARD_ROOM * self.scale:  # then it takes the tags' place
                space = placing.column(self.width, self.height, self.scale, self.side)
        self.cards.show(card, space, self.scale, page)
        paper, back = self.cards.rect, self.corner_back
        corner = Rect(back.x, back.y, back.width, back.height)
        clear = card is None or not card.table or paper is None or not paper.overlaps(corner)
        back.visible = self.corner.label.visible = clear

    @property
    def loupe(self) -> placing.Placed | None:
        return placing.loupe(self.width, self.height, self.scale, self.places, self.side)

    def show_wind(self, towards: float, speed: float) -> None:
        """`towards` [rad] where the air moves to, right-handed from straight away from the eye; how
        fast is said with all other words."""
        self.blows = wind_words(speed, self.facts.units)
        size = 15.0 * self.scale if speed > ARROW else 0.0
        x, y = self.wind_at
        c, s = math.cos(towards), math.sin(towards)
        for shape, corners in zip(self.arrow, ARROW_SHAPE, strict=True):
            placed = [(x + size * (u * c + v * s), y + size * (v * c - u * s)) for u, v in corners]
            (shape.x, shape.y), (shape.x2, shape.y2), (shape.x3, shape.y3) = placed

    def _wind(self) -> None:
        """An arrow seen as from above, up the picture being away from the eye."""
        s, groups = self.scale, self.groups
        x, y, wide, tall = self.places["height"]
        right = x + wide - 12 * s
        self.wind_title = Line(
            self.instruments,
            groups[1],
            right,
            y + tall - 17 * s,
            TITLE * s,
            QUIET,
            True,
            anchor="right",
        )
        self.wind_title.say("Wind")
        self.blows = ""
        self.wind_at = x + wide - 32 * s, y + tall - 43 * s
        self.arrow = [
            Triangle(0, 0, 0, 0, 0, 0, BLUE, batch=self.moving, group=groups[2])
            for _ in ARROW_SHAPE
        ]
        self.wind_words = Line(
            self.instruments, groups[1], right, y + 17 * s, SMALL * s, INK, anchor="right"
        )

    def tags_shown(self, with_instruments: bool) -> list[Rect]:
        """Where the tags lie, none while a card has their place."""
        card = self.cards.rect
        covered = card is not None and any(card.overlaps(tag) for tag in self.places.values())
        return list(self.places.values()) if with_instruments and not covered else []

    def draw(self, with_instruments: bool, fine: float) -> None:
        """Into a window of `fine` pixels for each of its units."""
        tags = self.tags_shown(with_instruments)
        if tags:
            self._draw_tags([whole_pixels(tag, fine) for tag in tags], fine.is_integer())
            self.moving.draw()
        self.notices.draw()

    def _draw_tags(self, boxes: list[Box], whole: bool) -> None:
        """As they are kept, where that is their `whole` paper; drawn anew where one is not."""
        kept = list(zip(self.kept, boxes, strict=True)) if whole else []
        if kept and all([picture.shows(self.written, box) for picture, box in kept]):
            return
        self.instruments.draw()
        for picture, box in kept:
            picture.keep(self.written, box)

    def _warn(self, words: tuple[str, ...]) -> None:
        """In the middle at the bottom, between the tags or over them; smaller for a narrow one."""
        if words == self.warned:
            return
        self.warned = words
        for part in self.warning_parts:
            part.delete()
        self.warning_parts = []
        free = self.width - 2 * GAP * self.scale
        if not self.below:
            free -= 2 * max(rect.width + GAP * self.scale for rect in self.places.values())
        for k, text in enumerate(words):
            y = self.below + (12 + 34 * k) * self.scale
            s = self.scale
            line = self._warning(text, y, s)
            while line.label.content_width + 28 * s > free and s > 0.4:
                line.label.delete()
                s *= 0.94
                line = self._warning(text, y, s)
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

    def _warning(self, text: str, y: float, s: float) -> Line:
        middle = 0.5 * self.width
        line = Line(
            self.notices, self.groups[1], middle, y + 9 * s, LINE * s, PAPER, True, anchor="center"
        )
        line.say(text)
        return line
