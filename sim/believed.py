"""What is uncertain about a real airframe, how unsure, and the airframe with other values of it.

A flight feels where the balance lies against the neutral point, not the two apart: the CG here
stands for their distance, and its spread holds both (see `balance`).
"""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot, radians
from typing import NamedTuple

import numpy as np

from sim import polar
from sim.airframe import Airframe, Item
from sim.balance import cg_spread, neutral_spread, part_spreads
from sim.field import STANDARD
from sim.model import Model, build
from sim.notes import Notes
from sim.rebalance import rebalanced
from sim.weights import balance, item_part, parts

MEASURED = 0.002  # how far the place of a measured item may be off [m], our assumption
STRAINED = 2.0  # spreads that a guessed item may be moved

SPREADS = {  # before anything was flown; our assumptions, where notes say nothing
    "reflex": radians(0.7), "thrust_down": radians(1.0), "thrust_right": radians(1.0),
    "propeller": 0.08, "drag": 0.15,
}  # fmt: skip
WORDS = {
    "cg": ("CG, aft", "mm"), "reflex": ("reflex, acts up", "deg"),
    "thrust_down": ("thrust line, down", "deg"), "thrust_right": ("thrust line, right", "deg"),
    "propeller": ("propeller strength", "%"), "drag": ("drag", "%"),
}  # fmt: skip
SCALES = {"mm": 1e-3, "deg": radians(1.0), "%": 0.01}


class Quantity(NamedTuple):
    """One that is fitted, as an offset from the file; `spread` is its standard deviation, SI."""

    name: str
    spread: float


def quantities(airframe: Airframe, notes: Notes) -> tuple[Quantity, ...]:
    """What may be off on this airframe."""
    chord = polar.reference(build(airframe, STANDARD))[1]
    here = hypot(float(cg_spread(airframe)[0]), *neutral_spread(airframe, chord))
    usual = {"cg": max(here, MEASURED), **SPREADS}
    names = [n for n in usual if airframe.motors or not n.startswith(("thrust", "propeller"))]
    return tuple(Quantity(n, getattr(notes.spreads, n) or usual[n]) for n in names)


def with_ballast(airframe: Airframe, notes: Notes) -> Airframe:
    """As it flew: with the ballast that the notes say was added, as measured items."""
    items = dict(airframe.items)
    for name, lump in notes.ballast.items():
        key = name if name not in items else f"{name}_added"
        items[key] = Item.model_construct(
            mass=lump.mass, aft=lump.aft, right=lump.right, up=lump.up, known="measured"
        )
    return airframe.model_copy(update={"items": items})


def corrected(airframe: Airframe, off: Mapping[str, float]) -> Airframe:
    """The airframe with each named quantity off by so much from its file, SI."""
    known = airframe.corrections
    corrections = known.model_copy(
        update={
            "reflex": known.reflex + off.get("reflex", 0.0),
            "propeller": known.propeller + off.get("propeller", 0.0),
            "drag": known.drag + off.get("drag", 0.0),
        }
    )
    down, right = off.get("thrust_down", 0.0), off.get("thrust_right", 0.0)
    motors = {
        name: motor.model_copy(
            update={"down": motor.down + down, "right_tilt": motor.right_tilt + right}
        )
        for name, motor in airframe.motors.items()
    }
    changed = airframe.model_copy(update={"corrections": corrections, "motors": motors})
    return shifted(changed, off.get("cg", 0.0))


def shifted(airframe: Airframe, aft: float) -> Airframe:
    """The centre of gravity moved by `aft` [m] in the most believable way.

    Guessed items move first, each by mass times the square of its spread (the likeliest share of
    a known sum), as far as they may be strained; the rest is made up by all items together.
    """
    if not airframe.items or abs(aft) < 1e-9:
        return airframe
    mass = balance(parts(airframe)).mass
    places = {name: item.aft for name, item in airframe.items.items()}
    spread = {
        name: part_spreads(airframe, item_part(name, item))[1]
        for name, item in airframe.items.items()
    }
    sway = {n: airframe.items[n].mass * s**2 for n, s in spread.items() if s > 0.0}
    total = sum(sway[n] * airframe.items[n].mass for n in sway)
    left = aft * mass
    if total > 0.0:
        step = left / total
        for name, weight in sway.items():
            most = STRAINED * spread[name]
            move = float(np.clip(step * weight, -most, most))
            places[name] += move
            left -= move * airframe.items[name].mass
    rest = left / sum(item.mass for item in airframe.items.values())
    items = {
        name: item.model_copy(update={"aft": places[name] + rest})
        for name, item in airframe.items.items()
    }
    return airframe.model_copy(update={"items": items})


class Believed:
    """Models of an airframe with other values of its uncertain quantities, quickly.

    Only a turned thrust line needs the air worked out anew; all else are small changes of a copy.
    """

    def __init__(self, airframe: Airframe) -> None:
        self.airframe = airframe
        self._built: dict[tuple[float, float], Model] = {}

    def model(self, off: Mapping[str, float]) -> tuple[Airframe, Model]:
        now = corrected(self.airframe, off)
        key = (off.get("thrust_down", 0.0), off.get("thrust_right", 0.0))
        if key not in self._built:
            turned = {"thrust_down": key[0], "thrust_right": key[1]}
            self._built[key] = build(corrected(self.airframe, turned), STANDARD)
        model = rebalanced(self._built[key], balance(parts(now)))
        base = self.airframe.corrections
        model.record.strip_drag *= now.corrections.drag / base.drag
        model.record.mix_trim[1] += now.corrections.reflex - base.reflex
        propellers = model.propellers * (now.corrections.propeller / base.propeller)
        return now, model._replace(propellers=propellers)
