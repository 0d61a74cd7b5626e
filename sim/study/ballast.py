"""Ballast for a wanted static margin, at a place or along an edge.

Every answer is found by changing the description and asking the changed airframe, so that neutral
point, mean chord, mass and stall speed are its own.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import corners, edges
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.kernels.root import crossing
from firstthrow.sim.study.loads import main_sheet
from firstthrow.sim.study.places import holds, is_clear, mount, nose, tail
from firstthrow.sim.study.subject import Subject

NAME, OWN = "added_ballast", "ballast"  # items: what is added, and what a file has
CLOSE = 1e-5  # of the margin
SAME = 5e-4  # of the margin, told to a tenth of a percent: nothing is changed for less
HEAVIEST = 3.0  # ballast over the airframe's own mass, beyond which nobody would go
ROD_DIAMETER = 0.004  # of a steel rod along an edge [m]
ROD = 0.25 * np.pi * ROD_DIAMETER**2 * MATERIALS["steel wire"].density  # [kg/m]


class Ballast(NamedTuple):
    """What to add (or, below zero, to take off); `length` and `layers` along an edge."""

    mass: float
    place: tuple[float, float, float]
    where: str
    length: float | None
    layers: int | None
    after: Subject


class NoBallast(Exception):
    """There is no such ballast; the text says why."""


class NoSuchPlace(Exception):
    """A place that the airframe does not have; the text lists those it has."""


def margin_with(airframe: Airframe, like: Subject) -> float:
    """Static margin of an airframe of the same planform as `like`: only its masses differ."""
    return (like.neutral_point - float(balance(parts(airframe)).place[0])) / like.chord


def settle(
    now: Subject, margin: float, change: Callable[[float], Airframe], low: float, high: float
) -> tuple[float, Subject] | None:
    """The least change (of masses and places only) between low and high that gives a margin, and
    the airframe so changed.

    Found with the planform's neutral point, then held against that of the changed airframe, which
    shifts a little as the balance moves up and down. None when no change does.
    """
    like = now
    steps = sorted(np.linspace(low, high, 9), key=abs)
    for _ in range(5):
        off = {x: margin_with(change(x), like) - margin for x in steps}
        ends = next(((x, y) for x, y in pairwise(steps) if off[x] * off[y] <= 0.0), None)
        if ends is None:
            return None
        found = crossing(lambda x: margin_with(change(x), like) - margin, *ends, 1e-9)  # noqa: B023
        like = now.changed(change(found))
        if abs(like.margin - margin) < CLOSE:
            return found, like
    return None


def places(airframe: Airframe) -> dict[str, tuple[float, float, float]]:
    """Named places for ballast: the nose and the tail, a motor's mount by its name, every item,
    wheel and skid that does not lie in a propeller's disc or in a motor."""
    found = {"nose": nose(airframe), "tail": tail(airframe)}
    found |= {name: mount(airframe, name) for name in airframe.motors}
    for kind in (airframe.items, airframe.wheels, airframe.skids):
        for name, at in kind.items():
            right = 0.0 if getattr(at, "mirrored", False) else at.right
            if is_clear(airframe, (at.aft, right, at.up)):
                found.setdefault(name, (at.aft, right, at.up))
    return found


def place(airframe: Airframe, name: str) -> tuple[float, float, float]:
    """A named place. Raises NoSuchPlace."""
    known = places(airframe)
    if name not in known:
        raise NoSuchPlace(f"'{name}': no such place; choose from {', '.join(sorted(known))}")
    return known[name]


def usual_place(now: Subject, margin: float) -> str:
    """Where ballast goes when nothing is said: to the ballast that is there, if something holds it
    and it lies on the side that helps or taking it off is enough; else to the end that helps."""
    airframe, more = now.airframe, margin > now.margin
    own = airframe.items.get(OWN)
    if own is not None and holds(airframe, (own.aft, own.right, own.up)):
        without = with_item(airframe, OWN, own.model_copy(update={"mass": 0.0}))
        left = margin_with(without, now) - margin
        if more == (own.aft < now.cg) or left * (now.margin - margin) <= 0.0:
            return OWN
    return "nose" if more else "tail"


def with_item(airframe: Airframe, name: str, item: Item) -> Airframe:
    return airframe.model_copy(update={"items": {**airframe.items, name: item}})


def lump(mass: float, at, **shape) -> Item:
    aft, right, up = at
    return Item.model_construct(
        aft=aft,
        right=right,
        up=up,
        mass=mass,
        known="measured",
        mass_spread=None,
        place_spread=None,
        **{"shape": "point", "length": 0.0, "width": 0.0, "height": 0.0, "along": "aft", **shape},
    )


def at_place(now: Subject, margin: float, name: str) -> Ballast:
    """Ballast at a named place for a static margin.

    Where ballast sits already the answer may be to take some off.
    Raises NoBallast, NoSuchPlace.
    """
    airframe = now.airframe
    at = place(airframe, name)
    held = airframe.items.get(name)
    loose = held.mass if held is not None and "ballast" in name else 0.0

    added = NAME if NAME not in airframe.items else f"{NAME}_at_the_{name}"

    def change(mass: float) -> Airframe:
        return with_item(airframe, added, lump(mass, at))

    mass, after = _mass(now, margin, change, f"the {name.replace('_', ' ')}", loose)
    return Ballast(mass, at, name, None, None, after)


def _mass(
    now: Subject, margin: float, change: Callable[[float], Airframe], where: str, loose: float
) -> tuple[float, Subject]:
    if abs(now.margin - margin) < SAME:
        return 0.0, now
    for end in (HEAVIEST * now.mass, -loose):
        found = settle(now, margin, change, 0.0, end) if end else None
        if found:
            return found
    units = now.airframe.units
    most = margin_with(change(HEAVIEST * now.mass), now)
    if (most - now.margin) * (margin - now.margin) <= 0.0:
        less = f", and taking off its {units.mass(loose)} is not enough" if loose else ""
        raise NoBallast(
            f"{where} is on the wrong side: ballast there makes the margin "
            f"{'larger' if most > now.margin else 'smaller'}, and it is "
            f"{100 * now.margin:.1f} % already{less}"
        )
    raise NoBallast(
        f"{units.mass(HEAVIEST * now.mass)} at {where} still give a margin of "
        f"{100 * most:.1f} % only"
    )


def _edge(airframe: Airframe, edge: str) -> tuple[str, float, float, Callable[[float], tuple]]:
    """Words for an edge of the main sheet, how far out it goes, its length tip to tip, its place
    at a station."""
    sheet = main_sheet(airframe)
    if edge not in ("leading", "trailing"):
        raise NoSuchPlace(f"'{edge}': no such edge; choose from leading, trailing")
    if sheet is None:
        raise NoSuchPlace("there is no flat sheet whose edge could take ballast")
    outline = corners(sheet)
    far = float(outline[:, 1].max())
    end = 0 if edge == "leading" else 1

    def at(out: float) -> tuple[float, float]:
        """Aft and up of the edge [m]."""
        aft = edges(outline, min(max(out, 1e-6), far - 1e-6))[end]
        return (
            sheet.aft + aft * np.cos(sheet.incidence),
            sheet.up + out * np.sin(sheet.dihedral) - aft * np.sin(sheet.incidence),
        )

    stations = np.linspace(0.0, far, 41)
    steps = np.diff([(*at(y), y) for y in stations], axis=0)
    return f"{edge} edge", far, 2.0 * float(np.linalg.norm(steps, axis=1).sum()), at


def along_edge(now: Subject, margin: float, edge: str, per_length: float = ROD) -> Ballast:
    """A strip or rod of a mass per length [kg/m] along an edge of the main sheet, laid from the
    centreline to both sides; more than the edge takes is laid in layers.

    Raises NoBallast, NoSuchPlace.
    """
    airframe = now.airframe
    words, far, longest, at = _edge(airframe, edge)

    def laid(mass: float) -> tuple[float, int, tuple[float, float], float]:
        """Length, layers, place of the middle (aft, up), reach either side."""
        length = mass / per_length
        layers = max(1, int(np.ceil(length / longest - 1e-9)))
        reach = far * length / layers / longest
        stations = np.linspace(0.0, max(reach, 1e-6), 21)
        middle = np.mean([at(y) for y in 0.5 * (stations[1:] + stations[:-1])], axis=0)
        return float(length), layers, (float(middle[0]), float(middle[1])), float(reach)

    def change(mass: float) -> Airframe:
        _, _, (aft, up), reach = laid(mass)
        rod = lump(mass, (aft, 0.0, up), shape="rod", along="right", length=2.0 * reach)
        return with_item(airframe, NAME, rod)

    mass, after = _mass(now, margin, change, f"the {words}", 0.0)
    length, layers, (aft, up), _ = laid(mass)
    return Ballast(mass, (aft, 0.0, up), words, length, layers, after)
