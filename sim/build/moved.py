"""The same model with its mass moved: a new record, without working out the air again."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.contacts import reach
from firstthrow.sim.build.model import Model, build, fill_air, fill_mixing, mass_inverse
from firstthrow.sim.build.weights import TO_BODY, Balance, balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field


def rebalanced(model: Model, at: Balance) -> Model:
    """The model about another centre of gravity, with another mass and inertia.

    Sheets, motors and contacts stay where they are on the airframe. Contact damping stays
    what it was for the mass it was set for.
    """
    record = np.array([model.record]).view(np.recarray)[0]
    shift = (model.balance.place - at.place) @ TO_BODY
    for name in ("strip_place", "motor_place", "contact_place"):
        record[name][:] += shift
    record.datum[:] += shift
    record.reach = reach(record)
    record.mass = at.mass
    record.inertia[:] = TO_BODY @ at.inertia @ TO_BODY
    record.mass_inverse[:] = mass_inverse(at, model.apparent)
    return model._replace(record=record, balance=at)


def altered(model: Model, before: tuple[Airframe, Field], now: tuple[Airframe, Field]) -> Model:
    """The model of another airframe and field, from the one of `before`.

    In a moment where only items, mixing, launch or wind differ, as on a bench; anything else
    is built anew.
    """
    airframe, field = now
    moved = {name: getattr(airframe, name) for name in ("items", "mixing", "launch")}
    if before[0].model_copy(update=moved) != airframe:
        return build(airframe, field)
    if before[1].model_copy(update={"wind": field.wind}) != field:
        return build(airframe, field)
    found = rebalanced(model, balance(parts(airframe)))
    fill_mixing(found.record, airframe)
    fill_air(found.record, field)
    return found
