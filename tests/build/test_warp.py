"""Bowed and twisted boards: thin-aerofoil theory, a steady roll, symmetry, and the file."""

from __future__ import annotations

import tomllib
from functools import lru_cache

import numpy as np
import pytest
from bodies import plate_airframe, shipped, shipped_model
from checks import compare

from firstthrow.scenes.pages.bench_rows import Setup, changed, rows_beside
from firstthrow.sim.build.model import build
from firstthrow.sim.build.moved import altered
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import spread_of, unknowns
from firstthrow.sim.build.warp import longest_chord, turned
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.write import toml
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.human import HANDS
from firstthrow.sim.kernels.parameters import RECORD
from firstthrow.sim.study.draft import Answers, drafted
from firstthrow.sim.study.odds.scatter import Drawn, Scatter
from firstthrow.sim.study.subject import Subject

CHORD, SPEED = 0.2, 10.0


def with_sheets(airframe: Airframe, **keys) -> Airframe:
    """Every flat sheet with other values."""
    sheets = {
        n: s.model_copy(update=keys) if s.stance == "flat" else s
        for n, s in airframe.sheets.items()
    }
    return airframe.model_copy(update={"sheets": sheets})


@lru_cache
def bowed(ratio: float, bow: float, **keys):
    return build(with_sheets(plate_airframe(ratio, CHORD), bow=bow, **keys), STANDARD)


def coefficients(model, alpha: float = 0.0, speed: float = SPEED, rates=(0.0, 0.0, 0.0)):
    """(6,) force and moment about the CG over pressure and area, body axes."""
    flow = -speed * np.array([np.cos(alpha), 0.0, np.sin(alpha)])
    load, _ = air_load(model, flow, rates)
    return load / (0.5 * model.record.density * speed**2 * model.strips.area.sum())


def smooth(model):
    """Without friction, which stands along a strip's own chord."""
    record = model.record.copy()
    record.strip_drag[:] = 0.0
    return model.with_body(record)


@pytest.mark.kernel
def test_a_bowed_plate_upside_down_is_one_bowed_the_other_way():
    one, other = bowed(3.0, 0.004), bowed(3.0, -0.004)
    for degrees in (-8.0, 0.0, 3.0, 12.0, 40.0):
        alpha = np.radians(degrees)
        up, down = coefficients(one, alpha), coefficients(other, -alpha)
        assert np.allclose(up * [1, 1, -1, 1, -1, 1], down, atol=1e-12)


@pytest.mark.kernel
def test_pressure_stands_square_to_a_bowed_board():
    """At the angle without lift the bow still turns the flow up ahead and down behind: the two
    halves push along the chord alike, k times the moment about mid-chord, as the derivation in
    two dimensions has it: the drag of a board whose edges have no suction."""
    model = bowed(200.0, 0.002)
    flat = bowed(200.0, 0.0)
    share = 0.01
    alpha = 2.0 * share
    found = coefficients(model, alpha)[0] - coefficients(flat, 0.0)[0]
    # Moment about mid-chord at zero lift: pi share; curvature times chord: 8 share.
    compare("drag of the bow", -8.0 * share * np.pi * share, found, relative=0.04)


@pytest.mark.kernel
def test_a_twisted_board_meets_what_a_rolling_one_meets():
    """Even twist from tip to tip is the wash of a steady roll, p b / 2 V = twist."""
    twist, ratio = np.radians(0.5), 3.0
    model = build(
        with_sheets(plate_airframe(ratio, CHORD), twist_left=twist, twist_right=-twist), STANDARD
    )
    flat = bowed(ratio, 0.0)
    model, flat = (smooth(one) for one in (model, flat))
    rate = 2.0 * SPEED * twist / (ratio * CHORD)
    twisted = coefficients(model)
    rolling = coefficients(flat, rates=(-rate, 0.0, 0.0))
    compare("rolling moment", rolling[3], twisted[3], relative=0.005)
    assert twisted[3] > 0.0  # the left tip up: it rolls right
    assert twisted[2] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", ["pantry-swept", "allotment"])
def test_a_tapered_board_bends_as_one_trough(name):
    """Slopes at every strip's edges are those of one parabola over the whole sheet."""
    airframe = with_sheets(shipped(name), bow=0.003)
    strips = shipped_model(name).strips
    angle, curve = turned(airframe, strips)
    first = next(iter(airframe.sheets.values()))
    mine = strips.sheet == 0
    chord, middle = longest_chord(first)
    k = 8.0 * 0.003 / chord**2
    for end, half in (([0, 1], -0.5), ([2, 3], 0.5)):
        aft = strips.quad[mine][:, end].mean(axis=1) @ [1.0, 0.0, 0.0] - first.aft
        slope = curve[mine] * half * strips.chord[mine] - angle[mine]
        assert slope == pytest.approx(
            k * (aft - middle), abs=2e-4
        )  # places of a sheet at incidence lie aslant


def test_a_copy_bowed_and_twisted_is_the_one_built_so():
    flat, model = shipped(), shipped_model()
    now = with_sheets(flat, bow=-0.002, twist=0.01, twist_right=0.02)
    field = Subject(flat).field
    one = altered(build(flat, field), (flat, field), (now, field))
    other = build(now, field)
    for name in RECORD.names:
        assert np.allclose(one.record[name], other.record[name], rtol=1e-9, atol=1e-12), name
    assert not np.allclose(one.record.strip_normal, model.record.strip_normal)


def test_a_file_says_bow_and_twist_in_its_own_units():
    said = with_sheets(shipped(), bow=0.002, twist_left=np.radians(1.5))
    text = toml(said, "", {})
    assert 'bow = "2 mm"' in text
    assert 'twist_left = "1.5 deg"' in text
    again = Airframe.model_validate(tomllib.loads(text))
    assert again.sheets["slab"].bow == pytest.approx(0.002)
    assert again.sheets["slab"].twist_left == pytest.approx(np.radians(1.5), rel=1e-4)


def test_a_first_file_has_the_bow_and_the_twist_that_were_said():
    answers = Answers("mine", 0.8, 0.4, 0.006, "foam board", bow=0.001, twist=0.02)
    slab = drafted(shipped(), answers).sheets["slab"]
    assert slab.bow == pytest.approx(0.001)
    assert slab.twist_right - slab.twist_left == pytest.approx(0.02, abs=2e-4)  # as a file says it
    assert slab.twist == 0.0


def test_boards_scatter_less_where_the_file_says_them():
    flat = shipped()
    said = with_sheets(flat, bow=0.0, twist=0.0)
    loose, tight = (
        [spread_of(unknowns(a, 0.35), what, "slab") for what in (What.BOW, What.TWIST_LEFT)]
        for a in (flat, said)
    )
    assert loose == pytest.approx((0.003 * 0.35, np.radians(0.5)))
    assert tight == pytest.approx((0.0003, np.radians(0.2)))


@pytest.mark.parametrize("boards", ["guessed", "none"])
def test_every_case_of_the_odds_has_boards_of_its_own(boards):
    airframe = shipped()
    hands = np.zeros(1, HANDS)[0]
    rows = tuple(one for one in unknowns(airframe, 0.35) if one.key == (What.BOW, "slab"))
    bows = Drawn(airframe, Scatter(boards=boards), hands, True, 3, 0, 400, rows).off
    wanted = 0.003 * 0.35 if boards == "guessed" else 0.0
    assert np.std(bows) == pytest.approx(wanted, rel=0.15)


def test_the_bench_has_rows_for_the_boards():
    setup = Setup(shipped(), Subject(shipped()).field)
    row = next(r for r in rows_beside(setup) if r.name == "slab_bow")
    assert changed(setup, row, "pack", 2.0).airframe.sheets["slab"].bow == pytest.approx(0.002)
