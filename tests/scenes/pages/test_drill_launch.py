"""The launch: countdown, a thrower who scatters, the drill of the first ten seconds."""

from __future__ import annotations

import json
import math
from typing import NamedTuple

import numpy as np
import pytest
from driven import Driven

from firstthrow.scenes.flight import first_ten
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.throw import Throw, drawn, planned, words
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.study.odds.scatter import Scatter


@pytest.fixture(scope="module")
def pantry():
    return load_airframe(find("airframes", "pantry"))


@pytest.fixture(scope="module")
def meadow():
    return load_field(find("fields", "water-meadow"))


class Row(NamedTuple):
    time_s: float
    height_m: float = 2.0
    roll_deg: float = 0.0
    airspeed_m_s: float = 9.0
    stall_speed_m_s: float = 6.0


def test_ten_seconds_in_plain_numbers():
    watch = first_ten.Watch(0.5)
    for row in (
        Row(-0.5, 9.0, 80.0),
        Row(0.1, 2.0, airspeed_m_s=5.0),
        Row(1.0, 1.2, -24.0, 7.5),
        Row(9.9, 8.0, 10.0),
    ):
        watch.see(row)
    lost = watch.score(Outcome(Ending.BROKE, "The nose broke."))
    assert not watch.done
    watch.see(Row(10.5, 0.0, 90.0, 0.0))
    assert watch.done
    score = watch.score(Outcome(Ending.BROKE, "It broke later."))
    assert score == first_ten.Score(0.5, 9.9, 0.8, 24.0, 1.5, True, "flying")
    assert first_ten.words(score) == (
        "0.8 m lost, bank to 24°, at least 1.5 m/s above its stall, airframe alive"
    )
    assert not lost.alive
    assert "LOST: broke at 9.9 s" in first_ten.words(lost)
    assert "1 of 2 alive" in first_ten.total([score, lost])


def test_the_scatter_of_throws_grows_and_is_the_same_again(pantry):
    plan = planned(pantry)
    assert drawn(pantry, Scatter(), 3, 0, 0.0) == pytest.approx(plan)
    one = np.array(drawn(pantry, Scatter(), 3, 4, 1.0)) - plan
    assert np.array(drawn(pantry, Scatter(), 3, 4, 2.0)) - plan == pytest.approx(2.0 * one)
    assert drawn(pantry, Scatter(), 3, 4, 1.0) == drawn(pantry, Scatter(), 3, 4, 1.0)
    speeds = [drawn(pantry, Scatter(), 3, k).speed - plan.speed for k in range(300)]
    assert np.std(speeds) == pytest.approx(Scatter().speed, rel=0.15)  # as the spread says
    assert words(plan, plan) == "as planned"
    slower = plan._replace(speed=plan.speed - 1.2, bank=plan.bank + math.radians(7.0))
    assert words(slower, plan) == "1.2 m/s slower, 7° banked right"


def test_a_throw_is_held_and_leaves_as_it_was_drawn(pantry, meadow):
    throw = Throw(6.5, math.radians(11.0), math.radians(-8.0), math.radians(5.0), 1.6, 0.3)
    flight = Flight(pantry, meadow)
    throw.hold(flight)
    reading = flight.reading()
    assert reading.height_m == pytest.approx(1.6)
    assert (reading.pitch_deg, reading.roll_deg) == pytest.approx((11.0, -8.0))
    turned = reading.heading_deg - math.degrees(meadow.heading)
    assert (turned + 180.0) % 360.0 - 180.0 == pytest.approx(5.0)
    flight.release()
    throw.leave(flight)
    reading = flight.reading()
    assert math.hypot(reading.u_m_s, reading.v_m_s) == pytest.approx(6.5)
    assert reading.v_m_s == pytest.approx(-0.0873 * reading.u_m_s, rel=0.01)  # back to the strip
    assert reading.p_deg_s == pytest.approx(math.degrees(0.3))


def test_the_history_is_kept_and_a_broken_one_is_not_overwritten(tmp_path, monkeypatch):
    monkeypatch.setattr(first_ten, "path", lambda: tmp_path / "data" / "launch-drill.json")
    score = first_ten.Score(0.0, 10.0, 0.3, 12.0, 2.0, True, "flying")
    place = first_ten.keep("pantry", "water-meadow", 5, [score] * 5)
    first_ten.keep("allotment", "water-meadow", 6, [score] * 5)
    assert len(first_ten.history()) == 2
    assert json.loads(place.read_text())[0]["launches"][0]["bank_peak_deg"] == 12.0
    assert len(first_ten.earlier("pantry")) == 1
    assert "5 of 5 alive" in first_ten.earlier("pantry")[0]
    place.write_text("{ half a fi")
    assert first_ten.earlier("pantry") == []
    first_ten.keep("pantry", "water-meadow", 7, [score] * 5)
    assert len(first_ten.history()) == 1
    assert place.with_suffix(".unread.json").read_text() == "{ half a fi"


def test_the_history_is_in_the_users_own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert first_ten.path().name == "launch-drill.json"
    assert "firstthrow" in first_ten.path().parts


@pytest.fixture(scope="module")
def window(display, pantry, meadow):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import TITLE, App

    app = App(Rehearsal(pantry, meadow), load_hands("keyboard"), settings=Settings(mute=True))
    driven = Driven(app, TITLE)
    yield driven
    app.close()


@pytest.fixture
def hand(window, tmp_path, monkeypatch):
    monkeypatch.setattr(first_ten, "path", lambda: tmp_path / "launch-drill.json")
    app = window.app
    app.aids.launching.five = app.aids.launching.scatter = app.aids.launching.count = None
    app.rehearsal.thrower = app.rehearsal.pilot = None
    app.act("again")
    window.frames(2)
    yield window
    for name in ("Up", "Down", "w", "s"):
        window.key_up(name)
    window.until(lambda: not app.keys, "all keys are up")


def paper(picture: np.ndarray) -> int:
    return int((np.abs(picture - np.array([245, 240, 226])).max(axis=2) < 4).sum())


@pytest.mark.window
def test_a_count_of_three_throws_with_the_pilots_own_throttle(hand):
    app = hand.app
    hand.key("c")
    hand.until(lambda: app.aids.launching.count is not None, "C counts")
    assert app._card().title == "3"
    assert paper(hand.picture()) > 20_000
    hand.key_down("w")
    waited = 0
    while app.rehearsal.held:
        app.frame(1 / 60)
        waited += 1
        assert waited < 400
    hand.key_up("w")
    assert waited == pytest.approx(180, abs=12)
    assert app.rehearsal.reading.throttle > 0.5
    assert app._card() is None


@pytest.mark.window
def test_c_again_stops_the_count_and_pausing_holds_it(hand):
    app = hand.app
    hand.key("c")
    hand.until(lambda: app.aids.launching.count is not None, "C counts")
    hand.key("p")
    hand.until(lambda: app.rehearsal.clock.paused, "P pauses")
    left = app.aids.launching.count
    hand.frames(60)
    assert app.aids.launching.count == left
    hand.key("p")
    hand.until(lambda: not app.rehearsal.clock.paused, "P goes on")
    hand.key("c")
    hand.until(lambda: app.aids.launching.count is None, "C stops the count")
    hand.frames(200)
    assert app.rehearsal.held


@pytest.mark.window
def test_a_fault_card_ends_the_count_and_starts_the_launch_afresh(hand):
    app, launching = hand.app, hand.app.aids.launching
    hand.key("c")
    hand.until(lambda: launching.count is not None, "C counts")
    app.set_fault("weak-pack")
    assert launching.count is None
    hand.key("F6")
    hand.until(lambda: launching.five is not None, "F6 begins the drill")
    app.rehearsal.release()
    hand.until(lambda: launching.five.watch.seconds > 0.3, "it is watched")
    app.set_fault("")
    hand.frames(2)
    assert launching.five.watch.seconds == 0.0
    hand.key("F6")
    hand.until(lambda: launching.five is None, "F6 leaves")


@pytest.mark.window
def test_in_a_pause_no_count_begins(hand):
    app, launching = hand.app, hand.app.aids.launching
    launching.counts = True
    hand.key("p")
    hand.until(lambda: app.rehearsal.clock.paused, "P pauses")
    hand.key("space")
    hand.frames(5)
    launching.counts = False
    assert launching.count is None
    assert app.rehearsal.held


@pytest.mark.window
def test_why_there_is_no_drill_is_told_for_a_while(hand):
    app = hand.app
    app.rehearsal.pilot = Steady()
    hand.key("F6")
    hand.until(lambda: app._card().title == "No launch drill", "it says why")
    app.rehearsal.pilot = None
    hand.frames(400)
    assert app._card().title != "No launch drill"


@pytest.mark.window
def test_scatter_makes_every_throw_another(hand):
    app = hand.app
    level = app.rehearsal.reading
    hand.key("k")
    hand.until(lambda: app.aids.launching.scatter is not None, "K switches scatter on")
    seen = {round(app.rehearsal.reading.roll_deg, 3)}
    for _ in range(3):
        app.act("again")
        seen.add(round(app.rehearsal.reading.roll_deg, 3))
    assert len(seen) == 4
    assert "scatter" in app.aids.corner
    hand.key("k")
    hand.until(lambda: app.aids.launching.scatter is None, "K switches it off")
    assert app.rehearsal.reading.roll_deg == pytest.approx(level.roll_deg)


@pytest.mark.window
def test_the_drill_of_five_launches_is_scored_and_kept(hand):
    """Thrown each time without throttle: some last, none climbs, all are scored."""
    app = hand.app
    hand.key("F6")
    hand.until(lambda: app.aids.launching.five is not None, "F6 begins the drill")
    five = app.aids.launching.five
    assert app._card().title.startswith("Launch 1 of 5: thrown as planned")
    shown = paper(hand.picture())
    for number in range(5):
        hand.key("space")
        hand.until(lambda: app.aids.launching.count is not None, "Space counts")
        hand.until(lambda: app.rehearsal.flown, "and it is thrown", frame=0.1)
        hand.until(lambda: five.scored, "the launch is scored", frame=0.1)
        assert len(five.scores) == number + 1
        assert app.rehearsal.clock.paused
        if number < 4:
            assert app._card().title.startswith(f"Launch {number + 1}:")
            hand.key("space")
            hand.until(lambda: app.rehearsal.held, "Space goes to the next")
    assert [score.growth for score in five.scores] == list(first_ten.GROWTH)
    assert all(score.height_lost_m > 0.5 for score in five.scores)
    assert app._card().title == "First ten seconds"
    assert paper(hand.picture()) > shown
    kept = first_ten.history()
    assert [len(one["launches"]) for one in kept] == [5]
    assert kept[0]["airframe"] == "pantry"
    hand.key("F6")
    hand.until(lambda: app.aids.launching.five is None, "F6 leaves")
    assert app.rehearsal.held
    assert app.rehearsal.throw is None


@pytest.mark.window
def test_a_flight_that_lasts_is_scored_at_ten_seconds(hand):
    app = hand.app
    hand.key("F6")
    hand.until(lambda: app.aids.launching.five is not None, "F6 begins the drill")
    five = app.aids.launching.five
    app.rehearsal.pilot = Steady()  # hands that can; the count is the script's own
    hand.until(lambda: five.scored, "ten seconds", frame=0.1)
    score = five.scores[0]
    assert score.alive
    assert score.ending == "flying"
    assert score.seconds == pytest.approx(10.0, abs=0.1)
    app.rehearsal.pilot = None
    app.aids.launching.five = None
    app.act("again")
