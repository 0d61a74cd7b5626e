"""The search for steady flight: against a library's least squares on the same rates, and what a
study loads for it."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from bodies import still
from scipy.optimize import least_squares

from firstthrow.sim.build.sticks import mixer
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.steady import CLOSE, Point, place, steady
from firstthrow.sim.kernels.layout import (
    COMMAND_SIZE,
    COMMAND_THROTTLE,
    POSITION,
    ROTOR,
    SIZE,
    VELOCITY,
)
from firstthrow.sim.kernels.root import crossing
from firstthrow.sim.kernels.settled import slowed
from firstthrow.sim.kernels.steady import HEIGHT

FREE = ("alpha", "sideslip", "bank", "pitch", "roll", "back", "throttle")


def test_rest_is_where_a_library_finds_it():
    """Level flight of the shipped slab at 9.5 m/s from a poor guess."""
    airframe, model = still("pantry")
    straight = mixer(airframe).without_expo()
    at, left = steady(model, straight, Point(9.5, 0.25, pitch=0.2, throttle=0.7), FREE, 0.0)
    assert left < CLOSE

    def accelerations(x: np.ndarray) -> np.ndarray:
        named = dict(zip(FREE, x.tolist(), strict=False))
        point = at._replace(rotors=(100.0 * float(x[-1]),), **named)
        rates, _ = rates_of(model, *place(straight, point))
        return np.array([*rates[VELOCITY:ROTOR], 1e-3 * rates[ROTOR], rates[2]])

    own = np.array([*(getattr(at, name) for name in FREE), at.rotors[0] / 100.0])
    found = least_squares(accelerations, own + 0.02, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    assert found.x == pytest.approx(own, abs=1e-6)


def test_out_of_reach_ends_on_a_bound():
    """At a speed that lift cannot carry the stick ends right back, and something is left."""
    airframe, model = still("pantry")
    at, left = steady(model, mixer(airframe).without_expo(), Point(4.0), FREE, 0.0)
    assert left > 1e-3
    assert at.back == pytest.approx(1.0) or at.throttle == pytest.approx(1.0)


def test_a_study_loads_no_optimiser():
    """They take longer to load than a trim takes to be found; so do statistics and pictures."""
    asked = (
        "import sys, firstthrow.sim.paper.letters, firstthrow.sim.study.propulsion.causes\n"
        "from firstthrow.scenes.hands import own_hands\n"
        "from firstthrow.sim.study import check\n"
        "from firstthrow.sim.study.hands import told\n"
        "heavy = {'linalg', 'interpolate', 'optimize', 'signal', 'special', 'stats'}\n"
        "print({f'scipy.{one}' for one in heavy} & set(sys.modules), 'matplotlib' in sys.modules)"
    )
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "set() False"


@pytest.mark.parametrize(
    ("throttle", "airspeed", "turning"),
    [(1.0, 0.0, True), (0.6, 9.0, True), (0.1, 16.0, True), (0.0, 25.0, True), (0.0, 4.0, False)],
)
def test_a_rotor_rests_where_the_whole_moment_says(throttle, airspeed, turning):
    """Between which speeds is asked of the drive alone; where, of all that flies: driven, pushed
    round by the air, and stopped by its bearings."""
    (_, model), state = still("pantry"), np.zeros(SIZE)
    command = np.zeros(COMMAND_SIZE)
    state[POSITION + 2], state[3], state[VELOCITY] = -HEIGHT, 1.0, airspeed
    command[COMMAND_THROTTLE] = throttle

    def rate(omega: float, _) -> float:
        state[ROTOR] = omega
        return rates_of(model, state, command)[0][ROTOR]

    ends = getattr(slowed, "py_func", slowed)(rate, None, 1.0, 2500.0)
    wanted = crossing(lambda omega: rate(omega, None), *ends[:2], 1e-9)
    assert (wanted > 20.0) == turning
    assert equilibrium(model, throttle, airspeed).rotor == pytest.approx(wanted, abs=1e-6)
