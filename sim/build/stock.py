"""What is sold and what a ruler can lay out: the sizes of a draft brought to what can be bought.

The ranges are those that shops list: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.drive import Controller, Pack
from firstthrow.sim.describe.keys import annotation_of, quantity_kind
from firstthrow.sim.describe.sheets import Sheet, Spar
from firstthrow.sim.units import (
    ANGLE,
    CAPACITY,
    FRACTION,
    LENGTH,
    MASS,
    SPEED_PER_VOLT,
    Kind,
    from_mah,
    from_mm,
    from_unit,
    grams,
    mah,
    mm,
    to_unit,
)

FOAM = (3, 5, 6, 10, 20, 25, 30, 40, 50, 60, 80, 100)
BOARDS: dict[str, Sequence[float]] = {  # thicknesses [mm]
    "foam board": (3, 5, 6, 10, 15, 20),
    "heavy foam board": (3, 5, 10, 15, 20),
    "XPS": FOAM,
    "light XPS": FOAM,
    "thin XPS": (3, 4, 5, 6, 9),
    "EPS": (10, *FOAM[4:]),
    "dense EPS": (10, *FOAM[4:]),
    "EPP": (3, 5, 6, 8, 9, 10, 15, 20, 25, 30, 40, 50),
    "balsa": (0.8, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20),
    "light balsa": (0.8, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20),
    "birch plywood": (0.4, 0.6, 0.8, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12),
    "light plywood": (2, 3, 4, 5, 6),
}
TUBES = tuple((from_mm(d), from_mm(d - 2)) for d in (6, 8, 10, 12, 14, 16, 20, 25))  # [m]
RODS = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12)  # [mm]
WIRES = (0.8, 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6)  # [mm]
WHEELS = (25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 90, 100, 115, 125, 150)  # [mm] across
PACKS = [150, 180, 240, 300, 350, 450, 500, 650, 800, 850, 1000, 1300, 1500, 1800]  # [mAh]
PACKS += [2200, 2600, 3000, 3300, 3700, 4000, 4500, 5000, 6000, 8000, 10000, 12000, 16000, 22000]
CONTROLLERS = (6, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 120, 150, 200)  # [A]
SUPPLIES = (1, 2, 3, 5, 8, 10, 15, 20)  # [A]


def nearest(size: float, sold: Sequence[float]) -> float:
    """The size that is off by the smallest factor."""
    return min(sold, key=lambda one: abs(math.log(max(size, 1e-6) / one)))


def at_least(size: float, sold: Sequence[float]) -> float:
    """The smallest that does, short of it by a twentieth at most; the largest where none does."""
    return next((one for one in sold if one >= 0.95 * size), sold[-1])


def board(material: str, thickness: float) -> float:
    """The thickness [m] in which the material is sold that is nearest; whole millimetres of what
    is not in the list."""
    sold = BOARDS.get(material)
    return from_mm(nearest(mm(thickness), sold) if sold else max(1.0, round(mm(thickness))))


def buyable(airframe: Airframe, like: Airframe, main: str, thickness: float | None) -> Airframe:
    """A scaled airframe with sizes that are sold, and the rest as it can be measured.

    like: what it was scaled from; main: the sheet whose outline stays as it is, with its
    thickness, if that is said. Sheets as thick as the main one was are cut from the same board,
    and what lay against its faces still does.
    """
    was, now = like.sheets[main], airframe.sheets[main]
    thick = thickness or board(now.material, now.thickness)
    sheets: dict[str, Sheet] = {}
    for name, sheet in airframe.sheets.items():
        same = like.sheets[name].thickness == was.thickness and sheet.material == now.material
        cut = handy(sheet).model_copy(
            update={
                "thickness": thick if same else board(sheet.material, sheet.thickness),
                "spars": {n: _spar(spar) for n, spar in sheet.spars.items()},
            }
        )
        before = like.sheets[name].up
        if before and math.isclose(abs(before), was.thickness / 2.0, rel_tol=1e-6):
            cut = cut.model_copy(update={"up": math.copysign(thick / 2.0, before)})
        if name == main:
            cut = cut.model_copy(update={"outline": sheet.outline})
        sheets[name] = cut
    found = airframe.model_copy(
        update={"pack": _pack(airframe.pack), "controller": _controller(airframe.controller)}
    )
    wheels = {
        n: w.model_copy(update={"radius": from_mm(nearest(2.0 * mm(w.radius), WHEELS)) / 2.0})
        for n, w in handy(found).wheels.items()
    }
    found = handy(found).model_copy(update={"sheets": sheets, "wheels": wheels})
    return found.model_copy(
        update={
            part: {n: _wired(contact) for n, contact in getattr(found, part).items()}
            for part in ("wheels", "skids")
        }
    )


def _spar(spar: Spar) -> Spar:
    spar = handy(spar)
    if spar.section == "tube":
        outside = from_mm(nearest(mm(spar.outside), [mm(tube[0]) for tube in TUBES]))
        return spar.model_copy(update={"outside": outside, "inside": outside - from_mm(2.0)})
    return spar.model_copy(update={"outside": from_mm(nearest(mm(spar.outside), RODS))})


def _wired(contact: Any) -> Any:
    if not contact.wire:
        return contact
    return contact.model_copy(update={"wire": from_mm(nearest(mm(contact.wire), WIRES))})


def _pack(pack: Pack) -> Pack:
    capacity = from_mah(nearest(mah(pack.capacity), PACKS))
    more = capacity / pack.capacity
    return pack.model_copy(
        update={
            "capacity": capacity,
            "limit": pack.limit * more,
            "resistance": pack.resistance / more,
        }
    )


def _controller(controller: Controller) -> Controller:
    limit = at_least(controller.limit, CONTROLLERS)
    burst, more = controller.burst, limit / controller.limit
    return controller.model_copy(
        update={
            "limit": float(limit),
            "burst": burst and burst * more,
            "resistance": controller.resistance / more,
            "supply_limit": float(at_least(controller.supply_limit, SUPPLIES)),
        }
    )


def handy(described: Any) -> Any:
    """With figures that a ruler, a scale or a packet has: whole and half millimetres, whole
    grams; two digits of the rest. What is asked for in percent or degrees stays."""
    if isinstance(described, dict):
        return {name: handy(entry) for name, entry in described.items()}
    if isinstance(described, tuple):
        return described
    if not isinstance(described, BaseModel):
        return described
    changed: dict[str, Any] = {}
    for key in type(described).model_fields:
        value = getattr(described, key)
        kind = quantity_kind(annotation_of(type(described), key))
        if isinstance(value, float) and kind is not None:
            changed[key] = _rounded(value, kind, down=key == "outer")
        elif key == "corners" and value is not None:
            changed[key] = tuple((_length(a, False), _length(o, False)) for a, o in value)
        else:
            changed[key] = handy(value)
    return described.model_copy(update=changed)


def _rounded(value: float, kind: Kind, down: bool) -> float:
    if value == 0.0 or kind in (ANGLE, FRACTION, SPEED_PER_VOLT, CAPACITY):
        return value
    if kind is LENGTH:
        return _length(value, down)
    if kind is MASS:
        step = 1.0 if grams(abs(value)) >= 20.0 else 0.1
        return from_unit(step * round(grams(value) / step), "g")
    return from_unit(float(f"{to_unit(value, kind.usual):.2g}"), kind.usual)


def _length(value: float, down: bool) -> float:
    """To a millimetre from 20 mm on, to half of one from 5 mm on, to a tenth below."""
    size = abs(mm(value))
    step = 1.0 if size >= 20.0 else 0.5 if size >= 5.0 else 0.1
    whole = math.floor(mm(value) / step + 1e-9) if down else round(mm(value) / step)
    return from_unit(round(step * whole, 1), "mm")
