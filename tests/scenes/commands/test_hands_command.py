"""Measured hands as they are kept and told: `firstthrow hands`, `--pilot mine`, `--forget`."""

from __future__ import annotations

import json
import stat
import sys
from dataclasses import replace
from types import SimpleNamespace

import pytest
from bodies import shipped
from own import FOUND

from firstthrow.scenes.commands import odds
from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.debrief import own_hands_lines
from firstthrow.scenes.commands.showing.hands import fitting
from firstthrow.scenes.hands import own_hands
from firstthrow.sim.describe.config import ConfigError, find, load_field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Record, Recorder, flight_meta, load
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.flight.skills import SKILLS
from firstthrow.sim.study.hands import flights, practice
from firstthrow.sim.study.hands.flights import InFlight
from firstthrow.sim.study.odds import survival
from firstthrow.sim.study.subject import subject_of


@pytest.fixture(scope="module")
def flight(tmp_path_factory):
    """A record of a second of flight, by no person."""
    path = tmp_path_factory.mktemp("flights") / "steady.csv"
    airframe, field = shipped("pantry"), load_field(find("fields", "water-meadow"))
    meta = flight_meta(field, launch="hand", pilot="steady")
    recorder = Recorder(path, airframe, meta)
    recorder.close(fly(airframe, field, Steady(), 1.0, record=recorder).outcome)
    return path


@pytest.fixture
def own(tmp_path, monkeypatch):
    """A folder of the person's own, with nothing in it yet."""
    place = tmp_path / "own" / "hands.json"
    monkeypatch.setattr(own_hands, "path", lambda: place)
    return place


def test_hands_are_kept_for_the_person_alone_and_deleted(own, capsys):
    assert main(["hands"]) == 0
    assert "not been measured yet" in capsys.readouterr().out
    own_hands.add("pantry", "keyboard", FOUND)
    if sys.platform != "win32":
        assert stat.S_IMODE(own.stat().st_mode) == 0o600
    assert own_hands.mine() == FOUND  # as it was, to the last figure
    assert main(["hands", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["measured"] == FOUND.as_json()
    assert "short of beginner hands" in told["sentences"][0]
    assert main(["hands", "--forget"]) == 0
    assert not own.exists()
    assert main(["hands", "--json"]) == 0
    assert json.loads(capsys.readouterr().out.split("\n", 1)[1]) == {"measured": None}


def test_what_is_no_file_of_hands_is_refused(own, capsys):
    own.parent.mkdir()
    for content in (b'{"entries": [{"when": "never"}]}', b"\xff\xfe", b"[" * 100_000):
        own.write_bytes(content)
        assert main(["hands"]) == 2
        assert "--forget" in capsys.readouterr().err


def test_mine_flies_the_odds(own, capsys, monkeypatch):
    """And is refused while there are none."""
    monkeypatch.setattr(odds, "_heading", lambda *whole, **elsewhere: ([], {}))
    for words in (["odds", "pantry"], ["check", "pantry"]):
        assert main([*words, "--pilot", "mine"]) == 2
        assert "no hands have been measured" in capsys.readouterr().err
    own_hands.add("pantry", "keyboard", FOUND)
    words = ["pantry", "--pilot", "mine", "--flights", "8", "--seconds", "2", "--json"]
    assert main(["odds", *words]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["pilot"], told["skill"]) == ("human", "mine")


def test_practice_is_charted_and_said_once(own, capsys, monkeypatch):
    """What passes 95 of 100 is said with the checks that remain, the first time alone."""
    flown = practice.practice(subject_of(shipped("pantry")), FOUND.skill, launches=4)
    real = replace(flown.real, survived=12, flown=12, fraction=1.0)
    found = replace(flown, real=real)
    monkeypatch.setattr(practice, "practice", lambda subject, mine: found)
    own_hands.add("pantry", "keyboard", FOUND)
    said = []
    for _ in range(2):
        assert main(["hands", "pantry"]) == 0
        said.append(capsys.readouterr().out)
    assert "launches survive with your hands" in said[0]
    assert "Practise next" in said[0]
    assert len(own_hands.kept().practised) == 2
    assert "passed 95 of 100" in said[0]
    assert "passed 95 of 100" not in said[1]
    assert said[1].count(" rung ") == 1  # one row a day
    airframe, field = shipped("pantry"), load_field(find("fields", "water-meadow"))
    there = fitting(airframe, field)[0]
    assert there.mixing.high.pitch == pytest.approx(
        airframe.mixing.high.pitch * practice.THROWS**found.rung
    )
    other = load_field(find("fields", "water-meadow-breeze"))
    with pytest.raises(ConfigError, match="same --field"):  # it was flown elsewhere
        fitting(airframe, other)


def test_records_of_flights_are_added_to_the_exercises(own, capsys, monkeypatch, flight):
    """Those of a person alone; the others are named with the reason."""
    shown = InFlight(1, 40.0, replace(FOUND.delay_s, value=0.5, low=0.46, high=0.54), *[None] * 4)
    own_hands.add("pantry", "keyboard", FOUND)
    capsys.readouterr()
    assert main(["hands", "--flights", str(flight.parent)]) == 2
    assert "flown by no person" in capsys.readouterr().err
    monkeypatch.setattr(flights, "why_not", lambda record: "")
    monkeypatch.setattr(flights, "in_flight", lambda steered, records: shown)
    assert main(["hands", "--flights", str(flight)]) == 0
    said = capsys.readouterr().out
    assert "In 1 flight of pantry, 40 s in clear air: answers after 0.50 s (0.46 to 0.54)" in said
    assert FOUND.delay_s.value < own_hands.mine().delay_s.value < 0.5
    assert own_hands.kept().last.measured == FOUND  # the exercises stay as they were


def test_a_debrief_says_how_the_hands_have_changed(own):
    """Of the person's own flights alone, and only once there are two measurements."""
    mine, others = (SimpleNamespace(meta={"pilot": who}) for who in ("thumbs", "human"))
    own_hands.add("pantry", "keyboard", FOUND)
    assert own_hands_lines(mine) == []
    later = replace(FOUND.delay_s, value=0.6, low=0.55, high=0.65)
    own_hands.add("pantry", "keyboard", replace(FOUND, delay_s=later))
    assert "You answered 0.20 s later than earlier that day." in own_hands_lines(mine)[0]
    assert own_hands_lines(others) == []


def test_a_debrief_says_how_often_these_hands_bring_it_through(own, monkeypatch, flight):
    """Beside club hands, of the airframe that was flown."""
    flown, few = load(flight), survival.by_measured
    mine = Record(flown.columns, flown.rows, {**flown.meta, "pilot": "thumbs"})
    assert own_hands_lines(mine, quick=False) == []
    own_hands.add("pantry", "keyboard", FOUND)
    monkeypatch.setattr(survival, "by_measured", lambda subject, skill: few(subject, skill, 4))
    club = SKILLS["club"]
    monkeypatch.setattr(survival, "by_hands", lambda subject: few(subject, club, 4))
    said = own_hands_lines(mine, quick=False)
    assert len(said) == 1
    assert " of 4 launches survive with your hands, 4 of 4 by club hands" in said[0]
