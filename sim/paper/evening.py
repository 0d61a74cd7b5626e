"""The flights of an evening on one page, for the window and to be printed."""

from __future__ import annotations

from firstthrow.sim.learn.aftermath.evening import Evening, FlightTold, sections
from firstthrow.sim.paper.letters import leading, wrapped
from firstthrow.sim.paper.page import HEIGHT, WIDTH, Line, Page, Part, Words, box, disc

LEFT, RIGHT, TOP = 14.0, WIDTH - 14.0, 194.0  # [mm]
MIDDLE = 168.0  # between the flights and what is told of them
LOW = 12.0
SIZES = (3.6, 3.3, 3.0, 2.7, 2.4)  # of the words; the first at which all fits
SQUARE, STEP = 5.2, 7.0  # of the row of flights
IN_ROW = 60  # flights that the row shows, the last


def page(found: Evening, foot: str = "") -> Page:
    """Flights at the left, what they show at the right, a row of squares on top."""
    parts: list[Part] = [Words(LEFT, TOP, _title(found), 7.0, True)]
    if not found.flights:
        parts.append(Words(LEFT, TOP - 14.0, "Nothing was flown.", 4.6))
    parts += _row(found.flights)
    for size in SIZES:
        left = _flights(found.flights, size)
        right = _sections(found, size)
        if min(left[1], right[1]) > LOW + 6.0:
            break
    parts += [*left[0], *right[0]]
    if found.flights:
        parts.append(Line(((MIDDLE - 5.0, TOP - 22.0), (MIDDLE - 5.0, LOW + 8.0)), 0.25, 0.5))
    if foot:
        parts.append(Words(LEFT, 8.0, foot, 3.4))
    return Page(tuple(parts), WIDTH, HEIGHT)


def _title(found: Evening) -> str:
    count = len(found.flights)
    if not count:
        return f"The evening of {found.day}" if found.day else "The evening"
    flights = "1 flight" if count == 1 else f"{count} flights"
    return f"{found.day}: {flights}, {found.survived} in one piece"


def _row(flights: tuple[FlightTold, ...]) -> list[Part]:
    """A square a flight, in order: whole an open one, lost a dark one with a cross. Where not all
    are shown, it is said how many are."""
    parts: list[Part] = []
    shown = flights[-IN_ROW:]
    step = min(STEP, (RIGHT - LEFT) / max(1, len(shown)))
    for k, one in enumerate(shown):
        x, y, size = LEFT + step * k, TOP - 13.5, SQUARE * step / STEP
        parts.append(box(x, y, size, size, 1.0 if one.survived else 0.25, 0.4))
        if one.survived:
            parts.append(disc(x + 0.5 * size, y + 0.5 * size, 0.19 * size, 0.0, 0.0))
        else:
            for a, b in (((x, y), (x + size, y + size)), ((x, y + size), (x + size, y))):
                parts.append(Line((a, b), 0.6, 1.0))
    if flights:
        which = "In order" if shown == flights else f"The last {len(shown)} in order"
        told = f"{which}: with a dot in one piece, dark with a cross not."
        parts.append(Words(LEFT, TOP - 18.5, told, 3.0))
    return parts


def _flights(flights: tuple[FlightTold, ...], size: float) -> tuple[list[Part], float]:
    """The flights, the last first, as far as they fit, and how low they reach: too low where they
    do not fit, but for the smallest words, which say how many more there are."""
    parts: list[Part] = []
    y, step = TOP - 27.0, leading(size)
    wide = MIDDLE - 10.0 - LEFT
    for k, one in enumerate(reversed(flights)):
        head = f"{one.when}  {one.airframe}, {one.flight_time_s:.0f} s"
        rows = wrapped(one.verdict, wide, size)
        if one.cause:
            rows += wrapped(one.cause, wide, size)
        if y - (len(rows) + 1) * step < LOW + 6.0:
            parts.append(Words(LEFT, y, f"and {len(flights) - k} before", size, True))
            return parts, y - step if size == SIZES[-1] else 0.0
        parts.append(Words(LEFT, y, head, size, True))
        y -= step
        for row in rows:
            parts.append(Words(LEFT + 3.0, y, row, size))
            y -= step
        y -= 0.4 * step
    return parts, y


def _sections(found: Evening, size: float) -> tuple[list[Part], float]:
    """Titles with their sentences, as far as they fit, and how low they reach; as `_flights`."""
    parts: list[Part] = []
    y, step = TOP - 27.0, leading(size + 0.4)
    wide = RIGHT - MIDDLE
    told = [one for one in sections(found) if found.flights or one[0] in ("Next", "Left out")]
    more = sum(len(sentences) for _, sentences in told)
    for title, sentences in told:
        for k, sentence in enumerate(sentences):
            rows = wrapped(sentence, wide - 3.0, size + 0.4)
            if y - (len(rows) + 1 + (k == 0)) * step < LOW + 6.0:  # no title stands alone
                parts.append(Words(MIDDLE, y, f"and {more} more", size + 0.4))
                return parts, y - step if size == SIZES[-1] else 0.0
            if k == 0:
                parts.append(Words(MIDDLE, y, title, size + 0.8, True))
                y -= step
            for row in rows:
                parts.append(Words(MIDDLE + 3.0, y, row, size + 0.4))
                y -= step
            more -= 1
        y -= 0.5 * step
    return parts, y
