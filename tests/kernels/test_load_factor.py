"""What a weight inside feels: acceleration less gravity, the air's own mass included."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import meadow, shipped, shipped_model
from checks import compare

from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.flight.evaluate import air_load, rates_of
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels.layout import MAX_SURFACES, SIZE, SPECIFIC_FORCE, SURFACE
from firstthrow.sim.kernels.rotation import to_body


@pytest.mark.parametrize("name", ["pantry", "glasshouse"])
def test_load_factor_is_what_a_weight_inside_would_feel(name):
    """Acceleration over the ground less gravity, also while the air is being pushed along."""
    flight = Flight(shipped(name), meadow(), model=shipped_model(name))
    state = np.zeros(SIZE)
    state[2], state[3], state[7], state[9] = -50.0, 1.0, 10.0, 0.2  # far from any trim
    command = mixer(shipped(name)).command(Sticks())
    state[SURFACE : SURFACE + MAX_SURFACES] = command[:MAX_SURFACES]
    state[10:13] = 0.3, -0.4, 0.2
    rates, report = rates_of(flight.model, state, command)
    felt = rates[7:10] + np.cross(state[10:13], state[7:10])
    felt -= np.array(to_body(*state[3:7], 0.0, 0.0, 9.80665))
    compare("specific force", felt, report[SPECIFIC_FORCE : SPECIFIC_FORCE + 3], absolute=1e-12)
    model = flight.model
    pushed = air_load(model, -state[7:10], state[10:13], command[:MAX_SURFACES])[0][2]
    apart = abs(pushed / model.balance.mass / felt[2] - 1.0)
    assert apart > 0.02  # so that force over mass would not pass for it
