"""Other ways to a wanted static margin than ballast alone, each with what it weighs.

As for ballast, each way changes the description and builds the airframe anew, and the change is
driven until the margin is met, or as far as it goes.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from sim.airframe import Airframe, Outline
from sim.ballast import NoBallast, Weighed, at_place, lump, weighed, with_item
from sim.field import STANDARD, Field
from sim.load_limits import main_sheet
from sim.materials import MATERIALS
from sim.shape import area, corners, edges, pieces, surface_spans
from sim.sticks import PITCHES
from sim.units import to_unit

NOSE_STICK = 0.010**2 * MATERIALS["spruce"].density  # 10 x 10 mm spruce [kg/m]
LIGHTEST = 0.5  # surfaces of half their mass: thinner board, no paper, lighter horns
LONGEST_NOSE = 0.5  # of the mean chord
DEEPEST_CUT = 0.6  # of the chord at the tip
CLEAR = 0.010  # between pack and propeller [m]


class Alternative(NamedTuple):
    """Another way, as far as it goes; `reaches` says whether that is far enough."""

    name: str
    words: str
    change: float  # [m], or a fraction of the mass for the surfaces
    mass_change: float
    reaches: bool
    why_not: str
    after: Weighed


def alternatives(
    airframe: Airframe, margin: float, at: str, field: Field = STANDARD
) -> list[Alternative]:
    """Other ways to a margin, each as far as it goes; `at` is where ballast fills what is left."""
    ways = (move_pack, lighter_surfaces, longer_nose, cut_back)
    found = [way(airframe, margin, field) for way in ways]
    return [_filled(way, airframe, margin, at, field) for way in found if way is not None]


def _filled(
    way: tuple[Alternative, Airframe], airframe: Airframe, margin: float, at: str, field: Field
) -> Alternative:
    """Words for the ballast that is still needed where a way does not go far enough."""
    told, changed = way
    if told.reaches:
        return told
    try:
        rest = at_place(changed, margin, at, field)
    except NoBallast:
        return told
    words = f"{told.words}, with {1000 * rest.mass:.0f} g at the {at.replace('_', ' ')} besides"
    return told._replace(words=words, mass_change=told.mass_change + rest.mass, reaches=True,
                         after=rest.after)  # fmt: skip


def _far_enough(
    airframe: Airframe, margin: float, field: Field, change: Callable[[float], Airframe],
    low: float, high: float,
) -> tuple[float, Airframe, Weighed, bool]:  # fmt: skip
    """How far to change between low and high for a margin; the nearer end if it cannot be."""

    def short(x: float) -> float:
        return weighed(change(x), field).margin - margin

    ends = {x: short(x) for x in (low, high)}
    if ends[low] * ends[high] <= 0.0:
        at, reaches = float(brentq(short, low, high, xtol=1e-6 * (high - low), rtol=1e-6)), True
    else:
        at, reaches = min(ends, key=lambda x: abs(ends[x])), False
    changed = change(at)
    return at, changed, weighed(changed, field), reaches


def pack_name(airframe: Airframe) -> str | None:
    """The item that weighs the pack, by its name."""
    return next((n for n in airframe.items if "pack" in n or "battery" in n), None)


def _milli(value: float) -> str:
    return f"{abs(to_unit(value, 'mm')):.0f} mm"


def move_pack(airframe: Airframe, margin: float, field: Field):
    name = pack_name(airframe)
    if name is None:
        return None
    pack = airframe.items[name]
    now = weighed(airframe, field)

    def moved(by: float) -> Airframe:
        return with_item(airframe, name, pack.model_copy(update={"aft": pack.aft + by}))

    by = now.mass / pack.mass * (now.neutral - margin * now.chord - now.cg)
    after = weighed(moved(by), field)
    way = "forward" if by < 0.0 else "aft"
    half = 0.5 * (pack.length if pack.along == "aft" else 0.0)
    front = min((motor.aft for motor in airframe.motors.values()), default=-np.inf)
    room = pack.aft - half - front - 0.01
    why = ""
    if room > 0.0 and -by > room:
        why = f"there is room for {_milli(room)} only, to the propeller"
    words = f"move the pack {_milli(by)} {way}"
    told = Alternative("move_pack", words, by, 0.0, not why, why, after)
    if why:
        by = -room
        changed = moved(by)
        words = f"move the pack {_milli(by)} forward, up to the propeller"
        told = Alternative("move_pack", words, by, 0.0, False, why, weighed(changed, field))
        return told, changed
    return told, moved(by)


def lighter_surfaces(airframe: Airframe, margin: float, field: Field):
    """The surfaces that pitch it, of thinner or lighter board, down to half their mass."""
    mine = [(s, n) for s, sheet in airframe.sheets.items() for n, surface in sheet.surfaces.items()
            if surface.role in PITCHES]  # fmt: skip
    if not mine:
        return None

    def lightened(share: float) -> Airframe:
        sheets = dict(airframe.sheets)
        for sheet, name in mine:
            surface = sheets[sheet].surfaces[name]
            mass = share * surface_mass(airframe, sheet, name)
            surfaces = {**sheets[sheet].surfaces, name: surface.model_copy(update={"mass": mass})}
            sheets[sheet] = sheets[sheet].model_copy(update={"surfaces": surfaces})
        return airframe.model_copy(update={"sheets": sheets})

    now = weighed(airframe, field)
    share, changed, after, reaches = _far_enough(airframe, margin, field, lightened, LIGHTEST, 1.0)
    if margin < now.margin:
        return None  # lighter ones would only move the balance further from it
    sheet, name = mine[0]
    before = surface_mass(airframe, sheet, name)
    words = (f"{airframe.sheets[sheet].surfaces[name].role}s of {1000 * share * before:.0f} g "
             f"a side instead of {1000 * before:.0f} g")  # fmt: skip
    why = "" if reaches else "less than half their mass is not to be had"
    return Alternative("lighter_surfaces", words, share, after.mass - now.mass, reaches, why,
                       after), changed  # fmt: skip


def surface_mass(airframe: Airframe, sheet: str, name: str) -> float:
    """Of one side [kg], weighed or from the material."""
    surface = airframe.sheets[sheet].surfaces[name]
    if surface.mass is not None:
        return surface.mass
    slot = next(s.slot for s in surface_spans(airframe) if (s.sheet, s.surface) == (sheet, name))
    size = sum(area(p.corners) for p in pieces(airframe) if p.surface == slot)
    thick = surface.thickness or airframe.sheets[sheet].thickness
    return MATERIALS[surface.material or airframe.sheets[sheet].material].density * thick * size


def longer_nose(airframe: Airframe, margin: float, field: Field):
    """All that sits ahead of the leading edge goes further ahead, on a 10 x 10 mm spruce stick."""
    sheet = main_sheet(airframe)
    if sheet is None or not airframe.motors:
        return None
    lead = sheet.aft + float(corners(sheet)[:, 0].min())
    now = weighed(airframe, field)
    longest = LONGEST_NOSE * now.chord

    def ahead(kind):
        return {n: thing.model_copy(update={"aft": thing.aft - shift}) if thing.aft < lead else thing
                for n, thing in kind.items()}  # fmt: skip

    shift = 0.0

    def lengthened(by: float) -> Airframe:
        nonlocal shift
        shift = by
        changed = airframe.model_copy(update={
            "items": ahead(airframe.items), "motors": ahead(airframe.motors),
            "wheels": ahead(airframe.wheels), "skids": ahead(airframe.skids),
        })  # fmt: skip
        stick = lump(max(by, 1e-6) * NOSE_STICK, (lead - 0.5 * by, 0.0, 0.0))
        return with_item(changed, "longer_nose", stick)

    if margin < now.margin:
        return None
    by, changed, after, reaches = _far_enough(airframe, margin, field, lengthened, 0.0, longest)
    words = f"a nose longer by {_milli(by)}, with all that sits on it, on 10 x 10 mm spruce"
    why = "" if reaches else "more than half a chord is no longer a nose"
    return Alternative("longer_nose", words, by, after.mass - now.mass, reaches, why,
                       after), changed  # fmt: skip


def cut_back(airframe: Airframe, margin: float, field: Field):
    """The main sheet's leading edge cut back in a straight line from the centre to the tips."""
    sheet = main_sheet(airframe)
    if sheet is None:
        return None
    name = next(n for n, s in airframe.sheets.items() if s is sheet)
    outline = corners(sheet)
    far = float(outline[:, 1].max())
    lead, trail = edges(outline, far - 1e-6)
    deepest = DEEPEST_CUT * (trail - lead)
    fixed = _fixed_area(airframe, name)

    def cut(by: float) -> Airframe:
        corners_ = tuple((x + by * y / far if _is_front(outline, x, y) else x, y)
                         for x, y in outline.tolist())  # fmt: skip
        shape = Outline.model_construct(chord=None, span=None, height=None, corners=corners_)
        changed = _with_sheet(airframe, name, sheet.model_copy(update={"outline": shape}))
        if sheet.mass is None:
            return changed
        mass = sheet.mass * _fixed_area(changed, name) / fixed
        return _with_sheet(changed, name, changed.sheets[name].model_copy(update={"mass": mass}))

    now = weighed(airframe, field)
    if margin < now.margin:
        return None
    by, changed, after, reaches = _far_enough(airframe, margin, field, cut, 0.0, deepest)
    words = f"cut the leading edge back by {_milli(by)} at the tips, straight from the centre"
    why = "" if reaches else "a deeper cut leaves too little chord at the tips"
    return Alternative("cut_leading_edge", words, by, after.mass - now.mass, reaches, why,
                       after), changed  # fmt: skip


def _with_sheet(airframe: Airframe, name: str, sheet) -> Airframe:
    return airframe.model_copy(update={"sheets": {**airframe.sheets, name: sheet}})


def _is_front(outline: np.ndarray, aft: float, out: float) -> bool:
    """Whether a corner belongs to the leading edge."""
    far = float(outline[:, 1].max())
    lead, trail = edges(outline, min(max(out, 1e-6), far - 1e-6))
    return abs(aft - lead) <= abs(aft - trail)


def _fixed_area(airframe: Airframe, name: str) -> float:
    return sum(area(p.corners) for p in pieces(airframe) if p.sheet == name and p.surface < 0)
