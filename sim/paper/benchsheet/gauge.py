"""Pages at full size: a throw gauge to stand behind a trailing edge, and a balance template.

What is longer than a page goes over several, with a mark where they meet. Every page carries a
line of 100 mm or 4 in to check the print with. Scales are ruled in the builder's lengths; places
on a page are in mm.
"""

from __future__ import annotations

from math import ceil, floor
from typing import NamedTuple

from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.paper.layout import LINE, SIZES, THICK, THIN, Layout
from firstthrow.sim.paper.page import Page, apart
from firstthrow.sim.units import from_mm, from_unit, mm

EDGE = 12.0  # kept free round a page [mm]
HEAD = 34.0  # taken by title and check line [mm]
FIRST = 34.0  # from the page's left to the first scale [mm]
SPARE = 12.0  # of a rule beyond its last mark [mm]
OVERLAP = 10.0  # of two pages [mm]


class Ruling(NamedTuple):
    """How a scale is ruled."""

    every: float  # from line to line [mm]
    middle: int  # so many of them to a longer line
    long: int  # and to the longest, with a figure
    in_figures: float  # what one of them is in the figures
    checks: float  # length of the line to check the print by [mm]
    check_words: str


def ruling(u: Units) -> Ruling:
    """Every millimetre, figures at tens; or every tenth of an inch, figures at whole ones."""
    if u.inches:
        inch = mm(from_unit(1.0, "in"))
        return Ruling(0.1 * inch, 5, 10, 0.1, 4.0 * inch, "4 in")
    return Ruling(1.0, 5, 10, 1.0, 100.0, "100 mm")


def pages(sheet: dict, size: str, u: Units) -> list[Page]:
    """A page or more of each; two short gauges share a page."""
    gauges, found = _gauges(sheet, u), []
    room = SIZES[size][1] - 2 * EDGE - HEAD
    while gauges:
        pair = [one for one in gauges[:2] if _span(one[1])[1] - _span(one[1])[0] <= room]
        together = pair if len(pair) == 2 else gauges[:1]
        found += _rules(size, sheet["name"], "Throw gauge", together, GAUGE_WORDS, u, up=True)
        gauges = gauges[len(together) :]
    template = [("along the centreline", _template(sheet["marks"], u))]
    return found + _rules(
        size, sheet["name"], "Balance template", template, TEMPLATE_WORDS, u, up=False
    )


GAUGE_WORDS = (
    "Cut along the scale. Stand it upright behind the trailing edge, square to the sheet, 0 level "
    "with the middle of the sheet's edge beside the surface. Up is up (on a rudder: right)."
)
TEMPLATE_WORDS = (
    "Cut along the scale. Lay it on the centreline, the 0 line at the datum, the arrow aft. Mark "
    "BALANCE on both sides of the sheet."
)


def _gauges(sheet: dict, u: Units) -> list[tuple[str, list[tuple[float, str]]]]:
    found = []
    for gauge in sheet["gauges"]:
        ways = ("right", "left") if gauge["role"] == "rudder" else ("up", "down")
        marks = [
            (at, f"{_figure(at, u)} {ways[at < 0.0]}  {', '.join(words)}")
            for at, words in gauge["marks"]
        ]
        found.append((gauge["title"], marks))
    return found


def _figure(at: float, u: Units) -> str:
    """A place [mm] without its sign."""
    return u.bare_length(from_mm(abs(at)), 1)


def _template(marks: dict, u: Units) -> list[tuple[float, str]]:
    words = {
        "front": "front limit",
        "target": "BALANCE",
        "rear": "rear limit",
        "neutral": "neutral point",
    }
    places = [
        (marks[name], f"{_figure(marks[name], u)}  {text}")
        for name, text in words.items()
        if marks[name] is not None
    ]
    return sorted([(0.0, "0  datum"), *places])


def _span(marks: list[tuple[float, str]]) -> tuple[float, float]:
    """Lowest and highest value of a rule with these marks [mm]."""
    places = [0.0, *(at for at, _ in marks)]
    return min(places) - SPARE, max(places) + SPARE


def tiles(low: float, high: float, room: float) -> list[tuple[float, float]]:
    """A length [mm] cut into pieces no longer than `room`, each over the last by OVERLAP."""
    if high - low <= room:
        return [(low, high)]
    step = room - OVERLAP
    many = ceil((high - low - OVERLAP) / step)
    return [(low + k * step, min(high, low + k * step + room)) for k in range(many)]


def _rules(
    size: str,
    name: str,
    title: str,
    rules: list[tuple[str, list[tuple[float, str]]]],
    words: str,
    u: Units,
    up: bool,
) -> list[Page]:
    """Rules in mm side by side; up: values grow up the page, else down. One may take pages."""
    low = min(_span(marks)[0] for _, marks in rules)
    high = max(_span(marks)[1] for _, marks in rules)
    parts = tiles(low, high, SIZES[size][1] - 2 * EDGE - HEAD)
    found = []
    for k, (start, end) in enumerate(parts):
        layout = Layout(size)
        several = f", part {k + 1} of {len(parts)}" if len(parts) > 1 else ""
        _head(layout, f"{name}: {title}{several}, full size", words, ruling(u))
        top = EDGE + HEAD

        def level(at: float, start=start, end=end, top=top) -> float:
            return top + (end - at if up else at - start)

        for n, (which, marks) in enumerate(rules):
            x = FIRST + n * 0.5 * (layout.width - EDGE)
            layout.text(x - 10.0, top - 3.0, which, 2.95, True)
            _scale(layout, x, level, start, end, ruling(u))
            _words(layout, x, [(level(at), text) for at, text in marks if start <= at <= end])
        if not up:
            layout.text(18.0, level(start) + 20.0, "aft", 2.8, True, "center")
            layout.line(18.0, level(start) + 23.0, 18.0, level(start) + 38.0, THICK)
            for side in (-1.5, 1.5):
                layout.line(18.0 + side, level(start) + 35.0, 18.0, level(start) + 38.0, THICK)
        for joint in (start if k else None, end if k < len(parts) - 1 else None):
            if joint is not None:
                _meets(layout, level, joint, joint == start, u)
        found.append(layout.page)
    return found


def _head(layout: Layout, title: str, words: str, ruled: Ruling) -> None:
    layout.text(EDGE, EDGE + 4.0, title, 3.8, True)
    below = layout.paragraph(EDGE, EDGE + 9.5, layout.width - 2 * EDGE, words, 2.65)
    y = max(below, EDGE + 17.0) + 4.0
    layout.line(EDGE, y, EDGE + ruled.checks, y, THICK)
    for end in (EDGE, EDGE + ruled.checks):
        layout.line(end, y - 2.0, end, y + 2.0, LINE)
    layout.text(
        EDGE + ruled.checks + 3.0,
        y + 1.0,
        f"{ruled.check_words} on paper? If not, print at 100 %, without fitting to the page.",
        2.5,
    )


def _scale(layout: Layout, x: float, level, start: float, end: float, ruled: Ruling) -> None:
    layout.line(x, level(start), x, level(end), LINE)
    for k in range(ceil(start / ruled.every), floor(end / ruled.every) + 1):
        long = 7.0 if k % ruled.long == 0 else 4.5 if k % ruled.middle == 0 else 2.5
        y = level(k * ruled.every)
        layout.line(x - long, y, x, y, THIN)
        if k % ruled.long == 0:
            figure = f"{abs(k) * ruled.in_figures:.0f}"
            layout.text(x - 8.0, y + 1.0, figure, 2.5, anchor="right")


def _words(layout: Layout, x: float, shown: list[tuple[float, str]]) -> None:
    """Marks to the right of the scale, their words moved apart."""
    shown = sorted(shown)
    levels = apart([y for y, _ in shown], 4.0)
    for (y, text), beside in zip(shown, levels, strict=True):
        layout.line(x, y, x + 14.0, y, THICK)
        layout.line(x + 14.0, y, x + 19.0, beside, THIN)
        strong = text.endswith(("BALANCE", "datum", "neutral"))
        layout.text(x + 20.0, beside + 1.0, text, 2.65, strong)


def _meets(layout: Layout, level, joint: float, first: bool, u: Units) -> None:
    """A cut line in the middle of the overlap, to lay the pages on each other."""
    at = joint + 0.5 * OVERLAP if first else joint - 0.5 * OVERLAP
    layout.line(EDGE, level(at), 150.0, level(at), THIN, 0.0, (2.0, 1.0))
    layout.text(151.0, level(at) + 1.0, f"cut, and meet here: {_figure(at, u)}", 2.3)
