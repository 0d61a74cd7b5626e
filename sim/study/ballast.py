"""Ballast for a wanted static margin, at a place or along an edge.

Every answer is found by changing the description, building the airframe anew and weighing it,
so that its neutral point, mean chord, mass and stall speed are those of the changed airframe.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from firstthrow.sim.build.model import build
from firstthrow.sim.build.shape import corners, edges, pieces
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.speeds import stall_speed
from firstthrow.sim.study.loads import main_sheet

NAME = "added_ballast"
CLOSE = 1e-5  # of the margin
HEAVIEST = 3.0  # ballast over the airframe's own mass, beyond which nobody would go
ROD = 0.25 * np.pi * 0.004**2 * MATERIALS["steel wire"].density  # 4 mm steel rod [kg/m]
ROD_NAME = "4 mm steel rod"


class Weighed(NamedTuple):
    """A changed airframe, built anew."""

    mass: float
    cg: float  # aft of the datum [m]
    neutral: float
    chord: float
    margin: float  # fraction of the mean chord
    stall_speed: float


class Ballast(NamedTuple):
    """What to add (or, below zero, to take off); `length` and `layers` along an edge."""

    mass: float
    place: tuple[float, float, float]
    where: str
    length: float | None
    layers: int | None
    after: Weighed


class NoBallast(Exception):
    """There is no such ballast; the text says why."""


class NoSuchPlace(Exception):
    """A place that the airframe does not have; the text lists those it has."""


def weighed(airframe: Airframe, field: Field = STANDARD) -> Weighed:
    model = build(airframe, field)
    _, chord, _ = polar.reference(model)
    neutral, cg = polar.neutral_point(model), float(model.balance.place[0])
    return Weighed(
        float(model.balance.mass),
        cg,
        neutral,
        chord,
        (neutral - cg) / chord,
        stall_speed(model, airframe),
    )


def rebalanced(airframe: Airframe, like: Weighed) -> float:
    """Static margin of an airframe of the same planform as `like`: only its masses differ."""
    return (like.neutral - float(balance(parts(airframe)).place[0])) / like.chord


def settle(
    now: Weighed,
    margin: float,
    change: Callable[[float], Airframe],
    low: float,
    high: float,
    field: Field = STANDARD,
) -> tuple[float, Airframe, Weighed] | None:
    """The least change (of masses and places only) between low and high that gives a margin.

    Found with the planform's neutral point, then held against the airframe built anew, whose
    neutral point shifts a little as the balance moves up and down. None when no change does.
    """
    like = now
    steps = sorted(np.linspace(low, high, 9), key=abs)
    for _ in range(5):
        off = {x: rebalanced(change(x), like) - margin for x in steps}
        ends = next(((x, y) for x, y in pairwise(steps) if off[x] * off[y] <= 0.0), None)
        if ends is None:
            return None
        found = float(brentq(lambda x: rebalanced(change(x), like) - margin, *ends, xtol=1e-9))  # noqa: B023
        changed = change(found)
        like = weighed(changed, field)
        if abs(like.margin - margin) < CLOSE:
            return found, changed, like
    return None


def places(airframe: Airframe) -> dict[str, tuple[float, float, float]]:
    """Named places for ballast: the nose and the tail, every item, wheel and skid."""
    sheets = np.concatenate([piece.corners for piece in pieces(airframe)])
    ahead = [
        (item.aft - 0.5 * (item.length if item.along == "aft" else 0.0), item.up)
        for item in airframe.items.values()
    ]
    nose = min([*ahead, (float(sheets[:, 0].min()), 0.0)])
    found = {"nose": (nose[0], 0.0, nose[1]), "tail": (float(sheets[:, 0].max()), 0.0, 0.0)}
    for kind in (airframe.items, airframe.motors, airframe.wheels, airframe.skids):
        for name, at in kind.items():
            right = 0.0 if getattr(at, "mirrored", False) else at.right
            found.setdefault(name, (at.aft, right, at.up))
    return found


def place(airframe: Airframe, name: str) -> tuple[float, float, float]:
    """A named place. Raises NoSuchPlace."""
    known = places(airframe)
    if name not in known:
        raise NoSuchPlace(f"'{name}': no such place; choose from {', '.join(sorted(known))}")
    return known[name]


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


def at_place(
    airframe: Airframe, margin: float, name: str, now: Weighed, field: Field = STANDARD
) -> Ballast:
    """Ballast at a named place for a static margin; `now` is the airframe as it is.

    Where ballast sits already the answer may be to take some off.
    Raises NoBallast, NoSuchPlace.
    """
    at = place(airframe, name)
    held = airframe.items.get(name)
    loose = held.mass if held is not None and "ballast" in name else 0.0

    def change(mass: float) -> Airframe:
        return with_item(airframe, NAME, lump(mass, at))

    mass, after = _mass(now, margin, change, f"the {name.replace('_', ' ')}", loose, field)
    return Ballast(mass, at, name, None, None, after)


def _mass(
    now: Weighed,
    margin: float,
    change: Callable[[float], Airframe],
    where: str,
    loose: float,
    field: Field,
) -> tuple[float, Weighed]:
    if abs(now.margin - margin) < CLOSE:
        return 0.0, now
    for end in (HEAVIEST * now.mass, -loose):
        found = settle(now, margin, change, 0.0, end, field) if end else None
        if found:
            return found[0], found[2]
    most = rebalanced(change(HEAVIEST * now.mass), now)
    if (most - now.margin) * (margin - now.margin) <= 0.0:
        less = f", and taking off its {1000 * loose:.0f} g is not enough" if loose else ""
        raise NoBallast(
            f"{where} is on the wrong side: ballast there makes the margin "
            f"{'larger' if most > now.margin else 'smaller'}, and it is "
            f"{100 * now.margin:.1f} % already{less}"
        )
    raise NoBallast(
        f"{1000 * HEAVIEST * now.mass:.0f} g at {where} still give a margin of "
        f"{100 * most:.1f} % only"
    )


def _edge(airframe: Airframe, edge: str) -> tuple[str, float, Callable[[float], tuple]]:
    """Words for an edge of the main sheet, its length tip to tip, its place at a station."""
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
    return f"{edge} edge", 2.0 * float(np.linalg.norm(steps, axis=1).sum()), at


def along_edge(
    airframe: Airframe,
    margin: float,
    edge: str,
    now: Weighed,
    per_length: float = ROD,
    field: Field = STANDARD,
) -> Ballast:
    """A strip or rod of a mass per length [kg/m] along an edge of the main sheet, laid from the
    centreline to both sides; more than the edge takes is laid in layers.

    Raises NoBallast, NoSuchPlace.
    """
    words, longest, at = _edge(airframe, edge)
    far = float(corners(main_sheet(airframe))[:, 1].max())

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

    mass, after = _mass(now, margin, change, f"the {words}", 0.0, field)
    length, layers, (aft, up), _ = laid(mass)
    return Ballast(mass, (aft, 0.0, up), words, length, layers, after)
