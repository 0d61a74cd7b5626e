"""What a study answers with, as JSON: strict JSON whatever the figures are."""

from __future__ import annotations

import json
from dataclasses import dataclass

import numpy as np

from firstthrow.sim.answer import Answer


@dataclass(frozen=True)
class Found(Answer):
    speed_m_s: float
    row: tuple
    table: dict


def test_a_figure_that_is_none_is_null():
    found = Found(np.float64("nan"), (1.0, float("inf"), np.array([2.0, np.nan])), {"a": -np.inf})
    text = json.dumps(found.as_json(), allow_nan=False)
    assert json.loads(text) == {
        "speed_m_s": None,
        "row": [1.0, None, [2.0, None]],
        "table": {"a": None},
    }
