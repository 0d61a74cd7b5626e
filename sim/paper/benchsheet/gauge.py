"""Pages at full size: a throw gauge to stand behind a trailing edge, and a balance template.

What is longer than a page goes over several, with a mark where they meet. Every page carries a
line of 100 mm to check the print with.
"""

from __future__ import annotations

from math import ceil, floor

from firstthrow.sim.paper.draw import BOLD, LINE, THICK, THIN, Paper

EDGE = 12.0  # kept free round a page [mm]
HEAD = 34.0  # taken by title and check line [mm]
FIRST = 34.0  # from the page's left to the first scale [mm]
SPARE = 12.0  # of a rule beyond its last mark [mm]
OVERLAP = 10.0  # of two pages [mm]


def pages(paper: Paper, sheet: dict) -> None:
    """A page or more of each, after the present one; two short gauges share a page."""
    gauges = _gauges(sheet)
    room = paper.height - 2 * EDGE - HEAD
    while gauges:
        pair = [one for one in gauges[:2] if _span(one[1])[1] - _span(one[1])[0] <= room]
        together = pair if len(pair) == 2 else gauges[:1]
        _rules(paper, sheet["name"], "Throw gauge", together, GAUGE_WORDS, up=True)
        gauges = gauges[len(together) :]
    template = [("along the centreline", _template(sheet["marks"]))]
    _rules(paper, sheet["name"], "Balance template", template, TEMPLATE_WORDS, up=False)


GAUGE_WORDS = (
    "Cut along the scale. Stand it upright behind the trailing edge, square to the sheet, 0 level "
    "with the middle of the sheet's edge beside the surface. Up is up (on a rudder: right)."
)
TEMPLATE_WORDS = (
    "Cut along the scale. Lay it on the centreline, the 0 line at the datum, the arrow aft. Mark "
    "BALANCE on both sides of the sheet."
)


def _gauges(sheet: dict) -> list[tuple[str, list[tuple[float, str]]]]:
    found = []
    for gauge in sheet["gauges"]:
        ways = ("right", "left") if gauge["role"] == "rudder" else ("up", "down")
        marks = [
            (at, f"{abs(at):.1f} {ways[at < 0.0]}  {', '.join(words)}")
            for at, words in gauge["marks"]
        ]
        found.append((gauge["title"], marks))
    return found


def _template(marks: dict) -> list[tuple[float, str]]:
    words = {
        "front": "front limit",
        "target": "BALANCE",
        "rear": "rear limit",
        "neutral": "neutral point",
    }
    places = [
        (marks[name], f"{abs(marks[name]):.1f}  {text}")
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
    paper: Paper,
    name: str,
    title: str,
    rules: list[tuple[str, list[tuple[float, str]]]],
    words: str,
    up: bool,
) -> None:
    """Rules in mm side by side; up: values grow up the page, else down. One may take pages."""
    low = min(_span(marks)[0] for _, marks in rules)
    high = max(_span(marks)[1] for _, marks in rules)
    parts = tiles(low, high, paper.height - 2 * EDGE - HEAD)
    for k, (start, end) in enumerate(parts):
        paper.next_page()
        several = f", part {k + 1} of {len(parts)}" if len(parts) > 1 else ""
        _head(paper, f"{name}: {title}{several}, full size", words)
        top = EDGE + HEAD

        def level(at: float, start=start, end=end, top=top) -> float:
            return top + (end - at if up else at - start)

        for n, (which, marks) in enumerate(rules):
            x = FIRST + n * 0.5 * (paper.width - EDGE)
            paper.text(x - 10.0, top - 3.0, which, 9.5, BOLD)
            _scale(paper, x, level, start, end)
            _words(paper, x, [(level(at), text) for at, text in marks if start <= at <= end])
        if not up:
            paper.text(18.0, level(start) + 20.0, "aft", 9.0, BOLD, "middle")
            paper.line(18.0, level(start) + 23.0, 18.0, level(start) + 38.0, THICK)
            for side in (-1.5, 1.5):
                paper.line(18.0 + side, level(start) + 35.0, 18.0, level(start) + 38.0, THICK)
        for joint in (start if k else None, end if k < len(parts) - 1 else None):
            if joint is not None:
                _meets(paper, level, joint, joint == start)


def _head(paper: Paper, title: str, words: str) -> None:
    paper.text(EDGE, EDGE + 4.0, title, 12.0, BOLD)
    below = paper.paragraph(EDGE, EDGE + 9.5, paper.width - 2 * EDGE, words, 8.5)
    y = max(below, EDGE + 17.0) + 4.0
    paper.line(EDGE, y, EDGE + 100.0, y, THICK)
    for end in (EDGE, EDGE + 100.0):
        paper.line(end, y - 2.0, end, y + 2.0, LINE)
    paper.text(
        EDGE + 103.0,
        y + 1.0,
        "100 mm on paper? If not, print at 100 %, without fitting to the page.",
        8.5,
    )


def _scale(paper: Paper, x: float, level, start: float, end: float) -> None:
    paper.line(x, level(start), x, level(end), LINE)
    for at in range(ceil(start), floor(end) + 1):
        long = 7.0 if at % 10 == 0 else 4.5 if at % 5 == 0 else 2.5
        paper.line(x - long, level(at), x, level(at), THIN)
        if at % 10 == 0:
            paper.text(x - 8.0, level(at) + 1.0, f"{abs(at)}", 8.0, align="right")


def _words(paper: Paper, x: float, shown: list[tuple[float, str]]) -> None:
    """Marks to the right of the scale, their words moved apart."""
    shown = sorted(shown)
    levels = [y for y, _ in shown]
    for _ in range(200):
        for k in range(len(levels) - 1):
            short = 4.0 - (levels[k + 1] - levels[k])
            if short > 1e-6:
                levels[k] -= 0.5 * short
                levels[k + 1] += 0.5 * short
    for (y, text), beside in zip(shown, levels, strict=True):
        paper.line(x, y, x + 14.0, y, THICK)
        paper.line(x + 14.0, y, x + 19.0, beside, THIN)
        strong = BOLD if text.endswith(("BALANCE", "datum", "neutral")) else "Helvetica"
        paper.text(x + 20.0, beside + 1.0, text, 8.5, strong)


def _meets(paper: Paper, level, joint: float, first: bool) -> None:
    """A cut line in the middle of the overlap, to lay the pages on each other."""
    at = joint + 0.5 * OVERLAP if first else joint - 0.5 * OVERLAP
    paper.line(EDGE, level(at), 150.0, level(at), THIN, 0.0, (2.0, 1.0))
    paper.text(151.0, level(at) + 1.0, f"cut, and meet here: {abs(at):.1f}", 7.5)
