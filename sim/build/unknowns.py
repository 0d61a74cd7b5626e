"""What is not known of an airframe: one table of every uncertain quantity, how unsure, and how to
measure it.

Spreads are standard deviations, SI. Band, margins, odds, fits of real flights and 'what to measure
next' draw on this table alone. A value that the file says was measured has the smaller spread that
measuring leaves.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import NamedTuple

from firstthrow.sim.build.shape import is_mirrored, main_name, surface_spans
from firstthrow.sim.build.unknown_kinds import (
    EPS_STRENGTH,
    OPEN_GAP,
    RULES,
    What,
    guessed,
    measured,
)
from firstthrow.sim.build.warp import longest_chord
from firstthrow.sim.build.weights import Part, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import Sheet

Key = tuple[What, str]  # of what: a part, a sheet, a motor, a surface, a kind of hinge, or ""


class Known(StrEnum):
    """How a value came into the file."""

    MEASURED = "measured"
    GUESSED = "guessed"


class Unknown(NamedTuple):
    """One uncertain quantity. `spread` is its standard deviation as the file stands, `least` that
    once measured; None where nothing but flights tells."""

    what: What
    of: str
    spread: float
    least: float | None
    unit: str
    known: Known
    source: str
    how: str

    @property
    def key(self) -> Key:
        return self.what, self.of

    @property
    def words(self) -> str:
        return f"{self.what} of the {self.of.replace('_', ' ')}" if self.of else str(self.what)


def _row(
    what: What,
    of: str = "",
    size: float = 0.0,
    known: bool = False,
    said: float | None = None,
    more: float = 1.0,
) -> Unknown:
    """`said`: the spread that the file itself gives; `more`: times as unsure as the rule."""
    rule = RULES[what]
    least = None if rule.measured is None else rule.measured.of(size)
    usual = least if known and least is not None else more * rule.guessed.of(size)
    spread = usual if said is None else said
    least = None if least is None else min(least, spread)
    mark = Known.MEASURED if known else Known.GUESSED
    return Unknown(what, of, spread, least, rule.unit, mark, rule.source, rule.how)


def part_spreads(airframe: Airframe, part: Part) -> tuple[float, float]:
    """Of a part's mass [kg] and of its place, each way [m]: what the file says, else the rule.

    A mass worked out from a material is a guess of its density; the place of what is no item is
    sure.
    """
    item = airframe.items.get(part.name)
    known = part.source == "measured"
    rule = measured if known else guessed
    if item is None:
        return rule(What.MASS, part.mass), 0.0
    mass, place = item.mass_spread, item.place_spread
    return (
        rule(What.MASS, part.mass) if mass is None else mass * part.mass,
        rule(What.AFT) if place is None else place,
    )


def _of_parts(airframe: Airframe) -> Iterator[Unknown]:
    for part in parts(airframe):
        mass, place = part_spreads(airframe, part)
        known = part.source == "measured"
        if part.mass > 0.0:
            yield _row(What.MASS, part.name, part.mass, known, said=mass)
        if place:
            for what in (What.AFT, What.RIGHT, What.UP):
                yield _row(what, part.name, 0.0, known, said=place)


def _has_two_sides(sheet: Sheet) -> bool:
    return sheet.stance == "flat" or is_mirrored(sheet)


def _of_sheets(airframe: Airframe) -> Iterator[Unknown]:
    for name, sheet in airframe.sheets.items():
        said = sheet.model_fields_set
        yield _row(What.SLOPE, name)
        yield _row(What.BOW, name, longest_chord(sheet)[0], "bow" in said)
        turned = bool(said & {"twist", "twist_left", "twist_right"})
        if _has_two_sides(sheet):
            yield _row(What.TWIST_LEFT, name, known=turned)
        yield _row(What.TWIST_RIGHT, name, known=turned)


def _of_surfaces(airframe: Airframe) -> Iterator[Unknown]:
    spans = surface_spans(airframe)
    known = "effect" in airframe.corrections.model_fields_set
    for gap in dict.fromkeys(span.described.gap for span in spans):
        more = OPEN_GAP if gap == "open" else 1.0
        yield _row(What.EFFECT, f"{gap} hinges", known=known, more=more)
    for span in spans:
        yield _row(What.NEUTRAL, span.name, known=span.described.known == "measured")


def _of_the_drive(airframe: Airframe) -> Iterator[Unknown]:
    if not airframe.motors:
        return
    told = airframe.corrections.model_fields_set
    for what in (What.THRUST, What.TORQUE):
        yield _row(what, known=bool(told & {"propeller", f"propeller_{what}"}))
    yield _row(What.PROPELLER_PITCH, known="propeller_pitch" in told)
    for name in airframe.motors:
        yield _row(What.THRUST_DOWN, name)
        yield _row(What.THRUST_RIGHT, name)
    yield _row(What.STREAM)


def _of_the_throw(airframe: Airframe) -> Iterator[Unknown]:
    if airframe.launch.hand is None:
        return
    for what in What:
        if what.startswith("throw"):
            yield _row(what)
    if airframe.motors:
        yield _row(What.THROTTLE)


def unknowns(airframe: Airframe, chord: float) -> tuple[Unknown, ...]:
    """The table of one airframe; `chord`: its mean aerodynamic chord [m]."""
    main = main_name(airframe)
    dragged = "drag" in airframe.corrections.model_fields_set
    rows = [
        *_of_parts(airframe),
        _row(What.NEUTRAL_POINT, size=chord),
        *_of_sheets(airframe),
        *_of_surfaces(airframe),
        *_of_the_drive(airframe),
        _row(What.SHEET_DRAG, known=dragged),
        _row(What.PART_DRAG, known=dragged),
        _row(What.STALL),
        _row(What.STALL_LAG),
        _row(What.SHARE_LAG),
        _row(What.STALLED_SURFACES),
        _row(What.WAKE),
    ]
    if main is not None:
        foam = airframe.sheets[main].material
        rows.append(_row(What.STRENGTH, main, said=EPS_STRENGTH if "EPS" in foam else None))
    return (*rows, *_of_the_throw(airframe))


def spread_of(rows: tuple[Unknown, ...], what: What, of: str = "") -> float:
    """The spread of one of them [SI]; none where the airframe has no such thing."""
    return next((row.spread for row in rows if row.key == (what, of)), 0.0)
