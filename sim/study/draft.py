"""A first airframe file from a few answers, or from a known one at another sheet size.

Every mass in it is a guess until the builder has weighed the part. It is made ready to fly and
judged in `fit_out`.
"""

from __future__ import annotations

import tomllib
from typing import NamedTuple

from firstthrow.sim.build.scaled import Factors, main_size, scaled
from firstthrow.sim.build.shape import main_name
from firstthrow.sim.build.stock import board, buyable
from firstthrow.sim.describe.airframe import Airframe, Corrections
from firstthrow.sim.describe.config import checked
from firstthrow.sim.describe.drive import Propeller
from firstthrow.sim.describe.write import toml
from firstthrow.sim.study.loads import main_sheet
from firstthrow.sim.units import amp_hours, mm

PACK_PER_AH, PACK_PER_CELL = 0.0225, 0.010  # kg each cell; two of the example packs, weighed


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
    bow: float = 0.0  # of the main board, hollow side up
    twist: float = 0.0  # of its right tip against the left, nose up
    nose: float | None = None  # propeller disc ahead of the leading edge


def resized(
    airframe: Airframe,
    name: str,
    by: Factors,
    about: str,
    thickness: float | None = None,
    material: str | None = None,
) -> Airframe:
    """A known airframe at another size, of what is sold, its masses computed or guessed; not yet
    balanced. The main sheet's thickness and the material of all sheets, where they are said."""
    grown = scaled(airframe, by)
    if material is not None:
        cut = {n: s.model_copy(update={"material": material}) for n, s in grown.sheets.items()}
        grown = grown.model_copy(update={"sheets": cut})
    main = main_name(grown)
    if main is not None:
        grown = buyable(grown, airframe, main, thickness)
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
    """With every value rounded as it stands in a file. Raises ConfigError where none may say it."""
    return checked(Airframe, tomllib.loads(toml(airframe, "", {})))


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
    u = base.units
    thick = u.length(said.thickness, int(round(mm(said.thickness), 1) % 1.0 > 0.0))
    about = f"{u.bare_length(said.span)} x {u.length(said.chord)} slab of {thick} {said.material}"
    grown = resized(base, said.name, by, about, said.thickness, said.material)
    sheets = dict(grown.sheets)
    main = main_name(grown)
    if main is not None and said.bow:
        sheets[main] = sheets[main].model_copy(update={"bow": said.bow})
    if main is not None and said.twist:
        tips = {"twist_left": -0.5 * said.twist, "twist_right": 0.5 * said.twist}
        sheets[main] = sheets[main].model_copy(update=tips)
    return as_written(_pack(_drive(grown.model_copy(update={"sheets": sheets}), said), said))


def _drive(airframe: Airframe, said: Answers) -> Airframe:
    """The answers about motor, propeller and nose. A winding for another speed per volt in the
    same motor: resistance goes with 1/kv^2, currents with kv."""
    motors, items = {}, dict(airframe.items)
    for name, motor in airframe.motors.items():
        blade = motor.propeller
        changed: dict[str, float | Propeller] = {}
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
    hours = amp_hours(capacity)
    changed = pack.model_copy(
        update={
            "cells": cells,
            "capacity": capacity,
            "resistance": pack.resistance * pack.capacity / capacity,
            "limit": pack.limit * capacity / pack.capacity,
        }
    )
    items = dict(airframe.items)
    name = airframe.pack_item
    if name is not None:
        mass = cells * (PACK_PER_AH * hours + PACK_PER_CELL)
        items[name] = items[name].model_copy(update={"mass": mass})
    return airframe.model_copy(update={"pack": changed, "items": items})


def suggested_thickness(base: Airframe, span: float, chord: float, material: str) -> float:
    """Of the sheet, grown with its size, as boards of the material are sold [m].
    Raises ValueError when the airframe has no main sheet."""
    by = factors(base, span, chord, None)
    sheet = main_sheet(base)
    if sheet is None:
        raise ValueError(f"{base.name} has no flat sheet with a left and a right half")
    return board(material, sheet.thickness * by.size)
