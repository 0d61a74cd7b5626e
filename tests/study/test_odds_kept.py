"""Launches shared out: by number over several files, gone on with after a kill, on far workers."""

from __future__ import annotations

import json
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
from bodies import shipped_subject
from distributed import Client, LocalCluster

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.study.odds import kept, launches
from firstthrow.sim.study.odds.scatter import Scatter

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


def test_a_file_takes_no_more_room_than_its_results(tmp_path):
    path, count = tmp_path / "many.csv", 4000
    rows = (f"{n},flying,8.0,1.5,0.4,1.9,31.0,9.0,8.1,12.0,1.0,0.9,x\n" for n in range(count))
    path.write_text(",".join(kept.HEADING) + "\n" + "".join(rows))
    tracemalloc.start()
    try:
        found = kept.read(path)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert found.odds.flown == count
    assert found.odds.cases[-1] == count - 1
    assert most < 2.0 * count * found.odds.results.itemsize


def test_what_is_no_launch_is_said_with_its_line(tmp_path):
    path = tmp_path / "odd.csv"
    path.write_text(",".join(kept.HEADING) + "\n1,vanished,1,1,1,1,1,1,1,1,1,1,x\n")
    with pytest.raises(ValueError, match=r"odd\.csv:2: is no launch"):
        kept.read(path)


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
