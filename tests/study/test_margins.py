"""The neutral point where it flies moves aft with incidence, as the side edges lift more."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model, shipped
from checks import compare

from firstthrow.sim.flight.polar import neutral_point, neutral_point_about, reference
from firstthrow.sim.kernels.layout import COMMAND_SIZE, SIZE
from firstthrow.sim.study.margins import flown_margins
from firstthrow.sim.study.subject import Subject


def about(model, degrees: float) -> float:
    """The neutral point of a glide at an incidence, in chords of the main sheet."""
    alpha, state = np.radians(degrees), np.zeros(SIZE)
    state[2], state[3] = -200.0, 1.0
    state[7], state[9] = 9.0 * np.cos(alpha), 9.0 * np.sin(alpha)
    _, chord, lead = reference(model)
    return (neutral_point_about(model, state, np.zeros(COMMAND_SIZE)) - lead) / chord


def test_a_square_plate_by_the_suction_analogy():
    """Slope of moment by force of CN = 1.460 s c + 2.136 s^2, potential part at 0.167 chord, side
    edges at 0.588 chord: constants of another lattice after Lamar (1974), derived, no published
    value; Torres and Mueller (2004) report the same trend, from memory."""
    model = plate_model(1.0)
    for degrees in (2.0, 5.0, 10.0, 15.0):
        a = np.radians(degrees)
        potential, edges = 1.460 * np.cos(2.0 * a), 2.136 * np.sin(2.0 * a)
        wanted = (0.167 * potential + 0.588 * edges) / (potential + edges)
        compare(f"neutral point at {degrees} deg, chords", wanted, about(model, degrees), 0.0, 0.02)


def test_at_no_incidence_it_is_the_plain_one():
    model = plate_model(2.0)
    _, chord, lead = reference(model)
    plain = (neutral_point(model) - lead) / chord
    assert about(model, 0.0) == pytest.approx(plain, abs=1e-3)


def test_a_plate_upside_down_is_the_same_plate():
    model = plate_model(2.0)
    assert about(model, -8.0) == pytest.approx(about(model, 8.0), abs=1e-9)


def test_margins_of_the_slab_are_larger_where_it_flies():
    """With power and side edges: more than at no incidence, most where it is slowest."""
    subject = Subject(shipped("pantry"))
    found = {one.where: one for one in flown_margins(subject)}
    print({where: round(one.static_margin_percent, 1) for where, one in found.items()})
    assert set(found) == {"launch", "cruise", "slowest"}
    assert all(one.kind == "level" for one in found.values())
    assert found["cruise"].static_margin_percent > 100.0 * subject.margin + 2.0
    assert found["slowest"].alpha_deg > found["cruise"].alpha_deg
    assert found["cruise"].airspeed_m_s == pytest.approx(subject.cruise)
