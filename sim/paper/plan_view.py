"""The airframe from above on one page: sheets, parts, balance, neutral point, allowed band.

Nose up, as it lies on the bench in front of the builder.
"""

from __future__ import annotations

from math import ceil, floor

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.paper.airframe_drawing import (
    FAINT,
    Extent,
    Plan,
    allowed,
    balance_mark,
    extent,
    fitting,
    from_above,
    limit,
    neutral_mark,
)
from firstthrow.sim.paper.letters import leading, width, wrapped
from firstthrow.sim.paper.page import HEIGHT, WIDTH, Anchor, Line, Page, Part, Words, apart, box
from firstthrow.sim.study.verdict import BalanceVerdict
from firstthrow.sim.study.weigh import Weighing
from firstthrow.sim.units import from_unit

EDGE = 15.0  # kept free at both sides [mm]
LEFT, RIGHT = EDGE, WIDTH - EDGE
HEAD, FOOT = HEIGHT - 24.0, 27.0  # lines above and below the drawing
ROOM = 6.0  # of the drawing to those lines
NAMES = 0.42  # of the half span beside each tip, for the parts' names
PEN = 0.28
MOST_TICKS, TICK_APART = 14, 3.4  # of the rule; [mm]
SMALL, TEXT, STRONG = 2.7, 3.0, 3.5  # heights of letters [mm]


def page(airframe: Airframe, weighed: Weighing) -> Page:
    """The page of an airframe as `study.weigh` found it."""
    space = extent(airframe)
    across = 0.5 * (RIGHT - LEFT) / ((1.0 + NAMES) * space.tip)
    scale = min(across, (HEAD - FOOT - 2.0 * ROOM) / space.length)
    middle = 0.5 * (HEAD + FOOT) + 0.5 * scale * (space.front + space.rear)
    plan = Plan(0.5 * WIDTH, middle, scale, PEN)
    half = space.tip * scale
    parts = from_above(airframe, plan)
    parts += _band(weighed, plan, half)
    parts += _ruler(plan, space, half, airframe.units)
    parts += _items(airframe, plan, half)
    parts += _marks(weighed, plan, half, airframe.units)
    return Page(tuple(parts + _words(airframe, weighed)))


def _items(airframe: Airframe, plan: Plan, half: float) -> list[Part]:
    """Every item where it lies, named in the margins; guessed ones hollow and dashed."""
    parts: list[Part] = []
    names = []
    for name, item in airframe.items.items():
        guessed = item.known == "guessed"
        parts += fitting(item, plan, 0.9, 1.0 if guessed else 0.25)
        mass = airframe.units.mass(item.mass, 1 if item.mass < 0.0995 else 0)
        text = f"{name.replace('_', ' ')}{'?' * guessed}  {mass}"
        names.append((*plan.at(item.aft, item.right), text))
    return _named(names, plan.x, half) + parts


def _named(names: list[tuple[float, float, str]], middle: float, half: float) -> list[Part]:
    """Names beside the left tip and the right one, each with a thin line from its place."""
    parts: list[Part] = []
    left = [one for one in names if one[0] < middle - 0.5]
    right = [one for one in names if one[0] > middle + 0.5]
    central = [one for one in names if abs(one[0] - middle) <= 0.5]
    for one in sorted(central, key=lambda one: -one[1]):
        (left if len(left) <= len(right) else right).append(one)
    for way, side in ((-1.0, left), (1.0, right)):
        side.sort(key=lambda one: one[1])
        levels = apart([one[1] for one in side], 1.45 * SMALL)
        for (x, y, text), level in zip(side, levels, strict=True):
            knee, end = middle + way * (half + 3.0), middle + way * (half + 6.0)
            parts.append(Line(((x, y), (knee, level), (end, level)), 0.18, FAINT))
            anchor: Anchor = "right" if way < 0.0 else "left"
            parts.append(Words(end + way, level - 0.36 * SMALL, text, SMALL, False, anchor))
    return parts


def _band(weighed: Weighing, plan: Plan, half: float) -> list[Part]:
    """The allowed band, and its limits as dashed lines."""
    front, rear = weighed.cg_front_limit_m, weighed.cg_rear_limit_m
    if front is not None and front < rear:
        return allowed(plan, front, rear, 0.40 * half, 2.2)
    return [limit(plan, place, 0.40 * half) for place in (front, rear) if place is not None]


def _marks(weighed: Weighing, plan: Plan, half: float, u: Units) -> list[Part]:
    """CG as the quartered circle, the neutral point as a triangle, with their places."""
    size = max(2.4, 0.026 * half)
    front, rear = weighed.cg_front_limit_m, weighed.cg_rear_limit_m
    cg, neutral = weighed.cg_m[0], weighed.neutral_point_m
    spreads = weighed.cg_spread_m[0], weighed.neutral_point_spread_m
    told = [
        (cg, f"CG  {_place(cg, u)} ± {u.bare_length(spreads[0], 1)}"),
        (neutral, f"neutral point  {_place(neutral, u)} ± {u.bare_length(spreads[1])}"),
        *([(front, f"front limit  {_place(front, u)}")] if front is not None else []),
        (rear, f"rear limit  {_place(rear, u)}"),
    ]
    told = sorted((plan.level(place), text) for place, text in told)
    start, knee, end = (plan.x + share * half for share in (0.40, 0.45, 0.47))
    parts: list[Part] = [
        Line(((plan.x, plan.level(at)), (start, plan.level(at))), 0.8 * PEN) for at in (cg, neutral)
    ]
    for (y, text), level in zip(told, apart([y for y, _ in told], 1.45 * TEXT), strict=True):
        bold = text.startswith(("CG", "neutral"))
        parts.append(Line(((start, y), (knee, level), (end, level)), 0.7 * PEN))
        parts += _on_white(end + 1.0, level, text, TEXT, bold)
    parts += neutral_mark((plan.x, plan.level(neutral)), size, 1.6 * PEN)
    parts += _spread(plan, plan.x + 1.7 * size, neutral, spreads[1])
    at = plan.at(cg, weighed.cg_m[1])
    parts += _spread(plan, at[0] - 1.7 * size, cg, spreads[0])
    return parts + balance_mark(at, size, 1.4 * PEN)


def _spread(plan: Plan, x: float, place: float, spread: float) -> list[Part]:
    """One standard deviation to both sides of a place [m]."""
    low, high = plan.level(place + spread), plan.level(place - spread)
    return [
        Line(((x, low), (x, high)), 1.4 * PEN),
        *(Line(((x - 1.1, y), (x + 1.1, y)), 1.4 * PEN) for y in (low, high)),
    ]


def _on_white(x: float, y: float, text: str, size: float, bold=False, anchor="left") -> list[Part]:
    """Words at mid height y, clear of what lies under them."""
    wide = width(text, size, bold)
    left = x - wide if anchor == "right" else x
    return [
        box(left - 0.4, y - 0.62 * size, wide + 0.8, 1.24 * size, 1.0, 0.0),
        Words(x, y - 0.36 * size, text, size, bold, anchor),
    ]


def _place(metres: float, u: Units) -> str:
    return u.length(metres) if metres >= -0.5e-3 else f"{u.length(-metres)} ahead"


def _ruler(plan: Plan, space: Extent, half: float, u: Units) -> list[Part]:
    """The centreline, and beside it a rule from the datum, in the builder's lengths."""
    top, low = plan.level(space.front), plan.level(space.rear)
    parts: list[Part] = [
        Line(((plan.x, top), (plan.x, low)), 0.2, FAINT, (3.5, 1.0, 0.7, 1.0)),
    ]
    front, rear = u.in_lengths(space.front), u.in_lengths(space.rear)
    least = max((rear - front) / MOST_TICKS, u.in_lengths(TICK_APART / plan.scale))
    steps = (1, 2, 5, 10, 20, 50) if u.inches else (10, 20, 50, 100, 200, 500, 1000)
    step = next((s for s in steps if s >= least), steps[-1])
    ticks = [step * k for k in range(ceil(front / step), floor(rear / step) + 1)]
    x = plan.x - 0.47 * half
    ends = [plan.y - plan.scale * from_unit(tick, u.lengths) for tick in (ticks[0], ticks[-1])]
    parts.append(Line(((x, ends[0]), (x, ends[1])), 0.9 * PEN))
    for tick in ticks:
        y = plan.y - plan.scale * from_unit(tick, u.lengths)
        parts.append(Line(((x, y), (x - 1.3, y)), 0.9 * PEN))
        parts += _on_white(x - 2.1, y, f"{tick}", 2.4, False, "right")
    return [*parts, Line(((x, plan.y), (plan.x - 0.40 * half, plan.y)), 1.7 * PEN)]


def _words(airframe: Airframe, weighed: Weighing) -> list[Part]:
    u = airframe.units
    view = "seen from above, nose up", f"{u.lengths} from the datum: {airframe.datum}"
    free = RIGHT - LEFT - 6.0 - max(width(text, TEXT) for text in view)
    size = min(6.7, free / width(airframe.name, 1.0, True))
    parts: list[Part] = [
        Words(LEFT, HEIGHT - 14.5, airframe.name, size, True),
        Words(LEFT, HEIGHT - 21.0, airframe.about, 3.35),
        Words(RIGHT, HEIGHT - 10.0, view[0], TEXT, anchor="right"),
        Words(RIGHT, HEIGHT - 14.8, view[1], TEXT, anchor="right"),
        *(Line(((LEFT, y), (RIGHT, y)), 0.35) for y in (HEAD, FOOT)),
    ]
    loading = u.loading(weighed.wing_loading_kg_m2)
    facts = [
        ("all-up mass", u.mass(weighed.mass_kg)),
        ("wing loading", loading.replace("m2", "m²").replace("ft2", "ft²")),
        ("CG", f"{weighed.cg_percent_mac:.1f} % MAC"),
        ("neutral point", f"{weighed.neutral_point_percent_mac:.1f} % MAC"),
        ("static margin", f"{weighed.static_margin_percent:.1f} %"),
        ("stall speed", u.speed(weighed.stall_speed_m_s)),
    ]
    for k, (name, value) in enumerate(facts):
        x = LEFT + (RIGHT - LEFT) * k / len(facts)
        parts.append(Words(x, 20.7, name, 2.8))
        parts.append(Words(x, 15.2, value, STRONG, True))
    for k, text in enumerate(_legend(weighed)):
        parts.append(Words(LEFT, 8.8 - 4.0 * k, text, SMALL))
    if weighed.verdict is not BalanceVerdict.OK:
        parts += _framed(wrapped(weighed.verdict.headline, 78.0, TEXT, True))
    return parts


def _framed(rows: list[str]) -> list[Part]:
    """A warning in the lower right corner."""
    wide = max(width(row, TEXT, True) for row in rows)
    tall = leading(TEXT) * len(rows)
    low = 0.5 * (FOOT - 14.0 - tall)
    return [
        box(RIGHT - wide - 5.0, low, wide + 5.0, tall + 2.8, 1.0, 0.6),
        *(
            Words(RIGHT - 2.5, low + 2.3 + leading(TEXT) * k, row, TEXT, True, "right")
            for k, row in enumerate(reversed(rows))
        ),
    ]


def _legend(weighed: Weighing) -> tuple[str, str]:
    return (
        "Hatched: the CG may lie here.  Grey: control surfaces.  Filled dots: weighed parts; "
        "hollow, '?': guessed.",
        f"{weighed.weigh_first}  Bars: one standard deviation.",
    )
