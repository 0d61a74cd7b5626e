"""Values that a file may say but hardly means, each with the likely slip: remarks, no refusal.

One table: what is usual of each kind of value, and the factors that would bring a value there.
Places and sizes are held against the main sheet. What is usual is our assumption (common
practice, no source), wide enough for all that this program was tried on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from firstthrow.sim.build.shape import pieces
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.write import number, quantity_text
from firstthrow.sim.study.loads import main_sheet
from firstthrow.sim.study.places import body, stretches
from firstthrow.sim.units import (
    LENGTH,
    Kind,
    from_unit,
    to_unit,
)

Values = Iterator[tuple[str, float]]  # keys of the file, SI
# The unit that was written and the one that was meant; the likeliest first.
LENGTHS = (("cm", "mm"), ("in", "mm"), ("m", "mm"))
TOO_SHORT = (("mm", "cm"), ("mm", "in"), ("mm", "m"))
MASSES = (("kg", "g"), ("oz", "g"), ("lb", "g"))
TOO_LIGHT = (("g", "kg"), ("g", "oz"))
HELD = 0.04  # a part reaches no further than that from what holds it [m]


class Rule(NamedTuple):
    """What a kind of value usually is, from low to high in a unit, and the slips it may be."""

    values: Callable[[Airframe], Values]
    low: float
    high: float
    unit: str
    slips: tuple[tuple[str, str], ...]


def _thickness(of: Airframe) -> Values:
    for name, sheet in of.sheets.items():
        yield f"sheets.{name}.thickness", sheet.thickness


def _size(of: Airframe) -> Values:
    for name, sheet in of.sheets.items():
        outline = sheet.outline
        for key in ("chord", "span", "height"):
            if (value := getattr(outline, key)) is not None:
                yield f"sheets.{name}.outline.{key}", value


def _bow(of: Airframe) -> Values:
    for name, sheet in of.sheets.items():
        if sheet.bow:
            yield f"sheets.{name}.bow", abs(sheet.bow)


def _mass(of: Airframe) -> Values:
    for name, item in of.items.items():
        yield f"items.{name}.mass", item.mass
    for name, sheet in of.sheets.items():
        if sheet.mass is not None:
            yield f"sheets.{name}.mass", sheet.mass


def _away(of: Airframe) -> Values:
    """Places fore and aft and to the sides, in sizes of the main sheet."""
    size = _main_size(of)
    for kind in ("sheets", "items", "motors", "wheels", "skids"):
        for name, part in getattr(of, kind).items():
            for key in ("aft", "right", "up"):
                yield f"{kind}.{name}.{key}", abs(getattr(part, key)) / size


def _main_size(of: Airframe) -> float:
    """The longer of chord and half span of the main sheet [m]."""
    name = main_sheet(of)
    corners = [
        c for p in pieces(of) if name is None or of.sheets[p.sheet] is name for c in p.corners
    ]
    aft = [float(c[0]) for c in corners]
    return max(max(aft) - min(aft), max(abs(float(c[1])) for c in corners))


def _propeller(of: Airframe) -> Values:
    for name, motor in of.motors.items():
        yield f"motors.{name}.propeller.size", motor.propeller.size[0]


def _kv(of: Airframe) -> Values:
    for name, motor in of.motors.items():
        yield f"motors.{name}.kv", motor.kv


def _capacity(of: Airframe) -> Values:
    if of.motors:
        yield "pack.capacity", of.pack.capacity


def _torque(of: Airframe) -> Values:
    for name, servo in of.servos.items():
        yield f"servos.{name}.torque", servo.torque


def _throw(of: Airframe) -> Values:
    if of.launch.hand is not None:
        yield "launch.hand.speed", of.launch.hand.speed


def _pitch_throw(of: Airframe) -> Values:
    for rate in ("high", "low"):
        if throw := getattr(of.mixing, rate).pitch:
            yield f"mixing.{rate}.pitch", throw


PLAIN = Kind("a size", {"": 1.0}, "1")
RULES = (
    Rule(_thickness, 1.0, 60.0, "mm", (*LENGTHS, *TOO_SHORT)),
    Rule(_size, 30.0, 3000.0, "mm", (*LENGTHS, *TOO_SHORT)),
    Rule(_bow, 0.0, 20.0, "mm", LENGTHS),
    Rule(_mass, 0.2, 5000.0, "g", (*MASSES, *TOO_LIGHT)),
    Rule(_away, 0.0, 4.0, "", LENGTHS),
    Rule(_propeller, 2.0, 24.0, "in", (("in", "cm"), ("in", "mm"), ("mm", "in"))),
    Rule(_kv, 50.0, 8000.0, "rpm/V", ()),
    Rule(_capacity, 100.0, 20000.0, "mAh", (("Ah", "mAh"), ("mAh", "Ah"))),
    Rule(_torque, 0.2, 250.0, "kgcm", (("N m", "kgcm"), ("N cm", "kgcm"))),
    Rule(_throw, 2.0, 14.0, "m/s", (("m/s", "km/h"), ("km/h", "m/s"))),
    Rule(_pitch_throw, 2.0, 45.0, "deg", (("rad", "deg"), ("deg", "rad"))),
)


def slips(airframe: Airframe) -> tuple[str, ...]:
    """A sentence each; none for what is usual."""
    told = [words for rule in RULES for words in _beyond(rule, airframe)]
    return (*told, *_motors_inside(airframe), *_loose(airframe))


def _beyond(rule: Rule, airframe: Airframe) -> Iterator[str]:
    for key, value in rule.values(airframe):
        shown = to_unit(value, rule.unit) if rule.unit else value
        if rule.low <= shown <= rule.high:
            continue
        slip = next(
            (
                f"{written} for {meant}?"
                for written, meant in rule.slips
                if rule.low <= shown * from_unit(1.0, meant) / from_unit(1.0, written) <= rule.high
            ),
            "a slip?",
        )
        yield f"{key} = {_text(rule, airframe, value)}: {_usual(rule, airframe)} is usual; {slip}"


def _text(rule: Rule, airframe: Airframe, value: float) -> str:
    if not rule.unit:
        return quantity_text(value * _main_size(airframe), LENGTH, airframe.units.unit_of)
    if rule.unit == "in":
        return f"{to_unit(value, 'in'):.3g} in across"
    unit = _shown(rule, airframe)
    return f"{to_unit(value, unit):.{6 if unit == rule.unit else 4}g} {unit}"


def _usual(rule: Rule, airframe: Airframe) -> str:
    if not rule.unit:
        u = airframe.units
        most = u.in_lengths(rule.high * _main_size(airframe))
        return f"up to {round(most, 0 if u.inches else -1):.0f} {u.lengths} on a sheet of that size"
    unit = _shown(rule, airframe)
    low, high = (_near(end, rule.unit, unit) for end in (rule.low, rule.high))
    return f"{f'{low} to ' if rule.low else 'up to '}{high} {unit}"


def _shown(rule: Rule, airframe: Airframe) -> str:
    """The builder's unit where the table has a metric one."""
    u = airframe.units
    return {"mm": u.lengths, "g": u.masses, "kgcm": u.torques, "m/s": u.speeds}.get(
        rule.unit, rule.unit
    )


def _near(value: float, unit: str, shown: str) -> str:
    """An end of the table, to two figures where it is told in another unit."""
    if unit == shown:
        return f"{value:g}"
    return number(to_unit(from_unit(value, unit), shown), 2)


def _motors_inside(airframe: Airframe) -> Iterator[str]:
    """Propellers whose disc cuts a sheet that lies flat."""
    for name, motor in airframe.motors.items():
        for piece in pieces(airframe):
            corners = piece.corners
            if abs(piece.normal[2]) < 0.5 or piece.surface >= 0:
                continue
            aft, right = corners[:, 0], corners[:, 1]
            across = right.min() - 1e-6 <= motor.right <= right.max() + 1e-6
            level = abs(motor.up - float(corners[:, 2].mean())) < 0.5 * motor.propeller.size[0]
            if across and level and aft.min() + 0.005 < motor.aft < aft.max() - 0.005:
                at = quantity_text(motor.aft, LENGTH, airframe.units.unit_of)
                yield (
                    f"motors.{name}.aft = {at}: its propeller turns "
                    f"inside the {piece.sheet.replace('_', ' ')}; ahead of the datum is negative: "
                    "a minus lost?"
                )
                break


def _loose(airframe: Airframe) -> Iterator[str]:
    """Parts that no sheet, rod or motor is near to."""
    boxes = [(p.corners.min(axis=0), p.corners.max(axis=0)) for p in pieces(airframe)]
    bodies = [(*body(airframe, name), m.right) for name, m in airframe.motors.items()]
    for name, item in airframe.items.items():
        near = HELD + 0.5 * (item.length if item.along == "aft" else 0.0)
        aft, right = item.aft, item.right
        on_sheet = any(
            low[0] - near <= aft <= high[0] + near and low[1] - HELD <= right <= high[1] + HELD
            for low, high in boxes
        )
        on_rod = any(
            one.front - near <= aft <= one.rear + near and abs(right - one.right) <= HELD
            for one in stretches(airframe)
        )
        by_motor = any(
            front - near <= aft <= rear + near and abs(right - at) <= HELD
            for front, rear, at in bodies
        )
        if not (on_sheet or on_rod or by_motor):
            yield (
                f"items.{name}: {quantity_text(aft, LENGTH)} aft, {quantity_text(right, LENGTH)} "
                "right: no sheet, rod or motor is near it; what holds it there?"
            )
