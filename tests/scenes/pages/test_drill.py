"""The direction drill's questions and what counts as right."""

from __future__ import annotations

from collections import Counter
from random import Random

from bodies import shipped

from firstthrow.scenes.pages import drill
from firstthrow.sim.build.straight import straight
from firstthrow.sim.describe.field import STANDARD


def test_every_fault_and_none_come_up_and_are_among_the_answers():
    airframe, random, seen = shipped("pantry"), Random(4), Counter()
    last = ""
    for _ in range(200):
        asked = drill.question(airframe, STANDARD, random, last)
        seen[asked.fault] += 1
        offered = [answer.fault for answer in asked.answers]
        assert asked.fault in offered
        assert asked.is_right(1 + offered.index(asked.fault))
        last = asked.fault
    assert set(seen) == set(drill.SHOWN)
    assert min(seen.values()) > 8


def test_what_looks_alike_counts_and_what_does_not_does_not():
    able = drill.possible(shipped("pantry"), STANDARD)
    assert drill.alike("reversed-roll", able) == {"reversed-roll", "swapped-elevons"}
    for alone in ("none", "reversed-pitch", "propeller-backwards", "elevon-stuck", "elevon-off"):
        assert drill.alike(alone, able) == {alone}


def test_a_roll_trim_tells_swapped_leads_from_a_reversed_stick():
    """Exchanged leads take the trim to the wrong side; a reversed stick leaves it."""
    airframe = shipped("pantry")
    mixing = airframe.mixing.model_copy(update={"roll_trim": 0.06})
    able = drill.possible(airframe.model_copy(update={"mixing": mixing}), STANDARD)
    assert drill.alike("reversed-roll", able) == {"reversed-roll"}


def test_an_airframe_without_elevons_is_not_asked_about_them():
    able = drill.possible(shipped("allotment"), STANDARD)
    assert "swapped-elevons" not in able
    assert drill.called("elevon-off", shipped("allotment")) == "left elevator has come off"
    assert drill.called("elevon-stuck", shipped("pantry")) == "left elevon does not move"


def test_what_a_transmitter_mixes_itself_is_asked_too():
    """Servos that follow channels: a stick the wrong way round is so in what it sends."""
    able = drill.possible(shipped("pantry"), STANDARD, lambda a: straight(a).airframe)
    assert set(able) == set(drill.SHOWN)
    assert drill.alike("reversed-roll", able) == {"reversed-roll", "swapped-elevons"}
    assert drill.alike("reversed-pitch", able) == {"reversed-pitch"}


def test_the_score_counts():
    score = drill.Score()
    score.count("none", True)
    score.count("elevon-off", False)
    assert (score.asked, score.right, score.missed) == (2, 1, ["elevon-off"])
