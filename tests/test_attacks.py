"""A short share of what careless and hostile hands may give: nothing breaks, all is said in words.

Seeded, so that every run is the same; `benchmarks/attack.py` goes on as long as wanted.
"""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest
from attacks import (
    broken_configs,
    broken_lines,
    broken_logs,
    broken_records,
    built,
    config_is_survived,
    glide_is_sound,
    launched,
    launches_are_sound,
    line_is_survived,
    log_is_survived,
    possible_airframes,
    record_is_survived,
)
from hypothesis import HealthCheck, Phase, given, seed, settings

from firstthrow.sim.describe.config import ConfigError, find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.record import RecordError, load
from firstthrow.sim.learn.logs import read


def share(cases: int):
    """So many cases, always the same, however slow the machine."""
    return settings(
        max_examples=cases,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("attacked")


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")


def test_broken_configs(folder):
    @seed(1)
    @share(25)
    @given(broken_configs())
    def run(text):
        config_is_survived(text, folder / "broken.toml")

    run()


def test_possible_airframes():
    @seed(2)
    @share(4)
    @given(possible_airframes())
    def run(found):
        name, overrides = found
        try:
            airframe = load_airframe(find("airframes", name), overrides)
        except ConfigError:
            return
        model = built(airframe)
        if model is not None:
            launches_are_sound(launched(model, airframe, 3, 2, 2.0))
            glide_is_sound(built(airframe, STANDARD), airframe, 2.0)

    run()


def test_broken_lines():
    @seed(3)
    @share(60)
    @given(broken_lines())
    def run(words):
        line_is_survived(words)

    run()


def test_broken_records(folder):
    @seed(4)
    @share(30)
    @given(broken_records(str(folder)))
    def run(found):
        record_is_survived(found, folder)

    run()


def test_broken_logs(folder):
    @seed(5)
    @share(40)
    @given(broken_logs())
    def run(found):
        log_is_survived(found, folder)

    run()


class Crafted:
    """What runs code of its own when it is unpickled."""

    def __reduce__(self):
        return (Path.touch, (Path("proof"),))


@pytest.mark.parametrize("suffix", [".csv", ".toml", ".gpx", ".igc", ".nmea"])
def test_no_file_is_unpickled(suffix):
    path = Path(f"crafted{suffix}")
    path.write_bytes(pickle.dumps(Crafted()))
    for reading in (load, load_airframe, read):
        with pytest.raises((ConfigError, RecordError)):
            reading(path)
    assert not Path("proof").exists()
