"""The bench sheet on paper: two pages to carry to the bench, black and white.

Page 1 is the airframe on the bench (balance, masses, throws, linkage, transmitter), page 2 the
field (directions, drive, launch, trouble, checks, cautions).
"""

from __future__ import annotations

from math import radians
from pathlib import Path

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.paper.airframe_drawing import from_behind, propeller
from firstthrow.sim.paper.benchsheet import gauge
from firstthrow.sim.paper.benchsheet.drawing import with_places
from firstthrow.sim.paper.layout import LINE, THICK, THIN, Layout
from firstthrow.sim.paper.letters import leading, width, wrapped
from firstthrow.sim.paper.page import Page
from firstthrow.sim.paper.printing import write_pdf

MARGIN = 11.0  # [mm]
SIZE, SMALL, TINY, LEAST = 2.5, 2.3, 2.15, 2.05  # heights of letters [mm]
HEADING = 2.95
ROW = 4.3  # of a table [mm]
DRAWN = radians(25.0)  # how far surfaces are drawn from neutral, whatever their throw
UP = {"up": DRAWN, "right": DRAWN, "down": -DRAWN, "left": -DRAWN}
LEFT = 0.40  # column of page 1, a share of the width between the margins
BLANK = 16.0  # to write a number in [mm]
# Heights to choose from, shares of the page's: of the drawing, and of one of the directions.
DRAWING = (0.27, 0.24, 0.21, 0.18, 0.15)
PICTURE = (0.122, 0.11, 0.10, 0.09, 0.08)


def write(
    airframe: Airframe, sheet: dict, path: Path | str, size: str = "a4", full_size: bool = False
) -> None:
    """The pages as PDF; `sheet` is `sheet.contents`, size "a4" or "letter".

    full_size adds the throw gauge and the balance template. Raises OSError.
    """
    drawn = pages(airframe, sheet, size)
    if full_size:
        drawn += gauge.pages(sheet, size, airframe.units)
    write_pdf(drawn, path, f"Bench sheet: {sheet['name']}")


def pages(airframe: Airframe, sheet: dict, size: str = "a4") -> list[Page]:
    """The two pages, to be written as one likes; one more where what to mind has no room."""
    return [*_bench(airframe, sheet, size), _field(airframe, sheet, size)]


def _bench(airframe: Airframe, sheet: dict, size: str) -> list[Page]:
    """With the largest drawing that leaves room for both columns and for what to mind, which
    stands below them or below the masses."""
    whole = Layout(size).width - 2 * MARGIN
    for share in DRAWING:
        layout, foot, low = _bench_but_mind(airframe, sheet, size, share)
        for y, wide in ((max(foot, low), whole), (foot, LEFT * whole)):
            if max(low, _mind(Layout(size), sheet, y, wide)) < layout.height - MARGIN:
                _mind(layout, sheet, y, wide)
                return [layout.page]
    if not sheet["verdict"]["cautions"]:
        return [layout.page]
    rest = Layout(size)
    _mind(rest, sheet, _title(rest, sheet, 1), whole)
    _foot(rest)
    return [layout.page, rest.page]


def _mind(layout: Layout, sheet: dict, y: float, wide: float) -> float:
    """How far down it reaches."""
    told = sheet["verdict"]["cautions"]
    return _listed(layout, "Mind", told, MARGIN, y + 3.0, wide) if told else y


def _bench_but_mind(
    airframe: Airframe, sheet: dict, size: str, share: float
) -> tuple[Layout, float, float]:
    """The first page so far, and where there is room below its left column and its right one."""
    layout = Layout(size)
    x, wide = MARGIN, layout.width - 2 * MARGIN
    y = _title(layout, sheet, 1)
    y = _verdict(layout, sheet["verdict"], y)
    tall = share * layout.height
    y = with_places(layout, airframe, sheet["marks"], x, y, wide, tall) + 6.0
    layout.text(x, y, f"Datum: {sheet['datum']}. Hatched: allowed for the balance.", SMALL)
    y += 4.5
    gap = 5.0
    left = LEFT * wide
    right = wide - left - gap
    foot = _masses(layout, sheet["masses"], x, y, left)
    there = x + left + gap
    low = _balance(layout, sheet["balance"], there, y, right) + 2.0
    low = _throws(layout, sheet["throws"], there, low, right) + 2.0
    low = _pairs(layout, "Transmitter", sheet["mixing"], there, low, right, tick=True) + 2.0
    rows = [*sheet["linkages"], *sheet["boards"]]
    low = _pairs(layout, "Linkage and boards", rows, there, low, right, tick=True)
    _foot(layout)
    return layout, foot, low


def _field(airframe: Airframe, sheet: dict, size: str) -> Page:
    """With the largest pictures that leave room for all the rest."""
    for share in PICTURE:
        layout, end = _field_with(airframe, sheet, size, share)
        if end < layout.height - MARGIN + 1.0:
            break
    return layout.page


def _field_with(airframe: Airframe, sheet: dict, size: str, share: float) -> tuple[Layout, float]:
    """The page with pictures so high, and how far down it reaches."""
    layout = Layout(size)
    x, wide = MARGIN, layout.width - 2 * MARGIN
    y = _title(layout, sheet, 2)
    tall = share * layout.height
    y = _directions(layout, airframe, sheet["directions"], x, y, wide, tall) + 2.0
    gap = 5.0
    half = 0.5 * (wide - gap)
    low = _power(layout, sheet["power"], x, y, half) + 2.0
    low = _pairs(layout, "Launch", sheet["launch"], x, low, half)
    other = x + half + gap
    there = _told(layout, "The throw", sheet["asked"], other, y, half) + 1.0
    there = _told(layout, "If it ...", sheet["trouble"], other, there, half) + 1.0
    low = max(low + 1.0, layout.height - MARGIN - _field_height(sheet, half))
    foot = _ticked(layout, "At the field, in this order", sheet["field"], x, low, half)
    end = _listed(layout, "Cautions", sheet["cautions"], other, max(low, there), half)
    _foot(layout)
    return layout, max(foot, end)


def _title(layout: Layout, sheet: dict, page: int) -> float:
    x, right = MARGIN, layout.width - MARGIN
    size = min(5.6, 155.0 / len(sheet["name"]))  # a long name stays clear of the words beside it
    layout.text(x, 15.5, sheet["name"], size, True)
    layout.text(x, 20.0, sheet["about"], SIZE)
    layout.text(
        right, 13.0, f"Bench sheet, page {page}   file {sheet['file']}", SMALL, anchor="right"
    )
    layout.text(
        right, 20.0, "date ________________   built by ______________________", SIZE, anchor="right"
    )
    layout.line(x, 22.0, right, 22.0, THICK)
    return 26.5


def _foot(layout: Layout) -> None:
    layout.text(
        MARGIN,
        layout.height - 6.5,
        "Computed before the first flight, from measured and "
        "guessed parts. Measure, and write it down.",
        LEAST,
    )


def _verdict(layout: Layout, verdict: dict, y: float) -> float:
    """The word in a frame, each part of the pre-flight beside it, and what to do first."""
    x, wide = MARGIN, layout.width - 2 * MARGIN
    bad = verdict["word"] != "GO"
    word = width(verdict["word"], 4.7, True) + 5.0
    layout.box(x, y - 2.5, word, 8.0, 0.9 if bad else LINE)
    layout.text(x + 0.5 * word, y + 3.5, verdict["word"], 4.7, True, "center")
    parts = "   ".join(f"{name}: {word_}" for name, word_ in verdict["parts"])
    layout.text(x + word + 4.0, y + 0.3, parts, SIZE, bad)
    lines = [line for line in (verdict["sentence"], verdict["fly"]) if line]
    first = verdict["next"]
    lines.append(first if first.startswith("Measure next") else f"Next: {first}")
    if verdict["measure"] and verdict["measure"] not in verdict["next"]:
        lines.append(f"Measure: {verdict['measure']}.")
    at = y + 4.2
    for text in lines:
        at = layout.paragraph(x + word + 4.0, at, wide - word - 4.0, text, SIZE)
    return max(y + 7.0, at) + 1.0


def _heading(layout: Layout, words: str, x: float, y: float, wide: float) -> float:
    """A heading on a line; the base line of the first row under it."""
    layout.text(x, y, words, HEADING, True)
    layout.line(x, y + 1.2, x + wide, y + 1.2, LINE)
    return y + 1.2 + ROW


def _tick(layout: Layout, x: float, y: float) -> None:
    layout.box(x, y - 2.5, 2.9, 2.9, LINE)


def _blank(layout: Layout, x: float, y: float, wide: float) -> None:
    layout.line(x, y + 0.6, x + wide, y + 0.6, THIN, 0.3)


def _masses(layout: Layout, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(layout, "Masses", x, y, wide)
    right = x + wide
    step = min(ROW, (layout.height - MARGIN - y) / (len(rows) + 1))
    layout.text(right - BLANK - 2.0, y, "file", TINY, anchor="right")
    layout.text(right, y, "weighed", TINY, anchor="right")
    for part, mass, known in rows:
        y += step
        _tick(layout, x, y)
        guess = "" if known == "measured" else f" ({known})"
        layout.text(x + 4.5, y, f"{part}{guess}", SIZE)
        layout.text(right - BLANK - 2.0, y, mass, SIZE, anchor="right")
        _blank(layout, right - BLANK, y, BLANK)
    return y + ROW


def _balance(layout: Layout, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(layout, "Balance and ballast", x, y, wide)
    for what, value, blank in rows:
        strong = what in ("balance here", "to get there")
        layout.text(x, y, what, SIZE, strong)
        room = wide - 24.0 - (BLANK + 9.0 if blank else 0.0)
        below = layout.paragraph(x + 24.0, y, room, value, SIZE, strong)
        if blank:
            layout.text(x + wide - BLANK - 1.5, y, blank, TINY, anchor="right")
            _blank(layout, x + wide - BLANK, y, BLANK)
        y = max(y + ROW, below + 0.5)
    return y


def _throws(layout: Layout, table: dict, x: float, y: float, wide: float) -> float:
    """Columns: surfaces at high rates, then at low ones, in brackets where there is no room for
    both side by side; boxes to tick."""
    unit = {"in": "inches"}.get(table["unit"], table["unit"])
    y = _heading(layout, f"Throws: trailing edge in {unit}, square to the sheet", x, y, wide)
    heads = table["columns"]
    first, many = 27.0, 2 * len(heads)
    step = (wide - first) / max(many, 1)
    size = SIZE if step > 15.0 else TINY
    rows, groups = table["rows"], ["high rates", "low rates"]
    if any(width(cell, size) > step - 1.0 for _, cells in rows for cell in cells):
        rows, groups = _in_brackets(rows, len(heads)), ["high rates (low rates)"]
        many, step = len(heads), 2.0 * step
    for k, rates in enumerate(groups if heads else ()):
        layout.text(x + first + (k + 0.5) * len(heads) * step, y, rates, SMALL, True, "center")
    y += ROW - 0.6
    for k in range(many):
        words = wrapped(heads[k % len(heads)], step - 1.0, LEAST)
        for n, row in enumerate(words[:2]):
            layout.text(
                x + first + (k + 1) * step - 0.5, y + n * leading(LEAST), row, LEAST, anchor="right"
            )
    y += leading(LEAST) if any(len(wrapped(h, step - 1.0, LEAST)) > 1 for h in heads) else 0.0
    for words, cells in rows:
        y += ROW
        _tick(layout, x, y)
        layout.text(x + 4.5, y, words, SIZE)
        for k, cell in enumerate(cells):
            layout.text(x + first + (k + 1) * step - 0.5, y, cell, size, anchor="right")
    if many > len(heads):
        middle = x + first + len(heads) * step + 0.7
        layout.line(middle, y + 1.0, middle, y - ROW * len(rows) - 1.0, THIN, 0.4)
    y += ROW
    if table["saturates"]:
        y = layout.paragraph(x, y, wide, table["saturates"], TINY) + 0.5
    return y


def _in_brackets(rows: list, surfaces: int) -> list:
    """Each surface's cell with what low rates give in brackets: "0.62 (0.42) up"."""
    found = []
    for words, cells in rows:
        pairs = zip(cells[:surfaces], cells[surfaces:], strict=True)
        found.append((words, [high if high == low else _both(high, low) for high, low in pairs]))
    return found


def _both(high: str, low: str) -> str:
    size, _, way = high.partition(" ")
    other, _, its_way = low.partition(" ")
    return f"{size} ({other}) {way}" if way == its_way else f"{high} ({low})"


def _pairs(
    layout: Layout, title: str, rows: list, x: float, y: float, wide: float, tick: bool = False
) -> float:
    """Rows of a name and words that may take several lines."""
    y = _heading(layout, title, x, y, wide)
    first = 27.0
    for name, words in rows:
        if tick:
            _tick(layout, x, y)
        layout.text(x + (4.5 if tick else 0.0), y, name, SIZE, not tick)
        below = layout.paragraph(x + first, y, wide - first, words, SIZE)
        y = max(y + ROW, below + 0.6)
    return y


def _directions(
    layout: Layout, airframe: Airframe, found: dict, x: float, y: float, wide: float, tall: float
) -> float:
    """A picture for each stick, so high with its words, seen from behind, and a box to tick."""
    held = ": propeller off or held" if found["propellers"] else ""
    y = _heading(layout, f"Direction check, seen from behind{held}", x, y, wide)
    pictures = found["sticks"]
    across = 3 if len(pictures) > 4 else 2
    step = wide / across
    for k, one in enumerate(pictures):
        left, top = x + (k % across) * step, y - 3.0 + (k // across) * tall
        _tick(layout, left, top + 3.0)
        layout.text(left + 4.5, top + 3.0, f"{one['stick']}: {one['does']}", 2.65, True)
        ways = "; ".join(f"{n.replace('_', ' ')} {way}" for n, way in one["moves"].items())
        rows = wrapped(ways, step - 6.0, SMALL)
        low = top + tall - 3.5 - leading(SMALL) * (len(rows) - 1)
        room = 0.8 * step, low - top - 12.5
        turned = {name: UP[way] for name, way in one["moves"].items()}
        corner = layout.at(left + 4.5, low - 7.5)
        layout.add(from_behind(airframe, turned, one["moves"], corner, room, 6.0).parts)
        layout.paragraph(left + 4.5, low, step - 6.0, ways, SMALL)
    y += -(-len(pictures) // across) * tall + 4.0
    for name, turns in found["propellers"]:
        _tick(layout, x, y)
        layout.add(propeller(layout.at(x + 16.0, y - 0.5), 4.5, turns))
        layout.text(
            x + 27.0,
            y,
            f"{name}: turns {turns} seen from behind, blows backwards; the "
            "lettering on the blades faces forward.",
            SIZE,
        )
        y += 10.0
    return y


def _power(layout: Layout, found: dict, x: float, y: float, wide: float) -> float:
    """Expected and measured side by side, standing still."""
    y = _heading(layout, "Drive, standing still, full pack", x, y, wide)
    if not found["rows"]:
        layout.text(x, y, "no motor", SIZE)
        return y + ROW
    heads = ("throttle", "current", "rpm", "thrust", "pack")
    step = wide / len(heads)
    for k, head in enumerate(heads):
        layout.text(x + k * step, y, head, SMALL, True)
    for cells in found["rows"]:
        y += ROW
        for k, cell in enumerate(cells):
            layout.text(x + k * step, y, cell, SIZE)
        y += ROW + 0.5
        layout.text(x, y, "measured", TINY)
        for k in range(1, len(heads)):
            _blank(layout, x + k * step, y, step - 3.0)
    y += ROW + 1.0
    for note in found["notes"]:
        y = layout.paragraph(x, y, wide, note, SIZE) + 0.4
    return y


def _told(layout: Layout, title: str, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(layout, title, x, y, wide)
    for sign, words in rows:
        layout.text(x, y, f"{sign}:", SIZE, True)
        y = layout.paragraph(x, y + leading(SIZE), wide, words, SIZE) + 1.3
    return y


def _ticked(layout: Layout, title: str, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(layout, title, x, y, wide)
    for k, words in enumerate(rows, 1):
        _tick(layout, x, y)
        layout.text(x + 4.5, y, f"{k}", SIZE, True)
        y = layout.paragraph(x + 9.0, y, wide - 9.0, words, SIZE) + 0.8
    return y


def _listed(layout: Layout, title: str, rows: list, x: float, y: float, wide: float) -> float:
    y = _heading(layout, title, x, y, wide)
    for words in rows:
        y = layout.paragraph(x, y, wide, f"{words[:1].upper()}{words[1:]}", SIZE) + 1.2
    return y


def _field_height(sheet: dict, wide: float) -> float:
    """Of the lower part of page 2 [mm]: the taller of its two columns."""
    step = leading(SIZE)
    ticked = sum(len(wrapped(w, wide - 9.0, SIZE)) * step + 0.8 for w in sheet["field"])
    cautions = sum(len(wrapped(w, wide, SIZE)) * step + 1.2 for w in sheet["cautions"])
    return max(ticked, cautions) + ROW + 1.0
