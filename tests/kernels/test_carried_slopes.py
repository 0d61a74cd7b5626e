"""Slopes that are carried on over a step tell of what it did, and of nothing else anew."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.kernels import steady

carry = getattr(steady._carry, "py_func", steady._carry)


def test_they_give_the_change_of_the_step_and_keep_what_is_across_it():
    random = np.random.default_rng(7)
    own = np.zeros(1, steady.SEARCH)[0]
    own.residuals, n = 7, 6
    own.slopes[:], own.step[:] = (
        random.normal(size=own.slopes.shape),
        random.normal(size=steady.MOST),
    )
    own.left[:], own.then[:] = random.normal(size=(2, steady.MOST))
    before = own.slopes[:7, :n].copy()
    carry(own, n)
    after, step = own.slopes[:7, :n], own.step[:n]
    assert np.allclose(after @ step, (own.then - own.left)[:7], atol=1e-12)
    across = random.normal(size=n)
    across -= across @ step / (step @ step) * step
    assert np.allclose(after @ across, before @ across, atol=1e-12)
    assert not np.allclose(after, before)
