"""A rehearsal and a replay are the same to the window."""

from __future__ import annotations

import inspect
import json
from dataclasses import replace

import pytest
from bodies import meadow, shipped, shipped_model

from firstthrow.scenes.flight.facts import facts_of
from firstthrow.scenes.flight.flying import Course, Flying
from firstthrow.scenes.flight.posing import pose_of
from firstthrow.scenes.flight.rehearsal import Rehearsal
from firstthrow.scenes.flight.replay import Replay
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.pilot import hands_off
from firstthrow.sim.flight.record import Recorder, load


@pytest.fixture
def record(tmp_path):
    recorder = Recorder(tmp_path / "a.csv", shipped(), {"launch": "hand"})
    sticks = Sticks(0.25, 0.5, -0.125, 0.75, True)
    flight = fly(
        shipped(), meadow(), lambda reading: sticks, 1.0, record=recorder, model=shipped_model()
    )
    recorder.close(flight.outcome)
    return load(tmp_path / "a.csv")


@pytest.fixture(params=["rehearsal", "replay"])
def flying(request, record) -> Flying:
    if request.param == "rehearsal":
        return Rehearsal(shipped(), meadow(), hands_off(0.5), model=shipped_model())
    return Replay(record, shipped(), meadow())


def test_both_have_all_that_is_asked(flying):
    assert isinstance(flying, Flying)
    assert isinstance(flying.flight, Course)
    for name in ("frame", "change", "refit"):
        wanted = inspect.signature(getattr(Flying, name)).parameters.values()
        have = list(inspect.signature(getattr(type(flying), name)).parameters.values())
        assert [(p.name, p.kind) for p in wanted] == [(p.name, p.kind) for p in have]


def test_both_go_from_the_hand_to_an_end_and_again(flying):
    assert flying.held
    assert not flying.flown
    facts = facts_of(flying.airframe, flying.launch)
    for _ in range(150):
        flying.frame(1.0 / 60.0, Sticks())
    assert flying.flown
    assert flying.top >= flying.reading.height_m
    pose = pose_of(flying, facts, [0.0])
    assert pose.gone == flying.flight.time
    assert flying.over == (flying.flight.outcome is not None)
    flying.again()
    assert flying.held
    assert not flying.over
    assert flying.scripted
    assert flying.pilot(flying.reading) is not None


def test_a_replay_has_the_sticks_of_its_record(record):
    replay = Replay(record, shipped(), meadow())
    replay.seek(0.5)
    assert replay.sticks == Sticks(0.25, 0.5, -0.125, 0.75, True)
    assert replay.recorded
    meta = {**record.meta, "outcome": None}
    cut = Replay(replace(record, meta=json.loads(json.dumps(meta))), shipped(), meadow())
    assert cut.ending.word == "stopped"
