"""The bench sheet's airframe from above, to a round scale, with its places on the centreline."""

from __future__ import annotations

from math import ceil

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.paper.airframe_drawing import (
    Plan,
    allowed,
    balance_mark,
    extent,
    fitting,
    from_above,
    neutral_mark,
)
from firstthrow.sim.paper.layout import LINE, THICK, THIN, Layout
from firstthrow.sim.paper.page import Line, Part, Words, apart, box, disc
from firstthrow.sim.units import from_unit, mm

SCALES = (1, 2, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20, 25, 30, 40, 50)
LETTERS, STEP = 2.5, 3.6  # of the labels [mm]


def scale_for(airframe: Airframe, wide: float, tall: float) -> float:
    """The largest round scale 1:n at which the airframe fits into a space [mm]."""
    space = extent(airframe)
    need = mm(max(2.0 * space.tip / wide, space.length / tall))
    return next((s for s in SCALES if s >= need), float(ceil(need)))


def with_places(
    layout: Layout, airframe: Airframe, marks: dict, x: float, y: float, wide: float, tall: float
) -> float:
    """Nose up, within a space whose top left corner is (x, y); marks in mm behind the datum.

    Returns how far down it reaches.
    """
    scale, space = scale_for(airframe, 0.68 * wide, tall - 3.0), extent(airframe)
    per_metre = mm(1.0) / scale
    zero = y + 2.0 - space.front * per_metre
    plan = Plan(*layout.at(x + 0.46 * wide, zero), per_metre, LINE)
    layout.add(from_above(airframe, plan))
    for item in airframe.items.values():  # without names: the table has those
        layout.add(fitting(item, plan, 0.6, 1.0))
    layout.add(_places(marks, plan, space.tip * per_metre, airframe.units))
    layout.text(x, y + 1.0, f"from above, 1 : {scale:g}", 2.3)
    layout.text(x, y + 4.4, f"{airframe.units.lengths} from the datum", 2.3)
    return zero + space.rear * per_metre


def _places(marks: dict, plan: Plan, half: float, u: Units) -> list[Part]:
    """Datum, band, balance mark, CG, neutral point, ballast, each with its place in words."""
    arm = min(0.55 * half, 26.0)
    metres = {name: from_unit(at, "mm") for name, at in marks.items() if at is not None}
    level = {name: plan.level(at) for name, at in metres.items()}
    parts: list[Part] = []
    if "front" in metres:
        parts += allowed(plan, metres["front"], metres["rear"], arm, 1.6)
    out = half + 5.0
    parts.append(Line(((plan.x - out, plan.y), (plan.x + out, plan.y)), LINE, 0.0, (1.5, 1.0)))
    if "neutral" in level:
        parts += neutral_mark((plan.x, level["neutral"]), 2.0, LINE)
    if "ballast" in level:
        parts.append(box(plan.x - 1.6, level["ballast"] - 1.6, 3.2, 3.2, 0.0))
    target = level["target"]
    parts.append(Line(((plan.x - arm, target), (plan.x + arm, target)), THICK))
    parts += balance_mark((plan.x, target), 2.3, LINE)
    if abs(level["cg"] - target) > 0.3:
        parts.append(disc(plan.x, level["cg"], 1.1, 1.0, THICK))
    told = [
        (plan.y, "datum 0"),
        *(
            (level[name], f"{text} {_behind(metres[name], u)}")
            for name, text in (
                ("target", "BALANCE"),
                ("cg", "by the file"),
                ("neutral", "neutral point"),
                ("front", "front limit"),
                ("rear", "rear limit"),
                ("ballast", "ballast"),
            )
            if name in level
        ),
    ]
    return parts + _labels(told, plan.x + arm, plan.x + half + 9.0)


def _behind(place: float, u: Units) -> str:
    figure = u.bare_length(abs(place))
    return figure if place > -0.5e-3 else f"{figure} ahead"


def _labels(told: list[tuple[float, str]], start: float, x: float) -> list[Part]:
    """Words in a column at x, moved apart, each with a thin line from its place."""
    parts: list[Part] = []
    told = sorted(told)
    for (at, text), level in zip(told, apart([at for at, _ in told], STEP), strict=True):
        strong = text.startswith(("BALANCE", "datum"))
        parts.append(Line(((start, at), (x - 4.0, at), (x - 1.0, level)), THIN, 0.35))
        parts.append(Words(x, level - 1.0, text, LETTERS, strong))
    return parts
