"""The verdict on the window's card and bench: the pre-flight's, worked out beside the window."""

from __future__ import annotations

import time
from types import SimpleNamespace

import pytest
from bodies import shipped
from own import FOUND

from firstthrow.scenes.window import judging as judging_file
from firstthrow.scenes.window.judging import NONE, RESTS, WORKING, Judging, judge
from firstthrow.sim.describe.builder_units import METRIC
from firstthrow.sim.study import check
from firstthrow.sim.study.check import ruling
from firstthrow.sim.study.gist.throw import throw_words
from firstthrow.sim.study.launch import launch_plan
from firstthrow.sim.study.odds import survival
from firstthrow.sim.study.subject import subject_of
from firstthrow.sim.study.verdict import Ruling, Verdict


@pytest.fixture(autouse=True)
def nobody_measured(monkeypatch):
    """Whoever runs these tests; and a process that gives way would do so in every test after."""
    monkeypatch.setattr(judging_file, "measured", lambda: None)
    monkeypatch.setattr(judging_file, "give_way", lambda gentle: None)


def app(airframe, held=True):
    flying = SimpleNamespace(held=held, standing=False, pilot=None, recorded=False)
    return SimpleNamespace(
        rehearsal=flying, sound=(airframe,), bench=SimpleNamespace(visible=False)
    )


def test_the_verdict_of_check_comes_from_a_process_of_its_own():
    """With how to throw it, as `check` says it."""
    window = app(shipped("allotment"))
    judging = Judging(window, unseen=False)
    judging.frame(0.5 * RESTS)
    assert judging.process is None  # it may still be changed
    judging.frame(RESTS)
    worker = judging.process
    assert worker.is_alive()
    assert judging.words == WORKING
    end = time.monotonic() + 300.0
    while judging.process is not None and time.monotonic() < end:
        time.sleep(0.05)
        judging.frame(0.05)
    subject = subject_of(window.sound[0])
    assert judging.words == ruling(subject).sentence
    throws, torque = judging.asked
    assert throws == throw_words(launch_plan(subject), subject.mass, METRIC)
    assert torque.startswith("The motor's torque: left alone for 1.5 s at 63 % throttle")
    assert not worker.is_alive()


def test_the_odds_of_measured_hands_come_after_the_verdict(monkeypatch):
    """Two messages of the process, each shown as it comes."""
    told = Ruling(Verdict.NO_GO, "Do not fly: not today.", ())
    monkeypatch.setattr(check, "ruling", lambda subject: told)
    few = survival.by_measured
    monkeypatch.setattr(survival, "by_measured", lambda subject, mine: few(subject, mine, 4))
    said = []
    pipe = SimpleNamespace(send=said.append, close=lambda: None)
    judge(pipe, shipped("pantry"), FOUND.skill)
    assert said[0] == (told, ())
    assert " of 4 launches survive with your hands, " in said[1]
    assert said[1].endswith(" by club hands.")
    judging = Judging(app(shipped("pantry")), unseen=False)
    judging.pipe = SimpleNamespace(poll=lambda: True, recv=lambda: said.pop(0), close=lambda: None)
    judging._look()
    assert judging.words == told.sentence
    own = said[0]
    judging._look()
    assert judging.words == f"{told.sentence} {own}"
    assert judging.pipe is None


def test_a_change_ends_what_is_worked_out_and_nobody_to_read_starts_nothing():
    window = app(shipped("glasshouse"))
    judging = Judging(window, unseen=False)
    judging.frame(2.0 * RESTS)
    worker = judging.process
    window.sound = (shipped("pantry"),)
    judging.frame(0.1)
    assert not worker.is_alive()
    assert (judging.process, judging.words) == (None, WORKING)
    window.rehearsal.held = False
    judging.frame(2.0 * RESTS)
    assert judging.process is None
    pictures = Judging(app(shipped("pantry")), unseen=True)
    pictures.frame(2.0 * RESTS)
    assert pictures.process is None


def test_what_is_not_to_be_flown_is_not_told_how():
    said = []
    judge(SimpleNamespace(send=said.append, close=lambda: None), shipped("glasshouse"))
    ((ruled, asked),) = said
    assert ruled.sentence.startswith("Do not fly")
    assert asked == ()


def test_a_process_that_ends_without_a_word_is_told():
    judging = Judging(app(shipped("glasshouse")), unseen=False)
    judging.frame(2.0 * RESTS)
    judging.process.kill()
    judging.process.join()
    judging.frame(0.1)
    assert judging.words == NONE
    judging.close()
