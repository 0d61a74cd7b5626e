"""Pilots without thumbs: what they answer to a reading, and a whole steady flight."""

from __future__ import annotations

import pytest

from sim.config import find, load_airframe
from sim.pilot import TimelineError, hands_off, launch_throttle, timeline
from sim.record import PLAIN_COLUMNS, reading_type
from sim.sticks import Sticks

READING = reading_type(PLAIN_COLUMNS)


def at(seconds: float):
    return READING(*[seconds, *[0.0] * (len(PLAIN_COLUMNS) - 1)])


def test_hands_off_touches_nothing():
    pilot = hands_off(0.8)
    assert pilot(at(0.0)) == pilot(at(9.0)) == Sticks(throttle=0.8)


def test_launch_throttle_is_the_airframe_s_own():
    assert launch_throttle(load_airframe(find("airframes", "pantry"))) == pytest.approx(0.8)
    glasshouse = load_airframe(find("airframes", "glasshouse"))
    assert launch_throttle(glasshouse, "ground") == glasshouse.launch.ground.throttle


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
