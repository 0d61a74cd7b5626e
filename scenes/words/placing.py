"""Where cards and the loupe stand: at the side away from the airframe, clear of tags. Pure."""

from __future__ import annotations

import math
from typing import NamedTuple

from firstthrow.scenes.words.instruments import CORNER_HEIGHT, GAP, Rect
from firstthrow.scenes.world.camera import Box

SWITCHES = 0.14  # of half the picture: so far past the middle it must be for the sides to change
CLEAR = 0.10  # of the window's height, kept free on either side of the middle
LOUPE = 0.30  # of the window's height
LEAST = 60.0  # pixels of a glass that is worth looking through
CAPTION = 24.0  # pixels at scale 1
EDGE = 8.0  # of paper round the glass


class Placed(NamedTuple):
    """A loupe: the card it lies on, and the square of its glass."""

    card: Rect
    glass: Rect


def side_away(side: int, across: float | None, aim: float | None = None) -> int:
    """-1 for the left, 1 for the right: away from an airframe at `across`, or from the `aim` it is
    flown to where the airframe is near the middle or out of sight. Both -1..1, None when out of
    sight; `side` is where things stand now."""
    for seen in (across, aim):
        if seen is not None and abs(seen) > SWITCHES:
            return -1 if seen > 0.0 else 1
    return side


def column(width: float, height: float, scale: float, side: int) -> Rect:
    """What a side has, from the lower edge up to the line in the corner."""
    gap = GAP * scale
    wide = 0.5 * width - CLEAR * height - gap
    left = gap if side < 0 else width - gap - wide
    return Rect(left, gap, wide, height - 3.0 * gap - CORNER_HEIGHT * scale)


def room(width: float, height: float, scale: float, tags: dict[str, Rect], side: int) -> Rect:
    """What of a side's column is left over the tags that stand in it."""
    whole = column(width, height, scale, side)
    floor = whole.y
    for tag in tags.values():
        if tag.overlaps(whole):
            floor = max(floor, tag.y + tag.height + GAP * scale)
    return whole._replace(y=floor, height=max(0.0, whole.y + whole.height - floor))


def loupe(
    width: float, height: float, scale: float, tags: dict[str, Rect], side: int
) -> Placed | None:
    """As large as the window's height and the room at that side allow, in its upper corner; None
    where there is none."""
    free = room(width, height, scale, tags, side)
    edge, caption = EDGE * scale, CAPTION * scale
    size = min(LOUPE * height, free.width - 2.0 * edge, free.height - 2.0 * edge - caption)
    if size < LEAST:
        return None
    size = float(round(size))
    wide, tall = size + 2.0 * edge, size + 2.0 * edge + caption
    x = free.x if side < 0 else free.x + free.width - wide
    card = Rect(round(x), round(free.y + free.height - tall), wide, tall)
    return Placed(card, Rect(round(card.x + edge), round(card.y + edge + caption), size, size))


def whole_pixels(rect: Rect, fine: float) -> Box:
    """Those that a paper covers wholly, of `fine` pixels for one of the window's."""
    left, low = math.ceil(fine * rect.x), math.ceil(fine * rect.y)
    right, top = fine * (rect.x + rect.width), fine * (rect.y + rect.height)
    return left, low, math.floor(right) - left, math.floor(top) - low
