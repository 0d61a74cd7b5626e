"""Launches told together: the same as numpy tells of all of them at once, in flat memory."""

from __future__ import annotations

import argparse
import io
import signal
import tempfile
import tracemalloc
from collections.abc import Callable
from itertools import chain, pairwise

import numpy as np
import pytest
from bodies import shipped_subject
from hypothesis import given, strategies

from firstthrow.scenes.commands import odds_flown
from firstthrow.sim.kernels import integrate
from firstthrow.sim.kernels.batch import RESULT
from firstthrow.sim.study.odds import kept, launches, ranks, tally
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.odds.tally import BARS, NONE, TOLD, Tally
from firstthrow.sim.study.odds.there import There

LOT = 64


def made_up(count: int, seed: int = 1) -> np.ndarray:
    """(count,) RESULT: many alike, some below nothing, some that lasted too briefly."""
    deal = np.random.default_rng(seed)
    results = np.zeros(count, RESULT)
    results["word"] = deal.choice(
        [integrate.FLYING, integrate.LANDED, integrate.BROKE, integrate.STRUCK], count
    )
    results["most_bank"] = deal.uniform(0.0, 2.0, count)
    results["height_lost"] = np.maximum(deal.normal(0.0, 1.0, count), 0.0)
    results["stall_margin"] = np.where(
        deal.random(count) < 0.2, 10.0 * NONE, deal.normal(0.1, 0.2, count)
    )
    results["load"] = deal.normal(1.5, 0.1, count).round(2)
    return results


def tallied(results: np.ndarray, lot: int = LOT) -> Tally:
    found = Tally()
    for first in range(0, len(results), lot):
        found.add(results[first : first + lot])
    return found


@pytest.mark.parametrize("count", [1, 2, 7, 400, 2001, 30_000, 30_001])
def test_a_tally_tells_what_numpy_does_of_all_at_once(monkeypatch, count):
    """To the bit; in a file too, in blocks that are not filled, whatever the order."""
    results = made_up(count)
    odds = launches.Odds(results, np.arange(count))
    for room, block in ((tally.ROOM, tally.BLOCK), (1000, 999)):
        monkeypatch.setattr(tally, "ROOM", room)
        monkeypatch.setattr(tally, "BLOCK", block)
        one = tallied(results)
        found = one.numbers()
        assert found == tallied(results[::-1], 1000).numbers()
        assert found.flown == one.flown == count
        assert found.survived_fraction == odds.fraction
        assert (found.survived_low, found.survived_high) == odds.interval()
        assert list(found.causes.items()) == list(odds.causes().items())
        for field, name in zip(TOLD, ("height_lost", "stall_margin", "load_factor"), strict=True):
            values = results[field][results[field] < NONE]
            unit = "_m" if field == "height_lost" else ""
            told = [getattr(found, f"{name}_{what}{unit}") for what in ("median", "worst_tenth")]
            wanted = [np.median(values), np.quantile(values, TOLD[field])] if len(values) else None
            assert told == (wanted or [None, None])
            if len(values):
                many, ends = np.histogram(3.3 * values, BARS)
                np.testing.assert_array_equal(one.spread(field, 3.3)[0], many)
                np.testing.assert_array_equal(one.spread(field, 3.3)[1], ends)


def test_of_no_launches_nothing_is_told():
    found = Tally().numbers()
    assert (found.flown, found.survived_fraction, found.causes) == (0, 0.0, {})
    assert found.load_factor_median is None
    assert Tally().spread("load")[0].sum() == 0


@given(strategies.lists(strategies.floats(allow_nan=False), min_size=1, max_size=12))
def test_what_stands_at_a_rank_is_found_by_its_digits(numbers):
    """Whatever the numbers: below nothing, alike, without end, next to nothing."""
    every = np.array(numbers)
    blocks = [every[:5], every[5:]]
    few, ranks.FEW = ranks.FEW, 0
    try:
        found = ranks.at_ranks(lambda: blocks, len(every), range(len(every)))
    finally:
        ranks.FEW = few
    assert found == np.sort(every).tolist()


@given(strategies.lists(strategies.lists(strategies.integers(0, 40), max_size=12), max_size=8))
def test_launches_that_are_there_are_known_by_their_numbers(lots):
    there, known = There(), set[int]()
    for lot in lots:
        wanted = [number not in known and number not in lot[:k] for k, number in enumerate(lot)]
        assert there.take(np.array(lot, np.int64)).tolist() == wanted
        known |= set(lot)
    for among in (range(0, 41), range(5, 20), range(50, 60)):
        runs = there.missing(among)
        assert [n for run in runs for n in run] == [n for n in among if n not in known]
        assert all(one.stop < other.start for one, other in pairwise(runs))


def most_held(work: Callable[[], object]) -> int:
    """Most memory at once while it works [bytes]."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.fixture(scope="module")
def plan():
    return launches.Plan(Scatter(), "human", 1.0, 3)


@pytest.fixture(scope="module")
def ready(plan):
    return launches.setup(shipped_subject(), plan)


def test_ten_times_the_launches_take_no_more_memory_to_fly(monkeypatch, plan, ready):
    monkeypatch.setattr(tally, "ROOM", 1 << 14)
    results = made_up(LOT)
    monkeypatch.setattr(launches, "fly_cases", lambda ready, plan, first, count: results[:count])
    plain = argparse.Namespace(csv=None, vary=[], scheduler=None)
    told = []

    def fly(count: int) -> None:
        told.append(odds_flown.fly(plain, [ready], plan, range(count)))

    fly(LOT)  # imports
    few, many = (most_held(lambda n=n: fly(n)) for n in (4000, 40_000))
    assert [one[0].flown for one in told] == [LOT, 4000, 40_000]
    assert many < 1.3 * few


class Interrupted(io.BytesIO):
    """A file; Ctrl-C comes when it is first written to."""

    stopped = False

    def write(self, more) -> int:
        if not self.stopped:
            self.stopped = True
            signal.raise_signal(signal.SIGINT)
        return super().write(more)


def test_ctrl_c_leaves_the_launches_told_and_written_whole(monkeypatch, tmp_path, plan, ready):
    """Though it comes while those in memory are moved to a file."""
    monkeypatch.setattr(tally, "ROOM", 1 << 14)
    files = chain([Interrupted()], iter(io.BytesIO, None))
    monkeypatch.setattr(tempfile, "TemporaryFile", lambda **how: next(files))
    monkeypatch.setattr(launches, "fly_cases", lambda of, plan, first, count: made_up(count, first))
    path = tmp_path / "launches.csv"
    chosen = argparse.Namespace(csv=str(path), vary=[], scheduler=None, go_on=False, force=False)
    keyboard = signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored in background
    try:
        (found,) = odds_flown.fly(chosen, [ready], plan, range(40_000))
    finally:
        signal.signal(signal.SIGINT, keyboard)
    written = Tally()
    kept.read([path], written)
    assert tally.ROOM < found.flown * tally.ROW.itemsize < 40_000 * tally.ROW.itemsize
    assert found.numbers() == written.numbers()


def test_ten_times_the_launches_take_no_more_memory_to_merge(monkeypatch, tmp_path, plan, ready):
    monkeypatch.setattr(tally, "ROOM", 1 << 14)
    setup = kept.name_of(ready, plan)
    flown = []

    def merge(count: int) -> None:
        path = tmp_path / f"{count}.csv"
        chosen = argparse.Namespace(merge=[str(path), str(path)])
        flown.append(odds_flown.merged(chosen, ready, plan).flown)

    counts = (2500, 25_000)
    for count in counts:
        rows = "".join(
            f"{n},flying,8.0,1.5,0.4,1.9,31.0,9.0,8.1,12.0,1.0,0.9,{setup}\n" for n in range(count)
        )
        (tmp_path / f"{count}.csv").write_text(",".join(kept.HEADING) + "\n" + rows)
    few, many = (most_held(lambda n=n: merge(n)) for n in counts)
    assert flown == [*counts]
    assert many < 1.3 * few
