"""Lessons are marked by how near their aims were met, not by having survived."""

from __future__ import annotations

import itertools
import math
from types import SimpleNamespace

import numpy as np
import pytest
from bodies import shipped
from gate_pilot import GatePilot, attempted

from firstthrow.sim.build.model import build
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.pilot import hands_off, launch_throttle
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.school.lessons import BY_NAME, LESSONS, Gate, after
from firstthrow.sim.learn.school.marking import (
    Attempt,
    in_a_row,
    of_record,
    sentence,
    through,
    worth,
)

COLUMNS = ("time_s", "north_m", "east_m", "height_m", "stick_roll", "stick_pitch", "stick_yaw")
COLUMNS = (*COLUMNS, "throttle")


@pytest.fixture(scope="module")
def meadow():
    return load_field(find("fields", "water-meadow"))


def rows(places, sticks: float = 1.0) -> list[tuple]:
    """One reading a metre or so along a path of (ahead, right, up), its sticks busy."""
    found, time = [], 0.0
    for start, end in itertools.pairwise(places):
        start, end = np.array(start), np.array(end)
        count = max(1, round(float(np.linalg.norm(end - start))))
        for k in range(count):
            time += 0.1
            at = start + (end - start) * k / count
            found.append((time, *at, sticks * math.sin(time), 0.0, 0.0, 0.5))
    return found


def marked(name: str, path, outcome=None, sticks: float = 1.0, heading: float = 0.0):
    attempt = Attempt(BY_NAME[name], heading)
    for row in rows(path, sticks):
        attempt.see(SimpleNamespace(**dict(zip(COLUMNS, row, strict=True))))
    return attempt.mark(outcome)


def test_a_mark_falls_with_the_deviation():
    assert [worth(d) for d in (0.0, 1.0, 2.0, 3.0)] == [100.0, 50.0, 0.0, 0.0]
    assert worth(0.999) == pytest.approx(worth(1.001), abs=0.2)
    gate = Gate(50.0, 0.0, 0.0, 8.0, 6.0, 4.0)
    assert through(gate, (49.0, 2.0, 6.0), (51.0, 2.0, 6.0)) == pytest.approx(0.25)
    assert through(gate, (49.0, 0.0, 9.0), (51.0, 0.0, 11.0)) == pytest.approx(1.0)  # too high
    assert through(gate, (51.0, 2.0, 6.0), (49.0, 2.0, 6.0)) is None  # the wrong way
    assert through(gate, (49.0, 17.0, 6.0), (51.0, 17.0, 6.0)) is None  # far outside


def test_left_and_right_are_marked_alike():
    left = [
        (0, 0, 2),
        (40, -2, 6),
        (50, 1, 6),
        (66, -12, 5),
        (66, -30, 7),
        (50, -47, 7),
        (20, -47, 6),
    ]
    right = [(a, -r, u) for a, r, u in left]
    one, other = marked("left", left), marked("right", right)
    assert one.mark == other.mark > 60.0
    assert one.passed
    assert other.passed
    assert marked("right", left).mark < 0.5 * one.mark


def test_the_heading_of_the_field_turns_the_gates():
    path = [(0, 0, 2), (100, 1, 6)]
    turned = [(-r, a, u) for a, r, u in path]  # as flown by one who faces east
    assert (
        marked("straight", turned, heading=0.5 * math.pi).mark == marked("straight", path).mark > 80
    )


def test_what_breaks_or_is_left_alone_or_misses_the_box():
    path = [(0, 0, 2), (120, 0, 6)]
    broke = Outcome(Ending.BROKE, "It broke.")
    assert marked("straight", path, broke).mark == 0.5 * marked("straight", path).mark
    assert not marked("straight", path, broke).passed
    alone = marked("straight", path, sticks=0.0)
    assert (alone.mark, alone.passed) == (0.0, False)
    assert "left alone" in alone.words
    landed = Outcome(Ending.LANDED, "Down.")
    home = [(0, 0, 2), (60, 0, 6), (60, 30, 6), (25, 1, 0), (25, 1, 0)]
    assert marked("land", home, landed).passed
    assert not marked("land", home, broke).passed
    assert "box missed" in marked("land", [*home[:3], (60, 20, 0)], landed).words
    assert not marked("land", [(0, 0, 2), (25, 0, 0), (25, 1, 0)], landed).passed  # no gate before


@pytest.mark.parametrize("name", ["pantry", "allotment"])
def test_hands_off_comes_near_no_aim(meadow, name):
    """Held against every lesson, even were the sticks to count as moved."""
    airframe = shipped(name)
    throttle = hands_off(launch_throttle(airframe))
    longest = BY_NAME["wind"]._replace(gates=(), box=None, stays=16.0, seconds=16.0)
    attempts = [Attempt(lesson, meadow.heading) for lesson in LESSONS]

    def pilot(reading):
        for attempt in attempts:
            attempt.see(reading)
        return throttle(reading)

    _, flight = attempted(airframe, meadow, pilot, longest)
    for attempt in attempts:
        assert attempt.mark(flight.outcome).mark == 0.0
        attempt.moved = 1.0
        assert attempt.mark(flight.outcome).mark < 20.0, attempt.lesson.name
        assert not attempt.mark(flight.outcome).passed


def test_a_good_pilot_passes_and_a_careless_one_has_less(meadow):
    airframe = shipped("pantry")
    model = build(airframe, meadow)

    def flown(name: str, across: float = 0.0):
        pilot = GatePilot(BY_NAME[name], across=across)
        seen, flight = attempted(airframe, meadow, pilot, BY_NAME[name], model)
        return seen.mark(flight.outcome)

    good, careless = flown("straight"), flown("straight", 0.6)
    assert good.passed
    assert good.mark > 80.0
    assert 50.0 < careless.mark < good.mark - 15.0
    for name in ("right", "land"):
        assert flown(name).passed, name


def test_a_record_tells_its_own_mark():
    path = rows([(0, 0, 2), (100, 1, 6)])
    meta = {"lesson": "straight", "field_si": {"heading": 0.0}}
    record = Record(COLUMNS, np.array(path), meta)
    assert of_record(record).mark == marked("straight", [(0, 0, 2), (100, 1, 6)]).mark
    assert sentence(record).startswith("Lesson, straight ahead: 8")
    assert of_record(Record(COLUMNS, np.array(path), {})) is None
    assert sentence(Record(COLUMNS, np.array(path), {**meta, "handed_over_at_s": [1.0]})) == ""


def test_three_in_a_row_and_what_comes_next():
    assert in_a_row([True, False, True, True]) == 2
    assert in_a_row([True, True, False]) == 0
    assert after("left").name == "right"
    assert after(LESSONS[-1].name) is LESSONS[-1]
