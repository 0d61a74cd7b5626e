"""Ballast for a wanted static margin, at a place or along an edge.

Every answer is found by changing the description, building the airframe anew and weighing it,
so that its neutral point, mean chord, mass and stall speed are those of the changed airframe.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from sim import polar
from sim.airframe import Airframe, Item
from sim.field import STANDARD, Field
from sim.load_limits import main_sheet
from sim.materials import MATERIALS
from sim.model import build
from sim.shape import corners, edges, pieces

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
    return Weighed(float(model.balance.mass), cg, neutral, chord, (neutral - cg) / chord,
                   polar.stall_speed(model))  # fmt: skip


def places(airframe: Airframe) -> dict[str, tuple[float, float, float]]:
    """Named places for ballast: every item, wheel and skid, the nose and the tail."""
    found = {}
    for name, at in {**airframe.items, **airframe.motors, **airframe.wheels,
                     **airframe.skids}.items():  # fmt: skip
        right = 0.0 if getattr(at, "mirrored", False) else at.right
        found.setdefault(name, (at.aft, right, at.up))
    sheets = np.concatenate([piece.corners for piece in pieces(airframe)])
    ahead = [
        (item.aft - 0.5 * (item.length if item.along == "aft" else 0.0), item.up)
        for item in airframe.items.values()
    ]
    nose = min([*ahead, (float(sheets[:, 0].min()), 0.0)])
    found.setdefault("nose", (nose[0], 0.0, nose[1]))
    found.setdefault("tail", (float(sheets[:, 0].max()), 0.0, 0.0))
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
        aft=aft, right=right, up=up, mass=mass, known="measured", mass_spread=None,
        place_spread=None, **{"shape": "point", "length": 0.0, "width": 0.0, "height": 0.0,
                              "along": "aft", **shape},
    )  # fmt: skip


def loaded(airframe: Airframe, mass: float, at) -> Airframe:
    """With a lump of ballast; a mass below zero takes weight off there."""
    return with_item(airframe, NAME, lump(mass, at))


def at_place(
    airframe: Airframe, margin: float, name: str, field: Field = STANDARD
) -> Ballast:
    """Ballast at a named place for a static margin. Raises NoBallast, NoSuchPlace."""
    at = place(airframe, name)
    held = airframe.items.get(name)
    loose = held.mass if held is not None and "ballast" in name else 0.0
    mass, after = _solve(
        airframe, margin, lambda m: loaded(airframe, m, at), at[0], f"the {name}", loose, field
    )
    return Ballast(mass, at, name, None, None, after)


def _solve(
    airframe: Airframe, margin: float, change: Callable[[float], Airframe], at: float,
    where: str, loose: float, field: Field,
) -> tuple[float, Weighed]:  # fmt: skip
    """The mass for a margin: the lever rule, then corrected on the airframe built anew."""
    now = weighed(airframe, field)
    mass = 0.0
    for _ in range(8):
        after = weighed(change(mass), field) if mass else now
        if abs(after.margin - margin) < CLOSE:
            return mass, after
        target = after.neutral - margin * after.chord
        lever = target - at
        if abs(lever) < 1e-6:
            raise NoBallast(f"{where} lies where the balance should be: ballast does nothing there")
        mass += after.mass * (after.cg - target) / lever
        _refuse(mass, loose, lever, where, now)
    raise NoBallast(f"no ballast at {where} settles on a margin of {100 * margin:.0f} %")


def _refuse(mass: float, loose: float, lever: float, where: str, now: Weighed) -> None:
    if mass < -loose - 1e-9:
        side = "behind" if lever < 0.0 else "ahead of"
        less = f", and taking the {1000 * loose:.0f} g off is not enough" if loose else ""
        raise NoBallast(
            f"{where} is on the wrong side: it lies {side} the wanted balance and the static "
            f"margin is {100 * now.margin:.1f} % without ballast{less}"
        )
    if mass > HEAVIEST * now.mass:
        raise NoBallast(f"it would take more than {1000 * HEAVIEST * now.mass:.0f} g at {where}")


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
    airframe: Airframe, margin: float, edge: str, per_length: float = ROD, field: Field = STANDARD
) -> Ballast:
    """A strip or rod of a mass per length [kg/m] along an edge of the main sheet, laid from the
    centreline to both sides; more than the edge takes is laid in layers.

    Raises NoBallast, NoSuchPlace.
    """
    words, longest, at = _edge(airframe, edge)

    def spread(mass: float) -> tuple[float, int, tuple[float, float], float]:
        length = abs(mass) / per_length
        layers = max(1, int(np.ceil(length / longest - 1e-9)))
        reach = 0.5 * length / layers * main_sheet_reach / longest * 2.0
        stations = np.linspace(0.0, reach, 21)
        middle = np.mean([at(y) for y in 0.5 * (stations[1:] + stations[:-1])], axis=0)
        return length, layers, tuple(middle), reach

    main_sheet_reach = float(corners(main_sheet(airframe))[:, 1].max())

    def change(mass: float) -> Airframe:
        _, _, (aft, up), reach = spread(mass)
        rod = lump(mass, (aft, 0.0, up), shape="rod", along="right", length=2.0 * reach)
        return with_item(airframe, NAME, rod)

    guess = spread(0.5 * longest * per_length)[2][0]
    for _ in range(4):  # along a swept edge the place moves with the length
        mass, after = _solve(airframe, margin, change, guess, f"the {words}", 0.0, field)
        length, layers, (aft, up), _ = spread(mass)
        if abs(aft - guess) < 1e-5:
            break
        guess = aft
    return Ballast(mass, (float(aft), 0.0, float(up)), words, length, layers, after)


