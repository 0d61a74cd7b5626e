"""A first airframe file from a few answers, or from a known one at another sheet size.

Either way the description is built like any other, balanced, trimmed and flown before it is
handed over; every mass in it is a guess until the builder has weighed the part.
"""

from __future__ import annotations

import tomllib
from math import degrees, radians
from typing import NamedTuple

from scipy.optimize import brentq

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.scaled import LAWS, Factors, main_size, scaled
from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.describe.airframe import Airframe, Corrections, Spar
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.write import toml
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.pilot import Steady
from firstthrow.sim.flight.polar import neutral_point, reference
from firstthrow.sim.flight.speeds import CRUISE, stall_speed
from firstthrow.sim.flight.trims import surface_word, trims
from firstthrow.sim.study.alternatives import move_pack, pack_name
from firstthrow.sim.study.balance import band, has_pitch
from firstthrow.sim.study.ballast import NoBallast, at_place, lump, weighed, with_item
from firstthrow.sim.study.loads import load_limits, main_sheet
from firstthrow.sim.study.servos import loads
from firstthrow.sim.units import from_unit, to_unit

NEAR = 0.002  # of the wanted margin that needs no further ballast
FLOWN = 120.0  # by the steady pilot [s]
PACK_PER_AH, PACK_PER_CELL = 0.0225, 0.010  # kg each cell; two of the example packs, weighed
MOST_THROTTLE = 0.95
MORE_THROWS = 7  # of two degrees, at most
STRONG = 8.0  # load factor, common practice for a slab that is thrown about
TUBES = tuple((0.001 * d, 0.001 * (d - 2)) for d in (6, 8, 10, 12, 14, 16, 20, 25))  # [m]
TUBE_SPAN, TUBE_AFT = 0.8, 0.26  # of span and chord, as in the example slabs


class Answers(NamedTuple):
    """What a builder says of a slab; None: as the sheet size suggests. SI."""

    name: str
    span: float
    chord: float
    thickness: float
    material: str
    kv: float | None = None
    motor_mass: float | None = None
    propeller: tuple[float, float] | None = None
    cells: int | None = None
    capacity: float | None = None
    nose: float | None = None  # propeller disc ahead of the leading edge


class Balanced(NamedTuple):
    airframe: Airframe
    words: str  # what was moved or added
    margin: float
    doubt: str  # why the margin cannot be had; empty when it is


def resized(airframe: Airframe, name: str, by: Factors, about: str) -> Airframe:
    """A known airframe at another size, its masses computed or guessed; not yet balanced."""
    grown = scaled(airframe, by)
    sheets = {
        n: sheet.model_copy(
            update={
                "mass": None,
                "surfaces": {
                    m: s.model_copy(update={"mass": None}) for m, s in sheet.surfaces.items()
                },
            }
        )
        for n, sheet in grown.sheets.items()
    }
    named = grown.model_copy(
        update={
            "name": name,
            "about": about,
            "sheets": sheets,
            "corrections": Corrections(),  # what the other one taught is not known of this
        }
    )
    return as_written(named)


def as_written(airframe: Airframe) -> Airframe:
    """With every value rounded as it stands in a file."""
    return Airframe.model_validate(tomllib.loads(toml(airframe, "", {})))


def factors(airframe: Airframe, span: float, chord: float, thickness: float | None) -> Factors:
    """From a known airframe to a sheet of this span and chord [m]; its thickness grows along
    when none is given. Raises ValueError when no sheet lies flat."""
    was_span, was_chord = main_size(airframe)
    along, across = chord / was_chord, span / was_span
    sheet = main_sheet(airframe)
    thick = (along * across) ** 0.5
    if thickness is not None and sheet is not None:
        thick = thickness / sheet.thickness
    return Factors(along, across, thick)


def drafted(base: Airframe, said: Answers) -> Airframe:
    """A slab from the answers, laid out as `base` is; not yet balanced."""
    by = factors(base, said.span, said.chord, said.thickness)
    about = (
        f"{to_unit(said.span, 'mm'):.0f} x {to_unit(said.chord, 'mm'):.0f} mm slab of "
        f"{to_unit(said.thickness, 'mm'):.3g} mm {said.material}"
    )
    grown = resized(base, said.name, by, about)
    sheets = {n: s.model_copy(update={"material": said.material}) for n, s in grown.sheets.items()}
    return _pack(_drive(grown.model_copy(update={"sheets": sheets}), said), said)


def _drive(airframe: Airframe, said: Answers) -> Airframe:
    """The answers about motor, propeller and nose. A winding for another speed per volt in the
    same motor: resistance goes with 1/kv^2, currents with kv."""
    motors, items = {}, dict(airframe.items)
    for name, motor in airframe.motors.items():
        blade, changed = motor.propeller, {}
        if said.kv is not None:
            more = said.kv / motor.kv
            changed |= {
                "kv": said.kv,
                "resistance": motor.resistance / more**2,
                "limit": motor.limit * more,
                "no_load_current": motor.no_load_current * more,
            }
        if said.propeller is not None:
            turned = said.propeller[0] / blade.size[0]
            changed["propeller"] = blade.model_copy(
                update={
                    "size": said.propeller,
                    "mass": blade.mass * turned**3,
                    "blade_width": blade.blade_width * turned,
                    "blade_thickness": blade.blade_thickness * turned,
                }
            )
        if said.nose is not None:
            items = _nose(items, motor.aft, -said.nose)
            changed["aft"] = -said.nose
        motors[name] = motor.model_copy(update=changed)
    if said.motor_mass is not None and "motor" in items:
        items["motor"] = items["motor"].model_copy(update={"mass": said.motor_mass})
    return airframe.model_copy(update={"motors": motors, "items": items})


def _nose(items: dict, was: float, now: float) -> dict:
    """What sits ahead of the leading edge keeps its share of the nose."""
    share = now / was if was < 0.0 else 1.0
    return {
        n: item.model_copy(update={"aft": item.aft * share}) if item.aft < 0.0 else item
        for n, item in items.items()
    }


def _pack(airframe: Airframe, said: Answers) -> Airframe:
    pack = airframe.pack
    cells, capacity = said.cells or pack.cells, said.capacity or pack.capacity
    if (cells, capacity) == (pack.cells, pack.capacity):
        return airframe
    hours = capacity / 3600.0
    changed = pack.model_copy(
        update={
            "cells": cells,
            "capacity": capacity,
            "resistance": pack.resistance * pack.capacity / capacity,
            "limit": pack.limit * capacity / pack.capacity,
        }
    )
    items = dict(airframe.items)
    if "pack" in items:
        mass = cells * (PACK_PER_AH * hours + PACK_PER_CELL)
        items["pack"] = items["pack"].model_copy(update={"mass": mass})
    return airframe.model_copy(update={"pack": changed, "items": items})


def strengthened(airframe: Airframe) -> tuple[Airframe, str]:
    """With a carbon tube along the main sheet's span where the sheet alone would bear less than
    STRONG times its weight; and words, empty when none is needed."""
    sheet = main_sheet(airframe)
    if sheet is None or sheet.spars or _bears(airframe) >= STRONG:
        return airframe, ""
    name = next(n for n, s in airframe.sheets.items() if s is sheet)
    for outside, inside in TUBES:
        tube = Spar.model_construct(
            material="carbon tube",
            section="tube",
            length=TUBE_SPAN * main_size(airframe)[0],
            outside=outside,
            inside=inside,
            width=0.0,
            right=0.0,
            up=0.0,
            aft=sheet.aft + TUBE_AFT * main_size(airframe)[1],
        )
        stronger = sheet.model_copy(update={"spars": {"tube": tube}})
        found = airframe.model_copy(update={"sheets": {**airframe.sheets, name: stronger}})
        if _bears(found) >= STRONG:
            break
    size = f"{to_unit(outside, 'mm'):.0f} x {to_unit(inside, 'mm'):.0f} mm"
    return as_written(found), f"a carbon tube of {size} let into the {name}"


def _bears(airframe: Airframe) -> float:
    """Load factor at which it folds."""
    limits = load_limits(airframe, build(airframe, STANDARD))
    return limits.load_factor if limits and limits.load_factor else STRONG


def balanced(airframe: Airframe) -> Balanced:
    """With the pack moved, and ballast in the nose where that is not enough, for the margin that
    the file wants. The words tell when it cannot be had."""
    margin, now, words, doubt = airframe.margin, weighed(airframe), [], ""
    if abs(now.margin - margin) > NEAR:
        moved = move_pack(airframe, margin, now, STANDARD)
        if moved is not None:
            airframe, now = moved.changed, moved.after
            way = "aft" if moved.amount > 0.0 else "forward"
            by = to_unit(abs(moved.amount), "mm")
            words.append(f"the {pack_name(airframe)} was moved {by:.0f} mm {way}")
    if abs(now.margin - margin) > NEAR:
        try:
            found = at_place(airframe, margin, "nose", now)
            item = lump(found.mass, found.place).model_copy(update={"known": "guessed"})
            airframe, now = with_item(airframe, "nose_ballast", item), found.after
            words.append(f"{to_unit(found.mass, 'g'):.1f} g of ballast was put at the nose")
        except NoBallast as none:
            doubt = str(none)
    return Balanced(airframe, " and ".join(words) or "it balances as it is", now.margin, doubt)


def set_up(airframe: Airframe, like: Airframe) -> Airframe:
    """Throw, launch throttle and reflex for this airframe, as `like` has them for itself: the
    throw by its stall speed, the throttle by its thrust to weight, the reflex by its trim; and
    pitch throw enough to flare it, if there is such."""
    here, there = build(airframe, STANDARD), build(like, STANDARD)
    slow, was_slow = _slow(here, airframe), _slow(there, like)
    airframe = _thrown(_reflexed(here, airframe, CRUISE * slow))
    launch = airframe.launch
    hand = launch.hand
    if hand is not None:
        speed = round(10.0 * like.launch.hand.speed * slow / was_slow) / 10.0
        throttle = _throttle(here, there, like.launch.hand.throttle)
        hand = hand.model_copy(update={"speed": speed, "throttle": throttle})
    ground = launch.ground
    if ground is not None:
        ground = ground.model_copy(
            update={"throttle": _throttle(here, there, like.launch.ground.throttle)}
        )
    return as_written(
        airframe.model_copy(
            update={"launch": launch.model_copy(update={"hand": hand, "ground": ground})}
        )
    )


def _slow(model: Model, airframe: Airframe) -> float:
    return stall_speed(model, airframe)


def _throttle(here: Model, there: Model, throttle: float) -> float:
    """The throttle, in hundredths, that gives the same thrust to weight standing still."""
    if here.record.n_motors == 0 or there.record.n_motors == 0:
        return throttle
    wanted = equilibrium(there, throttle).thrust * here.record.mass / there.record.mass

    def short(x: float) -> float:
        return equilibrium(here, x).thrust - wanted

    if short(MOST_THROTTLE) <= 0.0:
        return MOST_THROTTLE
    return round(float(brentq(short, 0.05, MOST_THROTTLE, xtol=1e-3)), 2)


def _reflexed(model: Model, airframe: Airframe, speed: float) -> Airframe:
    """Reflex, in half degrees, that holds it level hands off at a speed, for tailless slabs."""
    if surface_word(airframe, PITCHES) != "elevon":
        return airframe
    found = trims(model, airframe, [speed], ("level",))[0]
    if found.reason:
        return airframe
    half = round(2.0 * degrees(-found.elevator)) / 2.0
    mixing = airframe.mixing.model_copy(update={"reflex": radians(half)})
    return airframe.model_copy(update={"mixing": mixing})


def _thrown(airframe: Airframe) -> Airframe:
    """With more pitch throw, two degrees at a time, where what there is could not flare it; as
    it was where that does not help."""
    model = build(airframe, STANDARD)
    _, chord, _ = reference(model)
    tried = airframe
    for _ in range(MORE_THROWS):
        front, _ = band(tried, model, neutral_point(model), chord)
        if front.aft is not None and front.aft < float(model.balance.place[0]):
            return tried
        if not has_pitch(tried):
            break
        high = tried.mixing.high
        high = high.model_copy(update={"pitch": high.pitch + radians(2.0)})
        mixing = tried.mixing.model_copy(update={"high": high})
        tried = tried.model_copy(update={"mixing": mixing})
    return airframe


def figures(airframe: Airframe) -> dict[str, float | None]:
    """What is compared between sizes; SI, units in the keys. Torque: the most in level flight;
    power: from the pack in level flight at the cruise, None without one."""
    model = build(airframe, STANDARD)
    at = weighed(airframe)
    slow = _slow(model, airframe)
    held = loads(model, airframe).surfaces
    level = trims(model, airframe, [CRUISE * slow], ("level",))[0] if airframe.motors else None
    volts = equilibrium(model, level.throttle).pack_voltage if level and not level.reason else None
    span, chord = main_size(airframe)
    return {
        "span_m": span,
        "chord_m": chord,
        "mass_kg": at.mass,
        "wing_loading_kg_m2": at.mass / reference(model)[0],
        "stall_speed_m_s": slow,
        "servo_torque_N_m": max((s.held["level"].torque for s in held), default=None),
        "level_power_W": None if volts is None else level.current * volts,
    }


KEYS = {
    "mass": "mass_kg",
    "wing loading": "wing_loading_kg_m2",
    "stall speed": "stall_speed_m_s",
    "servo torque": "servo_torque_N_m",
    "power": "level_power_W",
}


def compared(before: dict, after: dict, size: float) -> list[dict]:
    """Each figure of both, their ratio, and what Froude's law would have made of it."""
    rows = []
    for what, key in KEYS.items():
        one, other = before[key], after[key]
        ratio = other / one if one and other else None
        rows.append(
            {
                "what": what,
                "key": key,
                "before": one,
                "after": other,
                "ratio": ratio,
                "exponent": LAWS[what],
                "ratio_by_law": size ** LAWS[what],
            }
        )
    return rows


def flown(airframe: Airframe) -> tuple[bool, str]:
    """Whether the steady pilot brings it home, or still flies it after so long; and the outcome
    in words."""
    flight = fly(airframe, STANDARD, Steady(), FLOWN)
    return flight.outcome.word in ("landed", "time-up"), flight.outcome.text


def suggested_thickness(base: Airframe, span: float, chord: float) -> float:
    """Of the sheet, grown with its size, in whole millimetres as boards are sold [m]."""
    by = factors(base, span, chord, None)
    sheet = main_sheet(base)
    return from_unit(max(1.0, round(to_unit(sheet.thickness * by.size, "mm"))), "mm")
