"""The window between its first picture and its first flight: a window all the same."""

from __future__ import annotations

import argparse
import signal
import subprocess
import threading
import time

import numpy as np
import pytest

from firstthrow.scenes.commands import cli, fly
from firstthrow.scenes.commands.showing import sight
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.window.look import looked
from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field

pytestmark = pytest.mark.window
LONG = 30.0  # [s] that is waited for what the display has to pass on


@pytest.fixture(scope="module")
def look():
    airframe = load_airframe(find("airframes", "pantry"))
    return looked(airframe, load_field(find("fields", "water-meadow")), None, Settings())


@pytest.fixture
def early(display, look):
    from firstthrow.scenes.window.early import Early
    from firstthrow.scenes.window.opening import open_window

    early = Early(look, open_window())
    yield early
    early.close()


@pytest.fixture
def opened(early, monkeypatch):
    """`fly` finds this window open, as one whose look was kept."""
    monkeypatch.setattr(fly, "seen_before", lambda key: early)
    return early


def options(*words) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    fly.add(parser.add_subparsers())
    return parser.parse_args(["fly", *words])


def until(met) -> bool:
    """Whether it comes to be."""
    end = time.monotonic() + LONG
    while not met() and time.monotonic() < end:
        time.sleep(0.01)
    return bool(met())


def on_display(*words: str) -> None:
    found = ["xdotool", "search", "--name", "^Firstthrow$"]
    name = subprocess.run(found, capture_output=True, text=True, check=True).stdout.split()[0]
    subprocess.run(["xdotool", words[0], name, *words[1:]], check=True, capture_output=True)


def test_it_is_closed_when_a_file_is_wrong(opened, monkeypatch, capsys):
    def wrong(chosen):
        raise ConfigError(["own.toml:1: span: what is this"])

    monkeypatch.setattr(fly, "_asked", wrong)
    assert cli.main(["fly"]) == 2
    assert opened.window.context is None
    assert capsys.readouterr().err == "own.toml:1: span: what is this\n"


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_closes_it_and_waits_for_what_is_under_way(early, number):
    """Whatever is imported beside it is whole by then."""
    closed = []

    def stop(number, frame):
        raise KeyboardInterrupt

    def work():
        signal.raise_signal(number)
        closed.append(until(lambda: early.window.context is None))

    before = signal.signal(number, stop)
    try:
        with pytest.raises(KeyboardInterrupt):
            early.during(work)
        assert signal.getsignal(number) is stop
    finally:
        signal.signal(number, before)
    assert closed == [True]
    assert early.left


def test_ctrl_c_waits_until_the_window_is_open_and_closes_it(look, display, monkeypatch):
    from firstthrow.scenes.window import opening

    opened, opens = [], opening.open_window

    def interrupted():
        signal.raise_signal(signal.SIGINT)
        opened.append(opens())
        return opened[0]

    monkeypatch.setattr(opening, "open_window", interrupted)
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # in the background: ignored
    try:
        with pytest.raises(KeyboardInterrupt):
            sight._shown(look)
    finally:
        signal.signal(signal.SIGINT, before)
    assert opened[0].context is None


@pytest.mark.parametrize("broken", ["Rehearsal", "App"])
def test_it_is_closed_when_what_flies_cannot_be_made(opened, monkeypatch, broken):
    from firstthrow.scenes.window import run

    def fails(*what, **how):
        raise ZeroDivisionError

    monkeypatch.setattr(run, broken, fails)
    monkeypatch.setattr(run, "missing", lambda: ())
    monkeypatch.setattr(run, "hands_missing", lambda: False)
    with pytest.raises(ZeroDivisionError):
        fly.run(options())
    assert opened.window.context is None


def test_a_process_beside_a_window_that_fails_is_ended(early, monkeypatch):
    """That of a first flight, which compiles."""
    from firstthrow.scenes.flight.unready import Unready
    from firstthrow.scenes.window import preparing

    def fails(*what, **how):
        raise ZeroDivisionError

    ended = []
    monkeypatch.setattr(preparing.App, "__init__", fails)
    monkeypatch.setattr(preparing.Preparing, "begin", lambda *what: True)
    monkeypatch.setattr(preparing.Preparing, "close", lambda self: ended.append(self))
    unready = Unready(
        load_airframe(find("airframes", "pantry")), load_field(find("fields", "water-meadow"))
    )
    with pytest.raises(ZeroDivisionError):
        preparing.FirstApp(unready, None, lambda: None, None, sight=early.sight)
    assert len(ended) == 1


def test_it_goes_when_it_was_closed_while_it_was_made(early):
    early.left = True
    early.during(lambda: time.sleep(0.1))
    assert early.window.context is None


def test_it_goes_when_it_is_closed_and_nothing_flies(opened, monkeypatch, capsys):
    """At once, whatever is still being loaded."""
    seen = []

    def closed(chosen):
        opened.window.dispatch_event("on_close")
        seen.append(until(lambda: opened.window.context is None))

    monkeypatch.setattr(fly, "_asked", closed)
    monkeypatch.setattr(fly, "first_sight", lambda *what: pytest.fail("opened again"))
    monkeypatch.setattr(fly, "_run_window", lambda *what, **how: pytest.fail("flown"))
    assert fly.run(options()) == 0
    assert seen == [True]
    assert "Nothing was flown." in capsys.readouterr().err


def test_nothing_flies_in_a_window_that_was_closed_while_the_last_was_loaded(opened, monkeypatch):
    from firstthrow.scenes.window import run

    def closes(*what):
        opened.window.dispatch_event("on_close")
        assert until(lambda: opened.window.context is None)

    monkeypatch.setattr(run, "Rehearsal", closes)
    monkeypatch.setattr(run, "App", lambda *what, **how: pytest.fail("flown"))
    monkeypatch.setattr(run, "missing", lambda: ())
    assert run.run(None, None, None, early=opened) == []


def test_it_is_drawn_again_in_another_size_and_where_it_was_covered(early):
    from firstthrow.scenes.world.snapshot import pixels

    shown, drawn = early.show, []
    early.show = lambda: drawn.append(1) or shown()

    def meanwhile():
        on_display("windowsize", "900", "600")
        grown = until(lambda: early.sight.canvas.width == 900)
        on_display("windowunmap")
        before = len(drawn)
        on_display("windowmap")
        return grown, until(lambda: len(drawn) > before)

    assert early.during(meanwhile) == (True, True)
    assert (early.sight.canvas.width, early.sight.canvas.height) == (900, 600)
    early.window.flip = lambda: None  # which would leave nothing to be read
    shown()
    picture = pixels(early.window).astype(float)
    assert picture.shape[:2] == (600, 900)
    assert np.all(picture.std(axis=(0, 1)) > 10.0)


def test_what_is_done_while_there_is_time_is_not_seen(early):
    from firstthrow.scenes.world.snapshot import pixels

    early.window.flip = lambda: None  # which would leave nothing to be read
    early.show()
    before = pixels(early.window)
    assert early.during(lambda: True)
    assert early.readied
    early.show()
    np.testing.assert_array_equal(pixels(early.window), before)


def test_what_is_typed_waits_for_who_can_answer(early):
    from pyglet.window import key

    typed = (
        ("on_key_press", key.V, 0),
        ("on_key_release", key.V, 0),
        ("on_key_press", key.ESCAPE, 0),
    )

    def meanwhile():
        for one in typed:
            early.window.dispatch_event(*one)
        return until(lambda: len(early.typed) == 3)

    heard = []
    assert early.during(meanwhile)
    assert not early.left
    early.hand_over()
    early.window.push_handlers(
        on_key_press=lambda *what: heard.append(("on_key_press", *what)) or True,
        on_key_release=lambda *what: heard.append(("on_key_release", *what)) or True,
    )
    early.window.dispatch_events()
    assert tuple(heard) == typed
    early.window.dispatch_event("on_close")
    early.window.dispatch_events()
    assert not early.left  # others listen now


def test_what_is_done_beside_it_may_fail(early):
    where = []

    def fails():
        where.append(threading.current_thread())
        raise ConfigError(["wrong"])

    with pytest.raises(ConfigError):
        early.during(fails)
    assert where[0] is not threading.main_thread()
    assert early.during(lambda: 3) == 3


def test_a_window_that_cannot_draw_is_closed(display, look, monkeypatch):
    from firstthrow.scenes.commands.showing import sight
    from firstthrow.scenes.window import opening
    from firstthrow.scenes.window.early import Early

    def fails(self):
        raise ZeroDivisionError

    windows, open_window = [], opening.open_window
    monkeypatch.setattr(opening, "open_window", lambda: windows.append(open_window()) or windows[0])
    monkeypatch.setattr(Early, "show", fails)
    with pytest.raises(ZeroDivisionError):
        sight._shown(look)
    assert windows[0].context is None


def test_all_that_a_picture_is_made_of_is_read_before_it_is_asked_for(
    display, look, tmp_path, monkeypatch
):
    from firstthrow.scenes.window.look import kept_parts
    from firstthrow.scenes.window.opening import open_window
    from firstthrow.scenes.window.sight import Sight
    from firstthrow.scenes.world import kept

    def seen():
        window = open_window()
        Sight(look.mesh, look, look.hand, window)
        window.close()

    monkeypatch.setattr(kept, "CACHE", tmp_path)
    tmp_path.chmod(0o700)
    seen()
    for name, key in kept_parts(look):
        kept.ahead(name, key)
    monkeypatch.setattr(kept.numbers, "at_hand", lambda *what: pytest.fail("read again"))
    seen()
    assert kept._AHEAD == {}


def test_who_brings_a_flight_along_works_out_no_look(display, tmp_path, monkeypatch):
    """As a replay does, and a film."""
    from firstthrow.scenes.flight import replay, resting
    from firstthrow.scenes.window.replay_window import ReplayApp
    from firstthrow.sim.flight.flight import fly as flown
    from firstthrow.sim.flight.pilot import hands_off
    from firstthrow.sim.flight.record import Recorder, load

    airframe, field = (
        load_airframe(find("airframes", "pantry")),
        load_field(find("fields", "water-meadow")),
    )
    path = tmp_path / "a.csv"
    recorder = Recorder(path, airframe, {})
    recorder.close(flown(airframe, field, hands_off(0.5), 0.2, record=recorder).outcome)
    monkeypatch.setattr(resting, "resting", lambda *what: pytest.fail("a look was worked out"))
    app = ReplayApp(replay.Replay(load(path), airframe, field), path)
    app.close()
