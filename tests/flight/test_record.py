"""Records are written as the flight goes, survive a killed program, and come back the same."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import time
from datetime import datetime

import numpy as np
import pytest

from firstthrow.sim.build.shape import surface_names
from firstthrow.sim.describe.config import find, fingerprint, load_airframe, load_field
from firstthrow.sim.flight.flown_by import FLIES, SIM, flying, is_own, physics
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.record import (
    PLAIN_COLUMNS,
    Recorder,
    RecordError,
    columns,
    default_path,
    flight_meta,
    load,
    reading_type,
    unused,
)

# A unit behind the last underscore, or a quantity without one.
UNITS = r"_(s|m|deg|m_s|deg_s|V|A|mAh|rpm|N)$"
UNITLESS = re.compile(
    r"attitude_[wxyz]|stick_(roll|pitch|yaw)|throttle|low_rates|load_factor|.*_fraction|servo_.*_load"
)


@pytest.fixture(scope="module")
def airframe():
    return load_airframe(find("airframes", "pantry"))


@pytest.fixture
def meta():
    field = load_field(find("fields", "water-meadow"))
    return flight_meta(field, overrides=["margin=5 %"], seed=3, launch="hand", pilot="steady")


def row(airframe, seconds: float):
    names = columns(airframe)
    values = np.linspace(-1.0, 1.0, len(names))
    values[0] = seconds
    return reading_type(names)(*values)


def test_columns_carry_their_units(airframe):
    names = columns(airframe)
    assert len(set(names)) == len(names)
    assert names[: len(PLAIN_COLUMNS)] == PLAIN_COLUMNS
    for name in names:
        assert re.search(UNITS, name) or UNITLESS.fullmatch(name), name
    (motor,) = airframe.motors
    after = names[len(PLAIN_COLUMNS) :]
    assert after[:3] == (f"motor_{motor}_rpm", f"motor_{motor}_thrust_N", f"motor_{motor}_A")
    left, right = surface_names(airframe)
    assert after[3:] == (
        f"surface_{left}_deg",
        f"surface_{left}_asked_deg",
        f"servo_{left}_load",
        f"surface_{right}_deg",
        f"surface_{right}_asked_deg",
        f"servo_{right}_load",
    )


def test_what_is_written_comes_back(tmp_path, airframe, meta):
    place = tmp_path / "deep" / "flight.csv"
    recorder = Recorder(place, airframe, meta)
    rows = [row(airframe, number / 60.0) for number in range(100)]
    for reading in rows:
        recorder.write(reading)
    recorder.close(Outcome(Ending.LANDED, "It landed."))
    recorder.write(rows[0])  # after the end: nothing
    recorder.close(None)
    record = load(place)
    assert record.columns == columns(airframe)
    assert np.allclose(record.rows, rows, rtol=1e-6)
    assert np.array_equal(record.column("time_s"), record.rows[:, 0])
    with pytest.raises(KeyError, match="no column 'altitude' in this record"):
        record.column("altitude")
    assert sorted(path.name for path in place.parent.iterdir()) == ["flight.csv", "flight.json"]


def test_sidecar_says_what_was_flown(tmp_path, airframe, meta):
    recorder = Recorder(tmp_path / "flight.csv", airframe, meta)
    started = json.loads((tmp_path / "flight.json").read_text())
    assert started["outcome"] is None
    assert started["airframe"] == airframe.name
    assert started["fingerprint"] == fingerprint(airframe)
    assert started["overrides"] == ["margin=5 %"]
    assert (started["seed"], started["launch"], started["pilot"]) == (3, "hand", "steady")
    assert started["field"] == "water-meadow"
    assert datetime.fromisoformat(started["created"]).tzinfo is not None
    assert started["motors"] == list(airframe.motors)
    assert started["surfaces"] == list(surface_names(airframe))
    limits = started["limits"]
    assert limits["cutoff_V"] == pytest.approx(airframe.pack.cells * airframe.controller.cutoff)
    assert set(limits["travel_deg"]) == set(surface_names(airframe))
    assert limits["ground_height_m"] == pytest.approx(
        -min(foot.up for foot in airframe.skids.values())
    )
    recorder.close(Outcome(Ending.BROKE, "It broke."))
    ended = json.loads((tmp_path / "flight.json").read_text())
    assert ended == {**started, "outcome": {"word": "broke", "text": "It broke."}, "rows": 0}


def test_an_override_changes_the_fingerprint(airframe):
    other = load_airframe(find("airframes", "pantry"), ['items.pack.aft="60 mm"'])
    assert fingerprint(other) != fingerprint(airframe)


def test_a_record_is_the_model_s_own_only_where_the_same_physics_flew_it(tmp_path, airframe, meta):
    """Any file that moves an airframe, or gives the tables it moves by, makes another physics."""
    path = tmp_path / "own.csv"
    Recorder(path, airframe, meta).close(None)
    kept = load(path).meta
    assert is_own(kept)
    assert not is_own({**kept, "physics": "0123456789abcdef"})
    assert not is_own({name: value for name, value in kept.items() if name != "physics"})
    copy = tmp_path / "sim"
    shutil.copytree(SIM, copy)
    last = physics(copy)
    assert last == physics()
    for one in ("units.py", *(f"{folder}/s*.py" for folder in FLIES)):
        with next(copy.glob(one)).open("a", encoding="utf-8") as file:
            file.write("# changed\n")
        assert physics.__wrapped__(copy) != last
        last = physics.__wrapped__(copy)


FLOWN = """
import sys
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import fly
airframe = load_airframe(find("airframes", "pantry"))
fly(airframe, load_field(find("fields", "water-meadow")), lambda _: Sticks(), 0.1)
for name in [each for each in sys.modules if each.startswith("firstthrow.sim")]:
    print(sys.modules[name].__file__)
"""


def test_no_source_that_a_flight_loads_is_left_out():
    flown = subprocess.run([sys.executable, "-c", FLOWN], capture_output=True, text=True)
    loaded = set(flown.stdout.splitlines())
    assert str(SIM / "kernels" / "integrate.py") in loaded, flown.stderr
    assert loaded <= {str(path) for path in flying(SIM)}


def test_a_torn_last_line_is_left_out(tmp_path, airframe, meta):
    place = tmp_path / "flight.csv"
    recorder = Recorder(place, airframe, meta)
    for number in range(10):
        recorder.write(row(airframe, number / 60.0))
    recorder.close(None)
    whole = place.read_text()
    last = whole.splitlines(keepends=True)[-1]
    for torn in range(1, len(last)):  # wherever the cut falls, even inside the last number
        place.write_text(whole[:-torn])
        assert len(load(place).rows) == 9
    place.write_text(whole)
    assert len(load(place).rows) == 10


def test_files_that_are_no_records(tmp_path, airframe, meta):
    def told(path) -> str:
        with pytest.raises(RecordError) as caught:
            load(path)
        return str(caught.value)

    missing = tmp_path / "missing.csv"
    assert told(missing) == f"{missing}: cannot be read: No such file or directory"
    other = tmp_path / "other.csv"
    other.write_text("a,b\n1,2\n")
    assert told(other) == (f"{other}: not a flight record: its first line should name the columns")
    other.write_bytes(b"\x89PNG\xff\n")
    assert told(other) == f"{other}: cannot be read: not a text file of numbers"
    header = ",".join(columns(airframe))
    other.write_text(header + "\n1,2\n")
    assert told(other) == f"{other}:2: 2 values, {len(columns(airframe))} wanted"
    other.write_text(header + "\nfast\n")
    assert told(other) == f"{other}:2: could not convert string to float: 'fast'"
    with pytest.raises(RecordError, match="a record is a CSV file"):
        Recorder(tmp_path / "flight.json", airframe, meta)


@pytest.mark.parametrize("told", ["travel_deg", "roles", "motor_A"])
def test_limits_of_what_the_record_does_not_have(tmp_path, airframe, meta, told):
    place = tmp_path / "flight.csv"
    Recorder(place, airframe, meta).close(None)
    sidecar = json.loads(place.with_suffix(".json").read_text())
    limits = sidecar["limits"][told]
    limits["canard"] = limits.popitem()[1]
    place.with_suffix(".json").write_text(json.dumps(sidecar))
    with pytest.raises(RecordError, match=r"no column '(surface|motor)_canard_.*its sidecar"):
        load(place)


def test_a_record_without_its_sidecar_still_loads(tmp_path, airframe, meta):
    place = tmp_path / "flight.csv"
    recorder = Recorder(place, airframe, meta)
    recorder.write(row(airframe, 0.0))
    recorder.close(None)
    (tmp_path / "flight.json").unlink()
    assert load(place).meta == {}


def test_default_place_is_never_taken_twice(tmp_path):
    at = datetime(2031, 5, 4, 10, 20, 30)
    first = default_path("Garden  Plank!", tmp_path, at)
    assert first == tmp_path / "garden-plank-20310504-102030.csv"
    first.touch()
    second = default_path("Garden  Plank!", tmp_path, at)
    assert second == tmp_path / "garden-plank-20310504-102030-2.csv"
    second.touch()
    assert unused(first) == tmp_path / "garden-plank-20310504-102030-3.csv"


WRITER = """
import sys, time
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.flight.record import Recorder, columns
airframe = load_airframe(find("airframes", "pantry"))
recorder = Recorder(sys.argv[1], airframe, {"launch": "hand"})
begun = time.monotonic()
while True:
    now = time.monotonic() - begun
    recorder.write([now] + [0.0] * (len(columns(airframe)) - 1))
    print(f"{now:.4f}", flush=True)
    time.sleep(1 / 60)
"""


def test_a_killed_program_loses_next_to_nothing(tmp_path):
    place = tmp_path / "flight.csv"
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(place)], stdout=subprocess.PIPE, text=True
    )
    try:
        said = writer.stdout.readline()
        until = time.monotonic() + 1.7
        while time.monotonic() < until:
            said = writer.stdout.readline()
    finally:
        writer.kill()
        rest = writer.communicate()[0].split()
    assert writer.returncode != 0
    last = float(rest[-1] if rest else said)
    record = load(place)
    assert last > 1.0
    assert -1e-3 <= last - record.column("time_s")[-1] < 0.2
    assert record.meta["outcome"] is None
    assert record.meta["launch"] == "hand"
