"""The flights of an evening on one page, from made-up evenings with known trends."""

from __future__ import annotations

import gc
import json
import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from bodies import shipped

from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.fly import _tell_flight
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.record import Record, Recorder, Rows, flight_meta, sidecar
from firstthrow.sim.learn.aftermath.evening import (
    Evening,
    Kept,
    evening,
    kept_in,
    sections,
    taken,
    text,
)
from firstthrow.sim.learn.diagnose import Diagnosis, Likely
from firstthrow.sim.paper.evening import page
from firstthrow.sim.paper.page import Area, Words
from firstthrow.sim.study.verdict import BalanceVerdict

FIELD = load_field(find("fields", "water-meadow"))
DAY = date(2026, 5, 14)


@lru_cache
def flight(back: float = 0.0) -> Record:
    """A second and a half, hands off, or with the stick held back."""
    rows = Rows()
    made = fly(shipped(), FIELD, lambda _: Sticks(pitch=back, throttle=0.78), 1.5, record=rows)
    return rows.record(made.columns, sidecar(shipped(), flight_meta(FIELD, launch="hand")))


def kept(number: int, word: Ending, back: float = 0.0) -> Kept:
    one = flight(back)
    when = datetime(2026, 5, 14, 18, number).astimezone()
    outcome = {"word": word, "text": f"{word.sentence}."}
    meta = {**one.meta, "created": when.isoformat(), "outcome": outcome}
    return taken(Path(f"{number}.csv"), Record(one.columns, one.rows, meta))


def because(name: str) -> Diagnosis:
    first = Likely(name, 0.9, 0.1, "roll rate", 1.0, (), "")
    return Diagnosis((first,), (), BalanceVerdict.OK, 1.5)


def of(words: list[Ending], causes: dict[int, str] | None = None, **more) -> Evening:
    flights = [kept(k, word) for k, word in enumerate(words)]
    found = {Path(f"{k}.csv"): because(name) for k, name in (causes or {}).items()}
    return evening(flights, DAY, found, **more)


LOST, WHOLE = Ending.BROKE, Ending.LANDED


def test_what_improved_is_told_where_luck_would_hardly_do_it():
    found = of([LOST] * 4 + [WHOLE] * 4)
    assert found.survived == 4
    assert found.improved == ("In one piece: 0 of the first 4, 4 of the last 4.",)
    assert found.worse == ()
    turned = of([WHOLE] * 4 + [LOST] * 4)
    assert (turned.improved, len(turned.worse)) == ((), 1)
    assert of([LOST, WHOLE] * 4).improved == ()
    assert of([LOST, LOST, WHOLE]).improved == ()


def test_causes_are_counted_and_the_airframe_comes_before_the_hands():
    found = of([LOST, LOST, WHOLE, LOST], {0: "reversed-roll", 1: "reversed-roll", 2: "slow-throw"})
    assert [(one.what, one.flights) for one in found.causes] == [
        ("the roll stick works the wrong way round", 2),
        ("thrown too slowly", 1),
    ]
    assert found.next.startswith(
        "Before the next throw, on the ground (twice that day): stick right"
    )
    assert "launch drill" in of([LOST, LOST], {0: "slow-throw", 1: "slow-throw"}).next


def test_without_a_cause_the_next_lesson_follows_those_that_were_passed():
    assert "first ten seconds" in of([WHOLE] * 3).next
    assert "turn right" in of([WHOLE] * 3, passed=["first-ten", "left"]).next


def test_what_happens_again_and_again_is_told():
    flights = [kept(k, LOST, 1.0) for k in range(3)] + [kept(3, WHOLE)]
    told = {one.what: one.flights for one in evening(flights, DAY, {}).keeps}
    assert told["the stick was at its end"] == 3


@pytest.mark.parametrize("count", [0, 1, 40])
def test_a_page_of_any_number_of_flights(count):
    """Nothing lies over anything else: lines of a column are a line apart, none under the edge."""
    found = of([WHOLE] * count)
    words = [part for part in page(found, "back").parts if isinstance(part, Words)]
    assert min(one.y for one in words) >= 8.0
    for column in (True, False):
        heights = sorted(one.y for one in words if (one.x > 160.0) is column and one.y > 10.0)
        assert all(np.diff(heights) > 2.4)
    told = text(found)
    assert told[0] == ("Nothing was flown on 2026-05-14." if count == 0 else told[0])
    if count == 1:
        assert told[0] == "2026-05-14: 1 flight, 1 in one piece."


def test_a_long_evening_is_no_longer_page():
    """Older flights are a number, and so is what else was left out."""
    pair = [kept(0, WHOLE), kept(1, LOST)]
    pages = [
        page(evening(pair * half, DAY, {}, remarks=["torn.csv is left out: no record."] * half))
        for half in (100, 400)
    ]
    assert len(pages[0].parts) == len(pages[1].parts) < 400
    assert sum(len(p.points) for p in pages[1].parts if isinstance(p, Area) and p.edge) < 1000
    words = [part for part in pages[1].parts if isinstance(part, Words)]
    assert min(one.y for one in words) >= 8.0
    told = " ".join(one.text for one in words)
    assert "800 flights, 400 in one piece" in told
    assert "The last 60 in order" in told
    assert re.search(r"and 7\d\d before", told)
    assert re.search(r"and 3\d\d more", told)


@pytest.mark.parametrize("count", range(28, 37))
def test_what_does_not_fit_is_counted_with_all_that_follows(count):
    """And no title is left without a sentence of its own."""
    found = replace(of([WHOLE]), worse=("It sank.",) * count, hands=("Late.",) * 60)
    told = [one for one in page(found).parts if isinstance(one, Words) and one.x > 160.0]
    under = [one for one in told if not one.bold]
    more = re.fullmatch(r"and (\d+) more", under[-1].text)
    assert more
    assert not any(one.bold and below is under[-1] for one, below in pairwise(told))
    assert len(under) - 1 + int(more[1]) == sum(len(some) for _, some in sections(found))


def test_the_command_reads_a_folder_and_leaves_it_as_it_is(tmp_path, capsys):
    """Broken records are named; another day is left out."""
    one = flight()
    for name in ("a", "b"):
        recorder = Recorder(tmp_path / f"{name}.csv", shipped(), flight_meta(FIELD, launch="hand"))
        for row in one.rows:
            recorder.write(row.tolist())
        recorder.close(None)
    side = tmp_path / "a.json"
    meta = json.loads(side.read_text())
    meta["created"] = (datetime.now().astimezone() - timedelta(days=3)).isoformat()
    side.write_text(json.dumps(meta))
    (tmp_path / "torn.csv").write_text("no record\n")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    out = tmp_path.parent / f"{tmp_path.name}.pdf"
    assert main(["evening", str(tmp_path), "--quick", "--json", "--plot", str(out)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [Path(one["record"]).name for one in told["flights"]] == ["b.csv"]
    assert "torn.csv is left out" in told["remarks"][0]
    assert out.read_bytes().startswith(b"%PDF")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
    (tmp_path / "\x1b[31m.csv").write_text("no record\n")
    assert main(["evening", str(tmp_path), "--quick"]) == 0
    told = capsys.readouterr().out
    assert told.replace("\n", "").isprintable()
    assert "\\x1b[31m.csv is left out: not a flight record" in told
    assert main(["evening", str(tmp_path / "nowhere")]) == 2
    assert main(["evening", str(tmp_path), "--quick", "--day", "2001-01-01"]) == 0
    assert capsys.readouterr().out.startswith("Nothing was flown on 2001-01-01.")


def test_of_an_evening_s_records_only_what_it_takes_is_kept(tmp_path):
    """And each is read again only when it was written to."""
    one = flight()
    for k in range(6):
        recorder = Recorder(tmp_path / f"{k}.csv", shipped(), flight_meta(FIELD, launch="hand"))
        for row in one.rows:
            recorder.write(row.tolist())
        recorder.close(None)

    def records() -> int:
        gc.collect()
        return sum(type(any_) is Record for any_ in gc.get_objects())

    before = records()
    found, _, _ = kept_in(tmp_path)
    assert len(found) == 6
    assert records() <= before + 1
    side = tmp_path / "3.json"
    meta = json.loads(side.read_text())
    meta["outcome"] = {"word": "landed", "text": "It landed."}
    side.write_text(json.dumps(meta))
    again, _, _ = kept_in(tmp_path)
    assert [one is other for one, other in zip(again, found, strict=True)].count(False) == 1
    assert again[3].survived


def test_when_the_window_closes_the_terminal_tells_why_of_every_flight(tmp_path, capsys):
    """The earlier ones in short, the last in full; with what the window has found already."""
    one, paths = flight(), [tmp_path / "a.csv", tmp_path / "b.csv"]
    for path in paths:
        recorder = Recorder(path, shipped(), flight_meta(FIELD, launch="hand"))
        for row in one.rows:
            recorder.write(row.tolist())
        recorder.close(Outcome(LOST, "It broke."))
    names = ("reversed-roll", "warped-tip")
    causes = {path: because(name) for path, name in zip(paths, names, strict=True)}
    assert _tell_flight(paths, False, causes) == 0
    told = capsys.readouterr().out.splitlines()
    assert told[0].startswith("a.csv: Broke on the ground")
    assert told[1].startswith("   Why: the roll stick works the wrong way round (90 %)")
    assert told[1].endswith("the left elevon must stand 12 mm down, and stood 21 mm up.")
    assert told[2].startswith("Why: a tip is warped (90 %)")
    assert "the left tip's trailing edge stands 12 mm too low" in told[2]
