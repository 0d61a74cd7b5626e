"""Bending strength against closed forms; limits of flight by hand."""

import math

import numpy as np
import pytest
from bodies import shipped, shipped_model
from checks import compare

from firstthrow.sim.build.model import build
from firstthrow.sim.build.span_loading import span_loading
from firstthrow.sim.build.strength import (
    Member,
    bearing,
    members,
    root_section,
    root_strength,
    section,
)
from firstthrow.sim.build.strips import fine
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.proof.materials import least_strength
from firstthrow.sim.study.loads import load_limits
from firstthrow.sim.study.subject import Subject


def with_tables(tmp_path, name, text):
    """A shipped airframe with further tables at its end."""
    path = tmp_path / "changed.toml"
    path.write_text(find("airframes", name).read_text() + text, encoding="utf-8")
    return load_airframe(path)


def rectangle(width, depth, height=0.0, modulus=1e9, strength=1e6):
    return Member("bar", modulus, strength, width * depth, width * depth**3 / 12, height, depth)


def test_plain_rectangle_breaks_at_w_d2_over_6():
    found = section([rectangle(0.35, 0.006, strength=2.5e6)])
    assert found.strength == pytest.approx(2.5e6 * 0.35 * 0.006**2 / 6, rel=1e-12)
    assert found.stiffness == pytest.approx(1e9 * 0.35 * 0.006**3 / 12, rel=1e-12)


def test_two_halves_of_a_rectangle_are_the_whole():
    whole = section([rectangle(0.1, 0.02)])
    halves = section([rectangle(0.1, 0.01, -0.005), rectangle(0.1, 0.01, 0.005)])
    assert halves[:2] == pytest.approx(whole[:2], rel=1e-12)


def test_thin_xps_is_no_stronger_than_its_density_allows():
    """Least strength of the standard's types rises with density (`sim/proof/materials.py`)."""
    assert 1e-6 * MATERIALS["thin XPS"].strength <= 1.1 * least_strength("thin XPS")


def test_root_of_the_pantry_board_by_hand():
    """2.5 MPa on 350 x 6 mm: w t^2 / 6 = 2.1 cm3."""
    assert root_strength(shipped("pantry").sheets["slab"]) == pytest.approx(5.25, rel=1e-3)


def test_a_spar_that_breaks_first_leaves_what_the_board_bears():
    stiff = Member("spar", 100e9, 100e6, 1e-6, 1e-6 * 0.006**2 / 12, 0.0, 0.006)
    board = rectangle(0.35, 0.006, strength=2.5e6)
    assert section([board, stiff]).weakest == "spar"
    assert bearing([board, stiff]).strength == section([board]).strength
    strong = stiff._replace(strength=1e11)
    assert bearing([board, strong]).strength > section([board]).strength


def test_spar_of_tube_strip_and_plywood(tmp_path):
    """Each bears about its own strength times second moment over half depth, plus its foam."""
    slab = '\n[sheets.slab.spars.{name}]\nmaterial = "{material}"\n{rest}\nlength = "600 mm"\n'
    sections = {
        "carbon tube": (
            'section = "tube"\noutside = "6 mm"\ninside = "4 mm"',
            math.pi / 64 * (0.006**4 - 0.004**4) / 0.003,
        ),
        "carbon strip": (
            'section = "strip"\noutside = "6 mm"\nwidth = "1 mm"',
            0.001 * 0.006**2 / 6,
        ),
        "birch plywood": (
            'section = "strip"\noutside = "6 mm"\nwidth = "3 mm"',
            0.003 * 0.006**2 / 6,
        ),
    }
    for material, (rest, modulus_of_section) in sections.items():
        text = slab.format(name="spar", material=material, rest=rest)
        found = root_section(with_tables(tmp_path, "pantry", text).sheets["slab"])
        kind = MATERIALS[material]
        curvature = kind.strength / (kind.modulus * 0.003)
        foam = min(1.0, curvature * 150e6 * 0.003 / 2.5e6) * 5.25
        spar = kind.strength * modulus_of_section
        if curvature * 150e6 * 0.003 > 2.5e6:  # the foam goes first
            spar *= 2.5e6 / (150e6 * 0.003) / curvature
            foam = 5.25
        assert found.strength == pytest.approx(max(5.25, spar + foam), rel=1e-3), material


def test_glue_line_along_the_span_costs_nothing_and_across_the_root_its_share(tmp_path):
    joint = '\n[sheets.slab.joints.line]\nalong = "{}"\nefficiency = "60 %"\nout = "{} mm"\n'
    bare = shipped("pantry").sheets["slab"]
    spanwise = with_tables(tmp_path, "pantry", joint.format("span", 0)).sheets["slab"]
    assert root_strength(spanwise) == root_strength(bare)
    at_root = with_tables(tmp_path, "pantry", joint.format("chord", 0)).sheets["slab"]
    assert root_strength(at_root) == pytest.approx(0.6 * root_strength(bare), rel=1e-9)
    outside = with_tables(tmp_path, "pantry", joint.format("chord", 60))
    assert root_strength(outside.sheets["slab"]) == root_strength(bare)
    limits = load_limits(Subject(outside))
    whole = load_limits(Subject(shipped("pantry")))
    assert limits.breaks_at_m == pytest.approx(0.060, abs=1e-9)
    assert 0.6 < limits.limit_load_factor / whole.limit_load_factor < 1.0


def test_a_spar_that_ends_early_leaves_the_foam_alone(tmp_path):
    text = (
        '\n[sheets.slab.spars.short]\nmaterial = "carbon tube"\nsection = "tube"\n'
        'length = "100 mm"\noutside = "6 mm"\ninside = "4 mm"\n'
    )
    airframe = with_tables(tmp_path, "pantry", text)
    assert [m.name for m in members(airframe.sheets["slab"], 0.04)] == ["foam", "short"]
    assert [m.name for m in members(airframe.sheets["slab"], 0.06)] == ["foam"]
    limits = load_limits(Subject(airframe))
    assert limits.breaks_at_m == pytest.approx(0.051, abs=1e-6)
    assert limits.breaks_first == "foam"


def test_span_loading_of_a_slab_is_near_elliptic():
    """Root moment of an elliptic load: 4 / (3 pi) of the half span times the half's lift; at
    half way out 0.18 of it (integral of the ellipse; derived)."""
    stations, share = span_loading(fine(shipped("pantry")), 0)
    y = np.linspace(0.0, 1.0, 20001)
    load = np.sqrt(1.0 - y**2)
    half = np.trapezoid(load * np.maximum(0.0, y - 0.5), y) / np.trapezoid(load * y, y)
    found = float(np.interp(0.175, stations, share))
    print(f"moment at half span: {found:.3f} of the root's, elliptic {half:.3f}")
    assert found == pytest.approx(half, abs=0.02)
    assert np.all(np.diff(share) < 0.0)


@pytest.mark.parametrize(
    ("name", "half_span", "halves"),
    [
        # (mass of one half [kg], how far out its middle lies [m]), off the files by hand
        ("pantry", 0.35, [(0.045, 0.173), (0.009, 0.1875)]),
        ("pantry-swept", 0.35, [(0.034, 0.152), (0.009, 0.1875)]),
        ("glasshouse", 1.0, [(0.5075, 0.5), (0.082, 0.52), (0.0565, 0.4)]),
        ("allotment", 0.5, [(0.034, 0.25), (0.0072, 0.19)]),
    ],
)
def test_limit_load_factor_by_hand(name, half_span, halves):
    """Half the weight at the middle of an elliptic half load, less the weight of the half: board,
    surface, half the tube (1500 kg/m3: 56.5 g and 7.2 g)."""
    airframe = shipped(name)
    model = build(airframe, STANDARD)
    limits = load_limits(Subject(airframe, model=model))
    record = model.record
    relief = sum(mass * out for mass, out in halves)
    per_g = 9.80665 * (0.5 * record.mass * 4 / (3 * math.pi) * half_span - relief)
    by_hand = limits.root_bending_N_m / per_g
    print(f"{name}: {limits.limit_load_factor:.1f} g, by hand {by_hand:.1f} g")
    assert limits.limit_load_factor == pytest.approx(by_hand, rel=0.25)
    assert limits.turn_bank_deg == pytest.approx(
        math.degrees(math.acos(1 / limits.limit_load_factor))
    )


def test_a_weaker_board_folds_at_less_and_slower():
    strong, weak = shipped("pantry"), shipped("pantry", "sheets.slab.thickness=3 mm")
    one, other = (load_limits(Subject(a)) for a in (strong, weak))
    assert other.root_bending_N_m == pytest.approx(one.root_bending_N_m / 4, rel=1e-3)
    assert other.limit_load_factor == pytest.approx(one.limit_load_factor / 4, rel=0.1)
    assert other.full_elevator_speed_m_s == pytest.approx(one.full_elevator_speed_m_s / 2, rel=0.15)
    assert 1.0 < other.full_elevator_load_factor < one.full_elevator_load_factor


def test_a_short_spar_folds_where_it_ends_in_every_answer():
    """The load factor, full elevator and the flight's own fold know the same weak station."""
    airframe = shipped("glasshouse", "sheets.slab.spars.tube.length=800 mm")
    model = build(airframe, STANDARD)
    limits = load_limits(Subject(airframe, model=model))
    whole = load_limits(Subject(shipped("glasshouse")))
    assert limits.breaks_at_m == pytest.approx(0.401, abs=0.01)
    assert limits.limit_load_factor < 0.7 * whole.limit_load_factor
    assert limits.full_elevator_load_factor == pytest.approx(limits.limit_load_factor, rel=0.2)
    assert model.record.root_strength < limits.root_bending_N_m


def test_wings_relief_is_its_own_weight_at_its_own_arm():
    """Half a rectangular board's mass at a quarter of its span, its elevons where they lie."""
    board, elevon = 0.090, 0.009
    arm = 0.5 * (0.030 + 0.345)
    # The board is what is left of 700 x 350 mm beside two strips of 315 x 60 mm.
    areas = np.array([0.35 * 0.35, -0.315 * 0.06])
    middle = areas @ np.array([0.175, arm]) / areas.sum()
    wanted = 0.5 * board * middle + elevon * arm
    compare("half moment kg m", wanted, shipped_model().record.half_moment, relative=0.02)


def test_every_half_of_a_spar_relieves(written):
    """Two spars, one a side, weigh on the root as their two halves do."""
    spar = (
        '[sheets.slab.spars.tube]\nmaterial = "carbon tube"\nsection = "tube"\n'
        'length = "300 mm"\noutside = "6 mm"\ninside = "4 mm"\naft = "120 mm"\n'
        'right = "160 mm"\n\n[sheets.fin]'
    )
    with_, without = written(("[sheets.fin]", spar)), shipped()
    mass = MATERIALS["carbon tube"].density * np.pi / 4.0 * (0.006**2 - 0.004**2) * 0.3
    gain = build(with_, STANDARD).record.half_moment - build(without, STANDARD).record.half_moment
    compare("spar's relief kg m", mass * 0.16, gain, relative=1e-6)
