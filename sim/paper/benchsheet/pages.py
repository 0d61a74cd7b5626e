"""The bench sheet on paper: two pages to carry to the bench, black and white.

Page 1 is the airframe on the bench (balance, masses, throws, linkage, transmitter), page 2 the
field (directions, drive, launch, trouble, checks, cautions).
"""

from __future__ import annotations

from pathlib import Path

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.paper.benchsheet import gauge
from firstthrow.sim.paper.benchsheet.drawing import from_above, from_behind, propeller
from firstthrow.sim.paper.draw import BOLD, LINE, PLAIN, THICK, THIN, Paper, leading, width, wrapped

MARGIN = 11.0  # [mm]
SIZE = 8.0  # of the words [pt]
ROW = 4.3  # of a table [mm]
BLANK = 16.0  # to write a number in [mm]


def write(
    airframe: Airframe, sheet: dict, path: Path | str, size: str = "a4", full_size: bool = False
) -> None:
    """The pages as PDF; `sheet` is `sheet.contents`, size "a4" or "letter".

    full_size adds the throw gauge and the balance template. Raises OSError.
    """
    paper = Paper(path, size, f"Bench sheet: {sheet['name']}")
    _bench(paper, airframe, sheet)
    paper.next_page()
    _field(paper, airframe, sheet)
    if full_size:
        gauge.pages(paper, sheet)
    paper.save()


def _bench(paper: Paper, airframe: Airframe, sheet: dict) -> None:
    x, wide = MARGIN, paper.width - 2 * MARGIN
    y = _title(paper, sheet, 1)
    y = _verdict(paper, sheet["verdict"], y)
    tall = 0.33 * paper.height
    y = from_above(paper, airframe, sheet["marks"], x, y, wide, tall) + 6.0
    paper.text(x, y, f"Datum: {sheet['datum']}. Hatched: allowed for the balance.", 7.5)
    y += 4.5
    gap = 5.0
    left = 0.40 * wide
    right = wide - left - gap
    foot = _masses(paper, sheet["masses"], x, y, left)
    there = x + left + gap
    low = _balance(paper, sheet["balance"], there, y, right) + 2.0
    low = _throws(paper, sheet["throws"], there, low, right) + 2.0
    low = _pairs(paper, "Transmitter", sheet["mixing"], there, low, right, tick=True) + 2.0
    low = _pairs(paper, "Linkage", sheet["linkages"], there, low, right, tick=True)
    if sheet["verdict"]["cautions"]:
        _listed(paper, "Mind", sheet["verdict"]["cautions"], x, max(foot, low) + 3.0, wide)
    _foot(paper)


def _field(paper: Paper, airframe: Airframe, sheet: dict) -> None:
    x, wide = MARGIN, paper.width - 2 * MARGIN
    y = _title(paper, sheet, 2)
    y = _directions(paper, airframe, sheet["directions"], x, y, wide) + 2.0
    gap = 5.0
    half = 0.5 * (wide - gap)
    low = _power(paper, sheet["power"], x, y, half) + 2.0
    low = _pairs(paper, "Launch", sheet["launch"], x, low, half)
    other = x + half + gap
    low = max(low, _trouble(paper, sheet["trouble"], other, y, half)) + 1.0
    low = max(low, paper.height - MARGIN - _field_height(sheet, half))
    _ticked(paper, "At the field, in this order", sheet["field"], x, low, half)
    _listed(paper, "Cautions", sheet["cautions"], other, low, half)
    _foot(paper)


def _title(paper: Paper, sheet: dict, page: int) -> float:
    x, right = MARGIN, paper.width - MARGIN
    size = min(18.0, 500.0 / len(sheet["name"]))  # a long name stays clear of the words beside it
    paper.text(x, 15.5, sheet["name"], size, BOLD)
    paper.text(x, 20.0, sheet["about"], SIZE)
    paper.text(right, 13.0, f"Bench sheet, page {page}   file {sheet['file']}", 7.5, align="right")
    paper.text(
        right, 20.0, "date ______________   built by ____________________", SIZE, align="right"
    )
    paper.line(x, 22.0, right, 22.0, THICK)
    return 26.5


def _foot(paper: Paper) -> None:
    paper.text(
        MARGIN,
        paper.height - 6.5,
        "Computed before the first flight, from measured and "
        "guessed parts. Measure, and write it down.",
        6.5,
    )


def _verdict(paper: Paper, verdict: dict, y: float) -> float:
    """The word in a frame, each part of the pre-flight beside it, and what to do first."""
    x, wide = MARGIN, paper.width - 2 * MARGIN
    bad = verdict["word"] != "GO"
    word = width(verdict["word"], 15.0, BOLD) + 5.0
    paper.box(x, y - 2.5, word, 8.0, None, 0.9 if bad else LINE)
    paper.text(x + 0.5 * word, y + 3.5, verdict["word"], 15.0, BOLD, "middle")
    parts = "   ".join(f"{name}: {word_}" for name, word_ in verdict["parts"])
    paper.text(x + word + 4.0, y + 0.3, parts, SIZE, BOLD if bad else PLAIN)
    lines = []
    if bad:
        reasons = "; ".join(verdict["reasons"])
        lines.append(f"Do not fly it like this: {reasons}.")
    lines.append(f"Next: {verdict['next']}")
    at = y + 4.2
    for text in lines:
        at = paper.paragraph(x + word + 4.0, at, wide - word - 4.0, text, SIZE)
    return max(y + 7.0, at) + 1.0


def _heading(paper: Paper, words: str, x: float, y: float, wide: float) -> float:
    """A heading on a line; the base line of the first row under it."""
    paper.text(x, y, words, 9.5, BOLD)
    paper.line(x, y + 1.2, x + wide, y + 1.2, LINE)
    return y + 1.2 + ROW


def _tick(paper: Paper, x: float, y: float) -> None:
    paper.box(x, y - 2.5, 2.9, 2.9, None, LINE)


def _blank(paper: Paper, x: float, y: float, wide: float) -> None:
    paper.line(x, y + 0.6, x + wide, y + 0.6, THIN, 0.3)


def _masses(paper: Paper, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(paper, "Masses", x, y, wide)
    right = x + wide
    paper.text(right - BLANK - 2.0, y, "file", 7.0, align="right")
    paper.text(right, y, "weighed", 7.0, align="right")
    for part, mass, known in rows:
        y += ROW
        _tick(paper, x, y)
        guess = "" if known == "measured" else f" ({known})"
        paper.text(x + 4.5, y, f"{part}{guess}", SIZE)
        paper.text(right - BLANK - 2.0, y, mass, SIZE, align="right")
        _blank(paper, right - BLANK, y, BLANK)
    return y + ROW


def _balance(paper: Paper, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(paper, "Balance and ballast", x, y, wide)
    for what, value, blank in rows:
        strong = BOLD if what in ("balance here", "to get there") else PLAIN
        paper.text(x, y, what, SIZE, strong)
        room = wide - 24.0 - (BLANK + 14.0 if blank else 0.0)
        below = paper.paragraph(x + 24.0, y, room, value, SIZE, strong)
        if blank:
            paper.text(x + wide - BLANK - 1.5, y, blank, 7.0, align="right")
            _blank(paper, x + wide - BLANK, y, BLANK)
        y = max(y + ROW, below + 0.5)
    return y


def _throws(paper: Paper, table: dict, x: float, y: float, wide: float) -> float:
    """Columns: surfaces at high rates, then at low ones; boxes to tick."""
    y = _heading(paper, "Throws: trailing edge in mm, square to the sheet", x, y, wide)
    heads = table["columns"]
    first, many = 27.0, 2 * len(heads)
    step = (wide - first) / max(many, 1)
    size = SIZE if step > 15.0 else 7.0
    for k, rates in enumerate(("high rates", "low rates")):
        paper.text(x + first + (k + 0.5) * len(heads) * step, y, rates, 7.5, BOLD, "middle")
    y += ROW - 0.6
    for k in range(many):
        words = wrapped(heads[k % len(heads)], step - 1.0, 6.5)
        for n, row in enumerate(words[:2]):
            paper.text(
                x + first + (k + 1) * step - 0.5, y + n * leading(6.5), row, 6.5, align="right"
            )
    y += leading(6.5) if any(len(wrapped(h, step - 1.0, 6.5)) > 1 for h in heads) else 0.0
    for words, cells in table["rows"]:
        y += ROW
        _tick(paper, x, y)
        paper.text(x + 4.5, y, words, SIZE)
        for k, cell in enumerate(cells):
            paper.text(x + first + (k + 1) * step - 0.5, y, cell, size, align="right")
    if heads:
        middle = x + first + len(heads) * step + 0.7
        paper.line(middle, y + 1.0, middle, y - ROW * len(table["rows"]) - 1.0, THIN, 0.4)
    y += ROW
    if table["saturates"]:
        y = paper.paragraph(x, y, wide, table["saturates"], 7.0) + 0.5
    return y


def _pairs(
    paper: Paper, title: str, rows: list, x: float, y: float, wide: float, tick: bool = False
) -> float:
    """Rows of a name and words that may take several lines."""
    y = _heading(paper, title, x, y, wide)
    first = 27.0
    for name, words in rows:
        if tick:
            _tick(paper, x, y)
        paper.text(x + (4.5 if tick else 0.0), y, name, SIZE, PLAIN if tick else BOLD)
        below = paper.paragraph(x + first, y, wide - first, words, SIZE)
        y = max(y + ROW, below + 0.6)
    return y


def _directions(
    paper: Paper, airframe: Airframe, found: dict, x: float, y: float, wide: float
) -> float:
    """A picture for each stick, seen from behind, with a box to tick."""
    y = _heading(paper, "Direction check, seen from behind: propeller off or held", x, y, wide)
    pictures = found["sticks"]
    across = 3 if len(pictures) > 4 else 2
    step, tall = wide / across, 0.108 * paper.height
    for k, one in enumerate(pictures):
        left, top = x + (k % across) * step, y - 3.0 + (k // across) * tall
        _tick(paper, left, top + 3.0)
        paper.text(left + 4.5, top + 3.0, f"{one['stick']}: {one['does']}", 8.5, BOLD)
        ways = "; ".join(f"{n.replace('_', ' ')} {way}" for n, way in one["moves"].items())
        low = from_behind(
            paper, airframe, one["moves"], left + 2.0, top + 3.0, 0.8 * step, tall - 6.0
        )
        paper.paragraph(left + 4.5, low, step - 6.0, ways, 7.5)
    y += -(-len(pictures) // across) * tall + 4.0
    for name, turns in found["propellers"]:
        _tick(paper, x, y)
        propeller(paper, x + 16.0, y - 0.5, 5.5, turns)
        paper.text(
            x + 27.0,
            y,
            f"{name}: turns {turns} seen from behind, blows backwards; the "
            "lettering on the blades faces forward.",
            SIZE,
        )
        y += 9.0
    return y


def _power(paper: Paper, found: dict, x: float, y: float, wide: float) -> float:
    """Expected and measured side by side, standing still."""
    y = _heading(paper, "Drive, standing still, full pack", x, y, wide)
    if not found["rows"]:
        paper.text(x, y, "no motor", SIZE)
        return y + ROW
    heads = ("throttle", "current", "rpm", "thrust", "pack")
    step = wide / len(heads)
    for k, head in enumerate(heads):
        paper.text(x + k * step, y, head, 7.5, BOLD)
    for cells in found["rows"]:
        y += ROW
        for k, cell in enumerate(cells):
            paper.text(x + k * step, y, cell, SIZE)
        y += ROW + 0.5
        paper.text(x, y, "measured", 7.0)
        for k in range(1, len(heads)):
            _blank(paper, x + k * step, y, step - 3.0)
    y += ROW + 1.0
    for note in found["notes"]:
        y = paper.paragraph(x, y, wide, note, SIZE) + 0.4
    return y


def _trouble(paper: Paper, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(paper, "If it ...", x, y, wide)
    for sign, words in rows:
        paper.text(x, y, f"{sign}:", SIZE, BOLD)
        y = paper.paragraph(x, y + leading(SIZE), wide, words, SIZE) + 1.3
    return y


def _ticked(paper: Paper, title: str, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(paper, title, x, y, wide)
    for k, words in enumerate(rows, 1):
        _tick(paper, x, y)
        paper.text(x + 4.5, y, f"{k}", SIZE, BOLD)
        y = paper.paragraph(x + 9.0, y, wide - 9.0, words, SIZE) + 0.8
    return y


def _listed(paper: Paper, title: str, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(paper, title, x, y, wide)
    for words in rows:
        y = paper.paragraph(x, y, wide, f"{words[:1].upper()}{words[1:]}", SIZE) + 1.2
    return y


def _field_height(sheet: dict, wide: float) -> float:
    """Of the lower part of page 2 [mm]: the taller of its two columns."""
    step = leading(SIZE)
    ticked = sum(len(wrapped(w, wide - 9.0, SIZE)) * step + 0.8 for w in sheet["field"])
    cautions = sum(len(wrapped(w, wide, SIZE)) * step + 1.2 for w in sheet["cautions"])
    return max(ticked, cautions) + ROW + 1.0
