"""Other ways to a wanted static margin than ballast alone, each with what it weighs.

As for ballast, each way changes the description and asks the changed airframe, and the change is
driven until the margin is met, or as far as it goes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import area, corners, edges, pieces, surface_spans
from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.describe.sheets import Outline
from firstthrow.sim.study.ballast import CLOSE, SAME, NoBallast, at_place, lump, settle, with_item
from firstthrow.sim.study.loads import main_sheet
from firstthrow.sim.study.places import CLEAR, NEAR, Place, place_words, stretches
from firstthrow.sim.study.subject import Subject

STICK = 0.010  # square, of spruce [m]
NOSE_STICK = STICK**2 * MATERIALS["spruce"].density  # [kg/m]
LIGHTEST = 0.5  # surfaces of half their mass: thinner board, no paper, lighter horns
LONGEST_NOSE = 0.5  # of the mean chord
DEEPEST_CUT = 0.6  # of the chord at the tip
TRIES = 12


class Alternative(NamedTuple):
    """Another way. `reaches` says whether the margin is met; `needs` is the ballast [kg] that
    it still takes, `why_not` what keeps it from doing alone. The mass change has both in."""

    name: str
    words: str
    change: float  # [m], or the share of their mass for surfaces
    needs: float
    mass_change: float
    reaches: bool
    why_not: str
    after: Subject
    place: Place | None = None  # of that ballast


class Change(NamedTuple):
    """How far a way goes by itself."""

    name: str
    words: str
    amount: float
    why_not: str  # empty when the margin is met
    after: Subject


def alternatives(
    now: Subject, margin: float, at: str, names: Iterable[str] = ()
) -> list[Alternative]:
    """The ways that there are, or those of some names; ballast at the named place `at` fills up
    what is left. None where it has that margin."""
    found: list[Alternative] = []
    if abs(now.margin - margin) < SAME:
        return found
    for way, words in WAYS.items():
        if names and words[0] not in names:
            continue
        change = way(now, margin)
        if change:
            found.append(_filled(change, margin, at, now))
        else:
            text = f"{words[1]} would lead away from it, or cannot be done"
            found.append(Alternative(words[0], text, 0.0, 0.0, 0.0, False, "", now))
    return found


def _filled(way: Change, margin: float, at: str, now: Subject) -> Alternative:
    needs, after, reaches, words, place = 0.0, way.after, True, way.words, None
    if way.why_not:
        try:
            rest = at_place(way.after, margin, at)
            needs, after, place = rest.mass, rest.after, rest.place
            words += f", and {now.airframe.units.mass(needs)} at the {at.replace('_', ' ')}, "
            words += place_words(after.airframe, place)
        except NoBallast:
            reaches = False
    return Alternative(
        way.name,
        words,
        way.amount,
        needs,
        after.mass - now.mass,
        reaches,
        way.why_not,
        after,
        place,
    )


def _driven(
    now: Subject, margin: float, change: Callable[[float], Airframe], none: float, most: float
) -> tuple[float, Subject, bool] | None:
    """A change of masses between none and most; all of it when even that is too little.

    None when it leads away from the margin.
    """
    found = settle(now, margin, lambda x: change(none + x), 0.0, most - none)
    if found:
        return none + found[0], found[1], True
    after = now.changed(change(most))
    if (after.margin - now.margin) * (margin - now.margin) <= 0.0:
        return None
    return most, after, False


def _room(airframe: Airframe, aft: float) -> tuple[float, str, float, str]:
    """How far forward and aft there is room for something, and what ends it: the propellers next
    to it, or where nothing bears it."""
    every = list(stretches(airframe))
    bears = [one for one in every if abs(one.right) < NEAR] or every
    ahead, behind = min(one.front for one in bears), max(one.rear for one in bears)
    discs = [motor.aft for motor in airframe.motors.values()]
    front = max((disc + CLEAR for disc in discs if disc < aft), default=None)
    rear = min((disc - CLEAR for disc in discs if disc > aft), default=None)
    return (
        ahead if front is None or front < ahead else front,
        "nose" if front is None or front < ahead else "propeller",
        behind if rear is None or rear > behind else rear,
        "tail" if rear is None or rear > behind else "propeller",
    )


def move_pack(now: Subject, margin: float) -> Change | None:
    """Forward as far as the propeller lets it, or aft as far as something bears it."""
    airframe = now.airframe
    name = airframe.pack_item
    if name is None:
        return None
    pack = airframe.items[name]
    half = 0.5 * pack.length if pack.along == "aft" else 0.0
    front, ahead, rear, behind = _room(airframe, pack.aft)
    if margin > now.margin:
        most, where = min(0.0, front + half - pack.aft), f"forward, up to the {ahead}"
    else:
        most, where = max(0.0, rear - half - pack.aft), f"aft, up to the {behind}"
    if abs(most) < 1e-3:
        return None

    def moved(by: float) -> Airframe:
        return put(airframe, ("items", name, "aft"), pack.aft + by)

    found = _driven(now, margin, moved, 0.0, most)
    if found is None:
        return None
    by, after, enough = found
    far = airframe.units.length(abs(by))
    words = f"move the {name} {far} {where.split(',')[0] if enough else where}"
    why = "" if enough else f"it has room for {airframe.units.length(abs(most))} only"
    return Change("move_pack", words, by, why, after)


def surface_mass(airframe: Airframe, sheet: str, name: str) -> float:
    """Of one side of a surface [kg], weighed or from the material."""
    surface = airframe.sheets[sheet].surfaces[name]
    if surface.mass is not None:
        return surface.mass
    slot = next(s.slot for s in surface_spans(airframe) if (s.sheet, s.surface) == (sheet, name))
    size = sum(area(p.corners) for p in pieces(airframe) if p.surface == slot)
    thick = surface.thickness or airframe.sheets[sheet].thickness
    return MATERIALS[surface.material or airframe.sheets[sheet].material].density * thick * size


def lighter_surfaces(now: Subject, margin: float) -> Change | None:
    """The surfaces that pitch it, of thinner or lighter board, down to half their mass."""
    airframe = now.airframe
    mine = [
        (s, n)
        for s, sheet in airframe.sheets.items()
        for n, surface in sheet.surfaces.items()
        if surface.role in PITCHES
    ]
    if not mine:
        return None

    def lightened(share: float) -> Airframe:
        changed = airframe
        for sheet, name in mine:
            mass = share * surface_mass(airframe, sheet, name)
            changed = put(changed, ("sheets", sheet, "surfaces", name, "mass"), mass)
        return changed

    found = _driven(now, margin, lightened, 1.0, LIGHTEST)
    if found is None:
        return None
    share, after, enough = found
    sheet, name = mine[0]
    before, u = surface_mass(airframe, sheet, name), airframe.units
    words = (
        f"{airframe.sheets[sheet].surfaces[name].role}s of {u.mass(share * before, 1)} "
        f"a side instead of {u.mass(before, 1)}"
    )
    why = "" if enough else "less than half their mass is not to be had"
    return Change("lighter_surfaces", words, share, why, after)


def longer_nose(now: Subject, margin: float) -> Change | None:
    """All that sits ahead of the leading edge goes further ahead, on a 10 x 10 mm spruce stick."""
    airframe = now.airframe
    sheet = main_sheet(airframe)
    if sheet is None or not airframe.motors:
        return None
    lead = sheet.aft + float(corners(sheet)[:, 0].min())

    def lengthened(by: float) -> Airframe:
        def ahead(kind: dict) -> dict:
            return {
                name: thing.model_copy(update={"aft": thing.aft - by * (thing.aft < lead)})
                for name, thing in kind.items()
            }

        kinds = ("items", "motors", "wheels", "skids")
        changed = airframe.model_copy(update={k: ahead(getattr(airframe, k)) for k in kinds})
        return with_item(changed, "longer_nose", lump(by * NOSE_STICK, (lead - 0.5 * by, 0, 0)))

    found = _driven(now, margin, lengthened, 0.0, LONGEST_NOSE * now.chord)
    if found is None:
        return None
    by, after, enough = found
    u = airframe.units
    stick = f"{u.bare_length(STICK)} x {u.length(STICK)} spruce"
    words = f"a nose longer by {u.length(abs(by))} on {stick}, with all that sits on it"
    why = "" if enough else "a nose longer by more than half a chord would be in the way"
    return Change("longer_nose", words, by, why, after)


def cut_back(now: Subject, margin: float) -> Change | None:
    """The main sheet's leading edge cut back in a straight line from the centre to the tips.

    The neutral point, the mean chord and the mass of the sheet change with it.
    """
    airframe = now.airframe
    sheet = main_sheet(airframe)
    if sheet is None or margin <= now.margin:
        return None
    name = next(n for n, s in airframe.sheets.items() if s is sheet)
    outline = corners(sheet)
    far = float(outline[:, 1].max())
    lead, trail = edges(outline, far - 1e-6)
    fixed = _fixed_area(airframe, name)

    def cut(by: float) -> Airframe:
        corners_ = tuple(
            (x + by * y / far if _is_front(outline, x, y) else x, y) for x, y in outline.tolist()
        )
        shape = Outline.model_construct(chord=None, span=None, height=None, corners=corners_)
        changed = put(airframe, ("sheets", name, "outline"), shape)
        if sheet.mass is None:
            return changed
        mass = sheet.mass * _fixed_area(changed, name) / fixed
        return put(changed, ("sheets", name, "mass"), mass)

    by, after = _cut_until(cut, margin, now, DEEPEST_CUT * (trail - lead))
    enough = abs(after.margin - margin) < 10.0 * CLOSE
    deep = airframe.units.length(by)
    words = f"cut the leading edge back by {deep} at the tips, straight from the centre"
    why = "" if enough else "a deeper cut leaves too little chord at the tips"
    return Change("cut_leading_edge", words, by, why, after)


def _cut_until(
    cut: Callable[[float], Airframe], margin: float, now: Subject, deepest: float
) -> tuple[float, Subject]:
    """Regula falsi, Illinois form (Dowell and Jarratt, BIT 11, 1971): each look is a new build."""
    low, high, short = 0.0, deepest, now.margin - margin
    after = now.changed(cut(high))
    over, last = after.margin - margin, 0
    if over < 0.0:
        return high, after
    by = high
    for _ in range(TRIES):
        by = (low * over - high * short) / (over - short)
        after = now.changed(cut(by))
        off = after.margin - margin
        if abs(off) < 10.0 * CLOSE:
            break
        if off < 0.0:
            low, short, over = by, off, over * (0.5 if last < 0 else 1.0)
        else:
            high, over, short = by, off, short * (0.5 if last > 0 else 1.0)
        last = -1 if off < 0.0 else 1
    return by, after


def _is_front(outline: np.ndarray, aft: float, out: float) -> bool:
    """Whether a corner belongs to the leading edge."""
    far = float(outline[:, 1].max())
    lead, trail = edges(outline, min(max(out, 1e-6), far - 1e-6))
    return abs(aft - lead) <= abs(aft - trail)


def _fixed_area(airframe: Airframe, name: str) -> float:
    return sum(area(p.corners) for p in pieces(airframe) if p.sheet == name and p.surface < 0)


WAYS = {
    move_pack: ("move_pack", "moving the pack"),
    lighter_surfaces: ("lighter_surfaces", "lighter elevons or elevators"),
    longer_nose: ("longer_nose", "a longer nose"),
    cut_back: ("cut_leading_edge", "cutting the leading edge back"),
}
NAMES = tuple(name for name, _ in WAYS.values())
