"""Free flights by pilots who are known, and what they show of their hands."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped
from own import FOUND

from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Record, Rows, columns, flight_meta, sidecar
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.flight.skills import SKILLS, hands
from firstthrow.sim.study.hands.element import FRAME, element
from firstthrow.sim.study.hands.flights import (
    LEAST,
    groups,
    in_flight,
    together,
    why_not,
)
from firstthrow.sim.study.hands.measure import CannotBeMeasured, Figure
from firstthrow.sim.study.subject import Subject

KNOWN = SKILLS["club"]._replace(
    delay=22 * FRAME,
    lag=0.15,
    lead_pitch=0.2,
    lead_roll=0.15,
    remnant=0.25,
    remnant_time=0.2,
    wander=0.0,
    stick_speed=8.0,
)


@pytest.fixture(scope="module")
def pantry():
    return Subject(shipped("pantry"), STANDARD)


def flown(subject, pilot, **told):
    """A flight of 60 s, recorded as if a person had done it."""
    rows = Rows()
    fly(subject.airframe, subject.field, pilot, 60.0, seed=5, record=rows)
    meta = sidecar(subject.airframe, flight_meta(subject.field, launch="hand", pilot="thumbs"))
    return rows.record(columns(subject.airframe), {**meta, **told})


@pytest.fixture(scope="module")
def record(pantry):
    pilot = Human(pantry.airframe, pantry.field, KNOWN, seed=3, model=pantry.model)
    return flown(pantry, pilot)


@pytest.fixture(scope="module")
def shown(pantry, record):
    return in_flight(element(pantry), [record])


def test_a_known_pilot_is_recovered_from_a_free_flight(pantry, shown):
    """Less surely than from the exercises, but within the intervals."""
    own = hands(KNOWN, pantry.model, pantry.airframe, pantry.airframe.launch.hand.throttle)
    steered = element(pantry)
    assert shown.delay_s.holds(KNOWN.delay)
    assert 0.06 < shown.delay_s.high - shown.delay_s.low < 0.2
    assert shown.crossover_roll_rad_s.holds(steered.crossover(1, own.gain_roll, own.lead_roll))
    assert shown.lead_roll_s.holds(KNOWN.lead_roll)


def test_an_answer_that_comes_later_is_measured_later(pantry, record, shown):
    """The same sticks a tenth of a second late."""
    rows, frames = record.rows.copy(), 6
    for name in ("stick_pitch", "stick_roll"):
        k = record.columns.index(name)
        rows[frames:, k] = record.rows[:-frames, k]
    late = in_flight(element(pantry), [Record(record.columns, rows, record.meta)])
    assert late.delay_s.value - shown.delay_s.value == pytest.approx(frames * FRAME, abs=0.02)


def test_sticks_that_answer_nothing_are_no_hands(pantry, record):
    """Those of the flight's end at its beginning."""
    rows = record.rows.copy()
    for name in ("stick_pitch", "stick_roll"):
        k = record.columns.index(name)
        rows[:, k] = record.rows[::-1, k]
    with pytest.raises(CannotBeMeasured, match="in these flights"):
        in_flight(element(pantry), [Record(record.columns, rows, record.meta)])


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({"pilot": "human"}, "no person"),
        ({"handed_over_at_s": [3.0]}, "handed over"),
        ({"sends": "channels"}, "mixed"),
        ({"fault": "warped"}, "fault"),
        ({"changed_at_s": [9.0]}, "changed in flight"),
    ],
)
def test_which_flights_count(record, told, why):
    assert why_not(record) == ""
    assert why in why_not(Record(record.columns, record.rows, {**record.meta, **told}))


def test_short_and_idle_flights_do_not_count(record):
    short = record.rows[: round((LEAST + 1.0) / FRAME)]
    assert "are wanted" in why_not(Record(record.columns, short, record.meta))
    idle = record.rows.copy()
    for name in ("stick_pitch", "stick_roll"):
        idle[:, record.columns.index(name)] = 0.0
    assert "hardly moved" in why_not(Record(record.columns, idle, record.meta))
    assert [len(one) for one in groups([record, record])] == [2]


def test_flights_add_to_the_exercises_by_how_sure_they_are(shown):
    """Two measurements of one figure: between both, nearer the surer, and surer than either."""
    both = together(FOUND, shown)
    one, other, found = FOUND.delay_s, shown.delay_s, both.delay_s
    wide = [figure.high - figure.low for figure in (one, other, found)]
    assert wide[2] == pytest.approx((wide[0] ** -2 + wide[1] ** -2) ** -0.5, rel=1e-6)
    assert min(one.value, other.value) < found.value < max(one.value, other.value)
    assert both.dead_zone_rad == FOUND.dead_zone_rad  # no flight shows it
    equal = together(FOUND, shown.__class__(1, 30.0, FOUND.delay_s, None, None, None, None))
    assert equal.delay_s.value == pytest.approx(FOUND.delay_s.value)
    assert isinstance(equal.crossover_pitch_rad_s, Figure)
    assert np.isclose(equal.crossover_pitch_rad_s.value, FOUND.crossover_pitch_rad_s.value)
