"""Corrections from what was measured at rest: each finds its own cause."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped, still

from firstthrow.sim.flight.drive_at_rest import equilibrium, refitted
from firstthrow.sim.flight.drive_measured import (
    BEFORE,
    corrected,
    propeller_corrections,
    seen,
)


def instruments(factors) -> dict[str, float]:
    """What meters show on a propeller that is so much off."""
    airframe, model = still("pantry")
    return seen(equilibrium(refitted(model, corrected(airframe, np.array(factors))), 1.0))


def found(measured: dict[str, float]):
    airframe, model = still("pantry")
    return propeller_corrections(model, airframe, measured)


def test_thrust_and_torque_part():
    """A thrust 8 % low beside the right current and speed is the thrust's own; a current off
    with the speed it goes with is the torque's; each within two of its spreads."""
    low = found(instruments([0.92, 1.0, 1.0]))
    assert low["propeller_thrust"].factor == pytest.approx(0.92, abs=0.04)
    assert low["propeller_torque"].factor == pytest.approx(1.0, abs=0.04)
    heavy = found(instruments([1.0, 1.12, 1.0]))
    assert heavy["propeller_torque"].factor == pytest.approx(1.12, abs=0.05)
    assert heavy["propeller_torque"].factor - heavy["propeller_thrust"].factor > 0.05


def test_pitch_moves_both():
    """A pitch 10 % coarser than printed: more thrust and more torque, and pitch takes its part."""
    coarse = found(instruments([1.0, 1.0, 1.1]))
    assert coarse["propeller_pitch"].factor > 1.01
    assert coarse["propeller_pitch"].spread < BEFORE["propeller_pitch"]


def test_what_is_not_measured_stays_as_unsure():
    """A thermometer would say nothing: with the current alone thrust is believed as before."""
    alone = found({"current": instruments([1.0, 1.1, 1.0])["current"]})
    assert alone["propeller_thrust"].spread > 0.9 * BEFORE["propeller_thrust"]
    assert alone["propeller_torque"].spread < BEFORE["propeller_torque"]
    every = found(instruments([1.0, 1.0, 1.0]))
    for correction in every.values():
        assert correction.factor == pytest.approx(1.0, abs=1e-3)


def test_corrected_it_gives_what_was_measured():
    """The gaps left are within the meters' own."""
    measured = instruments([0.93, 1.08, 1.03])
    factors = [one.factor for one in found(measured).values()]
    for name, value in instruments(factors).items():
        assert value == pytest.approx(measured[name], rel=0.02), name


def test_a_file_s_own_corrections_are_kept():
    """Measured again on a file that holds them, they stay."""
    airframe = shipped("pantry", 'corrections.propeller_thrust="90 %"')
    _, model = still("pantry")
    measured = seen(equilibrium(refitted(model, airframe), 1.0))
    again = propeller_corrections(model, airframe, measured)
    assert again["propeller_thrust"].factor == pytest.approx(0.9, abs=1e-3)
