"""Pages at full size: a throw gauge to stand behind a trailing edge, and a balance template.

What is longer than a page goes over several, with a mark where they meet. Every page carries a
line of 100 mm to check the print with.
"""

from __future__ import annotations

from math import ceil, floor

from sim.paper import BOLD, LINE, THICK, THIN, Paper

EDGE = 12.0  # kept free round a page [mm]
HEAD = 34.0  # taken by title and check line [mm]
GAUGE = 44.0  # width of a gauge with its words [mm]
SPARE = 12.0  # of a rule beyond its last mark [mm]
OVERLAP = 10.0  # of two pages [mm]


def pages(paper: Paper, sheet: dict) -> None:
    """A page or more of each, after the present one."""
    for title, marks in _gauges(sheet):
        _rule(paper, sheet["name"], f"Throw gauge: {title}", marks, GAUGE_WORDS, up=True)
    _rule(paper, sheet["name"], "Balance template", _template(sheet["marks"]), TEMPLATE_WORDS,
          up=False)  # fmt: skip


GAUGE_WORDS = (
    "Cut along the scale. Stand it upright behind the trailing edge, square to the sheet, 0 level "
    "with the middle of the sheet's edge beside the surface. Up is up (on a rudder: right)."
)
TEMPLATE_WORDS = (
    "Cut along the scale. Lay it on the centreline, the 0 line at the datum, the arrow aft. Mark "
    "BALANCE on both sides of the sheet."
)


def _gauges(sheet: dict) -> list[tuple[str, list[tuple[float, str]]]]:
    return [
        (gauge["title"], [(height, ", ".join(words)) for height, words in gauge["marks"]])
        for gauge in sheet["gauges"]
    ]


def _template(marks: dict) -> list[tuple[float, str]]:
    words = {
        "front": "front limit", "target": "BALANCE", "rear": "rear limit",
        "neutral": "neutral point", "ballast": "ballast",
    }  # fmt: skip
    places = [(marks[name], text) for name, text in words.items() if marks[name] is not None]
    return sorted([(0.0, "datum"), *places])


def tiles(low: float, high: float, room: float) -> list[tuple[float, float]]:
    """A length [mm] cut into pieces no longer than `room`, each over the last by OVERLAP."""
    if high - low <= room:
        return [(low, high)]
    step = room - OVERLAP
    many = ceil((high - low - OVERLAP) / step)
    return [(low + k * step, min(high, low + k * step + room)) for k in range(many)]


def _rule(
    paper: Paper, name: str, title: str, marks: list[tuple[float, str]], words: str, up: bool
) -> None:
    """A rule along the page in mm with its marks; up: values grow up the page, else down."""
    low = min(0.0, *(at for at, _ in marks)) - SPARE
    high = max(0.0, *(at for at, _ in marks)) + SPARE
    parts = tiles(low, high, paper.height - 2 * EDGE - HEAD)
    for k, (start, end) in enumerate(parts):
        paper.next_page()
        several = f", part {k + 1} of {len(parts)}" if len(parts) > 1 else ""
        _head(paper, f"{name}: {title}{several}, full size", words)
        top = EDGE + HEAD

        def level(at: float, start=start, end=end, top=top) -> float:
            return top + (end - at if up else at - start)

        _scale(paper, 60.0, level, start, end)
        shown = [(level(at), at, text) for at, text in marks if start <= at <= end]
        _words(paper, 60.0, sorted(shown))
        if not up:
            paper.text(30.0, 0.5 * (level(start) + level(end)), "aft", 9.0, BOLD, "middle")
            paper.line(30.0, 0.5 * (level(start) + level(end)) + 3.0, 30.0, level(end) - 4.0, LINE)
        for joint in (start if k else None, end if k < len(parts) - 1 else None):
            if joint is not None:
                _meets(paper, level, joint, start, end, k)


def _head(paper: Paper, title: str, words: str) -> None:
    paper.text(EDGE, EDGE + 4.0, title, 12.0, BOLD)
    below = paper.paragraph(EDGE, EDGE + 9.5, paper.width - 2 * EDGE, words, 8.5)
    y = max(below, EDGE + 17.0) + 4.0
    paper.line(EDGE, y, EDGE + 100.0, y, THICK)
    for end in (EDGE, EDGE + 100.0):
        paper.line(end, y - 2.0, end, y + 2.0, LINE)
    paper.text(EDGE + 103.0, y + 1.0, "100 mm on paper? If not, print at 100 %, without fitting "
               "to the page.", 8.5)  # fmt: skip


def _scale(paper: Paper, x: float, level, start: float, end: float) -> None:
    paper.line(x, level(start), x, level(end), LINE)
    for at in range(ceil(start), floor(end) + 1):
        long = 7.0 if at % 10 == 0 else 4.5 if at % 5 == 0 else 2.5
        paper.line(x - long, level(at), x, level(at), THIN)
        if at % 10 == 0:
            paper.text(x - 8.0, level(at) + 1.0, f"{abs(at)}", 8.0, align="right")


def _words(paper: Paper, x: float, shown: list[tuple[float, float, str]]) -> None:
    """Marks to the right of the scale, their words moved apart."""
    levels = [y for y, _, _ in shown]
    for _ in range(200):
        for k in range(len(levels) - 1):
            short = 4.0 - (levels[k + 1] - levels[k])
            if short > 1e-6:
                levels[k] -= 0.5 * short
                levels[k + 1] += 0.5 * short
    for (y, at, text), beside in zip(shown, levels, strict=True):
        paper.line(x, y, x + 22.0, y, THICK)
        paper.line(x + 22.0, y, x + 28.0, beside, THIN)
        strong = BOLD if text in ("BALANCE", "datum", "neutral") else "Helvetica"
        paper.text(x + 29.0, beside + 1.0, f"{at:.1f}  {text}", 8.5, strong)


def _meets(paper: Paper, level, joint: float, start: float, end: float, part: int) -> None:
    """A cut line in the middle of the overlap, to lay the pages on each other."""
    at = joint + 0.5 * OVERLAP if joint == start else joint - 0.5 * OVERLAP
    paper.line(30.0, level(at), 150.0, level(at), THIN, 0.0, (2.0, 1.0))
    paper.text(151.0, level(at) + 1.0, f"meets at {at:.1f}", 7.5)
