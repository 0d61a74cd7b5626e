"""A moment is worked out by itself: nothing of the one before is left in it."""

import numpy as np
from bodies import still

from firstthrow.sim.flight.evaluate import air_load, rates_of
from firstthrow.sim.kernels.layout import COMMAND_SIZE, SIZE, VELOCITY


def test_what_is_no_number_stays_with_the_airframe_it_was_asked_of():
    """Also where that has strips that the next has not."""
    (_, large), (_, small) = still("allotment"), still("pantry")
    assert large.record.n_strips > small.record.n_strips
    air, state, command = np.array([-9.0, 0.0, -1.0]), np.zeros(SIZE), np.zeros(COMMAND_SIZE)
    state[3], state[VELOCITY] = 1.0, 9.0
    before = air_load(small, air)[0], rates_of(small, state, command)[0]
    assert np.all(np.isfinite(np.concatenate(before)))
    assert np.all(np.isnan(air_load(large, np.full(3, np.nan))[0][:3]))
    assert np.array_equal(air_load(small, air)[0], before[0])
    lost = state.copy()
    lost[VELOCITY : VELOCITY + 3] = np.nan
    assert np.any(np.isnan(rates_of(large, lost, command)[0]))
    assert np.array_equal(rates_of(small, state, command)[0], before[1])
