"""The direction check as a page to tick off: the airframe from behind, once for each stick."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np

from firstthrow.sim.build.shape import SurfaceSpan, spoken, surface_spans
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.paper.airframe_drawing import from_behind, propeller
from firstthrow.sim.paper.letters import fitted
from firstthrow.sim.paper.page import (
    HEIGHT,
    WIDTH,
    Line,
    Page,
    Point,
    Words,
    arrow,
    box,
    tick_box,
)
from firstthrow.sim.study.directions import Directions, Moved, Moves, Stand, StickRow
from firstthrow.sim.study.turning import PropellerRow

LARGER = 2.0  # times: how far surfaces are drawn from neutral
SIDE, MARGIN = 74.0, 10.0  # of the propeller's column, of the page [mm]
TOP = 24.0  # of the title [mm]


def page(airframe: Airframe, found: Directions) -> Page:
    """The page of what `directions.study` found."""
    parts: list = [
        Words(MARGIN, HEIGHT - 14.0, f"{found.airframe}: direction check", 6.5, True),
        Words(
            MARGIN,
            HEIGHT - 20.5,
            "Seen from behind, propeller off for the sticks, every tick before every flight. At "
            "the trailing edge, from sticks in the middle: high (low) rates.",
            3.6,
        ),
    ]
    sticks = found.sticks
    columns = 3 if len(sticks) > 4 else 2
    rows = -(-len(sticks) // columns) or 1
    wide = (WIDTH - 2.0 * MARGIN - SIDE - 4.0) / columns
    tall = (HEIGHT - TOP - MARGIN) / rows
    order = _down_columns(len(sticks), columns, rows)
    for way, (column, row) in zip(sticks, order, strict=True):
        x = MARGIN + column * wide
        y = HEIGHT - TOP - (row + 1) * tall
        parts += _cell(airframe, way, x, y, wide - 3.0, tall - 3.0)
    parts += _side(airframe, found, WIDTH - MARGIN - SIDE)
    return Page(tuple(parts))


def _down_columns(count: int, columns: int, rows: int) -> list[tuple[int, int]]:
    """A stick's two ways stand one above the other."""
    places = [(column, row) for column in range(columns) for row in range(rows)]
    return places[:count]


def _cell(airframe: Airframe, way: StickRow, x, y, wide, tall) -> list:
    right = not way.problems
    parts: list = [
        box(x, y, wide, tall, 1.0, 0.3 if right else 1.4),
        tick_box(x + 3.0, y + tall - 8.5),
        Words(x + 11.0, y + tall - 7.5, way.name.capitalize(), 4.6, True),
        *_stick(way, x + wide - 9.5, y + tall - 9.5),
        Words(x + 11.0, y + tall - 13.0, _must(way), 3.6),
    ]
    lines = [*_moved(way, airframe.units), *(("WRONG: " + text) for text in _short(way, wide))]
    foot = 4.6 * len(lines) + 3.0
    parts += _airframe(airframe, way, x + 3.0, y + foot, wide - 6.0, tall - foot - 16.0)
    for k, text in enumerate(lines):
        wrong = text.startswith("WRONG")
        size = fitted(text, wide - 5.0, 3.2 if wrong else 3.5, wrong)
        parts.append(Words(x + 3.0, y + foot - 4.4 - 4.6 * k, text, size, wrong))
    return parts


def _must(way: StickRow) -> str:
    """Short enough for a third of the page."""
    return f"must {way.must}" if way.must.startswith("roll") else way.must


def _moved(way: StickRow, u: Units) -> list[str]:
    """'left elevon 16 mm up', both sides in one line where they move alike."""
    told: dict[str, str] = {}
    for name, m in way.surfaces.items():
        if m.moves is not Moves.STILL:
            told[name] = _travel(m, u)
    lines = _both_sides(told)
    for name, change in way.motors.items():
        lines.append(f"{spoken(name)} {'faster' if change.throttle_change > 0 else 'slower'}")
    return lines


def _both_sides(told: dict[str, str]) -> list[str]:
    """A line for each surface, or for a pair whose two sides are told the same."""
    lines = []
    for name, text in told.items():
        stem, _, side = name.rpartition("_")
        other = told.get(f"{stem}_{'right' if side == 'left' else 'left'}") if side else None
        if other != text or side not in ("left", "right"):
            lines.append(f"{spoken(name)} {text}")
        elif side == "left":
            lines.append(f"both {stem}s {text}".replace("_", " "))
    return lines


def _travel(moved: Moved, u: Units) -> str:
    """'17 (11) mm up': with high rates, and with low ones."""
    low = u.bare_length(abs(moved.moves_edge_low_rates_m))
    return f"{u.bare_length(abs(moved.moves_edge_m))} ({low}) {u.lengths} {moved.moves}"


def _short(way: StickRow, wide: float) -> list[str]:
    told = [text.replace(f" with {way.name}", "") for text in way.problems[:3]]
    return [text if len(text) < 0.45 * wide else text.split(":")[0] for text in told]


def _stick(way: StickRow, x: float, y: float) -> list:
    """The gate of a stick, and where its knob is pushed."""
    side = {
        "stick right": (1, 0),
        "stick left": (-1, 0),
        "stick back": (0, -1),
        "stick forward": (0, 1),
        "rudder right": (1, 0),
        "rudder left": (-1, 0),
    }[way.name]
    middle = (x + 3.5, y + 3.5)
    end = (middle[0] + 3.3 * side[0], middle[1] + 3.3 * side[1])
    return [box(x, y, 7.0, 7.0, 1.0, 0.3), *arrow(middle, end, 0.8)]


def _airframe(airframe: Airframe, way: StickRow, x, y, wide, tall) -> list:
    """The outline with its surfaces where the stick puts them, and an arrow at each."""
    up, moves = {}, {}
    for name, moved in way.surfaces.items():
        neutral = moved.angle_up_deg - moved.moves_deg
        up[name] = radians(neutral + LARGER * moved.moves_deg)
        moves[name] = "" if moved.moves is Moves.STILL else str(moved.moves)
    drawn = from_behind(airframe, up, moves, (x, y), (wide, tall - 6.0))  # room for the turn
    return drawn.parts + _turn(way, drawn.nose, 0.5 * wide)


def _turn(way: StickRow, nose: Point, reach: float) -> list:
    """How the airframe must turn: an arc for a roll, an arrow at the nose else."""
    must = way.must
    x, y = nose
    if must.startswith("roll"):
        side = 1.0 if must.endswith("right") else -1.0
        radius, height = 0.62 * reach, 5.0
        angles = np.linspace(-0.9, 0.9, 13)
        arc = [(x + side * radius * sin(a), y + 1.0 + height * cos(a)) for a in angles]
        return [Line(tuple(arc[:-1]), 0.7), *arrow(arc[-3], arc[-1], 0.7)]
    across, up = {"nose up": (0, 1), "nose down": (0, -1)}.get(
        must, (1 if "right" in must else -1, 0)
    )
    start = (x - 3.5 * across, y + 2.5 - 4.5 * up)
    return [*arrow(start, (x + 7.0 * across, y + 2.5 + 5.5 * up), 0.8)]


def _side(airframe: Airframe, found: Directions, x: float) -> list:
    """Propellers, neutral, verdict."""
    top = HEIGHT - TOP
    parts: list = [box(x, MARGIN, SIDE, top - 3.0 - MARGIN, 1.0, 0.3)]
    y = top - 11.5
    many = len(found.propellers)
    for row in found.propellers:
        parts += _propeller(row, x, y, many, _words_of(row, many), airframe.units)
        y -= 78.0 if many < 2 else 58.0
    if not many:
        parts.append(Words(x + 4.0, y, "No motor.", 4.0))
        y -= 10.0
    parts += [tick_box(x + 3.0, y), Words(x + 11.0, y + 1.0, "Sticks in the middle", 4.6, True)]
    stands = {
        span.name: _stand(span, found.neutral[span.name], airframe.units)
        for span in surface_spans(airframe)
    }
    for text in _both_sides(stands):
        y -= 5.4
        parts.append(Words(x + 11.0, y, text, fitted(text, SIDE - 13.0, 3.6)))
    y -= 10.0
    for text in (
        "surfaces centre by themselves",
        "no play, no buzz, rods locked",
        "low rates on, trims in the middle",
    ):
        parts += [tick_box(x + 3.0, y, 4.0), Words(x + 11.0, y + 0.6, text, 3.4)]
        y -= 7.0
    if found.problems:
        parts.append(box(x + 2.0, MARGIN + 5.0, SIDE - 4.0, 9.0, 0.0, 0.0))
        parts.append(box(x + 3.0, MARGIN + 6.0, SIDE - 6.0, 7.0, 1.0, 0.0))
        parts.append(Words(x + 0.5 * SIDE, MARGIN + 8.2, "WRONG: do not fly", 4.6, True, "center"))
    return parts


def _words_of(row: PropellerRow, many: int) -> str:
    return "Propeller" if many < 2 else f"Propeller, {spoken(row.motor)}"


def _stand(span: SurfaceSpan, stand: Stand, u: Units) -> str:
    if stand.off:
        return "is MISSING"
    size = abs(stand.edge_up_m)
    ways = ("right", "left") if span.upright else ("up", "down")
    return f"{u.length(size)} {ways[int(stand.edge_up_m < 0.0)]}" if size >= 0.5e-3 else "level"


def _propeller(row: PropellerRow, x: float, y: float, many: int, title: str, u: Units) -> list:
    """The disc from behind with its turning, and beside it the thrust from the side."""
    radius = 15.0 if many < 2 else 9.0
    middle = (x + 22.0, y - radius - 9.0)
    low = middle[1] - radius - 9.0
    forward = row.must_thrust_N >= 0.0
    turns = f"turns {row.must_turn_from_behind}, seen from behind"
    force, lifted = u.force(row.must_thrust_N), u.lifted(row.must_thrust_N)
    pulls = force if force == lifted else f"{force} ({lifted})"
    left, right = x + 44.0, x + SIDE - 5.0
    parts: list = [
        tick_box(x + 3.0, y),
        Words(x + 11.0, y + 1.0, title, 4.6, True),
        *propeller(middle, radius, row.must_turn_from_behind),
        Words(left + 1.0, middle[1] + 8.5, "thrust", 3.6, True),
        *(arrow((right, middle[1] + 4.0), (left, middle[1] + 4.0), 1.5) if forward else ()),
        Words(left, middle[1] - 2.0, "nose", 3.2),
        Words(right, middle[1] - 2.0, "tail", 3.2, anchor="right"),
        Words(left, middle[1] - 9.0, "wind blows", 3.4),
        Words(left, middle[1] - 13.5, "to the tail", 3.4),
        Words(x + 4.0, low, turns, fitted(turns, SIDE - 6.0, 3.6)),
        Words(x + 4.0, low - 5.4, f"pulls {pulls} at {100 * row.throttle:.0f} %", 3.6),
        Words(x + 4.0, low - 10.8, "printed side of the blades forward", 3.6),
    ]
    if row.problems:
        told = f"WRONG: turns {row.turns_from_behind}, {u.force(row.thrust_N)}"
        parts.append(Words(x + 4.0, low - 16.2, told, 3.6, True))
    return parts
