"""Gentler sticks for hands that go too far: what is least, and what the window offers."""

from __future__ import annotations

from bodies import shipped

from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.learn.aftermath.remedy import remedy
from firstthrow.sim.learn.aftermath.said import cause
from firstthrow.sim.learn.diagnose import Diagnosis, Likely
from firstthrow.sim.study.subject import subject_of
from firstthrow.sim.study.verdict import BalanceVerdict

SUBJECT = subject_of(shipped(), load_field(find("fields", "water-meadow")))


def offered(name: str):
    first = Likely(name, 0.9, 0.5, "", 0.9, (), "so it went")
    return remedy(Diagnosis((first,), (), BalanceVerdict.OK, 2.0), SUBJECT)


def test_a_nose_that_is_rocked_gets_a_softer_middle_before_a_smaller_throw():
    now, found = SUBJECT.airframe.mixing, offered("pitch-too-much")
    then = found.airframe.mixing
    assert found.words == "with 51 instead of 30 % of expo on the pitch stick"
    assert then.expo.pitch > now.expo.pitch
    assert (then.high, then.expo.roll) == (now.high, now.expo.roll)
    assert found.changes(SUBJECT.airframe)  # so that it can be taken to the file


def test_hands_that_go_the_wrong_way_are_told_what_to_do():
    found = offered("roll-wrong-way")
    assert found.words == "the stick against what you see"
    assert not found.changes(SUBJECT.airframe)


def test_a_throw_and_a_fault_are_put_right_together():
    throw, fault = (
        Likely(*one)
        for one in (
            ("high-throttle", 0.9, 0.0, "", 0.9, (), "throttle 93 %"),
            ("warped-tip", 0.9, None, "", 0.0, (), ""),
        )
    )
    found = remedy(Diagnosis((throw,), (), BalanceVerdict.OK, 2.0, (fault,)), SUBJECT)
    assert found.words == "put right and as planned"
    assert (found.faults, found.as_planned) == (("high-throttle", "warped-tip"), ("throttle",))
    told = cause(Diagnosis((throw,), (), BalanceVerdict.OK, 2.0, (fault,)), SUBJECT.airframe)
    assert told.endswith("Besides, 90 %: a tip is warped.")
