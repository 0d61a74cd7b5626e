"""Turbulence that does not depend on the step, and a gust that comes once."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from bodies import Motion, meadow, plate_model, shipped
from checks import compare

from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels import gusts
from firstthrow.sim.kernels.layout import GUST_RATE, GUST_SIZE, ROLL_GUST
from firstthrow.sim.proof.gusts import history


@lru_cache
def breezy(*overrides: str):
    field = load_field(find("fields", "water-meadow-breeze"), overrides)
    return build(shipped(), field).record


def test_statistics_do_not_depend_on_the_step():
    """The variance of white noise through exact filters is the same at any step."""
    coarse, fine = history(0.05, 30000.0), history(1.0 / 240.0, 1500.0)
    for axis in (2, 3):  # the quick ones settle in 25 minutes
        assert fine[:, axis].std() == pytest.approx(coarse[:, axis].std(), rel=0.12)


def test_seeded_and_still():
    states = []
    for seed in (3, 3, 4):
        flight = Flight(shipped(), load_field(find("fields", "water-meadow-breeze")), seed=seed)
        flight.release()
        flight.advance(1.0, Sticks(throttle=0.5))
        states.append(flight.state.copy())
    assert np.array_equal(states[0], states[1])
    assert not np.array_equal(states[0], states[2])
    calm = Flight(shipped(), meadow())
    calm.release()
    calm.advance(0.5, Sticks(throttle=0.5))
    assert not calm._gust.any()


def test_pulse():
    """One minus cosine: nothing at either end, the whole of it in the middle."""
    record = breezy(
        "gusts.wind_at_6_m=0 m/s",
        'gusts.pulse.up="2 m/s"',
        'gusts.pulse.speed="3 m/s"',
        'gusts.pulse.from_bearing="90 deg"',
        'gusts.pulse.start="1 s"',
        'gusts.pulse.lasts="0.8 s"',
    )
    gust, noise = np.zeros(GUST_SIZE), np.zeros((1, gusts.NOISE_SIZE))
    seen = {}
    for time in (0.9, 1.2, 1.4, 1.6, 1.9):
        gusts.update(record, 5.0, 10.0, time, noise, 1 / 240, gust)
        seen[time] = gust[:3].copy()
        assert gust[ROLL_GUST] == 0.0
    assert not seen[0.9].any()
    assert not seen[1.9].any()
    compare("middle", [0.0, -3.0, -2.0], seen[1.4], absolute=1e-12)
    compare("half way", 0.5 * seen[1.4], seen[1.2], absolute=1e-12)
    compare("the same after", seen[1.2], seen[1.6], absolute=1e-12)


def test_it_blows_from_the_first_moment():
    """Over many seeds the turbulence is as strong at the start as it will be later."""
    field = load_field(find("fields", "water-meadow-breeze"))
    record = build(shipped(), field).record
    first = []
    for seed in range(1500):
        gust = np.zeros(GUST_SIZE)
        noise = np.random.default_rng(seed).standard_normal((3, gusts.NOISE_SIZE))
        gusts.start(noise[:2], gust)
        gusts.update(record, 10.0, 9.0, 0.0, noise[2:], 1.0 / 240.0, gust)
        # It has been blowing: nothing springs up within a step, which would fold what stands in it.
        assert np.abs(gust[GUST_RATE : GUST_RATE + 3]).max() == 0.0
        along = gust[0] * record.wind_from_cos + gust[1] * record.wind_from_sin
        across = -gust[0] * record.wind_from_sin + gust[1] * record.wind_from_cos
        first.append((along, across, gust[2]))
    strong, weak = gusts.intensities(10.0, float(record.gust_wind))
    compare("rms at the release", [strong, strong, weak], np.std(first, axis=0), relative=0.06)
    flight = Flight(shipped(), field, seed=3)
    assert np.abs(flight._gust[4:]).max() > 0.1


@pytest.mark.parametrize(("height", "left"), [(50.0, 1.0), (0.7, 1.0 - np.exp(-1.4))])
def test_a_roll_gust_is_the_air_rolling(height, left):
    """The plate feels air that turns to the right as its own turning to the left, and what the
    ground has left of it: gone within a metre, by e^(-h / 0.5 m)."""
    model = plate_model(2.0)
    record = model.record.copy()
    record.still, record.roughness = 0.0, 0.03
    found = []
    for gust, rate in ((0.5, 0.0), (0.0, -0.5 * left)):
        motion = Motion(model.with_body(record), (rate, 0.0, 0.0), height)
        motion.state[7], motion.state[9], motion.gust[ROLL_GUST] = 10.0, 0.5, gust
        found.append(motion.rates_of(motion.state)[10])
    assert found[0] > 1.0
    compare("rad/s2", found[1], found[0], relative=1e-6)
