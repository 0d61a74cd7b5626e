"""Every check of the proof, each within its own bounds; misses are told and do not grow."""

from __future__ import annotations

import contextlib
import dataclasses
import html
import io
import json
import re

import pytest
from html_page import Page

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.proof import report
from firstthrow.sim.proof.run import SUBJECTS, checks, curves, run

# What runs compiled functions and little else.
KERNEL = {"Flat plates", "Motor and pack", "Rigid bodies", "Air"}
ALL = [
    pytest.param(subject, check, marks=[pytest.mark.kernel] if subject in KERNEL else [])
    for subject, check in checks()
]


@pytest.mark.parametrize(("subject", "check"), ALL, ids=lambda it: getattr(it, "name", it))
def test_a_check_holds(subject, check):
    """Sources: beside each value, in `sim/proof`."""
    proved = run(subject, check)
    print(f"{check.outside} outside, {proved.ours} ours, gaps in what is allowed {proved.gaps}")
    assert proved.holds
    assert proved.misses == bool(check.missed)


def test_every_check_says_where_it_is_from():
    names = [check.name for _, check in checks()]
    assert len(set(names)) == len(names)
    for _, check in checks():
        assert len(check.source) > 3, check.name
        assert len(check.outside) == len(check.at or check.outside), check.name
        assert (check.allowed > 0.0).all(), check.name
        assert check.missed or check.band == (-1.0, 1.0), check.name


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """Exit code, JSON and page of the command."""
    out = tmp_path_factory.mktemp("proof") / "proof.html"
    heard = io.StringIO()
    with contextlib.redirect_stdout(heard):
        code = main(["proof", "--json", "--out", str(out)])
    return code, json.loads(heard.getvalue()), out.read_text(encoding="utf-8")


def test_the_command_tells_every_check_the_furthest_off_first(told):
    code, found, _ = told
    assert code == 0
    assert found["checks"] == len(found["proof"]) == len(checks())
    assert found["missed"] == sum(bool(check.missed) for _, check in checks())
    worst = [
        max(abs(gap) / allowed for gap, allowed in zip(row["gap"], row["allowed"], strict=True))
        for row in found["proof"]
    ]
    assert worst == sorted(worst, reverse=True)
    assert all(row["source"] and row["how_sure"] for row in found["proof"])


def test_the_page_is_whole(told):
    _, found, text = told
    page = Page(text)
    assert page.open == []
    assert text.startswith('<!DOCTYPE html>\n<html lang="en">')
    assert page.heads[0] == "h1"
    assert text.count("<table>") == page.captions == len(SUBJECTS) + 2
    drawn = sum(len(curves(subject)) for subject in SUBJECTS)
    assert len(page.images) == drawn > 15
    assert all(len(words) > 30 for words in page.images)
    assert "http" not in re.sub(r'xmlns(:xlink)?="[^"]+"', "", text)  # nothing is fetched
    for row in found["proof"]:
        assert html.escape(row["quantity"]) in text, row["name"]
        assert html.escape(row["source"]) in text, row["name"]
    first = text.index("<h2>Missed</h2>")
    assert first < text.index("<h2>Flat plates</h2>")
    for _, check in checks():
        if check.missed:
            assert html.escape(check.missed) in text[first : text.index("<h2>How sure")]


def test_a_value_further_off_than_it_says_is_told(told):
    """Of a check that is changed to another outside value; the lines for people say so."""
    subject, check = next(row for row in checks() if row[1].name == "A01")
    broken = run(subject, dataclasses.replace(check, outside=tuple(2.0 * v for v in check.outside)))
    lines = report.lines([broken, run(subject, check)])
    assert lines[0] == (
        "2 checks of 16 values: 1 within what is wanted, 1 not. "
        "1 further off than they say: something is broken."
    )
    assert any("not as it should be" in line for line in lines)
