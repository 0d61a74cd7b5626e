"""Natural modes: published examples, Lanchester's limit, and the flight itself against them."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

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
    lateral_matrix,
    longitudinal_matrix,
    modes_about,
    modes_of,
    moved,
    sizes,
    words,
)
from firstthrow.sim.flight.trims import balanced_at, trims

KNOWN = tomllib.loads((Path(__file__).parents[1] / "references" / "modes.toml").read_text())
GRAVITY = 9.80665
NO_LATERAL, ALL_LATERAL = np.zeros(4, dtype=bool), np.ones(4, dtype=bool)
BALANCED = ("items.pack.aft=-130 mm", "items.nose_box.mass=340 g")
AIRFRAMES = [
    ("pantry", ()),
    ("pantry-swept", ()),
    ("glasshouse", ()),
    ("glasshouse", BALANCED),
    ("allotment", ()),
]


def by_name(modes: list[Mode]) -> dict[str, Mode]:
    return {mode.name: mode for mode in modes}


def large_transport() -> dict[str, Mode]:
    k = KNOWN["large_transport"]
    along = longitudinal_matrix(
        k["mass_slug"], k["Iy_slug_ft2"], k["speed_ft_s"], k["gravity_ft_s2"], **k["longitudinal"]
    )
    across = lateral_matrix(
        k["mass_slug"],
        k["Ix_slug_ft2"],
        k["Iz_slug_ft2"],
        k["Izx_slug_ft2"],
        k["speed_ft_s"],
        k["gravity_ft_s2"],
        **k["lateral"],
    )
    return by_name([*modes_of(along, NO_LATERAL), *modes_of(across, ALL_LATERAL)])


def light_aircraft() -> dict[str, Mode]:
    """Dimensional derivatives by Nelson, table 3.5, without those the example leaves out."""
    k = KNOWN["light_aircraft"]
    speed, chord = k["speed_ft_s"], k["chord_ft"]
    force = 0.5 * k["density_slug_ft3"] * speed * k["area_ft2"]  # q S / u0
    matrix = longitudinal_matrix(
        k["weight_lbf"] / k["gravity_ft_s2"],
        k["Iy_slug_ft2"],
        speed,
        k["gravity_ft_s2"],
        x_u=-2.0 * k["CD"] * force,
        x_w=(k["CL"] - k["CD_alpha"]) * force,
        z_u=-2.0 * k["CL"] * force,
        z_w=-(k["CL_alpha"] + k["CD"]) * force,
        m_u=0.0,
        m_w=k["Cm_alpha"] * force * chord,
        m_q=k["Cm_q"] * force * 0.5 * chord**2,
        m_w_dot=k["Cm_alphadot"] * force * 0.5 * chord**2 / speed,
    )
    return by_name(modes_of(matrix, NO_LATERAL))


@pytest.mark.parametrize(
    ("aircraft", "solve"),
    [("large_transport", large_transport), ("light_aircraft", light_aircraft)],
)
def test_published_modes_from_their_derivatives(aircraft, solve):
    # Source: Etkin and Reid (1996); Nelson (1998); see references/modes.toml.
    found, worst = solve(), 0.0
    assert set(found) == set(KNOWN[aircraft]["modes"])
    for name, wanted in KNOWN[aircraft]["modes"].items():
        value = found[name].eigenvalue
        real = abs(value.real / wanted["real"] - 1.0)
        assert real < wanted.get("real_tolerance", wanted["tolerance"]), name
        if wanted["imaginary"]:
            imaginary = abs(value.imag / wanted["imaginary"] - 1.0)
            assert imaginary < wanted["tolerance"], name
            worst = max(worst, imaginary)
        worst = max(worst, real)
    print(f"{aircraft}: worst {100 * worst:.2f} %")


def test_published_periods_and_times():
    found, times = large_transport(), KNOWN["large_transport"]["times"]
    for name in ("phugoid", "short period", "Dutch roll"):
        key = name.lower().replace(" ", "_")
        assert found[name].period == pytest.approx(times[f"{key}_period"], rel=0.01)
        assert found[name].time_to_half == pytest.approx(times[f"{key}_half"], rel=0.01)
    for name in ("roll", "spiral"):
        assert found[name].period is None
        assert found[name].time_to_half == pytest.approx(times[f"{name}_half"], rel=0.01)


def test_lanchester_limit():
    """A point held at one angle of attack by a stiff pitch, with the drag of its glide ratio."""
    k = KNOWN["lanchester"]
    speed, ratio = k["speed_m_s"], k["glide_ratio"]
    lift = GRAVITY / speed  # of a unit mass, per speed
    matrix = longitudinal_matrix(
        1.0,
        1e-4,
        speed,
        GRAVITY,
        x_u=-2.0 * lift / ratio,
        x_w=0.0,
        z_u=-2.0 * lift,
        z_w=-10.0,
        m_u=0.0,
        m_w=-1e3,
        m_q=-1.0,
    )
    found = by_name(modes_of(matrix, NO_LATERAL))["phugoid"]
    assert math.pi * math.sqrt(2.0) * speed / GRAVITY == pytest.approx(k["period_s"], abs=5e-4)
    assert abs(found.eigenvalue) == pytest.approx(k["frequency_rad_s"], rel=5e-3)
    assert found.damping_ratio == pytest.approx(k["damping_ratio"], rel=0.02)


def test_stiffer_pitch_brings_the_whole_model_to_lanchester():
    """Moving the CG forward holds the angle of attack; without the propeller, which adds to
    the drag's change with speed. Published aircraft lie within 25 % (references: 0.82)."""
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
    for k in range(480):
        flight.advance(1.0 / 240.0, trim.sticks)
        times.append((k + 1) / 240.0)
        slips.append(coordinates(model, flight.state)[4] - rest)
    slips = np.array(slips)
    falls = np.flatnonzero((slips[:-1] > 0.0) & (slips[1:] <= 0.0))
    crossings = [times[k] + slips[k] / (slips[k] - slips[k + 1]) / 240.0 for k in falls]
    period = crossings[1] - crossings[0]
    print(f"Dutch roll {mode.period:.3f} s, flown {period:.3f} s")
    assert period == pytest.approx(mode.period, rel=0.03)
