"""The forces that are drawn on a flight that is over: their sum, and where they act."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.flight.flight import Flight, fly
from firstthrow.sim.flight.record import Record, Rows, flight_meta, sidecar
from firstthrow.sim.learn.aftermath.forces import GUSTY, RESIDUAL, Forces, forces
from firstthrow.sim.study.faults import apply
from firstthrow.sim.study.subject import Subject, subject_of

STILL = load_field(find("fields", "water-meadow"))
BREEZE = load_field(find("fields", "water-meadow-breeze"))


def stirred(reading) -> Sticks:
    t = reading.time_s
    return Sticks(0.4 * (0.4 < t < 0.8) - 0.4 * (0.9 < t < 1.3), 0.3 * (t > 1.2), 0.0, 0.78)


def record(airframe, field) -> Record:
    rows = Rows()
    flight = fly(airframe, field, stirred, 2.0, "hand", record=rows)
    return rows.record(flight.columns, sidecar(airframe, flight_meta(field, launch="hand")))


def residuals(found: Forces, kept: Record) -> np.ndarray:
    """How far the sum of all pulls lies from mass times the acceleration that the record's own
    velocities give, in weights."""
    time = kept.column("time_s")
    speed = np.column_stack([kept.column(f"{axis}_m_s") for axis in "uvw"])
    turn = np.radians(np.column_stack([kept.column(f"{axis}_deg_s") for axis in "pqr"]))
    off = []
    for moment in found.moments:
        k = int(np.argmin(np.abs(time - moment.time_s)))
        if k + 1 >= len(time) or kept.column("height_m")[k] < 0.5:
            continue
        gained = (speed[k + 1] - speed[k - 1]) / (time[k + 1] - time[k - 1])
        wanted = found.mass_kg * (gained + np.cross(turn[k], speed[k]))
        total = np.sum([pull.force for pull in moment.pulls], axis=0)
        off.append(np.linalg.norm(total - wanted) / np.linalg.norm(moment.pulls[0].force))
    return np.array(off)


@pytest.mark.parametrize(
    ("fault", "field", "bound"),
    [("", STILL, RESIDUAL), ("reversed-roll", STILL, RESIDUAL), ("", BREEZE, GUSTY)],
)
def test_the_forces_sum_to_mass_times_the_records_acceleration(fault, field, bound):
    airframe, field = apply(fault, shipped(), field) if fault else (shipped(), field)
    kept = record(airframe, field)
    found = forces(kept, subject_of(airframe, field), kept.column("time_s")[40:])
    off = residuals(found, kept)
    assert len(off) > 50
    assert np.quantile(off, 0.9) < bound


def test_at_trim_the_lift_stands_where_it_balances():
    """Level flight, held by its trim: the moments of all arrows about the balance, each the force
    times its place, come to nothing; lift and drag stand ahead of the balance, and the surfaces,
    which push down behind it, make up for that."""
    subject = Subject(shipped())
    trim = subject.level
    flight = Flight(subject.airframe, subject.field, "hand", model=subject.model)
    state = trim.state.copy()
    state[2] = -50.0
    flight.start_at(state, trim.sticks)
    rows = Rows()
    for _ in range(30):
        rows.write(flight.reading())
        flight.advance(1.0 / 60.0, trim.sticks)
    meta = sidecar(subject.airframe, flight_meta(subject.field, launch="hand"))
    kept = rows.record(flight.columns, meta)
    moment = forces(kept, subject, [0.1]).moments[0]
    weight = np.linalg.norm(moment.pulls[0].force)
    turning = sum(np.cross(pull.place, pull.force)[1] for pull in moment.pulls)
    assert abs(turning) < 0.005 * weight * subject.chord
    by_name = {pull.name: pull for pull in moment.pulls}
    lift = by_name["lift"]
    others = sum(
        np.cross(pull.place, pull.force)[1] for pull in moment.pulls if pull.name != "lift"
    )
    balances = (lift.place[2] * lift.force[0] + others) / lift.force[2]
    assert lift.place[0] == pytest.approx(balances, abs=0.005 * subject.chord)
    assert lift.place[0] > by_name["elevon_left"].place[0] + 0.05
