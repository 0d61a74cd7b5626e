"""A record shown again: its readings at any time, and the window that plays it."""

from __future__ import annotations

import json
import shutil

import numpy as np
import pytest
from driven import Driven
from PIL import Image

from firstthrow.scenes.flight.replay import Replay, Rows, described
from firstthrow.scenes.flight.settings import Settings
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Record, Recorder, RecordError, flight_meta, load
from firstthrow.sim.flight.scripted_pilot import Steady


@pytest.fixture(scope="module")
def flown(tmp_path_factory):
    """The path of a record of eight seconds."""
    airframe = load_airframe(find("airframes", "pantry"))
    field = load_field(find("fields", "water-meadow"))
    path = tmp_path_factory.mktemp("flown") / "eight.csv"
    meta = flight_meta(field, launch="hand", pilot="steady")
    recorder = Recorder(path, airframe, meta)
    flight = fly(airframe, field, Steady(), 8.0, record=recorder)
    recorder.close(flight.outcome)
    return path


@pytest.fixture
def replay(flown):
    record = load(flown)
    airframe, field, note = described(record, flown)
    assert note == ""
    return Replay(record, airframe, field)


def test_readings_between_rows_are_mixed_and_go_round_the_compass(flown):
    record = load(flown)
    rows = record.rows[60:70].copy()
    heading, roll = (record.columns.index(n) for n in ("heading_deg", "roll_deg"))
    rows[3, heading], rows[4, heading] = 359.0, 2.0
    rows[3, roll], rows[4, roll] = 10.0, 13.0
    mixed = Rows(Record(record.columns, rows, {}))
    third = rows[3, 0] + (rows[4, 0] - rows[3, 0]) / 3.0
    reading = mixed.at(third)
    assert reading.heading_deg == pytest.approx(360.0)
    assert reading.roll_deg == pytest.approx(11.0)
    north = record.columns.index("north_m")
    assert reading.north_m == pytest.approx((2.0 * rows[3, north] + rows[4, north]) / 3.0)
    quaternion = np.array(reading[record.columns.index("attitude_w") :][:4])
    assert np.linalg.norm(quaternion) == pytest.approx(1.0)
    assert mixed.at(-5.0).time_s == rows[0, 0]
    assert mixed.at(1e3).time_s == rows[-1, 0]


def test_a_record_with_nothing_to_show_is_refused(flown):
    record = load(flown)
    for rows in (record.rows[:1], record.rows[:0], np.full((9, len(record.columns)), np.nan)):
        with pytest.raises(RecordError, match="no flight"):
            Rows(Record(record.columns, rows, {}))


def test_time_moves_with_the_clock_by_hand_and_by_rows(replay):
    assert replay.held
    replay.seek(2.0)
    for _ in range(30):
        replay.frame(1 / 60, None)
    assert replay.time == pytest.approx(2.5, abs=0.005)
    replay.clock.slower()
    for _ in range(30):
        replay.frame(1 / 60, None)
    assert replay.time == pytest.approx(2.75, abs=0.005)
    replay.clock.paused = True
    replay.frame(1 / 60, None)
    stood = replay.time
    replay.step(1)
    assert 0.0 < replay.time - stood < 2.1 / 60
    replay.seek(1e9)
    assert replay.over
    assert replay.flight.outcome.word == "time-up"
    replay.seek(1.0)
    assert not replay.over


def test_the_airframe_is_found_by_the_sidecar_or_by_name(flown, tmp_path):
    path = tmp_path / "moved.csv"
    shutil.copy(flown, path)
    record = load(path)
    with pytest.raises(RecordError, match="--airframe"):
        described(record, path)
    airframe, field, _ = described(record, path, "pantry")
    assert (airframe.name, field.name) == ("pantry", "water-meadow")
    with pytest.raises(RecordError, match="other motors or surfaces"):
        described(record, path, "allotment")
    meta = json.loads(flown.with_suffix(".json").read_text())
    kept = described(Record(record.columns, record.rows, meta), path)
    assert kept == (airframe, field, "")
    changed = json.loads(json.dumps(meta))  # as by the bench: no file says so
    changed["airframe_si"]["items"]["pack"]["aft"] = -0.06
    changed["fingerprint"], changed["field_si"]["wind"]["speed"] = "other", 3.0
    there = described(Record(record.columns, record.rows, changed), path)
    assert there[0].items["pack"].aft == -0.06
    assert there[1].wind.speed == 3.0
    assert there[2] == ""
    changed["airframe_si"] = {"items": 3}
    with pytest.raises(RecordError, match="cannot be read"):
        described(Record(record.columns, record.rows, changed), path)
    for name in ("airframe_si", "field_si"):  # as older records are
        del meta[name]
    own = tmp_path / "mine.toml"
    shutil.copy(find("airframes", "pantry"), own)
    for told, word in (({"airframe": "gone"}, "gone"), ({"fingerprint": "0"}, "changed since")):
        changed = Record(record.columns, record.rows, {**meta, **told})
        if word == "gone":
            with pytest.raises(RecordError, match="gone"):
                described(changed, path)
            changed.meta["airframe_file"] = str(own)
            assert described(changed, path)[0].name == "pantry"
        else:
            assert word in described(changed, path)[2]


@pytest.fixture(scope="module")
def window(display, flown):
    from firstthrow.scenes.window.replay_window import ReplayApp

    record = load(flown)
    airframe, field, _ = described(record, flown)
    app = ReplayApp(Replay(record, airframe, field), flown, settings=Settings(mute=True))
    driven = Driven(app, f"Firstthrow replay: {flown.name}")
    yield driven
    app.close()


@pytest.fixture
def shown(window):
    app = window.app
    app.rehearsal.again()
    app.rehearsal.clock.rate, app.rehearsal.clock.paused = 1.0, True
    app.view_name, app.instruments, app.eyes.free = "standing", True, False
    app.eyes.afresh()
    window.frames(2)
    yield window
    for name in ("Left", "Right", "a"):
        window.key_up(name)
    window.until(lambda: not app.keys, "all keys are up")


@pytest.mark.window
def test_space_plays_and_stops_and_t_slows(shown):
    replay = shown.app.rehearsal
    shown.key("space")
    shown.until(lambda: not replay.clock.paused, "Space plays")
    before = replay.time
    shown.frames(30)
    assert replay.time - before == pytest.approx(0.5, abs=0.01)
    shown.key("t")
    shown.until(lambda: replay.clock.rate == 0.5, "T slows it")
    shown.key("space")
    shown.until(lambda: replay.clock.paused, "Space stops")
    stood = replay.time
    shown.frames(20)
    assert replay.time == stood


@pytest.mark.window
def test_keys_move_in_time_and_the_picture_follows(shown):
    app, replay = shown.app, shown.app.rehearsal
    app.view_name = "towed"
    replay.seek(2.0)
    first = shown.picture()
    shown.key_down("Right")
    shown.until(lambda: replay.time > 4.0, "Right goes on in time")
    shown.key_up("Right")
    shown.until(lambda: not app.keys, "the key is up")
    assert np.abs(shown.picture() - first).mean() > 4.0
    shown.key_down("Left")
    shown.until(lambda: replay.time < 3.0, "Left goes back")
    shown.key_up("Left")
    shown.until(lambda: not app.keys, "the key is up")
    stood = replay.time
    shown.key("comma")
    shown.until(lambda: replay.time < stood, "Comma goes one reading back")
    assert stood - replay.time < 2.1 / 60
    shown.key("End")
    shown.until(lambda: replay.over, "End goes to the end")
    shown.key("Home")
    shown.until(lambda: replay.time == replay.start, "Home to the start")


@pytest.mark.window
def test_the_bar_is_dragged_with_the_mouse(shown):
    app, replay = shown.app, shown.app.rehearsal
    groove = app.timeline.groove
    row = round(720 - groove.y - 0.5 * groove.height)
    for share in (0.25, 0.75):
        shown.point(round(groove.x + share * groove.width), row)
        shown.mouse("click", "1")
        want = replay.start + share * (replay.end - replay.start)
        assert replay.time == pytest.approx(want, abs=0.05)
    picture = shown.picture()
    blue = (np.abs(picture[row] - np.array([24, 82, 128])).max(axis=1) < 6).sum()
    assert blue == pytest.approx(0.75 * groove.width, abs=12)
    shown.drag((round(groove.x + 0.5 * groove.width), row), (round(groove.x), row + 3))
    assert replay.time == pytest.approx(replay.start, abs=0.05)
    assert not app.eyes.free  # the bar has the mouse, not the view
    shown.drag((600, 400), (700, 400))
    assert app.eyes.free
    shown.key("v")
    shown.until(lambda: not app.eyes.free, "V leaves the free view")


@pytest.mark.window
def test_it_is_drawn_where_the_record_says_with_its_streamer(shown):
    app, replay = shown.app, shown.app.rehearsal
    app.view_name, app.instruments = "towed", False
    replay.seek(5.0)
    shown.frames(60)
    picture = shown.picture()
    column, row = shown.pixel(np.zeros(3))
    spot = picture[int(row) - 25 : int(row) + 25, int(column) - 25 : int(column) + 25]
    cream = (spot.min(axis=2) > 170) & (spot[..., 0] >= spot[..., 2])
    assert cream.sum() > 60  # the slab's foam
    shown.key("b")
    shown.until(lambda: not app.aids.streamer_shown, "B hides the streamer")
    without = shown.picture()
    assert (np.abs(without - picture).max(axis=2) > 12).sum() > 400
    app.aids.streamer_shown = True


@pytest.mark.window
def test_instruments_say_what_the_record_says(shown):
    app, replay = shown.app, shown.app.rehearsal
    replay.seek(5.0)
    app.words_at = -1e9
    shown.frames(1)
    speed = replay.record.column("airspeed_m_s")[
        np.argmin(np.abs(replay.record.column("time_s") - 5.0))
    ]
    assert app.panels.drawings["air"].big.label.text == f"{speed:.1f} m/s"
    assert app.panels.drawings["sticks"].title.label.text == "Sticks: record"


@pytest.mark.window
def test_f12_keeps_the_picture_without_the_bar(shown, flown):
    app = shown.app
    app.rehearsal.seek(3.0)
    shown.frames(2)
    shown.key("F12")
    shown.until(lambda: "kept" in app.told, "F12 keeps it")
    kept = flown.with_name("eight-3.00s.png")
    image = np.asarray(Image.open(kept)).astype(int)
    assert image.shape == (720, 1280, 3)
    bar = app.timeline.rect
    strip = image[round(720 - bar.y - bar.height) + 4 : round(720 - bar.y) - 4, 600:680]
    assert (np.abs(strip - np.array([245, 240, 226])).max(axis=2) < 4).mean() < 0.05
    assert np.ptp(image[..., 1]) > 100


@pytest.mark.window
def test_the_page_of_keys_names_every_key(shown):
    from firstthrow.scenes.window.replay_window import BINDINGS

    app = shown.app
    shown.key("F1")
    shown.until(lambda: app.helping, "F1 shows the keys")
    assert len(app._card().lines) == len(BINDINGS)
    paper = (np.abs(shown.picture() - np.array([245, 240, 226])).max(axis=2) < 4).sum()
    assert paper > 200_000
    shown.key("F1")
    shown.until(lambda: not app.helping, "F1 closes the page")
