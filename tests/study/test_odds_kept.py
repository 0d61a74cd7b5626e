"""Launches shared out: by number over several files, gone on with after a kill, on far workers."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from bodies import shipped_subject
from distributed import Client, LocalCluster

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.study.odds import kept, launches
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.odds.tally import Tally

WORDS = ("odds", "pantry", "--seconds", "1", "--field", "water-meadow-breeze", "--json")


def told(capsys, *more: str) -> tuple[int, str]:
    code = main([*WORDS, *more])
    return code, capsys.readouterr().out


def test_ranges_of_launches_merge_to_the_whole(capsys, tmp_path):
    """Bit by bit, whatever the order of the files; another seed is not let in."""
    one, two, whole, other = (str(tmp_path / f"{n}.csv") for n in "abcd")
    told(capsys, "--cases", "0..9", "--csv", one)
    told(capsys, "--cases", "9..20", "--csv", two)
    _, together = told(capsys, "--flights", "20", "--csv", whole)
    assert json.loads(together)["flights_flown"] == 20
    assert told(capsys, "--merge", two, one) == (0, together)
    assert told(capsys, "--merge", two, one, two) == (0, together)  # each once
    halves = Path(one).read_text().splitlines()[1:] + Path(two).read_text().splitlines()[1:]
    assert sorted(halves) == sorted(Path(whole).read_text().splitlines()[1:])
    told(capsys, "--cases", "20..22", "--seed", "5", "--csv", other)
    assert told(capsys, "--merge", one, other)[0] == 2
    assert told(capsys, "--merge", other)[0] == 2
    assert told(capsys, "--merge", other, "--seed", "5")[0] == 0


def test_a_killed_run_is_gone_on_with(capsys, tmp_path):
    """What was flown is not flown again; the row that the kill has cut is."""
    cut, whole = tmp_path / "cut.csv", tmp_path / "whole.csv"
    _, together = told(capsys, "--flights", "18", "--csv", str(whole))
    lines = whole.read_text().splitlines(keepends=True)
    kept_lines = "".join(lines[:8])
    cut.write_text(kept_lines + lines[8][:25])
    for _ in range(2):  # the second time there is nothing left to fly
        assert told(capsys, "--flights", "18", "--csv", str(cut), "--continue") == (0, together)
        assert cut.read_text().startswith(kept_lines)
        assert sorted(cut.read_text().splitlines(keepends=True)) == sorted(lines)


def test_what_is_lacking_is_flown_wherever_it_stands(capsys, tmp_path):
    """Before, between and behind what the file has; what was not asked for does not count."""
    part, whole = tmp_path / "part.csv", tmp_path / "whole.csv"
    _, together = told(capsys, "--cases", "3..20", "--csv", str(whole))
    lines = whole.read_text().splitlines(keepends=True)
    _, first = told(capsys, "--cases", "0..10", "--csv", str(part))
    heading, *rows = part.read_text().splitlines(keepends=True)
    part.write_text(heading + "".join(row for row in rows[::-1] if row[0] not in "348"))
    assert told(capsys, "--cases", "3..20", "--csv", str(part), "--continue") == (0, together)
    assert sorted(part.read_text().splitlines(keepends=True)) == sorted({*rows, *lines})
    assert told(capsys, "--cases", "0..10", "--csv", str(part), "--continue") == (0, first)


def test_a_cut_row_is_taken_off_and_no_other_touched(tmp_path):
    """Whether it is longer than what is looked through at once, or all there is."""
    path = tmp_path / "cut.csv"
    for whole, cut in (
        ("a\nb\n", "c,d"),
        ("a\nb\n", "c" * (2 * kept.BLOCK)),
        ("", "a,b"),
        ("a\n", ""),
    ):
        path.write_text(whole + cut)
        kept.drop_cut_row(path)
        assert path.read_text() == whole


def test_what_is_no_launch_is_said_with_its_line(tmp_path):
    path = tmp_path / "odd.csv"
    path.write_text(",".join(kept.HEADING) + "\n1,vanished,1,1,1,1,1,1,1,1,1,1,x\n")
    with pytest.raises(ValueError, match=r"odd\.csv:2: is no launch"):
        kept.read([path], Tally())


def test_far_workers_give_the_same_launches_as_threads():
    """Two processes of a scheduler against the threads of this one, bit by bit."""
    plan = launches.Plan(Scatter(), "human", 1.0, 3)
    ready = launches.setup(shipped_subject(), plan)
    here = launches.run([ready], plan, 130)[0]
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        far = launches.run([ready], plan, 130, workers=2, pool=client.get_executor())[0]
    np.testing.assert_array_equal(far.results, here.results)
    np.testing.assert_array_equal(far.cases, here.cases)
