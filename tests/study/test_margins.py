"""The neutral point where it flies moves aft with incidence, as the side edges lift more."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model, shipped
from checks import compare

from firstthrow.sim.build.deviated import deviated
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.flight.polar import neutral_point, neutral_point_about, reference
from firstthrow.sim.flight.trims import trims
from firstthrow.sim.kernels.layout import COMMAND_SIZE, SIZE
from firstthrow.sim.study.margins import flown_margins
from firstthrow.sim.study.spreads import cg_spread
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.unsure.margin_spread import CAUSES


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


@pytest.mark.parametrize("name", ["pantry", "allotment"])
def test_the_margin_is_as_unsure_as_the_table_says(name):
    """Each cause trimmed anew by the whole search for steady flight, one by one; a margin is not
    equally sure everywhere, so no constant does."""
    airframe = shipped(name)
    subject = Subject(airframe)
    found = {one.where: one for one in flown_margins(subject)}
    cruise = found["cruise"]
    square = (cg_spread(subject)[0] / subject.chord) ** 2
    for row in subject.unknowns:
        if row.what in (What.NEUTRAL_POINT, *CAUSES):
            model = deviated(subject.model, airframe, {row.key: row.spread})
            (trim,) = trims(model, airframe, [cruise.airspeed_m_s], ("level",))
            place = neutral_point_about(model, trim.state, trim.command)
            there = (place - model.balance.place[0]) / subject.chord
            square += (there - 0.01 * cruise.static_margin_percent) ** 2
    spread = cruise.static_margin_spread_percent
    compare(f"spread of the margin of {name}, percent", 100.0 * np.sqrt(square), spread, 0.08)
    assert found["launch"].static_margin_spread_percent > 1.02 * spread


def test_what_is_measured_makes_the_margin_surer():
    """A guessed pack that is then weighed and placed."""
    guessed, measured = (
        flown_margins(Subject(shipped("pantry", f"items.pack.known={word}")))[0]
        for word in ("guessed", "measured")
    )
    assert measured.static_margin_spread_percent < guessed.static_margin_spread_percent - 0.02
