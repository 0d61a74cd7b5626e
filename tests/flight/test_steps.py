"""Steps of four ticks: the same flight as tick by tick, and short where something wants it."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import meadow, shipped, shipped_model

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels.gusts import STATES
from firstthrow.sim.kernels.layout import DEFLECTION, LATE_SHARE, ROTOR, SURFACE


def by_ticks(model: Model) -> Model:
    """The same, flown tick by tick."""
    record = model.record.copy()
    record.most_ticks = 1
    return model.with_body(record)


def both(name: str, model: Model, field=None, launch: str = "hand") -> list[Flight]:
    """By long steps and tick by tick, well above the ground."""
    found = []
    for one in (model, by_ticks(model)):
        flight = Flight(shipped(name), field or meadow(), launch, seed=3, model=one)
        flight.release()
        if launch == "hand":
            flight.state[2] = -60.0
        found.append(flight)
    return found


def fly(flights: list[Flight], seconds: float, sticks: Sticks) -> np.ndarray:
    """How far apart the states are."""
    for flight in flights:
        flight.advance(seconds, sticks)
        assert flight.outcome is None
    return np.abs(flights[0].state - flights[1].state)


@pytest.mark.parametrize("name", ["pantry", "allotment"])
def test_a_calm_flight_is_the_same(name):
    """Sticks moved for 2 s, left alone for 2 s: other steps, a place within a centimetre."""
    flights = both(name, shipped_model(name))
    for pitch, roll in ((0.0, 0.0), (0.2, 0.0), (-0.1, 0.15), (0.0, -0.2)):
        apart = fly(flights, 0.5, Sticks(roll, pitch, 0.0, 0.7))
    apart = fly(flights, 2.0, Sticks(0.0, 0.0, 0.0, 0.6))
    print(f"{1e3 * apart[:3].max():.2f} mm, rotor {apart[ROTOR]:.3f} rad/s")
    assert 1e-7 < apart[:3].max() < 1e-2
    assert apart[7:13].max() < 1e-2


def test_a_hand_lets_nothing_turn_as_the_motor_runs_up():
    """Opened, closed, opened: rotor and surfaces move, the airframe in the hand does not."""
    flight = Flight(shipped(), meadow(), model=shipped_model())
    begun = flight.state.copy()
    for frame in range(60):
        flight.advance(1.0 / 60.0, Sticks(pitch=0.2, throttle=float(frame // 10 % 2 == 0)))
    assert flight.state[ROTOR] > 100.0
    assert np.array_equal(flight.state[:13], begun[:13])


def test_a_throttle_opened_at_once_turns_it_as_tick_by_tick():
    """From closed to open in flight: thrust, and the torque that rolls it, come without delay."""
    flights = both("pantry", shipped_model())
    fly(flights, 1.0, Sticks())
    for frame in range(12):
        apart = fly(flights, 1.0 / 60.0, Sticks(throttle=1.0))
        rates = np.abs([flight.state[10:13] for flight in flights]).max()
        rotor = flights[1].state[ROTOR]
        print(f"{frame}: {apart[10:13].max() / rates:.4f}, rotor {apart[ROTOR] / rotor:.4f}")
        assert apart[10:13].max() < 0.02 * rates
        assert apart[ROTOR] < 0.02 * rotor
    assert apart[ROTOR] < 2e-3 * rotor


@pytest.mark.parametrize(("name", "speed"), [("allotment", 70.0), ("pantry-swept", 60.0)])
def test_a_dive_far_too_fast_is_the_same(name, speed):
    """Where the roll's damping is quicker than a long step foresees, rates do not swing up."""
    flights = both(name, shipped_model(name))
    for flight in flights:
        flight.state[2], flight.state[7] = -500.0, speed
        flight._before[:] = 0.0
        flight.model.record.root_strength = 1e9
    for _ in range(20):
        apart = fly(flights, 1.0 / 60.0, Sticks(throttle=0.5))
        rates = np.abs([flight.state[10:13] for flight in flights]).max()
        print(f"{apart[10:13].max():.3f} of {rates:.2f} rad/s")
        assert apart[10:13].max() < 0.6


def test_surfaces_go_as_their_servos_let_them():
    """A command that comes in the midst of a step starts them there, and they run as they would."""
    flights = both("pantry", shipped_model())
    for frame in range(10):
        apart = fly(flights, 1.0 / 60.0, Sticks(0.0, 0.3 if frame > 1 else 0.0, 0.0, 0.6))
        assert apart[SURFACE : SURFACE + 2].max() < np.radians(0.02)
        turned = np.abs(flights[0].report - flights[1].report)[DEFLECTION : DEFLECTION + 2]
        assert turned.max() < np.radians(0.05)


def test_the_same_gusts_are_met():
    """The filters' memory after three seconds is that of ticks, but for where they were met."""
    field = load_field(find("fields", "water-meadow-breeze"))
    flights = both("pantry", build(shipped(), field), field)
    apart = fly(flights, 3.0, Sticks(throttle=0.6))
    memory = [flight._gust[STATES : STATES + 6] for flight in flights]
    print(f"{1e3 * apart[:3].max():.1f} mm; memory {np.abs(memory[0] - memory[1]).max():.1e}")
    assert np.abs(memory[0]).max() > 0.3
    assert np.abs(memory[0] - memory[1]).max() < 5e-3
    assert 1e-6 < apart[:3].max() < 0.05


def test_steps_are_short_while_flow_separates():
    """Pulled into a stall: the separated share follows as it does tick by tick."""
    flights = both("glasshouse", shipped_model("glasshouse"))
    most = 0.0
    for _ in range(60):
        fly(flights, 1.0 / 60.0, Sticks(pitch=1.0))
        one, other = (flight._late[LATE_SHARE] for flight in flights)
        most = max(most, np.abs(one - other).max())
    print(f"separated share up to {most:.3f} apart")
    assert one.max() > 0.3
    assert most < 0.1


def test_ticks_are_single_on_the_ground():
    """Rolling on its wheels, to the last bit."""
    flights = both("glasshouse", shipped_model("glasshouse"), launch="ground")
    assert fly(flights, 0.5, Sticks(throttle=1.0)).max() == 0.0
    assert flights[0].state[7] > 0.5
