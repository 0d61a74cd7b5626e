"""An airframe built from another sheet size: what scales how.

Froude's scaling keeps the ratio of the air's forces to weight, so that a larger slab flies like
the smaller one in slow motion: with a size factor s, mass as s^3, speeds and times as s^1/2,
moments as s^4, power as s^7/2.
Source: W. Froude's similarity as used for free-flight models, e.g. Wolowicz, Bowman and Gilbert,
Similitude Requirements and Scaling Relationships as Applied to Model Testing, NASA TP-1435, 1979.
Left out: the Reynolds number, which grows with s^3/2, and parts that come in one size only.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from firstthrow.sim.build.shape import corners, is_mirrored, main_name
from firstthrow.sim.describe.airframe import Airframe, Contact, Item
from firstthrow.sim.describe.drive import Motor
from firstthrow.sim.describe.sheets import Sheet, Surface
from firstthrow.sim.units import from_unit, mah, rpm, to_unit

LAWS = {
    "mass": 3.0,
    "wing loading": 1.0,
    "stall speed": 0.5,
    "servo torque": 4.0,
    "power": 3.5,
}  # exponents of the size factor
ONE_SIZE = ("receiver",)  # items that do not grow
CELLS = 0.75  # exponent of the pack's voltage: trade habit, from 3 cells at 0.7 m to 6 at 2 m
MOST_CELLS = 14


class Factors(NamedTuple):
    """Of length along the chord, across the span, and of the sheets' thickness."""

    along: float
    across: float
    thick: float

    @property
    def size(self) -> float:
        """The mean of chord and span: what height and all small parts go by."""
        return (self.along * self.across) ** 0.5

    @property
    def mass(self) -> float:
        """Of sheets: area times thickness."""
        return self.along * self.across * self.thick


def scaled(airframe: Airframe, by: Factors) -> Airframe:
    """The airframe with every quantity by its law; angles, rates and shares stay.

    Propeller, motor constant and pack are rounded to sizes that are sold. The balance has to be
    found anew (see `study.fit_out`).
    """
    s, volts, cells = by.size, *_cells(airframe, by.size)
    power, mass = s**3.5, s**3
    amps = power / volts
    pack, controller = airframe.pack, airframe.controller
    capacity = from_unit(50.0 * max(2, round(mah(pack.capacity * mass / volts) / 50)), "mAh")
    return airframe.model_copy(
        update={
            "sheets": {n: _sheet(sheet, by) for n, sheet in airframe.sheets.items()},
            "items": {n: _item(n, item, by) for n, item in airframe.items.items()},
            "motors": {n: _motor(motor, by, volts, amps) for n, motor in airframe.motors.items()},
            "pack": _with(
                pack,
                cells=cells,
                capacity=capacity,
                limit=pack.limit * capacity / pack.capacity,
                resistance=pack.resistance * pack.capacity / capacity,
            ),
            "controller": _with(
                controller,
                limit=controller.limit * amps,
                burst=None if controller.burst is None else controller.burst * amps,
                resistance=controller.resistance / amps,
                supply_limit=controller.supply_limit * power,
            ),
            "servos": {
                n: _with(
                    servo,
                    speed=servo.speed * s**0.5,
                    torque=servo.torque * s**4,
                    idle_current=servo.idle_current * power,
                    stall_current=servo.stall_current * power,
                )
                for n, servo in airframe.servos.items()
            },
            "wheels": {n: _wheel(wheel, by) for n, wheel in airframe.wheels.items()},
            "skids": {n: _contact(skid, by) for n, skid in airframe.skids.items()},
            "launch": _launch(airframe, s),
        }
    )


def _with(described: Any, **changes: Any) -> Any:
    return described.model_copy(update=changes)


def _cells(airframe: Airframe, s: float) -> tuple[float, int]:
    """Factor of the pack's voltage and its number of cells."""
    before = airframe.pack.cells
    after = min(max(1, round(before * s**CELLS)), MOST_CELLS)
    return after / before, after


def _placed(thing: Any, by: Factors) -> dict[str, float]:
    return {"aft": thing.aft * by.along, "right": thing.right * by.across, "up": thing.up * by.size}


def _sheet(sheet: Sheet, by: Factors) -> Sheet:
    out = by.across if sheet.stance == "flat" else by.size
    outline = sheet.outline
    changed = {
        "chord": outline.chord and outline.chord * by.along,
        "span": outline.span and outline.span * by.across,
        "height": outline.height and outline.height * by.size,
        "corners": outline.corners and tuple((a * by.along, o * out) for a, o in outline.corners),
    }
    spars = {
        n: _with(
            spar,
            **_placed(spar, by),
            length=spar.length * by.across,
            outside=spar.outside * by.size,
            inside=spar.inside * by.size,
            width=spar.width * by.size,
        )
        for n, spar in sheet.spars.items()
    }
    return _with(
        sheet,
        **_placed(sheet, by),
        outline=_with(outline, **changed),
        thickness=sheet.thickness * by.thick,
        bow=0.0,  # of another board nothing is known
        twist=0.0,
        twist_left=0.0,
        twist_right=0.0,
        mass=sheet.mass and sheet.mass * by.mass * (out / by.across),
        surfaces={n: _surface(surface, by, out) for n, surface in sheet.surfaces.items()},
        spars=spars,
        joints={n: _with(j, out=j.out * by.across) for n, j in sheet.joints.items()},
    )


def _surface(surface: Surface, by: Factors, out: float) -> Surface:
    s = by.size
    return _with(
        surface,
        chord=surface.chord * by.along,
        inner=surface.inner * out,
        outer=surface.outer * out,
        mass=surface.mass and surface.mass * by.mass * (out / by.across),
        thickness=surface.thickness and surface.thickness * by.thick,
        arm=surface.arm * s,
        horn=surface.horn * s,
        rod=surface.rod and surface.rod * s,
        servo_up=surface.servo_up * s,
        horn_ahead=surface.horn_ahead * s,
        slop=surface.slop * s,
    )


def _item(name: str, item: Item, by: Factors) -> Item:
    """Nobody has weighed it at this size: it is guessed again."""
    same = any(word in name for word in ONE_SIZE)
    s = 1.0 if same else by.size
    spread = item.place_spread
    return _with(
        item,
        **_placed(item, by),
        mass=item.mass * s**3,
        length=item.length * s,
        width=item.width * s,
        height=item.height * s,
        diameter=item.diameter * s,
        known="guessed",
        place_spread=spread and spread * by.size,
    )


def _motor(motor: Motor, by: Factors, volts: float, amps: float) -> Motor:
    """The same work at another voltage: resistance as volts over amperes."""
    s, blade = by.size, motor.propeller
    diameter, pitch = (_sold(length * s) for length in blade.size)
    turned = diameter / blade.size[0]
    step = 10.0 if rpm(motor.kv) > 200.0 else 5.0
    kv = rpm(motor.kv) / (s**0.5 * volts)
    return _with(
        motor,
        **_placed(motor, by),
        kv=from_unit(step * round(kv / step), "rpm/V"),
        resistance=motor.resistance * volts / amps,
        limit=motor.limit * amps,
        no_load_current=motor.no_load_current * amps,
        propeller=_with(
            blade,
            size=(diameter, pitch),
            mass=blade.mass * turned**3,
            blade_width=blade.blade_width * turned,
            blade_thickness=blade.blade_thickness * turned,
        ),
    )


def _sold(length: float) -> float:
    """A propeller's diameter or pitch as they are sold: half inches, whole ones from 10 in on."""
    inch = to_unit(length, "in")
    step = 0.5 if inch < 10.0 else 1.0
    return from_unit(max(1.0, step * round(inch / step)), "in")


def _contact(contact: Contact, by: Factors) -> Contact:
    s = by.size
    return _with(
        contact,
        **_placed(contact, by),
        stiffness=contact.stiffness * s**2,
        wire=contact.wire * s,
        wire_length=contact.wire_length and contact.wire_length * s,
        breaks_at=contact.breaks_at * s**0.5,
    )


def _wheel(wheel: Any, by: Factors) -> Any:
    return _with(
        _contact(wheel, by),
        radius=wheel.radius * by.size,
        width=wheel.width and wheel.width * by.size,
    )


def _launch(airframe: Airframe, s: float) -> Any:
    """A person does not grow: the height of the throw stays."""
    hand = airframe.launch.hand
    return _with(airframe.launch, hand=hand and _with(hand, speed=hand.speed * s**0.5))


def main_size(airframe: Airframe) -> tuple[float, float]:
    """Span and chord of the main sheet [m]; of one with corners, of its rectangle.

    Raises ValueError when no sheet lies flat.
    """
    name = main_name(airframe)
    if name is None:
        raise ValueError("no sheet lies flat")
    sheet = airframe.sheets[name]
    if sheet.outline.span is not None and sheet.outline.chord is not None:
        return sheet.outline.span, sheet.outline.chord
    aft, out = corners(sheet).T
    wide = 2.0 * out.max() if is_mirrored(sheet) else np.ptp(out)
    return float(wide), float(np.ptp(aft))
