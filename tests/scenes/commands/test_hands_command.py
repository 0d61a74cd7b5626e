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
from firstthrow.scenes.hands import own_hands
from firstthrow.sim.study.hands import practice
from firstthrow.sim.study.subject import subject_of


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
    assert own_hands.mine().measured == FOUND  # as it was, to the last figure
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
    own.write_text('{"entries": [{"when": "never"}]}')
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


def test_a_debrief_says_how_the_hands_have_changed(own):
    """Of the person's own flights alone, and only once there are two measurements."""
    mine, others = (SimpleNamespace(meta={"pilot": who}) for who in ("thumbs", "human"))
    own_hands.add("pantry", "keyboard", FOUND)
    assert own_hands_lines(mine) == []
    later = replace(FOUND.delay_s, value=0.6, low=0.55, high=0.65)
    own_hands.add("pantry", "keyboard", replace(FOUND, delay_s=later))
    assert "You answered 0.20 s later than earlier that day." in own_hands_lines(mine)[0]
    assert own_hands_lines(others) == []
