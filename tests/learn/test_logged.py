"""Simulated flights as loggers write them down, coarse and noisy, and what those explain."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from functools import lru_cache

import numpy as np
import pytest
from bodies import shipped

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import ConfigError, find, load_field
from firstthrow.sim.describe.notes import Column, Log
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Rows
from firstthrow.sim.learn.causes import SOUND
from firstthrow.sim.learn.logged import LACKS, explained
from firstthrow.sim.learn.logs import EQUATOR, read
from firstthrow.sim.study.faults import apply

FIELD = load_field(find("fields", "water-meadow"))
NAMES = {
    "time": ("Time", "s"),
    "latitude": ("Lat", "deg"),
    "longitude": ("Lon", "deg"),
    "height": ("Alt", "m"),
    "throttle": ("Thr", "%"),
    "roll": ("Roll", "deg"),
    "pitch": ("Pitch", "deg"),
    "heading": ("Yaw", "deg"),
    "stick_roll": ("Ail", "%"),
    "stick_pitch": ("Ele", "%"),
    "rpm": ("RPM", "rpm"),
}
LOG = Log(columns={what: Column(name=name, unit=unit) for what, (name, unit) in NAMES.items()})
NOTES = "".join(
    f'[log.columns.{what}]\nname = "{name}"\nunit = "{unit}"\n'
    for what, (name, unit) in NAMES.items()
)
WAITED = 3.0  # s that the logger ran before the throw


def stirred(reading) -> Sticks:
    t = reading.time_s
    roll = 0.35 * (0.3 <= t < 0.7) - 0.35 * (1.0 <= t < 1.5)
    pitch = 0.3 * (0.7 <= t < 1.0)
    return Sticks(roll, pitch, 0.0, shipped().launch.by_hand.throttle)


@lru_cache
def flown(fault: str = "") -> dict[str, np.ndarray]:
    """What a logger at 25 Hz sees of a flight, its places to 0.2 m, its attitude to a degree."""
    airframe = shipped()
    wrong, field = apply(fault, airframe, FIELD) if fault else (airframe, FIELD)
    rows = Rows()
    flight = fly(wrong, field, stirred, 2.5, "hand", record=rows)
    kept = rows.record(flight.columns, {})
    draw = np.random.default_rng(5)
    time = np.arange(-WAITED, float(kept.column("time_s")[-1]), 0.04)

    def seen(name: str, noise: float) -> np.ndarray:
        values = np.interp(time, kept.column("time_s"), kept.column(name))
        return values + noise * draw.standard_normal(len(time))

    return {
        "time": time + WAITED,
        "latitude": 50.0 + np.degrees(seen("north_m", 0.2) / EQUATOR),
        "longitude": 8.0 + np.degrees(seen("east_m", 0.2) / (EQUATOR * math.cos(math.radians(50)))),
        "height": 120.0 + seen("height_m", 0.2),
        "throttle": 100.0 * seen("throttle", 0.0),
        "roll": seen("roll_deg", 1.0),
        "pitch": seen("pitch_deg", 1.0),
        "heading": np.degrees(
            np.interp(
                time, kept.column("time_s"), np.unwrap(np.radians(kept.column("heading_deg")))
            )
        ),
        "stick_roll": 100.0 * seen("stick_roll", 0.0),
        "stick_pitch": 100.0 * seen("stick_pitch", 0.0),
        "rpm": np.abs(seen("motor_motor_rpm", 50.0)),
    }


def as_csv(path, fault: str = ""):
    table = flown(fault)
    head = ",".join(NAMES[what][0] for what in table)
    rows = [",".join(f"{value:.7f}" for value in row) for row in zip(*table.values(), strict=True)]
    path.write_text("\n".join([head, *rows]))
    return path


@pytest.mark.parametrize("fault", ["", "elevon-off"])
def test_a_telemetry_log_tells_the_cause(tmp_path, fault):
    found = explained(read(as_csv(tmp_path / "log.csv", fault), LOG), shipped(), FIELD)
    assert found.released_s == pytest.approx(WAITED, abs=0.15)
    assert found.cause is not None
    print(fault, [(one.name, round(one.chance, 2)) for one in found.cause.likely[:3]])
    first = found.cause.first
    assert (fault or SOUND) in (first.name, *first.alike)
    assert found.thrown_m_s == pytest.approx(8.0, abs=2.5 * found.thrown_spread_m_s)


def test_places_alone_tell_the_throw_and_say_what_they_cannot_tell(tmp_path):
    """GPX five times a second, IGC once."""
    table = flown("slow-throw")
    start = datetime(2026, 5, 17, 10, 0, 0)
    points = [
        f'<trkpt lat="{a:.7f}" lon="{b:.7f}"><ele>{h:.2f}</ele><time>'
        f"{(start + timedelta(seconds=t)).isoformat(timespec='milliseconds')}Z</time></trkpt>"
        for t, a, b, h in list(
            zip(*(table[k] for k in ("time", "latitude", "longitude", "height")), strict=True)
        )[::5]
    ]
    path = tmp_path / "log.gpx"
    path.write_text(
        '<gpx version="1.1" creator="logger" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        + "".join(points)
        + "</trkseg></trk></gpx>"
    )
    found = explained(read(path), shipped(), FIELD)
    assert found.cause is None
    assert len(found.cannot_tell) == len(LACKS) - 1  # all but the height
    assert found.thrown_m_s == pytest.approx(4.8, abs=2.5 * found.thrown_spread_m_s)
    assert any("thrown at about" in text for text in found.remarks)  # not surely too slowly


def test_a_log_without_a_throw_is_wrong_input(tmp_path):
    path = as_csv(tmp_path / "log.csv")
    track = read(path, LOG)
    still = track._replace(north=0.0 * track.north, east=0.0 * track.east)
    with pytest.raises(ConfigError, match="no throw"):
        explained(still, shipped(), FIELD)


def test_rows_of_a_coarse_clock_are_taken_once(tmp_path):
    """Each time stands in two rows: of every column the first counts, as of the places."""
    lines = as_csv(tmp_path / "fine.csv").read_text().splitlines()
    twice = [lines[0], *(row for line in lines[1:] for row in (line, line))]
    (tmp_path / "coarse.csv").write_text("\n".join(twice))
    fine, coarse = (read(tmp_path / f"{name}.csv", LOG) for name in ("fine", "coarse"))
    np.testing.assert_array_equal(coarse.also["roll"], fine.also["roll"])
    assert len(coarse.also["roll"]) == len(coarse.time)


@pytest.mark.parametrize(
    ("back", "at", "told"),
    [(0.4, -0.2, "run backwards in time, by up to 0.36 s"), (0.0, 0.0, "repeat the time")],
)
def test_a_speed_by_an_unsure_clock_is_no_surer_than_that(tmp_path, back, at, told):
    """A clock set back shortly before the throw; one that tells tenths of a second."""
    lines = as_csv(tmp_path / "fine.csv").read_text().splitlines()
    rows = [line.partition(",")[::2] for line in lines[1:]]
    times = [float(time) - WAITED for time, _ in rows]
    if back:
        times = [time - back * (time > at) for time in times]
    else:
        times = [math.floor(10.0 * time + 1e-6) / 10.0 for time in times]
    odd = [f"{time + WAITED},{rest}" for time, (_, rest) in zip(times, rows, strict=True)]
    (tmp_path / "odd.csv").write_text("\n".join([lines[0], *odd]))
    found = explained(read(tmp_path / "odd.csv", LOG), shipped(), FIELD)
    assert abs(found.thrown_m_s - 8.0) < 2.0 * found.thrown_spread_m_s
    assert told in " ".join(found.remarks)
    assert (found.cause is None) == (back > 0.0)
    assert any("cannot be told" in text for text in found.remarks) == (back > 0.0)


def test_a_throw_before_or_after_the_log_is_refused(tmp_path):
    track = read(as_csv(tmp_path / "log.csv"), LOG)
    for released in (-5.0, 1000.0):
        with pytest.raises(ConfigError, match=f"--released {released:g}: the log has places"):
            explained(track, shipped(), FIELD, released)


def test_without_heights_no_cause_is_made_up(tmp_path):
    track = read(as_csv(tmp_path / "log.csv"), LOG)
    blank = np.full(len(track.time), np.nan)
    found = explained(track._replace(height=blank), shipped(), FIELD)
    assert (found.cause, found.highest_m, found.end_below_hand_m) == (None, None, None)
    assert any("it has no height" in text for text in found.cannot_tell)


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (["--airframe", "pantry", "--no-refly"], "--no-refly"),
        (["other.csv", "--airframe", "pantry"], "several logs"),
        (["--released", "2"], "--released"),
    ],
)
def test_what_does_not_go_together_is_refused(tmp_path, capsys, words, text):
    assert main(["debrief", str(as_csv(tmp_path / "log.csv")), *words]) == 2
    assert text in capsys.readouterr().err


def test_debrief_explains_a_log(tmp_path, capsys):
    path = as_csv(tmp_path / "log.csv", "reversed-roll")
    (tmp_path / "notes.toml").write_text(NOTES)
    asked = ["debrief", str(path), "--airframe", "pantry", "--field", "water-meadow"]
    assert main([*asked, "--notes", str(tmp_path / "notes.toml")]) == 0
    told = capsys.readouterr().out
    assert "the roll stick works the wrong way round" in told
    assert "This log cannot tell" in told
    assert main(["debrief", str(path), "--airframe", "pantry"]) == 2
