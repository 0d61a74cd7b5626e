"""Throw after throw, without a window."""

from __future__ import annotations

from collections import deque
from functools import lru_cache
from itertools import pairwise

import pytest

from firstthrow.scenes.flight.clock import FRAME
from firstthrow.scenes.flight.rehearsal import HOLD, Rehearsal
from firstthrow.scenes.flight.throw import planned
from firstthrow.scenes.hands.keyboard import Keyboard
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.straight import straight
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.pilot import hands_off
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.flight.simulated_hands import Human

POWER = Sticks(throttle=0.45)


class Rows:
    """A recorder that keeps its rows."""

    def __init__(self):
        self.rows, self.outcome, self.meta = [], None, {}

    def write(self, reading):
        self.rows.append(reading)

    def close(self, outcome):
        self.outcome = outcome


@lru_cache
def descriptions():
    """Airframe, field and their model, built once for all tests here."""
    airframe = load_airframe(find("airframes", "pantry"))
    field = load_field(find("fields", "water-meadow"))
    return airframe, field, build(airframe, field)


def rehearse(**known) -> tuple[Rehearsal, list[Rows]]:
    made: list[Rows] = []

    def record():
        made.append(Rows())
        return made[-1]

    airframe, field, model = descriptions()
    return Rehearsal(airframe, field, record_factory=record, model=model, **known), made


def run(rehearsal: Rehearsal, seconds: float, sticks: Sticks = POWER) -> None:
    for _ in range(round(seconds / FRAME)):
        rehearsal.frame(FRAME, sticks)


def test_in_the_hand_it_waits_and_nothing_is_recorded():
    rehearsal, made = rehearse()
    before = rehearsal.reading
    run(rehearsal, 3.0)
    assert rehearsal.held
    assert not made
    assert rehearsal.reading.height_m == pytest.approx(before.height_m)
    assert rehearsal.reading.motor_motor_rpm > 1000.0  # the motor is alive in the hand
    rehearsal.stop()
    assert rehearsal.finished == []


def test_a_record_has_sixty_rows_a_second_and_the_moment_before_the_throw():
    rehearsal, made = rehearse()
    run(rehearsal, 2.0)
    rehearsal.release()
    run(rehearsal, 1.0)
    times = [row.time_s for row in made[0].rows]
    assert times[0] == pytest.approx(-HOLD)
    assert times[-1] == pytest.approx(1.0)
    steps = [b - a for a, b in pairwise(times)]
    assert steps == pytest.approx([FRAME] * len(steps), abs=1e-9)


def test_again_stops_keeps_and_starts_afresh():
    rehearsal, made = rehearse()
    rehearsal.release()
    run(rehearsal, 0.5)
    rehearsal.again()
    assert rehearsal.held
    assert rehearsal.reading.airspeed_m_s < 1.0
    assert [outcome.word for outcome in rehearsal.finished] == ["stopped"]
    assert made[0].outcome.word == "stopped"
    rehearsal.release()
    run(rehearsal, 0.2)
    assert len(made) == 2


def test_pause_and_slow_motion():
    rehearsal, _ = rehearse()
    rehearsal.release()
    rehearsal.clock.paused = True
    run(rehearsal, 1.0)
    assert rehearsal.flight.time == 0.0
    rehearsal.clock.paused = False
    rehearsal.clock.slower()
    run(rehearsal, 1.0)
    assert rehearsal.flight.time == pytest.approx(0.5)


def test_the_pace_of_the_frames_does_not_change_the_flight():
    ends = []
    for frame in (1.0 / 144.0, 1.0 / 60.0, 1.0 / 24.0):
        rehearsal, _ = rehearse()
        rehearsal.release()
        while rehearsal.flight.time < 1.0:
            rehearsal.frame(min(frame, 1.0 - rehearsal.flight.time + 1e-9), POWER)
        ends.append(rehearsal.reading[:20])
    assert ends[1] == pytest.approx(ends[0], abs=1e-9)
    assert ends[2] == pytest.approx(ends[0], abs=1e-9)


def test_a_script_throws_by_itself_and_time_ends_the_flight():
    rehearsal, made = rehearse(pilot=Steady(), seconds=1.5)
    run(rehearsal, HOLD + 2.0, Sticks(roll=1.0))
    assert rehearsal.over
    assert made[0].outcome.word == "time-up"
    assert rehearsal.flight.time == pytest.approx(1.5)
    assert max(abs(row.stick_roll) for row in made[0].rows) < 0.9  # not the person's sticks


def test_simulated_hands_take_over_and_give_back():
    airframe, field, model = descriptions()
    rehearsal, made = rehearse()
    rehearsal.relief = Human(airframe, field, model=model)
    run(rehearsal, 0.2)
    rehearsal.release()
    mine = Sticks(roll=0.2, throttle=0.7)
    run(rehearsal, 1.0, mine)
    assert rehearsal.sticks == mine
    rehearsal.hand_over()
    run(rehearsal, 3.0, mine)
    assert rehearsal.pilot is not None
    assert rehearsal.sticks.throttle == airframe.launch.hand.throttle
    assert abs(made[0].rows[-1].roll_deg) < abs(made[0].rows[60].roll_deg) + 5.0
    rehearsal.hand_over()
    run(rehearsal, 0.1, mine)
    assert rehearsal.sticks == mine
    assert made[0].meta["handed_over_at_s"] == pytest.approx([1.0, 4.0])


def test_handed_over_in_the_hand_it_is_thrown_with_the_motor_running():
    airframe, field, model = descriptions()
    rehearsal, made = rehearse()
    rehearsal.relief = Human(airframe, field, model=model)
    run(rehearsal, 3.0, Sticks())
    rehearsal.hand_over()
    run(rehearsal, 0.9 * HOLD, Sticks())
    assert rehearsal.held
    run(rehearsal, 0.2 * HOLD, Sticks())
    assert rehearsal.flown
    assert rehearsal.reading.motor_motor_rpm > 3000.0
    assert made[0].meta["handed_over_at_s"] == [0.0]


def test_who_stands_by_is_asked_once_in_the_hand_when_it_has_been_seen():
    """Making simulated hands takes as long as some frames: the first is not kept waiting."""
    rehearsal, _ = rehearse()
    asked: list[int] = []
    rehearsal.stands_by = lambda reading: asked.append(rehearsal.waited)
    rehearsal.frame(FRAME, POWER)
    assert asked == []
    run(rehearsal, 5 * FRAME)
    assert asked == [2]
    assert rehearsal.held


def test_the_relief_s_sticks_are_mixed_where_the_servos_follow_channels():
    airframe, field, model = descriptions()
    rehearsal, _ = rehearse()
    rehearsal.straight = straight(airframe)
    rehearsal.change(rehearsal.straight.airframe, field, model)
    rehearsal.relief = lambda seen: Sticks(pitch=0.5)
    rehearsal.hand_over()
    run(rehearsal, 0.5)
    assert rehearsal.reading.surface_elevon_left_asked_deg < -6.0
    assert rehearsal.reading.surface_elevon_right_asked_deg < -6.0


def test_handing_over_to_nobody_changes_nothing():
    rehearsal, _ = rehearse()
    rehearsal.hand_over()
    assert rehearsal.pilot is None
    run(rehearsal, 0.1)
    assert rehearsal.held


def test_the_watched_script_flies_the_flight_that_the_unseen_one_flies():
    rehearsal, made = rehearse(pilot=hands_off(0.45), seconds=2.0)
    run(rehearsal, HOLD + 2.5)
    unseen = Rows()
    airframe, field, model = descriptions()
    fly(airframe, field, hands_off(0.45), 2.0, record=unseen, model=model)
    assert made[0].rows[-1] == pytest.approx(unseen.rows[-1], abs=1e-6)


def keys_of_a_careful_person(seen) -> set[str]:
    """Taps against bank and nose as seen a reaction time ago; throttle by airspeed and height."""
    keys = set()
    bank = seen.roll_deg + 0.25 * seen.p_deg_s
    nose = seen.pitch_deg + 0.2 * seen.q_deg_s - (8.0 if seen.height_m < 12.0 else 3.0)
    if abs(bank) > 7.0:
        keys.add("roll_left" if bank > 0.0 else "roll_right")
    if abs(nose) > 5.0:
        keys.add("pitch_forward" if nose > 0.0 else "pitch_back")
    if seen.airspeed_m_s > 11.0 or seen.height_m > 14.0:
        keys.add("throttle_down")
    elif seen.airspeed_m_s < 9.0:
        keys.add("throttle_up")
    return keys


def test_a_careful_person_can_fly_it_on_the_keyboard():
    """Reaction time 0.2 s, keys that are down or up and nothing between, the gentle rates."""
    rehearsal, _ = rehearse()
    keyboard = Keyboard()
    while keyboard.throttle < rehearsal.airframe.launch.hand.throttle:
        rehearsal.frame(FRAME, keyboard.sticks(FRAME, {"throttle_up"}))
    run(rehearsal, 0.5, keyboard.sticks(0.0, set()))
    rehearsal.release()
    eyes: deque = deque(maxlen=round(0.2 / FRAME))
    banks = []
    for _ in range(round(15.0 / FRAME)):
        eyes.append(rehearsal.reading)
        rehearsal.frame(FRAME, keyboard.sticks(FRAME, keys_of_a_careful_person(eyes[0])))
        banks.append(abs(rehearsal.reading.roll_deg))
    assert not rehearsal.over, rehearsal.flight.outcome
    assert max(banks) < 75.0
    assert rehearsal.top > 2.5


def test_another_throw_is_drawn_when_the_planned_one_changes_in_the_hand():
    _, field, model = descriptions()
    rehearsal, _ = rehearse()
    rehearsal.thrower = lambda number: planned(rehearsal.airframe)
    rehearsal.again()
    hand = rehearsal.airframe.launch.hand.model_copy(update={"speed": 12.0})
    launch = rehearsal.airframe.launch.model_copy(update={"hand": hand})
    rehearsal.refit(rehearsal.airframe.model_copy(update={"launch": launch}), field, model)
    rehearsal.release()
    assert rehearsal.reading.u_m_s == pytest.approx(12.0)


def test_a_change_tells_the_recorder_and_starts_in_the_hand():
    made: list[dict] = []

    def record(**told):
        made.append(told)
        return Rows()

    airframe, field, model = descriptions()
    rehearsal = Rehearsal(airframe, field, record_factory=record, model=model)
    rehearsal.release()
    run(rehearsal, 0.2)
    other = airframe.model_copy(update={"name": "other"})
    rehearsal.change(other, field, model, fault="weak-pack")
    assert rehearsal.held
    assert [outcome.word for outcome in rehearsal.finished] == ["stopped"]
    rehearsal.release()
    run(rehearsal, 0.2)
    rehearsal.change(airframe, field, model)
    rehearsal.release()
    run(rehearsal, 0.2)
    assert made == [{}, {"airframe": other, "fault": "weak-pack"}, {}]


def test_back_in_the_hand_the_person_has_the_sticks_again():
    rehearsal, _ = rehearse()
    rehearsal.relief = lambda reading: Sticks(throttle=0.9)
    rehearsal.release()
    run(rehearsal, 0.2)
    rehearsal.hand_over()
    run(rehearsal, 0.2)
    assert rehearsal.sticks.throttle == 0.9
    rehearsal.again()
    assert rehearsal.pilot is None
    run(rehearsal, 0.2)
    assert rehearsal.sticks == POWER
    rehearsal.hand_over()
    assert rehearsal.pilot is not None
