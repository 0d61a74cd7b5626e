"""A drafted slab cut to an outline out of a drawing."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.shape import edges, is_mirrored, main_name
from firstthrow.sim.build.stock import handy
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.drawing.outline import Outline
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.describe.sheets import Outline as SheetOutline
from firstthrow.sim.describe.sheets import Sheet, Surface
from firstthrow.sim.units import from_mm, mm

LEFT_AHEAD = 1.3  # chord of the sheet over that of a surface which no hinge line bounds


def cut_out(airframe: Airframe, drawn: Outline) -> Airframe:
    """With the main sheet's outline and surfaces as drawn; the holes' foam is off its mass.

    Without a hinge line the surfaces of the draft stay, as far out as the sheet is deep enough.
    What stands on the centreline keeps its distance from the trailing edge there.
    """
    main = main_name(airframe)
    if main is None or not is_mirrored(airframe.sheets[main]):
        raise ValueError(f"{airframe.name} has no flat sheet with a left and a right half")
    sheet = airframe.sheets[main]
    corners = np.round(mm(drawn.corners), 1)
    outline = SheetOutline.model_construct(
        chord=None,
        span=None,
        height=None,
        corners=tuple((from_mm(float(a)), from_mm(float(o))) for a, o in corners),
    )
    surfaces = _surfaces(sheet, drawn)
    cut = sheet.model_copy(update={"outline": outline, "surfaces": surfaces})
    cut = cut.model_copy(update={"mass": _mass(cut, drawn) if drawn.holes else None})
    back = edges(drawn.corners, from_mm(0.1))[1] - drawn.chord
    others = {
        name: other.model_copy(update={"aft": other.aft + back})
        for name, other in airframe.sheets.items()
        if other.stance == "upright"
    }
    return airframe.model_copy(update={"sheets": {**airframe.sheets, **handy(others), main: cut}})


def _surfaces(sheet: Sheet, drawn: Outline) -> dict[str, Surface]:
    like = next(iter(sheet.surfaces.items()), None)
    if like is None:
        return {}
    name, surface = like
    if not drawn.hinges:
        return {n: _bounded(s, drawn) for n, s in sheet.surfaces.items()}
    return {
        name if k == 0 else f"{name}_{k + 1}": handy(
            surface.model_copy(
                update={"chord": hinge.chord, "inner": hinge.inner, "outer": hinge.outer}
            )
        )
        for k, hinge in enumerate(drawn.hinges)
    }


def _bounded(surface: Surface, drawn: Outline) -> Surface:
    """As far out as the sheet is deep enough for it."""
    outs = np.linspace(surface.inner, surface.outer, 60)
    deep = []
    for out in outs:
        front, rear = edges(drawn.corners, min(float(out), 0.4999 * drawn.span))
        if rear - front < LEFT_AHEAD * surface.chord:
            break
        deep.append(float(out))
    outer = deep[-1] if len(deep) > 1 else surface.outer
    return handy(surface.model_copy(update={"outer": outer}))


def _mass(sheet: Sheet, drawn: Outline) -> float:
    """Of the foam that is left, without holes and surfaces [kg]."""
    moved = sum(s.chord * (s.outer - s.inner) for s in sheet.surfaces.values())
    left = drawn.area - 2.0 * (sum(drawn.holes) + moved)
    return MATERIALS[sheet.material].density * sheet.thickness * left
