"""The bench in the real window: keys, mouse and gamepad change what flies and what is shown."""

from __future__ import annotations

import shutil

import numpy as np
import pytest
from driven import Driven
from virtual_stick import VirtualStick

from firstthrow.scenes.words import what_it_says
from firstthrow.scenes.words.instruments import INK, PAPER
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.paper.page import Words

pytestmark = pytest.mark.window


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    path = tmp_path_factory.mktemp("bench") / "my.toml"
    shutil.copy(find("airframes", "pantry"), path)
    return path


@pytest.fixture(scope="module")
def window(display, file, tmp_path_factory):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.flight.settings import Settings
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.opening import TITLE
    from firstthrow.scenes.window.window import App

    own = tmp_path_factory.mktemp("settings")
    patch = pytest.MonkeyPatch()
    patch.setattr("platformdirs.user_config_path", lambda *a, **k: own)
    rehearsal = Rehearsal(load_airframe(file), load_field(find("fields", "water-meadow")))
    app = App(rehearsal, load_hands("keyboard"), settings=Settings(mute=True, airframe_file=file))
    driven = Driven(app, TITLE)
    driven.number = driven.until(driven._search, "the window is there")
    yield driven
    app.close()
    patch.undo()


@pytest.fixture
def bench(window):
    """In the hand, the bench open with both set-ups as the file has them, at the reflex."""
    app = window.app
    app.leave()
    app.rehearsal.clock.paused = False
    if app.bench.open:
        app.act("bench")
    app.bench.begun = None
    app.sound = app.as_built
    app.models.clear()
    app.set_fault("")
    press(window, "F7", lambda: app.bench.open, "F7 opens the bench")
    window.frames(3)
    choose(window, "reflex")
    yield window
    app.scale = 1.0
    app._resize(1280, 720)
    for name in ("comma", "period", "Right", "Left"):
        window.key_up(name)


def press(window: Driven, key: str, met, what: str) -> None:
    window.key(key)
    window.until(met, what)


def choose(window: Driven, name: str) -> None:
    own = window.app.bench.bench
    own.row = [r.name for r in own.rows].index(name)
    window.frames(2)


def value(window: Driven, name: str) -> float:
    own = window.app.bench.bench
    return own.value(next(r for r in own.rows if r.name == name))


def asked(window: Driven) -> float:
    """Elevons asked for, trailing edge up, the mean of both [deg]."""
    now = window.app.rehearsal.reading
    return -0.5 * (now.surface_elevon_left_asked_deg + now.surface_elevon_right_asked_deg)


def patch(window: Driven, sheet, words: str, wide=90) -> np.ndarray:
    """The picture left of where some words end, those anchored at the right."""
    part = next(p for p in sheet.page.parts if isinstance(p, Words) and p.text == words)
    x, y = sheet.place((part.x, part.y))
    shown = window.picture()
    row = round(shown.shape[0] - y)
    return shown[row - round(part.size * sheet.scale) : row + 4, round(x) - wide : round(x)]


def dark(picture: np.ndarray) -> int:
    return int((np.abs(picture - np.array(INK)).max(axis=2) < 60).sum())


def words(window: Driven) -> list[str]:
    own = window.app.bench
    return [p.text for s in (own.left, own.right) for p in s.page.parts if isinstance(p, Words)]


def spot(window: Driven, action: str, name: str = "") -> tuple[int, int]:
    """Where on the window a button of the left panel is, from the top left."""
    from firstthrow.scenes.pages.bench_page import spots

    own = window.app.bench
    number = [r.name for r in own.bench.rows].index(name) if name else -1
    rect = next(
        s.rect for s in spots(own.bench, own.tall) if s.action == action and s.row == number
    )
    x, y = own.left.place((rect.x + 0.5 * rect.width, rect.y + 0.5 * rect.height))
    return round(x), round(window.app.panels.height - y)


def mouse(window: Driven, place: tuple[int, int], *more: str) -> None:
    window._xdotool("mousemove", "--window", window.number, str(place[0]), str(place[1]), *more)


def test_the_panels_stand_at_the_sides_and_the_flight_goes_on(bench):
    app = bench.app
    press(bench, "space", lambda: app.rehearsal.flown, "it flies")
    time = app.rehearsal.flight.time
    bench.frames(10)
    assert app.rehearsal.flight.time > time + 0.1
    shown = bench.picture()
    paper = np.abs(shown - np.array(PAPER)).max(axis=2) < 6
    assert paper[60:580, 20:340].mean() > 0.6
    assert paper[60:580, 1010:1260].mean() > 0.6
    assert paper[260:580, 360:990].mean() < 0.05  # the airframe has the middle
    press(bench, "F7", lambda: not app.bench.open, "F7 closes it")
    paper = np.abs(bench.picture() - np.array(PAPER)).max(axis=2) < 6
    assert paper[60:580, 20:340].mean() < 0.1
    press(bench, "F7", lambda: app.bench.open, "and opens it")
    press(bench, "Escape", lambda: not app.bench.open, "Esc closes it, too")
    assert app.running


def test_a_key_changes_the_reflex_in_flight_and_on_the_screen(bench):
    app = bench.app
    press(bench, "space", lambda: app.rehearsal.flown, "it flies")
    bench.frames(5)
    before = asked(bench)
    mm = next(w for w in words(bench) if w[0].isdigit() and w.endswith(" up"))
    shown = patch(bench, app.bench.left, "5.0°")
    flight = app.rehearsal.flight
    for key, to in (("shift+period", 5.5), ("shift+comma", 5.0), ("shift+period", 5.5)):
        press(bench, key, lambda to=to: abs(value(bench, "reflex") - to) < 0.01, "five steps")
    bench.frames(2)
    assert asked(bench) == pytest.approx(before + 0.5, abs=0.02)
    assert app.rehearsal.flight is flight  # the same flight goes on
    assert flight.outcome is None
    assert dark(patch(bench, app.bench.left, "5.5°")) > 1.1 * dark(shown)  # changed, so bold
    assert mm not in words(bench)
    assert "set-up A" in app.panels.corner.label.text
    bench.until(lambda: "..." not in words(bench), "the trims are worked out")


def test_a_held_key_goes_on_stepping(bench):
    bench.key_down("period")
    bench.until(lambda: value(bench, "reflex") > 6.0, "it steps on")
    bench.key_up("period")
    bench.until(lambda: bench.app.bench.held is None, "until the key is up")
    stands = value(bench, "reflex")
    bench.frames(40)
    assert value(bench, "reflex") == stands


def test_a_key_that_is_down_when_the_focus_goes_steps_no_more(bench):
    app = bench.app
    bench.key_down("period")
    bench.until(lambda: app.bench.held, "it is down")
    app.window.dispatch_event("on_deactivate")
    stands = value(bench, "reflex")
    bench.frames(60)
    bench.key_up("period")
    assert value(bench, "reflex") == stands


def test_behind_the_help_nothing_is_changed(bench):
    app, stands = bench.app, value(bench, "reflex")
    press(bench, "F1", lambda: app.helping, "F1 shows the keys")
    app.act("bench_more")
    bench.key("period")
    bench.frames(3)
    press(bench, "F1", lambda: not app.helping, "and hides them")
    assert value(bench, "reflex") == stands


def test_moving_the_pack_moves_the_mark_of_the_balance(bench):
    app = bench.app
    press(bench, "space", lambda: app.rehearsal.flown, "it flies")
    bench.frames(3)
    choose(bench, "place")
    shown, margin = bench.picture(), app.bench.found.subject.margin
    body = app.mesh.fixed.places.copy()
    for k in range(1, 9):
        to = -25.0 + 5.0 * k
        press(bench, "shift+period", lambda to=to: value(bench, "place") == to, "five mm aft")
    bench.frames(2)
    assert app.bench.found.subject.margin < margin - 0.02
    assert app.rehearsal.flight.model.balance.place[0] == pytest.approx(app.bench.found.subject.cg)
    assert not np.array_equal(app.mesh.fixed.places, body)
    moved = np.abs(bench.picture() - shown).max(axis=2) > 60
    plan = moved[380:540, 1020:1260]
    rows = np.flatnonzero(plan.any(axis=1))
    assert 60 < plan.sum() < 6000
    assert np.ptp(rows) > 10


def test_the_mouse_presses_draws_and_turns_its_wheel(bench):
    app = bench.app
    mouse(bench, spot(bench, "bench_more", "roll_trim"), "click", "1")
    bench.until(lambda: value(bench, "roll_trim") > 0.58, "a click on + adds a step")
    assert value(bench, "roll_trim") == pytest.approx(0.60)
    assert app.bench.bench.chosen.name == "roll_trim"
    place = spot(bench, "row", "high_pitch")
    mouse(bench, place, "mousedown", "1")
    bench.until(lambda: app.bench.slid is not None, "the row is held")
    mouse(bench, (place[0] + 60, place[1]))
    bench.until(lambda: value(bench, "high_pitch") > 18.0, "drawn to the right it grows")
    mouse(bench, (place[0] + 60, place[1]), "mouseup", "1")
    bench.until(lambda: app.bench.slid is None, "let go")
    assert app.rehearsal.flight.airframe.mixing.high.pitch > 0.3
    assert not app.eyes.free  # the view did not turn
    mouse(bench, spot(bench, "row", "wind"), "click", "4")
    bench.until(lambda: value(bench, "wind") == 0.5, "the wheel turns the wind up")
    bench.frames(2)
    assert app.rehearsal.flight.field.wind.speed == 0.5
    assert app.rehearsal.reading.wind_north_m_s != 0.0


def test_a_mass_is_drawn_on_the_scale_it_began_with(bench):
    app = bench.app
    choose(bench, "mass")
    place = spot(bench, "row", "mass")
    mouse(bench, place, "mousedown", "1")
    bench.until(lambda: app.bench.slid is not None, "the row is held")
    mouse(bench, (place[0] + 400, place[1]))
    bench.until(lambda: value(bench, "mass") == 400.0, "to the end of its scale")
    mouse(bench, (place[0] + 150, place[1]))
    bench.until(lambda: value(bench, "mass") < 400.0, "and back")
    assert 200.0 < value(bench, "mass") < 399.0
    press(bench, "F7", lambda: not app.bench.open, "F7 closes the bench")
    assert app.bench.slid is None
    mouse(bench, place, "mouseup", "1")
    press(bench, "F7", lambda: app.bench.open, "and opens it")


def test_paused_the_arrow_keys_choose_and_change(bench):
    app = bench.app
    press(bench, "p", lambda: app.rehearsal.clock.paused, "paused")
    press(bench, "Down", lambda: app.bench.bench.chosen.name == "roll_trim", "the next row")
    press(bench, "Right", lambda: value(bench, "roll_trim") > 0.58, "more")
    assert not app.eyes.free
    bench.frames(2)
    assert app.rehearsal.flight.airframe.mixing.roll_trim == pytest.approx(0.6 * np.pi / 180)
    assert any("paused" in w for w in words(bench))
    press(bench, "BackSpace", lambda: value(bench, "roll_trim") < 0.56, "as it was")


def test_two_set_ups_are_swapped_while_it_flies(bench):
    app = bench.app
    press(bench, "Tab", lambda: app.bench.bench.letter == "B", "set-up B")
    press(bench, "shift+comma", lambda: value(bench, "reflex") < 4.55, "B has less reflex")
    press(bench, "space", lambda: app.rehearsal.flown, "it flies")
    press(bench, "F7", lambda: not app.bench.open, "the bench is closed")
    bench.frames(3)
    less = asked(bench)
    press(bench, "Tab", lambda: app.bench.bench.letter == "A", "set-up A")
    bench.frames(3)
    assert asked(bench) == pytest.approx(less + 0.5, abs=0.02)
    assert "set-up" not in app.panels.corner.label.text
    press(bench, "Tab", lambda: app.bench.bench.letter == "B", "set-up B")
    bench.frames(9)
    assert "set-up B" in app.panels.corner.label.text


def test_a_gamepad_works_the_bench(bench):
    app = bench.app
    stick = VirtualStick(axes=6, buttons=12, hats=1)
    try:
        bench.until(lambda: app.thumbs.gamepad.connected, "the gamepad is found")
        stick.hat(0, 4)
        bench.until(lambda: app.bench.bench.chosen.name == "roll_trim", "down goes to the next row")
        stick.hat(0, 0)
        bench.until(lambda: app.bench.held is None, "let go")
        before = value(bench, "roll_trim")
        stick.hat(0, 2)
        bench.until(lambda: value(bench, "roll_trim") > before + 0.3, "right, held, goes on")
        stick.hat(0, 0)
        bench.until(lambda: app.bench.held is None, "let go")
        stick.button(7, True)
        bench.until(lambda: not app.bench.open, "its button closes the bench")
    finally:
        stick.unplug()
        bench.until(lambda: not app.thumbs.gamepad.connected, "unplugged")


def test_the_difference_is_shown_before_the_file_is_written(bench, file):
    app, was = bench.app, file.read_text(encoding="utf-8")
    press(bench, "shift+period", lambda: value(bench, "reflex") > 5.45, "more reflex")
    press(bench, "Return", lambda: type(app.screen).__name__ == "WriteScreen", "Enter shows it")
    bench.frames(2)
    shown = [p.text for p in app.screen.page().parts if isinstance(p, Words)]
    assert 'reflex = "5.5 deg"  # both elevons up at neutral; was 5 deg' in shown
    assert (np.abs(bench.picture() - np.array(PAPER)).max(axis=2) < 6).mean() > 0.4
    press(bench, "Escape", lambda: app.screen is None, "Esc leaves it")
    assert file.read_text(encoding="utf-8") == was
    press(bench, "Return", lambda: app.screen is not None, "once more")
    bench.frames(2)
    press(bench, "Return", lambda: app.screen is None, "Enter writes")
    text = file.read_text(encoding="utf-8")
    assert 'reflex = "5.5 deg"' in text
    assert "# The pack slides along the stick" in text
    assert file.with_name("my.toml.bak").read_text(encoding="utf-8") == was
    bench.frames(2)
    assert any("my.toml.bak" in w for w in words(bench))
    assert load_airframe(file) == app.sound[0]
    file.write_text(was, encoding="utf-8")


def test_a_second_writing_keeps_what_the_first_wrote(bench, tmp_path, monkeypatch):
    """The airframe that came with the program goes to an own copy, which is then the file."""
    app = bench.app
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(app.bench, "file", find("airframes", "pantry"))
    for name, to in (("place", -60.0), ("reflex", 7.0)):
        choose(bench, name)
        app.bench.bench.set(to)
        app.bench.stale = True
        press(bench, "Return", lambda: type(app.screen).__name__ == "WriteScreen", "Enter shows")
        bench.frames(2)
        press(bench, "Return", lambda: app.screen is None, "Enter writes")
    own = load_airframe(tmp_path / "configs" / "airframes" / "pantry.toml")
    assert own.items["pack"].aft == pytest.approx(-0.060)
    assert own.mixing.reflex == pytest.approx(np.radians(7.0))


def test_at_twice_the_size_it_fits_the_window_and_is_twice_as_large(bench):
    app = bench.app
    small = patch(bench, app.bench.left, "5.0°")
    for _ in range(3):
        bench.key("equal")
    bench.until(lambda: app.scale == 2.0, "the text is twice as large")
    bench.frames(3)
    assert app.bench.left.scale > 1.9
    for sheet in (app.bench.left, app.bench.right):
        low, high = sheet.place((0.0, 0.0)), sheet.place((sheet.page.width, sheet.page.height))
        assert min(low) >= 0.0
        assert high[0] <= app.panels.width
        assert high[1] <= app.panels.height
    large = patch(bench, app.bench.left, "5.0°", 180)
    assert dark(large) > 2.5 * dark(small) > 0
    assert app._card() is None  # no room between the panels


def test_under_a_fault_card_the_bench_changes_the_faulty_airframe(bench):
    app = bench.app
    app.set_fault("elevon-off")
    bench.frames(2)
    press(bench, "shift+period", lambda: value(bench, "reflex") > 5.45, "more reflex")
    bench.frames(2)
    assert app.fault == "elevon-off"
    flown = app.rehearsal.flight.airframe
    assert flown.sheets["slab"].surfaces["elevon"].off
    assert flown.mixing.reflex == pytest.approx(np.radians(5.5))
    assert not app.sound[0].sheets["slab"].surfaces["elevon"].off
    assert app.rehearsal.changed["fault"] == "elevon-off"


def test_a_gamepad_that_goes_is_told_beside_the_bench(bench):
    app = bench.app
    stick = VirtualStick()
    try:
        bench.until(lambda: app.thumbs.gamepad.connected, "the gamepad is found")
    finally:
        stick.unplug()
    bench.until(lambda: app.rehearsal.clock.paused, "the flight waits")
    _, alarms, _ = what_it_says.words(app)
    assert alarms == (
        "The keyboard has the sticks: throttle shut, low rates.",
        "The gamepad was unplugged.",
    )
