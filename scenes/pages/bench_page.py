"""The bench's two panels as pages: rows on the left, figures and plan on the right. Pure.

A page's unit is a pixel at text size 100 %, so that a panel grows with the text.
"""

from __future__ import annotations

from typing import NamedTuple

from firstthrow.scenes.hands.bindings import NOW, key_words
from firstthrow.scenes.pages.bench import Bench
from firstthrow.scenes.pages.bench_figures import Figures, is_unstable
from firstthrow.scenes.pages.bench_figures import lines as figure_lines
from firstthrow.scenes.pages.bench_rows import PART, Row, Setup, said, spoken
from firstthrow.scenes.words.instruments import Rect, wrapped
from firstthrow.sim.paper.airframe_drawing import Plan, balance_mark, fitting, from_above
from firstthrow.sim.paper.airframe_drawing import extent as drawn_extent
from firstthrow.sim.paper.page import Line, Page, Words, box

WIDE, NARROW = 340.0, 270.0  # of the two panels
LEFT, EDGE = 16.0, 5.0
ROW, HEADING = 21.0, 18.0  # heights
HEAD, FOOT = 34.0, 74.0
MINUS, PLUS, BUTTON = 290.0, 313.0, 19.0
TEXT, SMALL = 13.0, 11.0  # heights of letters
PEN = 0.8  # width of the drawing's lines
FOOT_WIDE = 52  # letters of a row at the foot
VERDICT_WIDE, VERDICT_ROWS = 44, 5  # letters of a row of the verdict; rows at most
CG_SIZE = 7.0  # radius of the balance's mark


class Spot(NamedTuple):
    """A place of the panel that takes the mouse: what it does, and for which row."""

    rect: Rect
    action: str  # a binding's, "row" or "setup"
    row: int = -1


class Shown(NamedTuple):
    """One line of the list: a row by its number, or a heading."""

    row: int
    words: str
    y: float  # of its lower edge


def shown(rows: list[Row], chosen: int, tall: float) -> list[Shown]:
    """The lines that fit, the chosen one among them, near the middle where there is more."""
    every: list[tuple[int, str, float]] = []
    for k, row in enumerate(rows):
        if row.heading:
            every.append((-1, row.heading, HEADING))
        every.append((k, "", ROW))
    room = tall - HEAD - FOOT
    here = next(i for i, line in enumerate(every) if line[0] == chosen)
    first = 0
    while sum(line[2] for line in every[first:]) > room and (
        sum(line[2] for line in every[first : here + 1]) > 0.6 * room
    ):
        first += 1
    y, found = tall - HEAD, []
    for number, words, high in every[first:]:
        y -= high
        if y < FOOT - 0.01:
            break
        found.append(Shown(number, words, y))
    return found


def spots(bench: Bench, tall: float) -> list[Spot]:
    """What the mouse can press on the left panel; what lies over another comes first."""
    found = []
    for line in shown(bench.rows, bench.row, tall):
        if line.row >= 0:
            low = line.y + 1.0
            found += [
                Spot(Rect(MINUS, low, BUTTON, BUTTON), "bench_less", line.row),
                Spot(Rect(PLUS, low, BUTTON, BUTTON), "bench_more", line.row),
                Spot(Rect(EDGE, line.y, MINUS - EDGE, ROW), "row", line.row),
            ]
    for k in range(2):
        found.append(Spot(_letter(k, tall), "setup", k))
    return found + [Spot(rect, action) for rect, action, _ in buttons(bench)]


def buttons(bench: Bench) -> list[tuple[Rect, str, str]]:
    told = (
        ("other_setup", f"use {bench.other}"),
        ("copy_setup", f"copy to {bench.other}"),
        ("bench_back", "row back"),
        ("bench_write", "write"),
    )
    wide, gap = 74.0, 5.0
    return [
        (Rect(LEFT - 2.0 + k * (wide + gap), 45.0, wide, 24.0), action, words)
        for k, (action, words) in enumerate(told)
    ]


def _letter(k: int, tall: float) -> Rect:
    return Rect(WIDE - 64.0 + 29.0 * k, tall - 30.0, 25.0, 23.0)


def rows_page(
    bench: Bench, tall: float, state: str = "flies", note: str = "", rates: str = ""
) -> Page:
    """The left panel, `tall` high: `state` is what the set-up does, `note` takes the place of the
    words on keys; rows of the `rates` in force, "low" or "high", are marked."""
    parts: list = [
        box(0.0, 0.0, EDGE, tall, 0.0, 0.0),
        Words(LEFT, tall - 24.0, "Bench", 17.0, True),
        Words(LEFT + 68.0, tall - 24.0, f"set-up {bench.letter} {state}", TEXT),
    ]
    for k, letter in enumerate("AB"):
        at, used = _letter(k, tall), k == bench.at
        parts.append(box(*at, 0.72 if used else 1.0, 2.2 if used else 0.6))
        parts.append(Words(at.x + 12.5, at.y + 6.5, letter, TEXT, used, "center"))
    rows = bench.rows
    lines = shown(rows, bench.row, tall)
    for line in lines:
        if line.row < 0:
            parts.append(Words(LEFT, line.y + 4.0, line.words, 12.0, True))
            parts.append(Line(((LEFT, line.y), (WIDE - 8.0, line.y)), 0.6))
        else:
            row = rows[line.row]
            parts += _row(bench, row, line.row, line.y)
            if rates and f"{rates} rates" in row.words:
                parts.append(Words(MINUS - 62.0, line.y + 7.0, "in force", 10.0, True, "right"))
    numbers = [line.row for line in lines if line.row >= 0]
    if numbers[0] > 0:
        parts.append(Words(LEFT + 68.0, tall - HEAD + 1.0, "more above", 9.0, True))
    if numbers[-1] < len(rows) - 1:
        parts.append(Words(LEFT + 68.0, FOOT - 2.5, "more below", 9.0, True))
    for rect, _, words in buttons(bench):
        parts.append(box(*rect, 0.9, 0.8))
        parts.append(Words(rect.x + 0.5 * rect.width, rect.y + 8.0, words, 11.5, False, "center"))
    for k, text in enumerate(wrapped(note, FOOT_WIDE) if note else keys_told()):
        parts.append(Words(LEFT, 29.0 - 13.0 * k, text, SMALL, bool(note)))
    return Page(tuple(parts), WIDE, tall)


def keys_told() -> tuple[str, ...]:
    """The keys of the bench, or the buttons of the device in use: two lines, or three."""
    row, value = _both("bench_up", "bench_down"), _both("bench_less", "bench_more")
    by_keys = NOW.buttons is None
    first = f"{row}: row. {value}: value{'; Shift: five' if by_keys else ''}."
    second = f"{key_words('other_setup')}: A or B. {key_words('bench')}: close."
    more = " Paused: arrow keys, too." if by_keys else ""
    return (*wrapped(first, FOOT_WIDE), *wrapped(second + more, FOOT_WIDE))


def _both(one: str, other: str) -> str:
    """Such as 'U, N', or 'hat 0 up, down': what both have in common is said once."""
    first, second = key_words(one), key_words(other)
    shared, _, last = second.rpartition(" ")
    return f"{first}, {last if shared and first.startswith(f'{shared} ') else second}"


def _row(bench: Bench, row: Row, number: int, y: float) -> list:
    found: list = []
    if number == bench.row:
        found.append(box(EDGE + 3.0, y + 0.5, MINUS - EDGE - 6.0, ROW - 1.0, 0.84, 0.9))
    marked = bench.is_changed(row)
    found.append(Words(LEFT, y + 7.0, row.words, TEXT, number == bench.row))
    told = spoken(bench.part) if row == PART else said(row, bench.value(row))
    found.append(Words(MINUS - 8.0, y + 7.0, told, TEXT, marked, "right"))
    for x, sign in ((MINUS, False), (PLUS, True)):
        found.append(box(x, y + 1.0, BUTTON, BUTTON, 0.9, 0.8))
        middle = x + 0.5 * BUTTON
        found.append(Line(((middle - 4.5, y + 11.0), (middle + 4.5, y + 11.0)), 1.8))
        if sign:
            found.append(Line(((middle, y + 6.5), (middle, y + 15.5)), 1.8))
    if row != PART:
        found += _groove(bench, row, y + 2.0)
    return found


def _groove(bench: Bench, row: Row, y: float) -> list:
    """How far along its range the value is; a mark where it was before the bench."""
    start, wide = LEFT, MINUS - 8.0 - LEFT
    share = _share(row, bench.value(row))
    found: list = [
        box(start, y, wide, 2.0, 0.75, 0.0),
        box(start, y, max(1.0, wide * share), 2.0, 0.15, 0.0),
    ]
    before = bench.at_first(row)
    if before is not None and bench.is_changed(row):
        x = start + wide * _share(row, before)
        found.append(Line(((x, y - 1.0), (x, y + 5.0)), 1.6))
    return found


def _share(row: Row, at: float) -> float:
    span = row.most - row.least
    return min(1.0, max(0.0, (at - row.least) / span)) if span else 0.0


def slid(row: Row, start: float, moved: float) -> float:
    """The value after the mouse was drawn so many units of the page to the right."""
    return start + moved / (MINUS - 8.0 - LEFT) * (row.most - row.least)


def figures_page(
    setup: Setup,
    part: str,
    found: Figures,
    trims: tuple[tuple[str, str], ...],
    tall: float,
    verdict: str = "",
) -> Page:
    """The right panel: figures, the verdict of the pre-flight, then the plan of the airframe where
    there is room for it."""
    parts: list = [
        box(0.0, 0.0, EDGE, tall, 0.0, 0.0),
        Words(LEFT + (EDGE if is_unstable(found) else 0.0), tall - 24.0, "Figures", 17.0, True),
    ]
    if is_unstable(found):
        parts.append(box(0.0, 0.0, 3.0 * EDGE, tall, 0.0, 0.0))
        parts.append(Words(NARROW - 8.0, tall - 24.0, "UNSTABLE: CG aft", TEXT, True, "right"))
    y = tall - 44.0
    for title, words in (*figure_lines(found), *trims):
        x = LEFT + (EDGE if is_unstable(found) else 0.0)
        parts.append(Words(x, y, title, 12.0))
        parts.append(Words(NARROW - 8.0, y, words, 12.0, True, "right"))
        y -= 17.0
    rows = wrapped(verdict, VERDICT_WIDE) if verdict else []
    if len(rows) > VERDICT_ROWS:
        rows = [*rows[: VERDICT_ROWS - 1], "... the rest: firstthrow check"]
    for row in rows:
        parts.append(Words(LEFT + (EDGE if is_unstable(found) else 0.0), y, row, 11.0))
        y -= 14.0
    if y < 110.0:
        parts += chord(found, Rect(LEFT + 8.0, 8.0, NARROW - LEFT - 18.0, y - 2.0))
    else:
        parts += plan(setup, part, found, Rect(LEFT + 8.0, 8.0, NARROW - LEFT - 18.0, y - 2.0))
    return Page(tuple(parts), NARROW, tall)


def plan(setup: Setup, part: str, found: Figures, room: Rect) -> list:
    """The airframe from above, nose up, with balance and neutral point on it."""
    airframe = setup.airframe
    space = drawn_extent(airframe)
    scale = min(room.width / (2.0 * space.tip), room.height / (1.06 * space.length))
    top = room.y + 0.5 * (room.height + scale * space.length)
    at = Plan(room.x + 0.5 * room.width, top + scale * space.front, scale, PEN)
    parts: list = from_above(airframe, at)
    for name, item in airframe.items.items():
        own = name == part
        parts += fitting(item, at, 5.5 if own else 2.8, 0.35 if own else 0.7)
    parts += _lines(found, at, scale * space.tip)
    x, y = at.at(airframe.items[part].aft, airframe.items[part].right)
    parts.append(Words(x - 9.0, y - 4.0, spoken(part), 10.0, False, "right"))
    return parts


def chord(found: Figures, room: Rect) -> list:
    """The mean chord from the side, nose to the left, with the same marks: for little room."""
    scale = room.width / (1.6 * found.subject.chord)
    start = room.x + 0.3 * scale * found.subject.chord
    y = room.y + 0.45 * room.height

    def across(aft: float) -> float:
        return min(room.x + room.width, max(room.x, start + scale * (aft - found.subject.lead)))

    parts: list = [box(start, y - 2.0, scale * found.subject.chord, 4.0, 0.6, 0.8)]
    parts += _upright(across(found.subject.neutral_point), y, 1.6)
    parts += _upright(across(found.wanted_cg), y, 0.8)
    at = across(found.subject.cg), y
    parts += balance_mark(at, CG_SIZE, 1.0)
    parts.append(
        Words(
            at[0],
            y + CG_SIZE + 3.0,
            f"CG {_bare(found, found.subject.cg)}",
            11.0,
            True,
            "right",
        )
    )
    parts.append(
        Words(
            across(found.subject.neutral_point) - 3.0,
            y - CG_SIZE - 10.0,
            f"neutral point {_bare(found, found.subject.neutral_point)}",
            10.5,
            True,
        )
    )
    return parts


def _bare(found: Figures, metres: float) -> str:
    return found.subject.airframe.units.bare_length(metres)


def _upright(x: float, y: float, width: float) -> list:
    return [Line(((x, y - CG_SIZE), (x, y + CG_SIZE)), width)]


def _lines(found: Figures, plan: Plan, out: float) -> list:
    """Neutral point and wanted balance across, and the mark of the balance itself."""
    parts: list = []
    x, y = plan.at(found.subject.neutral_point, 0.0)
    parts.append(Line(((x - out, y), (x + out, y)), 1.6))
    aft = is_unstable(found)  # the balance lies below the line, and so do its words
    words = f"neutral point {_bare(found, found.subject.neutral_point)}"
    parts += _label(x + out, y + (4.0 if aft else -12.0), words, 10.5, True, "right")
    wanted = plan.level(found.wanted_cg)
    end = x if aft else x + out  # clear of the words
    dash = 2.0 * out / 25.0
    parts.append(Line(((x - out, wanted), (end, wanted)), 0.8, 0.0, (dash, dash)))
    parts += _label(x - out, wanted + 5.0, f"{100.0 * found.wanted:.0f} % wanted", 10.5)
    at = plan.at(found.subject.cg, 0.0)
    parts += _label(
        at[0] + CG_SIZE + 4.0,
        at[1] + (-15.0 if aft else 5.0),
        f"CG {_bare(found, found.subject.cg)}",
        12.0,
        True,
    )
    parts += balance_mark(at, CG_SIZE, 1.0)
    return parts


def _label(x: float, y: float, words: str, size: float, bold: bool = False, anchor="left") -> list:
    """Words on paper of their own, so that no line runs through them."""
    wide = (0.66 if bold else 0.58) * size * len(words) + 4.0
    left = x - wide + 2.0 if anchor == "right" else x - 2.0
    return [
        box(left, y - 0.25 * size, wide, 1.2 * size, 1.0, 0.0),
        Words(x, y, words, size, bold, anchor),
    ]
