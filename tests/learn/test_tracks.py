"""Logs of every kind read back the same synthetic flight, and the wind comes out of its circles."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from firstthrow.sim.describe.config import ConfigError, load
from firstthrow.sim.describe.notes import Column, Log, Notes, Steady, notes_problems
from firstthrow.sim.learn.log_winds import stretches, with_log
from firstthrow.sim.learn.logs import local, read

HOME = (52.0, -1.5)  # deg north, deg east
START = datetime(2026, 5, 3, 23, 59, 50, tzinfo=UTC)  # passes midnight
AIRSPEED, SINK, WIND = 9.0, 1.0, (2.0, -1.0)  # m/s; the wind blows north and west


def flight(seconds: int = 41):
    """Circles of 12 s in a wind, by closed forms: time, north, east, height."""
    time = np.arange(float(seconds))
    turn = 2.0 * np.pi / 12.0
    north = AIRSPEED / turn * np.sin(turn * time) + WIND[0] * time
    east = AIRSPEED / turn * (1.0 - np.cos(turn * time)) + WIND[1] * time
    return time, north, east, 80.0 - SINK * time


def degrees(north, east):
    """Places on a sphere of the ellipsoid's radii at HOME, from the geodetic tables' values for
    52 deg north: 111 267.6 m a degree of latitude, 68 677.6 m of longitude (derived)."""
    return HOME[0] + north / 111267.6, HOME[1] + east / 68677.6


def gpx() -> str:
    time, north, east, height = flight()
    points = "".join(
        f'<trkpt lat="{lat:.8f}" lon="{lon:.8f}"><ele>{h:.2f}</ele>'
        f"<time>{(START + timedelta(seconds=t)).strftime('%Y-%m-%dT%H:%M:%SZ')}</time></trkpt>"
        for t, lat, lon, h in zip(time, *degrees(north, east), height, strict=True)
    )
    return (
        '<?xml version="1.0"?><gpx version="1.1" creator="test" '
        f'xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>{points}</trkseg></trk></gpx>'
    )


def minutes(value: float, whole: int, digits: int) -> tuple[str, str]:
    """Degrees and minutes as NMEA and IGC have them, and the decimals joined."""
    size = abs(value)
    degree = int(size)
    return f"{degree:0{whole}d}", f"{(size - degree) * 60.0:0{digits + 3}.{digits}f}"


def nmea() -> str:
    """With lines that are torn, one of them such that its checksum still holds."""
    torn = "GPGGA,1005\x0000.00,5200.000,N,00130.000,W,1,09,0.9,80.0,M,47.0,M,,"
    lines = ["$GPTXT,01,01,02,hello*00", "torn $GPGGA,12", summed(torn)]
    time, north, east, height = flight()
    for t, lat, lon, h in zip(time, *degrees(north, east), height, strict=True):
        clock = (START + timedelta(seconds=t)).strftime("%H%M%S.00")
        (d, m), (dd, mm) = minutes(lat, 2, 6), minutes(lon, 3, 6)
        lines.append(summed(f"GPGGA,{clock},{d}{m},N,{dd}{mm},W,1,09,0.9,{h:.2f},M,47.0,M,,"))
    return "\r\n".join(lines)


def summed(body: str) -> str:
    check = 0
    for letter in body:
        check ^= ord(letter)
    return f"${body}*{check:02X}"


def igc() -> str:
    lines = ["AXXXTST", "HFDTE030526"]
    time, north, east, height = flight()
    for t, lat, lon, h in zip(time, *degrees(north, east), height, strict=True):
        clock = (START + timedelta(seconds=t)).strftime("%H%M%S")
        (d, m), (dd, mm) = minutes(lat, 2, 3), minutes(lon, 3, 3)
        place = f"{d}{m.replace('.', '')}N{dd}{mm.replace('.', '')}W"
        lines.append(f"B{clock}{place}A{round(h):05d}{round(h):05d}")
    return "\r\n".join(lines) + "\r\n"


def telemetry() -> str:
    rows = ["Time;Lat;Lon;Alt(ft);VSpd(km/h);Curr(A)"]
    time, north, east, height = flight()
    for t, lat, lon, h in zip(time, *degrees(north, east), height, strict=True):
        clock = (START + timedelta(seconds=t)).strftime("%H:%M:%S.000")
        rows.append(f"{clock};{lat:.8f};{lon:.8f};{h / 0.3048:.3f};{AIRSPEED * 3.6:.2f};2.5")
    return "\n".join(rows)


COLUMNS = Log(
    separator=";",
    columns={
        "time": Column(name="Time", unit="clock"),
        "latitude": Column(name="Lat"),
        "longitude": Column(name="Lon"),
        "height": Column(name="Alt(ft)", unit="ft"),
        "airspeed": Column(name="VSpd(km/h)", unit="km/h"),
        "current": Column(name="Curr(A)"),
    },
)
KINDS = {"gpx": (gpx, 0.05), "nmea": (nmea, 0.05), "igc": (igc, 1.6), "csv": (telemetry, 0.05)}


def written(folder, kind: str):
    path = folder / f"flight.{kind}"
    path.write_text(KINDS[kind][0](), encoding="ascii", newline="")
    return read(path, COLUMNS if kind == "csv" else Log())


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_log_reads_back_the_flight(tmp_path, kind):
    """IGC rounds places to a thousandth of a minute, some 1.9 m, and heights to a metre."""
    track = written(tmp_path, kind)
    time, north, east, height = flight()
    near = KINDS[kind][1]
    assert np.array_equal(track.time, time)
    assert np.abs(track.north - north).max() < near
    assert np.abs(track.east - east).max() < near
    assert np.abs(track.height - height).max() < max(0.51 if kind == "igc" else 0.01, 0.01)


@pytest.mark.parametrize("kind", list(KINDS))
def test_fixes_that_repeat_or_run_back_are_told_and_left_out(tmp_path, kind):
    """The first fix twice; the clock set back by two seconds in the middle."""
    text = KINDS[kind][0]()
    mark = {"gpx": "<trkpt", "nmea": "$GPGGA", "igc": "\r\nB", "csv": "\n"}[kind]
    head, *fixes = text.split(mark)
    if kind == "nmea":  # two torn ones stand first
        head, fixes = mark.join([head, *fixes[:2]]), fixes[2:]
    tail = "</trkseg></trk></gpx>" if kind == "gpx" else ""
    fixes = [fix.removesuffix(tail) for fix in fixes]
    odd = [fixes[0], *fixes[:20], *fixes[18:]]
    path = tmp_path / f"odd.{kind}"
    path.write_text(mark.join([head, *odd]) + tail, encoding="ascii", newline="")
    track = read(path, COLUMNS if kind == "csv" else Log())
    assert np.array_equal(track.time, flight()[0])
    assert track.remarks == (
        "2 of its 44 fixes repeat the time of the one before: the first of each time was taken",
        "1 of its 44 fixes run backwards in time, by up to 1 s: they were left out",
    )
    assert track.unsure[20] >= 1.0
    winds = stretches(track, marked())
    assert winds.remarks == track.remarks
    sure = stretches(written(tmp_path, kind), marked())
    assert winds.stretches["down"].airspeed_spread > sure.stretches["down"].airspeed_spread


def test_a_degree_is_as_long_as_the_ellipsoid_says():
    """Source: lengths of a degree at 45 deg north on WGS 84, 111 131.7 m and 78 846.8 m
    (National Geospatial-Intelligence Agency's table, remembered; derived here the same)."""
    north, east = local(np.array([45.0, 45.001]), np.array([7.0, 7.001]))
    assert north[1] == pytest.approx(111.1317, rel=1e-5)
    assert east[1] == pytest.approx(78.8468, rel=1e-5)


def marked(**more) -> Notes:
    return Notes(steady={"down": Steady(kind="glide", start="0 s", end="40 s", **more)})


@pytest.mark.parametrize("kind", ["gpx", "csv", "igc"])
def test_wind_airspeed_and_sink_come_out(tmp_path, kind):
    """Within two of the stated spreads; a second between fixes makes chords of arcs, whose
    speed is 1.1 % short (derived: sin(x)/x at 15 deg)."""
    winds = stretches(written(tmp_path, kind), marked())
    found = winds.stretches["down"]
    assert np.abs(winds.wind - WIND).max() < 2.0 * np.sqrt(np.diag(winds.covariance)).max()
    assert np.abs(winds.wind - WIND).max() < 0.3
    assert abs(found.airspeed - AIRSPEED) < 2.0 * found.airspeed_spread + 0.011 * AIRSPEED
    assert found.airspeed_spread < 0.3
    assert abs(found.sink - SINK) < 2.0 * found.sink_spread
    assert found.current == pytest.approx(2.5) if kind == "csv" else math.isnan(found.current)


def test_a_straight_flight_leaves_the_wind_unsure(tmp_path):
    """Along one heading, wind and airspeed cannot be told apart."""
    rows = ["t,lat,lon,alt"]
    rows += [f"{t},{52.0 + 10.0 * t / 111267.6:.8f},-1.5,50" for t in range(30)]
    path = tmp_path / "straight.csv"
    path.write_text("\n".join(rows))
    names = (("time", "t"), ("latitude", "lat"), ("longitude", "lon"), ("height", "alt"))
    log = Log(columns={what: Column(name=name) for what, name in names})
    notes = Notes(steady={"run": Steady(start="0 s", end="29 s")})
    winds = stretches(read(path, log), notes)
    assert winds.stretches["run"].airspeed_spread > 1.5
    assert np.sqrt(winds.covariance[0, 0]) > 1.5


def test_notes_take_from_the_log_only_what_they_do_not_say(tmp_path):
    track = written(tmp_path, "csv")
    plain = marked()
    told = with_log(plain, stretches(track, plain)).steady["down"]
    assert told.speed == pytest.approx(AIRSPEED, rel=0.02)
    assert told.sink == pytest.approx(SINK, abs=0.05)
    assert told.throttle is None
    said = marked(speed="8 m/s", sink="2 m/s")
    kept = with_log(said, stretches(track, said)).steady["down"]
    assert (kept.speed, kept.sink) == (8.0, 2.0)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("a.kml", "", "wanted a log that ends in .gpx, .igc, .nmea or .csv"),
        ("a.gpx", "<gpx", "not a readable GPX log: "),
        ("a.nmea", "hello", "not a readable NMEA log: it has no valid GGA or RMC sentence"),
        ("a.igc", "AXXX\r\n", "not a readable IGC log: it has no fix"),
        ("a.csv", "t,x\n0,1\n1,2\n", "the notes do not say which column is the time"),
    ],
)
def test_a_wrong_log_in_one_sentence(tmp_path, name, text, words):
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(ConfigError) as caught:
        read(path)
    assert str(caught.value).startswith(f"{path}: ")
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ('lat="1e999" lon="-1.5"><ele>80</ele>', "a latitude of inf: no place has that"),
        ('lat="52.0" lon="4000"><ele>80</ele>', "a longitude of 4000: no place has that"),
        ('lat="52.0" lon="-1.5"><ele>-1e400</ele>', "a height of -inf: no place has that"),
    ],
)
def test_a_place_that_is_none(tmp_path, place, words):
    path, text = tmp_path / "a.gpx", gpx()
    at = text.index("<trkpt", text.index("<trkpt") + 1)
    path.write_text(f"{text[:at]}<trkpt {place}{text[text.index('<time>', at) :]}")
    with pytest.raises(ConfigError, match=f"a.gpx: fix 2 has {words}"):
        read(path)


def test_a_wrong_column_names_those_there_are(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("t,x\n0,1\n1,oops\n")
    with pytest.raises(ConfigError, match="no column 'Time' for the time; it has t, x"):
        read(path, Log(columns={"time": Column(name="Time")}))
    log = Log(columns={"time": Column(name="t"), "height": Column(name="x")})
    with pytest.raises(ConfigError, match="column 'x': 'oops' is no number"):
        read(path, log)


def test_notes_are_checked(tmp_path):
    path = tmp_path / "notes.toml"
    path.write_text(
        '[steady.one]\nkind = "glide"\nstart = "3 s"\nthrottle = "40 %"\nup_trm = "1 mm"\n'
    )
    with pytest.raises(ConfigError) as caught:
        load(Notes, path, agreement=notes_problems)
    assert caught.value.problems == [
        f"{path}:3: steady.one.start: wanted with 'end'",
        f"{path}:4: steady.one.throttle: a glide has the throttle closed: leave it out",
        f"{path}:5: steady.one.up_trm: unknown key; did you mean 'up_trim'?",
    ]
