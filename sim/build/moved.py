"""The same model with its mass moved: a new record, without working out the air again."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.contacts import reach
from firstthrow.sim.build.fittings import fill_fittings
from firstthrow.sim.build.model import (
    VARIANT,
    Model,
    built,
    fill_air,
    fill_halves,
    fill_mass,
    fill_mixing,
)
from firstthrow.sim.build.powertrain import fill_swinging
from firstthrow.sim.build.warp import fill_warp
from firstthrow.sim.build.weights import TO_BODY, Balance, balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.describe.sheets import WARP, Sheet
from firstthrow.sim.once import once_for

# What an airframe has beside what air, drive, contacts and strength are made of.
APART = ("name", "about", "margin", "least_margin", "items", "mixing", "launch")


def rebalanced(model: Model, at: Balance) -> Model:
    """The model about another centre of gravity, with another mass and inertia.

    Sheets, motors and contacts stay where they are on the airframe. Contact damping, and the
    steps that follow it, stay what they were for the mass they were set for.
    """
    records = model.body.record.copy()
    rebalance(records, model, Balance(at.mass, at.place[None], at.inertia[None]))
    return model.with_body(records[0])._replace(balance=at)


def rebalance(records: np.ndarray, model: Model, at: Balance) -> None:
    """The same of many records of a model, (n,) RECORD, each about another centre of gravity;
    `at`: with arrays (n, ...)."""
    shift = (model.balance.place - at.place) @ TO_BODY
    records["strip_place"][:, :, : model.record.n_strips] += shift[:, :, None]
    records["motor_place"] += shift[:, None]
    records["contact_place"] += shift[:, None]
    records["fitting_place"] += shift[:, None, None]
    records["datum"] += shift
    records["reach"] = reach(records)
    fill_mass(records, at, model.apparent)


@once_for(16)
def calmed(model: Model) -> Model:
    """The model in still air, and nothing swings in it: what is steady in a steady wind is so
    relative to the air."""
    if model.record.still > 0.5 and model.record.n_swinging == 0:
        return model
    found = model.with_body(model.record.copy())
    fill_air(found.record, STANDARD)
    found.record.n_swinging = 0
    return found


def has_same_air(one: Airframe, other: Airframe) -> bool:
    """Whether two airframes differ in nothing that air, drive, contacts or strength depend on."""
    apart = {name: getattr(other, name) for name in APART}
    return one.model_copy(update=apart | {"sheets": _unweighed(one)}) == other.model_copy(
        update={"sheets": _unweighed(other)}
    )


def _unweighed(airframe: Airframe) -> dict[str, Sheet]:
    """The sheets and their surfaces without the masses that were weighed, and flat."""
    return {
        name: sheet.model_copy(
            update={
                "mass": None,
                **dict.fromkeys(WARP, 0.0),
                "surfaces": {
                    n: surface.model_copy(update={"mass": None})
                    for n, surface in sheet.surfaces.items()
                },
            }
        )
        for name, sheet in airframe.sheets.items()
    }


def altered(model: Model, before: tuple[Airframe, Field], now: tuple[Airframe, Field]) -> Model:
    """The model of another airframe and field, from the one of `before`.

    In a moment where only masses, bow, twist, mixing, launch, wind or what is wanted differ, as
    on a bench; anything else is built anew.
    """
    airframe, field = now
    if not has_same_air(before[0], airframe):
        return built(airframe, field, VARIANT)
    if before[1].model_copy(update={"wind": field.wind}) != field:
        return built(airframe, field, VARIANT)
    found = rebalanced(model, balance(parts(airframe)))
    fill_halves(found.record, airframe)
    fill_swinging(found.record, airframe, found.strips)
    fill_fittings(found.record, airframe, found.balance)
    fill_mixing(found.record, airframe)
    fill_warp(found.record, airframe, found.strips)
    fill_air(found.record, field)
    return found
