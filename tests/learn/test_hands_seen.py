"""What a record shows of the hands, against hands that are known to have done it."""

from __future__ import annotations

from collections import deque
from math import degrees, radians

import numpy as np
import pytest
from bodies import shipped

from firstthrow.scenes.hands.keyboard import Lever
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Record, Rows, flight_meta, sidecar
from firstthrow.sim.learn.circumstances import Circumstance
from firstthrow.sim.learn.diagnose import diagnose
from firstthrow.sim.learn.hands_seen import AXES, BY_KEY, BY_STICK, Hand, hands_seen
from firstthrow.sim.study.faults import apply
from firstthrow.sim.study.subject import Subject

FIELD = load_field(find("fields", "water-meadow"))
BANKED = put(shipped(), ("launch", "hand", "bank"), radians(25.0))
SUBJECT = Subject(BANKED, FIELD)
BANKED_PITCH = degrees(BANKED.launch.by_hand.pitch)
THROTTLE = BANKED.launch.by_hand.throttle


class Wings:
    """Hands that hold the wings level by so much stick per degree, so many readings late."""

    def __init__(self, gain: float, late: int = 12, lead: float = 0.15) -> None:
        self.gain, self.lead = gain, lead
        self.seen: deque[float] = deque([0.0] * (late + 1), maxlen=late + 1)

    def __call__(self, reading) -> Sticks:
        if reading.time_s > 0.0:
            self.seen.append(reading.roll_deg + self.lead * reading.p_deg_s)
        roll = max(-1.0, min(1.0, -self.gain * self.seen[0]))
        return Sticks(roll=roll, throttle=THROTTLE)


def flown(hands, fault: str = "") -> Record:
    wrong, field = apply(fault, BANKED, FIELD) if fault else (BANKED, FIELD)
    rows = Rows()
    flight = fly(wrong, field, hands, 3.0, "hand", record=rows)
    return rows.record(flight.columns, sidecar(BANKED, flight_meta(field, launch="hand")))


def said(record: Record) -> dict[str, Circumstance]:
    return {one.name: one for one in hands_seen(record, 6.0, SUBJECT) if one.clear}


def test_hands_that_level_the_wings_did_nothing_wrong():
    assert not said(flown(Wings(0.02)))


def test_hands_that_push_towards_the_bank_went_the_wrong_way():
    one = said(flown(Wings(-0.02)))["roll-wrong-way"]
    assert one.value == pytest.approx(1.0)
    assert one.at_s < 0.7


def test_hands_that_rock_it_did_too_much():
    found = said(flown(Wings(0.05, late=18, lead=0.0)))
    assert max(found, key=lambda name: found[name].log_evidence) == "roll-too-much"
    assert found["roll-too-much"].value > 0.9


def test_hands_that_answer_after_a_second_were_late():
    found = said(flown(Wings(0.02, late=70)))
    assert set(found) == {"roll-too-late"}
    assert found["roll-too-late"].value > 0.7


def test_a_reversed_stick_and_a_hand_that_goes_the_wrong_way_are_told_apart():
    """Both roll it over; only the airframe's answer to the stick differs."""
    by_hand, by_channel = flown(Wings(-0.015)), flown(Wings(0.02), "reversed-roll")
    for record in (by_hand, by_channel):
        assert abs(record.column("roll_deg")).max() > 45.0
    found = [diagnose(record, BANKED, FIELD) for record in (by_hand, by_channel)]
    assert all(found)
    assert found[0].first.name == "roll-wrong-way"
    assert "reversed-roll" in (found[1].first.name, *found[1].first.alike)
    assert not said(by_channel)


def test_a_hand_that_rolls_it_over_in_a_second_is_told_among_the_causes():
    """Too soon over to be the first of them."""
    found = diagnose(flown(Wings(-0.02)), BANKED, FIELD)
    assert "roll-wrong-way" in [one.name for one in found.likely]


def test_nobody_at_the_sticks_is_not_late():
    assert not said(flown(Wings(0.0)))


def test_a_nose_that_is_meant_to_be_up_is_not_answered_late():
    """Quick hands that climb steeply: against the throw the nose leans far, and is let be."""
    wings = Wings(0.02)

    def climbs(reading) -> Sticks:
        pitch = 0.03 * (BANKED_PITCH + 40.0 - reading.pitch_deg) - 0.004 * reading.q_deg_s
        return wings(reading)._replace(pitch=max(-1.0, min(1.0, pitch)), throttle=1.0)

    record = flown(climbs)
    leans = record.column("pitch_deg") - record.column("pitch_deg")[0]
    assert leans.max() > 30.0
    assert not said(record)


@pytest.mark.parametrize("reading", [3, 14, 17])
def test_what_tips_over_before_anybody_can_answer_tells_nothing_of_the_hands(reading):
    record = flown(Wings(0.02))
    at = int(np.flatnonzero(record.column("time_s") > 0.0)[reading])
    record.rows[at:, record.columns.index("roll_deg")] = 170.0
    record.rows[at:, record.columns.index("pitch_deg")] = 80.0
    assert not said(record)


@pytest.mark.parametrize("trim", [0.0, 0.06])
def test_keys_are_known_by_how_their_sticks_come_back(trim):
    """Tapped to and fro, twice a second and every three seconds; a thumb that does the same comes
    back in its own way each time."""
    for period in (0.5, 3.0):
        lever, time = Lever(), np.arange(360) / 60.0
        pushes = np.sign(np.sin(2.0 * np.pi * time / period)) * (time % (0.5 * period) < 0.2)
        keys = np.array([lever.move(1.0 / 60.0, int(push)) for push in pushes]) + trim
        thumb = 0.6 * np.sin(2.0 * np.pi * time / period) * np.sin(0.7 * time + 0.4) ** 2 + trim
        for stick, wanted in ((keys, BY_KEY), (thumb, BY_STICK)):
            hand = Hand(AXES[0], time, stick, time, time, True, None)
            assert hand.habit is wanted
