"""The airframe before it flies, seen before the physics is there: as it stands when that is."""

from __future__ import annotations

import numpy as np
import pytest

from firstthrow.scenes.flight.facts import facts_of
from firstthrow.scenes.flight.posing import pose_of
from firstthrow.scenes.flight.rehearsal import Rehearsal
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.unready import Unready
from firstthrow.scenes.window.look import looked
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field
from firstthrow.sim.kernels.compiled import Kernel
from firstthrow.sim.kernels.machine.calls import NUMBERS, kind
from firstthrow.sim.study.faults import FAULTS, apply

NAMES = "pantry", "pantry-swept", "allotment", "glasshouse"
FIELDS = "water-meadow", "water-meadow-breeze"
GIVES_WAY = 0.0015  # [rad] at most, a surface to the wind and to the slop of its rods


def loaded(name: str, field: str):
    return load_airframe(find("airframes", name)), load_field(find("fields", field))


def same(seen, flown) -> None:
    np.testing.assert_allclose(seen.place, flown.place, atol=1e-9)
    np.testing.assert_allclose(seen.attitude, flown.attitude, atol=1e-9)
    np.testing.assert_allclose(seen.surfaces, flown.surfaces, atol=GIVES_WAY)
    np.testing.assert_allclose(seen.wind, flown.wind, atol=1e-9)
    assert (seen.turns, seen.rpm, seen.gone) == (flown.turns, flown.rpm, flown.gone)


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize("name", NAMES)
def test_it_stands_as_it_will_when_it_can_be_flown(name, field):
    airframe, field = loaded(name, field)
    facts, still = facts_of(airframe, None), [0.0] * len(airframe.motors)
    flown = pose_of(Rehearsal(airframe, field), facts, still)
    same(pose_of(Unready(airframe, field), facts, still), flown)
    same(looked(airframe, field, None, Settings()).pose, flown)
    if name == "pantry":  # whose trailing edges stand up, and whose sock hangs in a breeze
        assert min(abs(angle) for angle in flown.surfaces) > 0.05
        assert (np.hypot(*flown.wind) > 1.0) == (field.wind.speed > 0.0)


def test_a_surface_that_is_stuck_is_seen_so():
    airframe, field = apply("elevon-stuck", *loaded("pantry", "water-meadow"))
    still = [0.0] * len(airframe.motors)
    flown = pose_of(Rehearsal(airframe, field), facts_of(airframe, None), still)
    same(looked(airframe, field, None, Settings()).pose, flown)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_compiled_for_what_is_seen_first(name, monkeypatch):
    def called(kernel, *given):
        """Numbers alone are worked out without the compiler."""
        assert all(kind(one) in NUMBERS for one in given), f"{kernel.name} would be compiled"
        return kernel.py_func(*given)

    monkeypatch.setattr(Kernel, "__call__", called)
    airframe, field = loaded(name, "water-meadow-breeze")
    looked(airframe, field, None, Settings())
    Unready(airframe, field)


@pytest.mark.parametrize("name", NAMES)
def test_sticks_let_go_ask_for_what_they_ask_for_in_flight(name):
    """With and without the compiler, to the last bit; with every fault card, too."""
    airframe, field = loaded(name, "water-meadow")
    for fault in FAULTS:
        try:
            one, _ = apply(fault, airframe, field)
        except ConfigError:  # a card for another airframe
            continue
        assert mixer(one).let_go() == mixer(one).angles(Sticks())
