"""Pilots without thumbs: what they answer to a reading, and a whole steady flight."""

from __future__ import annotations

import numpy as np
import pytest

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import Flight, fly
from firstthrow.sim.flight.named_pilot import named
from firstthrow.sim.flight.pilot import hands_off, launch_throttle
from firstthrow.sim.flight.record import PLAIN_COLUMNS, Record, reading_type
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.flight.stick_timeline import TimelineError, timeline

READING = reading_type(PLAIN_COLUMNS)


def at(seconds: float):
    return READING(*[seconds, *[0.0] * (len(PLAIN_COLUMNS) - 1)])


def test_hands_off_touches_nothing():
    pilot = hands_off(0.8)
    assert pilot(at(0.0)) == pilot(at(9.0)) == Sticks(throttle=0.8)


def test_launch_throttle_is_the_airframe_s_own():
    thrown = load_airframe(find("airframes", "pantry"), ["launch.hand.throttle=37 %"])
    assert launch_throttle(thrown) == pytest.approx(0.37)
    rolled = load_airframe(find("airframes", "glasshouse"), ["launch.ground.throttle=61 %"])
    assert launch_throttle(rolled, "ground") == pytest.approx(0.61)


def test_the_steady_pilot_rolls_with_the_throttle_that_is_planned_until_it_is_off_the_ground():
    rolled = load_airframe(find("airframes", "glasshouse"), ["launch.ground.throttle=61 %"])
    pilot = named("steady", rolled, load_field(find("fields", "water-meadow")))
    slow = at(0.0)._replace(height_m=0.3, stall_speed_m_s=8.0)
    for seconds in (0.0, 0.5, 1.0):
        assert pilot(slow._replace(time_s=seconds, airspeed_m_s=4.0)).throttle == 0.61
    up = slow._replace(time_s=1.5, airspeed_m_s=8.5, height_m=0.5)
    assert pilot(up).throttle > 0.9
    assert pilot(up._replace(time_s=1.6, height_m=0.3)).throttle > 0.9  # a hop is no roll


def test_timeline_draws_straight_lines_and_holds_its_ends(tmp_path):
    place = tmp_path / "sticks.csv"
    place.write_text(
        "time_s,roll,pitch,yaw,throttle,low_rates\n"
        "1.0, 0.0, 0.2, -1.0, 0.5, 0\n"
        "\n"
        "3.0, 1.0, -0.2, 1.0, 1.0, 1\n"
    )
    pilot = timeline(place)
    assert pilot(at(-2.0)) == pytest.approx(Sticks(0.0, 0.2, -1.0, 0.5, False))
    assert pilot(at(1.5)) == pytest.approx(Sticks(0.25, 0.1, -0.5, 0.625, False))
    assert pilot(at(2.99)).low_rates is False
    assert pilot(at(3.0)) == pytest.approx(Sticks(1.0, -0.2, 1.0, 1.0, True))
    assert pilot(at(60.0)) == pytest.approx(Sticks(1.0, -0.2, 1.0, 1.0, True))


def test_timeline_needs_no_low_rates(tmp_path):
    place = tmp_path / "sticks.csv"
    place.write_text("\ufefftime_s,roll,pitch,yaw,throttle\n0,0,0,0,1\n", encoding="utf-8")
    assert timeline(place)(at(5.0)) == Sticks(throttle=1.0)


HEADER = "time_s,roll,pitch,yaw,throttle\n"


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        ("", [":1: '': wanted time_s,roll,pitch,yaw,throttle[,low_rates]"]),
        ("time,roll\n", [":1: 'time,roll': wanted time_s,roll,pitch,yaw,throttle[,low_rates]"]),
        (HEADER, [": no rows: wanted at least one time with its sticks"]),
        (
            HEADER + "0,0,0,0\n1,2,x,0,-0.5\n1,0,0,0,1\n1,0,0,0,1\nnan,0,0,0,1\n",
            [
                ":2: 4 values, wanted 5",
                ":3: roll: '2': wanted -1 to 1",
                ":3: pitch: 'x': wanted a number",
                ":3: throttle: '-0.5': wanted 0 to 1",
                ":5: time_s: '1': wanted later than the row before",
                ":6: time_s: 'nan': wanted a finite time",
            ],
        ),
    ],
)
def test_timeline_tells_every_problem_at_once(tmp_path, text, problems):
    place = tmp_path / "sticks.csv"
    place.write_text(text)
    with pytest.raises(TimelineError) as caught:
        timeline(place)
    assert caught.value.problems == [f"{place}{problem}" for problem in problems]
    assert str(caught.value) == "\n".join(caught.value.problems)


def test_timeline_that_is_not_there(tmp_path):
    with pytest.raises(TimelineError, match="cannot be read: No such file or directory"):
        timeline(tmp_path / "none.csv")


class Kept:
    """A record in memory."""

    def __init__(self):
        self.rows = []

    def write(self, reading):
        self.rows.append(reading)

    def record(self) -> Record:
        return Record(self.rows[0]._fields, np.array(self.rows), {})


def flown(name: str, field: str, pilot, *sets: str, seconds: float = 90.0) -> tuple[Flight, Record]:
    kept = Kept()
    airframe = load_airframe(find("airframes", name), sets)
    flight = fly(airframe, load_field(find("fields", field)), pilot, seconds, record=kept)
    return flight, kept.record()


@pytest.mark.parametrize("field", ["water-meadow", "water-meadow-breeze"])
@pytest.mark.parametrize("name", ["pantry", "pantry-swept", "allotment", "glasshouse"])
def test_steady_takes_every_airframe_round_and_home(name, field):
    flight, record = flown(name, field, Steady())
    assert flight.outcome.word == "landed", flight.outcome.text
    height, time_s = record.column("height_m"), record.column("time_s")
    assert 14.0 < height.max() < 18.0
    heading = np.unwrap(record.column("heading_deg"), period=360.0)
    turned = heading - heading[0]
    left = int(np.argmin(turned))
    assert -180.0 < turned[left] < -90.0  # a left turn,
    assert turned[left:].max() - turned[left] > 90.0  # and a right one back
    in_air = height > 1.0
    assert abs(turned[in_air][-1]) < 30.0  # lands ahead
    assert np.abs(record.column("roll_deg")[in_air]).max() < 50.0
    assert record.column("throttle")[time_s > time_s[in_air][-1]].max() == 0.0
    touched = np.flatnonzero(in_air)[-1]
    assert record.column("climb_m_s")[touched + 1] > -2.5  # rounded out


def test_steady_starts_over_when_time_does():
    pilot = Steady()
    first = [flown("pantry", "water-meadow", pilot)[1].rows for _ in range(2)]
    assert np.array_equal(*first)


def test_hands_off_keeps_the_sticks_still_in_a_real_flight():
    _, record = flown("pantry", "water-meadow", hands_off(0.6), seconds=2.0)
    assert not record.column("stick_pitch").any()
    assert set(record.column("throttle")[1:]) == {0.6}
