"""The odds as numbers, rows and lines for people."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.study.odds.launches import Plan
from firstthrow.sim.study.odds.tally import Numbers
from firstthrow.sim.study.odds.varied import Axis
from firstthrow.sim.study.sweep import points


@frozen
class Point(Numbers):
    """What `Numbers` tells, of the launches at one point of the varied values.

    values: by key the value there, as the file would hold it, such as '24 %'; none where nothing
    was varied.
    """

    values: dict[str, str]

    def as_json(self) -> dict[str, Any]:
        return {"values": self.values, **super().as_json()}


@frozen
class Varied(Answer):
    key: str
    unit: str
    values: tuple[str, ...]
    own_value: float | None


@frozen
class OddsAnswer(Answer):
    airframe: str
    field: str
    pilot: str
    skill: str | None  # of simulated hands
    flight_time_s: float
    seed: int
    flights_wanted: int
    flights_flown: int
    varied: tuple[Varied, ...]
    points: tuple[Point, ...]
    sentences: tuple[str, ...]


def answer(
    name: str,
    field: str,
    plan: Plan,
    axes: Sequence[Axis],
    found: Sequence[Numbers],
    notes: Sequence[str],
    each: int,
) -> OddsAnswer:
    """`each`: launches wanted of every point; notes: the sentences."""
    values = values_of(axes) if axes else [{}]
    return OddsAnswer(
        airframe=name,
        field=field,
        pilot=plan.pilot,
        skill=plan.skill_name if plan.pilot == "human" else None,
        flight_time_s=plan.seconds,
        seed=plan.seed,
        flights_wanted=each * len(found),
        flights_flown=sum(one.flown for one in found),
        varied=tuple(Varied(a.vary.key, a.vary.unit, a.vary.values, a.own) for a in axes),
        points=tuple(Point(**vars(one), values=v) for v, one in zip(values, found, strict=True)),
        sentences=tuple(notes),
    )


def values_of(axes: Sequence[Axis]) -> list[dict]:
    """The varied values of every point, by key, as texts that the file could hold."""
    keys = [axis.vary.key for axis in axes]
    return [dict(zip(keys, p, strict=True)) for p in points([axis.vary for axis in axes])]


def point_rows(axes: Sequence[Axis], found: Sequence[Numbers]) -> list[list]:
    """A heading and a row for each point of the varied values."""
    rows: list[list] = []
    for values, one in zip(values_of(axes), found, strict=True):
        told = one.as_json()
        causes = told.pop("causes")
        told["causes"] = "; ".join(f"{cause} {n}" for cause, n in causes.items())
        units = [axis.vary.unit for axis in axes]
        bare = [v.removesuffix(u).strip() for v, u in zip(values.values(), units, strict=True)]
        if not rows:
            heads = [f"{a.vary.key} [{a.vary.unit}]" if a.vary.unit else a.vary.key for a in axes]
            rows.append([*heads, *told])
        cells = [
            "" if v is None else f"{v:.6g}" if isinstance(v, float) else v for v in told.values()
        ]
        rows.append([*bare, *cells])
    return rows


def who(plan: Plan) -> str:
    if plan.mine:
        return "your hands"
    return f"{plan.scatter.skill} hands" if plan.pilot == "human" else "hands off"


def percent(fraction: float) -> str:
    return f"{100.0 * fraction:.0f} %" if 0.0005 < fraction < 0.995 else f"{100.0 * fraction:.1f} %"


def lines(
    airframe: Airframe, plan: Plan, axes: Sequence[Axis], found: Sequence[Numbers], notes: list[str]
) -> list[str]:
    """The table for people; notes: the sentences, the first above it."""
    flown = sum(one.flown for one in found)
    head = f"{airframe.name}: {flown} launch{'es' if flown != 1 else ''} of {plan.seconds:g} s, "
    head += who(plan)
    u, top, rest = airframe.units, notes[:1], ["", *notes[1:]] if notes[1:] else []
    if len(axes) == 1:
        return [head, *top, *_line(axes[0], found, u), *rest]
    if len(axes) == 2:
        return [head, *top, *_map(axes, found), *rest]
    return [head, *top, *_single(found[0], u), *rest]


def _single(told: Numbers, u: Units) -> list[str]:
    return [
        f"  survived      {percent(told.survived_fraction):>8}  "
        f"({percent(told.survived_low)} to {percent(told.survived_high)})",
        f"  lost to       {told.causes_text or 'nothing'}",
        "                  median  worst tenth",
        f"  height lost   {_height(told.height_lost_median_m, u):>8}"
        f"  {_height(told.height_lost_worst_tenth_m, u)}",
        f"  above stall   {_cell(told.stall_margin_median, '.0%'):>8}"
        f"  {_cell(told.stall_margin_worst_tenth, '.0%')}",
        f"  load, weights {_cell(told.load_factor_median, '.1f', 'x'):>8}"
        f"  {_cell(told.load_factor_worst_tenth, '.1f', 'x')}",
    ]


def _height(metres: float | None, u: Units) -> str:
    return "-" if metres is None else u.distance(metres, 1)


def _cell(value: float | None, form: str, unit: str = "") -> str:
    if value is None:
        return "-"
    text = format(value, form).replace("%", " %")
    text = text.removeprefix("-") if not text.strip("-0. %") else text
    return f"{text} {unit}".strip()


def _line(axis, found, u: Units) -> list[str]:
    rows = [[axis.label, "survived", "95 % sure", "height lost", "above stall", "load", "lost to"]]
    for value, told in zip(axis.vary.values, found, strict=True):
        rows.append(
            [
                value,
                percent(told.survived_fraction),
                f"{percent(told.survived_low)} to {percent(told.survived_high)}",
                _height(told.height_lost_worst_tenth_m, u),
                _cell(told.stall_margin_worst_tenth, ".0%"),
                _cell(told.load_factor_worst_tenth, ".1f", "x"),
                told.causes_text or "-",
            ]
        )
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    table = [
        "  " + "  ".join([*(c.rjust(w) for c, w in zip(row[:-1], widths, strict=False)), row[-1]])
        for row in rows
    ]
    note = "height lost, least airspeed above the stall speed, load in weights"
    return [*table, f"  ({note}: what the worst tenth goes beyond)"]


def _map(axes, found) -> list[str]:
    first, second = axes
    told = [f"  survived, %: {first.label} across, {second.label} down"]
    width = max(6, *(len(v) + 2 for v in first.vary.values))
    side = max(len(v) for v in second.vary.values)
    told.append("  " + " " * side + "".join(v.rjust(width) for v in first.vary.values))
    count = len(second.vary.values)
    for row in reversed(range(count)):
        cells = (f"{100.0 * one.survived_fraction:.0f}".rjust(width) for one in found[row::count])
        told.append("  " + second.vary.values[row].rjust(side) + "".join(cells))
    least = min(one.flown for one in found)
    return [*told, f"  {least} launches a point: give or take {98 / least**0.5:.0f} at most"]
