"""Every command quotes one verdict, in the words of the pre-flight."""

from __future__ import annotations

import json

import pytest
from bodies import copied

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.describe.config import load_airframe
from firstthrow.sim.study.check import preflight, whole
from firstthrow.sim.study.subject import subject_of

NEW = ("--sheet", "24inx24in", "--defaults")


pytestmark = pytest.mark.usefixtures("brief")  # any verdict can be quoted


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("verdict")


def said(capsys, *words: str) -> tuple[int, dict]:
    code = main([*words, "--json"])
    return code, json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("name", ["pantry", "glasshouse"])
def test_commands_quote_the_verdict_of_the_pre_flight(name, capsys, folder):
    brief = copied(name, folder)
    code, checked = said(capsys, "check", brief)
    wanted = checked["verdict"], checked["sentence"]
    assert wanted[0] == ("go" if name == "pantry" else "no-go")
    assert code == (0 if name == "pantry" else 3)
    asked: list[tuple[str, ...]] = [("weigh",), ("odds", "--flights", "2")]
    if name == "pantry":
        asked += [
            ("weigh", "--margin", "8%"),
            ("odds", "--flights", "4", "--seconds", "0.5", "--vary", "cg=10..14%:2"),
            ("odds", "--flights", "10", "--seconds", "0.2", "--improve"),
        ]
    for words in asked:
        exit_, told = said(capsys, words[0], brief, *words[1:])
        assert (told["preflight"]["verdict"], told["preflight"]["sentence"]) == wanted, words
        assert exit_ == (code if words[0] == "weigh" and len(words) == 1 else 0), words
    exit_, sheet = said(capsys, "benchsheet", brief, "--out", str(folder / f"{name}.pdf"))
    assert exit_ == code
    assert (sheet["verdict"]["word"].lower(), sheet["verdict"]["sentence"]) == wanted


def test_what_is_drafted_gets_the_verdict_that_check_gives_it(capsys, folder):
    """A square of two feet, planned faster than an arm throws it."""
    path = folder / "square.toml"
    code, drafted = said(capsys, "new", "square", "--out", str(path), *NEW)
    assert path.is_file()
    checked = preflight(whole(subject_of(load_airframe(path))))
    assert code == (0 if checked.verdict == "go" else 3)
    assert (drafted["verdict"], drafted["sentence"]) == (checked.verdict, checked.sentence)
