"""What `firstthrow.sim` hands to scripts: by name, typed, without a window, quickly."""

from __future__ import annotations

import doctest
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from firstthrow import sim
from firstthrow.sim import script
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Rows

SIM = Path(sim.__file__).parent


def test_the_example_does_what_it_says():
    tried = doctest.testmod(script)
    assert tried.attempted >= 10
    assert tried.failed == 0


def test_names_are_no_files():
    """A name that were a file's as well would change its meaning with what was imported before."""
    files = {path.stem for path in SIM.iterdir()}
    assert sorted(sim.__all__) == sorted(script.__all__)
    assert not files & set(sim.__all__)
    assert all(getattr(sim, name) is getattr(script, name) for name in sim.__all__)
    assert set(sim.__all__) <= set(dir(sim))
    with pytest.raises(AttributeError, match="has no attribute 'airfram'"):
        sim.airfram  # noqa: B018


def test_nothing_heavy_comes_before_it_is_asked_for():
    code = (
        "import sys, os, firstthrow.sim as sim\n"
        "before = {'numpy', 'numba', 'scipy', 'pydantic'} & set(sys.modules)\n"
        "sim.airframe\n"
        "print(before, 'numpy' in sys.modules, os.environ['OPENBLAS_NUM_THREADS'])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("set() True 1\n", "")


def test_changes_are_those_of_the_command():
    """Texts, numbers, truth values and lists, each checked like the file."""
    changed = script.airframe(
        "pantry",
        **{"items.pack.aft": "95 mm", "pack.cells": 2, "name": "Other"},
    )
    assert changed.items["pack"].aft == pytest.approx(0.095)
    assert (changed.pack.cells, changed.name) == (2, "Other")
    assert script.field("water-meadow", **{"wind.speed": "3 m/s"}).wind.speed == pytest.approx(3.0)
    with pytest.raises(script.ConfigError) as wrong:
        script.airframe("pantry", **{"items.pack.aft": "95", "items.pick.aft": "1 mm"})
    assert len(wrong.value.problems) == 2
    with pytest.raises(script.ConfigError, match="did you mean 'pantry'"):
        script.airframe("pantri")


def test_a_flight_is_the_one_that_fly_flies():
    slab, meadow = script.airframe("pantry"), script.field("water-meadow-breeze")

    def hold(reading) -> Sticks:
        return Sticks(throttle=0.7, pitch=0.05)

    rows = Rows()
    same = fly(slab, meadow, hold, 2.0, None, 5, rows)
    flight = script.fly(slab, meadow, hold, seconds=2.0, seed=5)
    late = np.array(rows.kept)[:, 0] > 0.0
    for name in ("time_s", "height_m", "roll_deg", "wind_north_m_s"):
        column = np.array(rows.kept)[late, same.columns.index(name)]
        np.testing.assert_array_equal(getattr(flight, name), column)
    assert flight.outcome == same.outcome
    other = script.fly(slab, meadow, hold, seconds=2.0, seed=6)
    assert not np.array_equal(other.wind_north_m_s, flight.wind_north_m_s)
    assert repr(flight).startswith("Flown(pantry: time-up, 2.0 s, ")
    with pytest.raises(AttributeError, match="no column 'hight_m'; there are time_s, north_m"):
        flight.hight_m  # noqa: B018


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"pilot": "nobody"}, "wanted hands-off, steady, human or a CSV file"),
        ({"pilot": "human:genius"}, "wanted human"),
        ({"launch": "ground"}, r"no \[launch.ground\]"),
        ({"launch": "catapult"}, "wanted 'hand' or 'ground'"),
    ],
)
def test_what_cannot_fly_is_refused(how, told):
    with pytest.raises(ValueError, match=told):
        script.fly(script.airframe("pantry"), seconds=1.0, **how)


def test_power_needs_a_motor():
    glider = script.airframe("pantry").model_copy(update={"motors": {}})
    with pytest.raises(ValueError, match="has no motor"):
        script.power(glider)


def test_studies_answer_about_what_was_changed():
    before, after = (
        script.trim(script.airframe("pantry", **{"items.pack.aft": aft}))
        for aft in ("-35 mm", "-20 mm")
    )
    assert after.static_margin_percent < before.static_margin_percent
    assert script.power(script.airframe("pantry")).level.its_throttle > 0.0
