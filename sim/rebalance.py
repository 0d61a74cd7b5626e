"""The same model with its mass moved: a new record, without working out the air again."""

from __future__ import annotations

import numpy as np

from sim.model import Model, mass_inverse
from sim.weights import TO_BODY, Balance


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
    record.reach += np.linalg.norm(shift)
    record.mass = at.mass
    record.inertia[:] = TO_BODY @ at.inertia @ TO_BODY
    record.mass_inverse[:] = mass_inverse(at, model.apparent)
    return model._replace(record=record, balance=at)
