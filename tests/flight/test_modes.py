"""Natural modes: their names and words, Lanchester's limit, and the flight itself against them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from bodies import still

from firstthrow.sim.build.model import build
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.modes import (
    Mode,
    coordinates,
    is_pitch_unstable,
    modes_about,
    modes_of,
    moved,
    sizes,
    words,
)
from firstthrow.sim.flight.trims import balanced_at, trims
from firstthrow.sim.proof.modes import ALL_LATERAL, NO_LATERAL, by_name
from firstthrow.sim.units import GRAVITY

BALANCED = ("items.pack.aft=-130 mm", "items.nose_box.mass=340 g")
AIRFRAMES = [
    ("pantry", ()),
    ("pantry-swept", ()),
    ("glasshouse", ()),
    ("glasshouse", BALANCED),
    ("allotment", ()),
]


def test_stiffer_pitch_brings_the_whole_model_to_lanchester():
    """Moving the CG forward holds the angle of attack; without the propeller, which adds to
    the drag's change with speed. Published aircraft lie within 25 % (0.82 of the light one
    in `sim/proof/modes.py`)."""
    speed, ratios = 12.0, []
    airframe = load_airframe(find("airframes", "pantry"), ("mixing.high.pitch=29 deg",))
    airframe = airframe.model_copy(update={"motors": {}})
    model = build(airframe, STANDARD)
    neutral, chord = polar.neutral_point(model), polar.reference(model)[1]
    for margin in (0.08, 0.25, 0.5):
        shifted = balanced_at(airframe, neutral - margin * chord)
        there = build(shifted, STANDARD)
        (glide,) = trims(there, shifted, [speed], ("glide",))
        mode = by_name(modes_about(there, glide.state, glide.command))["phugoid"]
        ratios.append(abs(mode.eigenvalue) / (math.sqrt(2.0) * GRAVITY / speed))
    print("phugoid over Lanchester's frequency: " + ", ".join(f"{r:.3f}" for r in ratios))
    assert ratios == sorted(ratios)
    assert ratios[0] > 0.75
    assert ratios[-1] == pytest.approx(1.0, abs=0.03)


def test_words_and_kinds():
    def mode(name, value):
        return Mode(name, value, np.zeros(8))

    told = words(
        [
            mode("short period", -4.0 + 5.0j),
            mode("phugoid", 0.01 + 1.0j),
            mode("roll", -20.0 + 0j),
            mode("Dutch roll", -0.45 + 3.49j),
            mode("spiral", 0.077 + 0j),
        ]
    )
    assert told == (
        "pitches back in 0.6 s; phugoid swings every 6.3 s, doubles in 69 s; "
        "Dutch roll swings every 1.8 s, dies in 3 swings; spiral doubles in 9.0 s"
    )
    assert not is_pitch_unstable([mode("phugoid", 0.01 + 1.0j)])
    assert is_pitch_unstable([mode("pitch divergence", 0.5 + 0j)])


def test_split_and_merged_modes_are_named_for_what_they_are():
    def named(values, lateral):
        blocks = np.zeros((4, 4))
        k = 0
        for v in values:
            if v.imag:
                blocks[k : k + 2, k : k + 2] = [[v.real, v.imag], [-v.imag, v.real]]
            else:
                blocks[k, k] = v.real
            k += 2 if v.imag else 1
        return [m.name for m in modes_of(blocks, lateral)]

    assert named([-9 + 0j, -4 + 0j, -0.1 + 1j], NO_LATERAL) == [
        "pitch subsidence",
        "pitch subsidence",
        "phugoid",
    ]
    assert named([-9 + 0j, 0.5 + 0j, -0.1 + 0.2j], NO_LATERAL) == [
        "pitch subsidence",
        "pitch divergence",
        "phugoid",
    ]
    assert named([-9 + 0j, -1 + 2j, -0.1 + 0j], NO_LATERAL)[1] == "pitch-speed swing"
    assert named([-5 + 2j, 0.2 + 0j, -0.1 + 0j], NO_LATERAL) == [
        "short period",
        "speed divergence",
        "speed subsidence",
    ]
    assert named([-1 + 5j, -0.4 + 0.3j], ALL_LATERAL) == ["Dutch roll", "roll-spiral swing"]


def passage(airframe, model, trim, seconds: float) -> np.ndarray:
    """How pulses in each coordinate have turned out after some seconds of flight, (n, n)."""
    flight, columns = Flight(airframe, STANDARD, model=model), []
    for pulse in np.diag(1e-3 * sizes(model, trim.state)):
        ends = []
        for way in (pulse, -pulse):
            flight.start_at(moved(trim.state, way), trim.sticks)
            flight.advance(seconds, trim.sticks)
            ends.append(coordinates(model, flight.state))
        columns.append((ends[0] - ends[1]) / (2.0 * pulse.sum()))
    return np.array(columns).T


@pytest.mark.parametrize(("name", "overrides"), AIRFRAMES)
@pytest.mark.parametrize("kind", ["glide", "level"])
def test_flight_swings_as_the_eigenvalues_say(name, overrides, kind):
    airframe, model = still(name, overrides)
    (trim,) = trims(model, airframe, [9.0], (kind,))
    seconds = 0.2
    flown = np.log(np.linalg.eigvals(passage(airframe, model, trim, seconds)).astype(complex))
    flown /= seconds
    modes = modes_about(model, trim.state, trim.command)
    swings = [m for m in modes if m.name in ("short period", "Dutch roll")]
    assert swings
    for mode in swings:
        seen = flown[np.argmin(np.abs(flown - mode.eigenvalue))]
        print(f"{name} {kind} {mode.name}: {mode.eigenvalue:.3f} flown {seen:.3f}")
        assert abs(seen.imag) == pytest.approx(mode.eigenvalue.imag, rel=0.03)
        assert seen.real == pytest.approx(mode.eigenvalue.real, rel=0.05)


def test_dutch_roll_of_the_default_airframe_counted_in_flight():
    """A nudge to the side, then the time between the swings of the sideslip."""
    airframe, model = still("pantry")
    (trim,) = trims(model, airframe, [9.0], ("glide",))
    mode = by_name(modes_about(model, trim.state, trim.command))["Dutch roll"]
    flight = Flight(airframe, STANDARD, model=model)
    pulse = np.zeros(9)
    pulse[4] = 0.2  # m/s of sideslip
    flight.start_at(moved(trim.state, pulse), trim.sticks)
    rest, times, slips = coordinates(model, trim.state)[4], [], []
    for k in range(120):
        flight.advance(1.0 / 60.0, trim.sticks)
        times.append((k + 1) / 60.0)
        slips.append(coordinates(model, flight.state)[4] - rest)
    slips = np.array(slips)
    falls = np.flatnonzero((slips[:-1] > 0.0) & (slips[1:] <= 0.0))
    crossings = [times[k] + slips[k] / (slips[k] - slips[k + 1]) / 60.0 for k in falls]
    period = crossings[1] - crossings[0]
    print(f"Dutch roll {mode.period:.3f} s, flown {period:.3f} s")
    assert period == pytest.approx(mode.period, rel=0.03)
