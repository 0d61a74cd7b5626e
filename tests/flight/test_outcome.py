"""How flights end: one word for each, wherever the end comes from."""

from __future__ import annotations

import json

import numpy as np
import pytest
from bodies import shipped

from firstthrow.sim.flight.outcome import ENDINGS, SURVIVING, Ending, Outcome
from firstthrow.sim.flight.record import Recorder, RecordError, load
from firstthrow.sim.kernels import batch, integrate
from firstthrow.sim.study.odds.launches import Odds


def test_every_end_of_the_kernels_has_a_word():
    numbers = {integrate.LANDED, integrate.BROKE, integrate.FOLDED, integrate.STRUCK}
    numbers |= {integrate.LEFT, integrate.DIVERGED}
    assert set(ENDINGS) == numbers
    assert integrate.FLYING not in ENDINGS
    # What a person ends, the kernels do not know.
    assert set(Ending) - set(ENDINGS.values()) == {Ending.TIME_UP, Ending.STOPPED}


def test_who_survives_is_the_same_for_one_flight_and_for_many():
    assert {word for word in Ending if word.survived} == {"landed", "time-up", "stopped"}
    assert {word for word in Ending if not word.survived and not word.broken} == {"left-field"}
    assert set(SURVIVING) == {integrate.FLYING, integrate.LANDED}
    results = np.zeros(7, batch.RESULT)
    results["word"] = range(7)
    odds = Odds(results, np.arange(7))
    assert odds.survived == 2
    assert odds.alive.tolist() == [number in SURVIVING for number in range(7)]


def test_the_word_comes_back_from_a_record_and_a_foreign_one_is_refused(tmp_path):
    path = tmp_path / "flight.csv"
    recorder = Recorder(path, shipped(), {})
    assert load(path).outcome is None
    outcome = Outcome(Ending.PROPELLER_STRIKE, "It struck.")
    recorder.close(outcome)
    found = load(path).outcome
    assert found == outcome
    assert found.word is Ending.PROPELLER_STRIKE
    sidecar = path.with_suffix(".json")
    meta = json.loads(sidecar.read_text())
    assert meta["outcome"] == {"word": "propeller-strike", "text": "It struck."}
    meta["outcome"]["word"] = "melted"
    sidecar.write_text(json.dumps(meta))
    with pytest.raises(RecordError, match="'melted': wanted landed, time-up"):
        load(path)
