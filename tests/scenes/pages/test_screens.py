"""Pages over the window: direction check, drill, fault cards, devices; by real keys and pixels."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from random import Random

import numpy as np
import pytest
from driven import Driven
from virtual_stick import VirtualStick

from firstthrow.scenes.hands import profiles
from firstthrow.scenes.hands.bindings import NOW
from firstthrow.scenes.hands.device_words import button_words
from firstthrow.scenes.pages import bench_page
from firstthrow.scenes.words.instruments import INK, PAPER
from firstthrow.scenes.world.camera import on_screen, rotation
from firstthrow.scenes.world.meshes import to_body
from firstthrow.sim.build.shape import pieces
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.paper.page import Words

pytestmark = pytest.mark.window


@pytest.fixture(scope="module")
def window(display, tmp_path_factory):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.opening import TITLE
    from firstthrow.scenes.window.window import App

    own = tmp_path_factory.mktemp("settings")
    patch = pytest.MonkeyPatch()
    patch.setattr("platformdirs.user_config_path", lambda *a, **k: own)
    airframe = load_airframe(find("airframes", "pantry"))
    rehearsal = Rehearsal(airframe, load_field(find("fields", "water-meadow")))
    driven = Driven(App(rehearsal, load_hands("keyboard")), TITLE)
    yield driven
    driven.app.close()
    patch.undo()


@pytest.fixture
def hand(window):
    """In the hand, no page open, no fault card; no device has been assigned."""
    app = window.app
    shutil.rmtree(profiles.folder(), ignore_errors=True)
    app.leave()
    app.set_fault("")
    window.frames(2)
    yield window
    for name in ("Up", "Down", "Left", "Right", "w", "s", "a", "d"):
        window.key_up(name)
    window.until(lambda: not app.keys, "all keys are up")


def open_page(window: Driven, key: str, name: str) -> None:
    window.key(key)
    window.until(lambda: type(window.app.screen).__name__ == name, f"{key} opens its page")
    window.frames(2)


def share(picture: np.ndarray, colour, within=6) -> float:
    return float((np.abs(picture - np.array(colour)).max(axis=2) <= within).mean())


def press(window: Driven, key: str, met, what: str) -> None:
    window.key(key)
    window.until(met, what)


def test_the_direction_check_covers_the_window_holds_the_flight_and_goes(hand):
    app = hand.app
    press(hand, "space", lambda: app.rehearsal.flown, "it flies")
    hand.frames(10)
    open_page(hand, "F2", "DirectionsScreen")
    stood, shown = app.rehearsal.flight.time, hand.picture()
    assert share(shown, PAPER) > 0.45
    assert share(shown, INK, 30) > 0.01
    hand.frames(20)
    assert app.rehearsal.flight.time == stood
    press(hand, "F2", lambda: app.screen is None, "F2 closes it again")
    hand.until(lambda: app.rehearsal.flight.time > stood, "and the flight goes on")
    assert share(hand.picture(), PAPER) < 0.3


def test_the_page_is_the_one_that_is_printed(hand, tmp_path):
    """The same drawing: where the file has ink, the window has it."""
    import matplotlib.image

    from firstthrow.sim.paper.page import HEIGHT, WIDTH
    from firstthrow.sim.paper.printing import write

    app = hand.app
    open_page(hand, "F2", "DirectionsScreen")
    shown, sheet = hand.picture(), app.screen.sheet
    write(app.screen.page(), tmp_path / "p.png")
    printed = matplotlib.image.imread(tmp_path / "p.png")[..., 0]
    found, wanted = [], []
    for across in np.linspace(0.01, 0.99, 60):
        for up in np.linspace(0.01, 0.99, 45):
            x, y = sheet.place((across * WIDTH, up * HEIGHT))
            row, column = round(shown.shape[0] - 1 - y), round(x)
            found.append(shown[row - 3 : row + 4, column - 3 : column + 4].min() < 110)
            r, c = round((1 - up) * printed.shape[0]), round(across * printed.shape[1])
            wanted.append(printed[r - 5 : r + 6, c - 5 : c + 6].min() < 0.4)
    assert 100 < sum(wanted) < 1500
    assert np.mean(np.array(found) == np.array(wanted)) > 0.9
    press(hand, "Escape", lambda: app.screen is None, "Esc closes it")
    assert app.running


def test_a_fault_card_is_chosen_by_keys_shown_and_flown(hand):
    app = hand.app
    open_page(hand, "F4", "FaultScreen")
    before = hand.picture()
    press(hand, "Down", lambda: app.screen.at == 1, "Down goes to the next")
    moved = np.argwhere(np.abs(before - hand.picture()).max(axis=2) > 20)
    assert len(moved) > 2000  # the frame round the chosen line
    press(hand, "Return", lambda: app.fault == "reversed-roll", "Enter takes it")
    assert app.screen is None
    hand.frames(8)
    card = app._card()
    assert card.alarm
    assert "reversed-roll" in card.lines[0]
    assert "fault card: reversed-roll" in app.panels.corner.label.text
    hand.key_down("Right")
    hand.until(lambda: app.rehearsal.reading.stick_roll > 0.5, "stick right")
    hand.frames(12)
    reading = app.rehearsal.reading
    assert reading.surface_elevon_left_deg < reading.surface_elevon_right_deg - 5.0
    hand.key_up("Right")


def corners(window: Driven, slot: int) -> np.ndarray:
    """(4, 2) columns and rows of a neutral surface, in the view that is drawn."""
    app = window.app
    airframe = app.sound[0]
    piece = next(p for p in pieces(airframe) if p.surface == slot)
    points = to_body(piece.corners, balance(parts(airframe)).place)
    scene = app.screen.scene() if app.screen else None
    pose, view = scene or (app._pose(0.0), app._view(0.0, app._pose(0.0)))
    wide, tall = app.canvas.width, app.canvas.height
    found = []
    for point in points:
        place = pose.place + rotation(tuple(pose.attitude)) @ point
        right, up = on_screen(view, wide / tall, place)
        found.append((0.5 * wide * (1.0 + right), 0.5 * tall * (1.0 - up)))
    return np.array(found)


def amber_pixels(window: Driven, slot: int) -> int:
    """Pixels with the colour of a surface's upper side, where that surface is."""
    ends = corners(window, slot)
    left, right = ends[:, 0].min(), ends[:, 0].max()
    top, low = ends[:, 1].min() - 40, ends[:, 1].max() + 40
    patch = window.picture()[round(top) : round(low), round(left) : round(right)]
    red, green, blue = patch[..., 0], patch[..., 1], patch[..., 2]
    amber = (red > 120) & (green > 0.62 * red) & (green < 0.92 * red) & (blue < 0.5 * red)
    return int(amber.sum())


def test_buttons_open_choose_and_leave_every_page(hand):
    """Of a device alone, without a key."""
    from firstthrow.scenes.window.pressing import SCREENS

    app, pressed = hand.app, hand.app.pressing.gamepad
    for name, kind in SCREENS.items():
        for leave in ("quit", name):
            pressed(name)
            assert isinstance(app.screen, kind), name
            pressed(leave)
            assert app.screen is None, (name, leave)
    pressed("faults")
    at = app.screen.at
    pressed("view")
    assert app.screen.at == at + 1
    chosen = app.screen.names[at + 1]
    NOW.buttons = {"release": "button 3", "view": "button 4", "faults": "button 5"}
    told = " ".join(part.text for part in app.screen.page().parts if isinstance(part, Words))
    NOW.buttons = None
    assert "button 3 takes it" in told
    assert "Button 4: down" in told
    pressed("release")
    assert (app.screen, app.fault) == (None, chosen)
    app.set_fault("")
    pressed("keys")
    app.screen.asks = True  # now a button is asked for
    pressed("quit")
    assert app.screen is not None
    app.screen.asks = False
    app.leave()


def test_the_words_of_every_page_stand_apart(hand, monkeypatch):
    """In words of keys and of buttons, after an evening of as many lessons as are shown. A page
    grows as a whole: its words stand apart in a window of any size or of none. Of a page that was
    left nothing that it drew is kept."""
    from room import wrong

    from firstthrow.scenes.flight import lesson_log
    from firstthrow.scenes.window.pressing import SCREENS
    from firstthrow.scenes.words.sheet import Sheet
    from firstthrow.sim.learn.school.lessons import LESSONS
    from firstthrow.sim.paper.page import Page

    sheet = Sheet(hand.app.window.get_size())
    sheet.show(Page((Words(20.0, 20.0, "one", 5.0), Words(22.0, 21.0, "another", 5.0))))
    assert len(wrong(sheet)) == 1
    now = datetime.now().astimezone()
    kept = [
        lesson_log.Kept(now - timedelta(minutes=40 - k), LESSONS[k % 9].name, "pantry", 100.0, True)
        for k in range(36)
    ]
    monkeypatch.setattr(lesson_log, "kept", lambda: kept)
    monkeypatch.setattr(hand.app, "keeps", True)
    buttons = {name: "switch on axis 12" for name in ("view", "release", *SCREENS)}
    for name, kind in SCREENS.items():
        for words in (None, buttons):
            NOW.buttons = words
            hand.app.show(kind)
            hand.app.screen.draw()
            drawn = hand.app.screen.sheet
            assert wrong(drawn) == [], name
            NOW.buttons = None
            hand.app.leave()
            assert not drawn.drawn, name


def test_all_buttons_of_a_device_have_room_on_its_page_and_on_the_bench(hand):
    from room import wrong

    from firstthrow.scenes.pages.devices import WORDS, DeviceScreen

    app, pad = hand.app, hand.app.thumbs.gamepad
    stick = VirtualStick()
    hand.until(lambda: pad.connected, "the device is found")
    app.show(DeviceScreen)
    app.screen.draw()
    assert wrong(app.screen.sheet) == []
    written = " ".join(
        part.text.strip() for part in app.screen.page().parts if hasattr(part, "text")
    )
    for action in pad.hands.buttons:
        assert WORDS[action] in written
    app.leave()
    app.act("bench")
    NOW.buttons = {a: button_words(number) for a, number in pad.hands.buttons.items()}
    app.bench.draw()
    assert wrong(app.bench.left) == []
    assert "hat 0 left, right: value" in " ".join(bench_page.keys_told())
    NOW.buttons = None
    app.act("bench")
    stick.unplug()
    hand.until(lambda: not pad.connected, "it is gone")


def test_a_missing_elevon_is_missing_in_the_picture_too(hand):
    app = hand.app
    app.view_name, app.instruments = "towed", False
    hand.frames(30)
    whole = amber_pixels(hand, 0), amber_pixels(hand, 1)
    app.set_fault("elevon-off")
    hand.frames(30)
    without = amber_pixels(hand, 0), amber_pixels(hand, 1)
    app.view_name, app.instruments = "standing", True
    assert min(whole) > 300
    assert without[0] < 0.1 * whole[0]
    assert without[1] > 0.8 * whole[1]


class Always(Random):
    """A chance that falls on one fault."""

    fault = "none"

    def choices(self, names, weights):
        assert self.fault in names
        return [self.fault]


def drill(window: Driven, fault: str) -> None:
    """The drill with a question of that fault."""
    app = window.app
    open_page(window, "F3", "DrillScreen")
    app.screen.random = Always()
    app.screen.random.fault = fault
    app.screen.next()
    assert app.screen.asked.fault == fault
    window.frames(3)


@pytest.mark.parametrize(("fault", "left_sinks"), [("none", True), ("reversed-roll", False)])
def test_the_drill_shows_the_answer_to_the_sticks_from_behind(hand, fault, left_sinks):
    """A lowered elevon shows more of its upper side to an eye behind and above; a raised less."""
    app = hand.app
    drill(hand, fault)
    level = amber_pixels(hand, 0), amber_pixels(hand, 1)
    hand.key_down("Right")
    hand.until(lambda: app.screen.sticks.roll > 0.99, "stick right")
    hand.frames(25)
    held = amber_pixels(hand, 0), amber_pixels(hand, 1)
    hand.key_up("Right")
    sinks, rises = (0, 1) if left_sinks else (1, 0)
    assert min(level) > 300
    assert held[sinks] > 1.2 * level[sinks]
    assert held[rises] < 0.6 * level[rises]
    press(hand, "Escape", lambda: app.screen is None, "Esc leaves")


def test_the_drill_keeps_the_score_and_goes_on(hand):
    app = hand.app
    asked, right = app.score.asked, app.score.right
    drill(hand, "elevon-off")
    press(hand, "8", lambda: app.screen.chosen == 8, "8 answers")
    assert (app.score.asked, app.score.right) == (asked + 1, right + 1)
    words = [part.text for part in app.screen.page().parts if hasattr(part, "text")]
    assert "Right." in words
    assert f"{right + 1} of {asked + 1} right" in words
    first = app.screen.asked
    press(hand, "1", lambda: True, "another answer")
    hand.frames(3)
    assert app.score.asked == asked + 1  # one answer each
    press(hand, "Return", lambda: app.screen.asked is not first, "Enter asks the next")
    press(hand, "F3", lambda: app.screen is None, "F3 leaves")
    open_page(hand, "F3", "DrillScreen")
    assert app.score.asked == asked + 1  # kept while the window is open
    press(hand, "F3", lambda: app.screen is None, "F3 leaves")
    assert app.rehearsal.held


def test_a_backwards_propeller_shows_on_the_scale(hand):
    app = hand.app
    drill(hand, "propeller-backwards")
    hand.key_down("w")
    hand.until(lambda: app.screen.sticks.throttle > 0.7, "throttle")
    hand.key_up("w")
    hand.frames(40)
    screen = app.screen
    pull, planned = screen._thrust(screen.reading), screen._thrust(screen.planned)
    assert pull == pytest.approx(0.5 * planned, rel=0.2)
    words = [part.text for part in screen.page().parts if hasattr(part, "text")]
    assert f"{pull:.1f} N forward" in words
    press(hand, "Escape", lambda: app.screen is None, "Esc leaves")


def test_a_reversed_motor_turns_its_blades_the_other_way(hand):
    app = hand.app
    turned = {}
    for fault in ("none", "motor-reversed"):
        drill(hand, fault)
        hand.key_down("w")
        hand.until(lambda: app.screen.sticks.throttle > 0.3, "throttle")
        hand.key_up("w")
        hand.frames(30)
        before = app.turns[0]
        hand.frames(1)
        turned[fault] = (app.turns[0] - before + np.pi) % (2.0 * np.pi) - np.pi
        press(hand, "Escape", lambda: app.screen is None, "Esc leaves")
    assert turned["none"] > 0.05
    assert turned["motor-reversed"] < -0.05


class Sticks:
    """A virtual transmitter in a window that waits for it."""

    def __init__(self, window: Driven):
        self.window, self.stick = window, VirtualStick()
        window.until(lambda: window.app.thumbs.gamepad.connected, "the device is found")

    def to(self, axis: int, *places: float) -> None:
        for place in places:
            self.stick.axis(axis, place)
            self.window.frames(4)


def guided(window: Driven, sticks: Sticks, key: str, pushes) -> None:
    """Through the guide with the keys; throttle on axis 2, then the pushes (axis, place)."""
    app = window.app
    press(window, key, lambda: app.screen.guide, "the guide begins")
    guide = app.screen.guide
    window.frames(3)
    press(window, "Return", lambda: guide.at == 1, "rest")
    for axis in range(4):
        sticks.to(axis, -0.9, 0.9, -0.9 if axis == 2 else 0.0)
    press(window, "Return", lambda: guide.at == 2, "swept")
    window.frames(10)
    press(window, "Return", lambda: guide.at == 3, "centred")
    window.frames(4)
    for axis, place in ((2, 0.9), *pushes):
        before = guide.at
        sticks.stick.axis(axis, place)
        window.until(lambda b=before: guide.at == b + 1, f"axis {axis} is taken")
        sticks.to(axis, place if axis == 2 else 0.0)
    before = guide.at
    sticks.stick.button(3, True)
    window.until(lambda: guide.at == before + 1, "the button is taken")
    sticks.stick.button(3, False)
    press(window, "End", lambda: guide.done, "End leaves out the rest")
    press(window, "Return", lambda: app.screen.guide is None, "Enter keeps it")


def test_a_device_is_assigned_by_the_guide_flies_is_unplugged_and_comes_back(hand):
    app, pad = hand.app, hand.app.thumbs.gamepad
    sticks = Sticks(hand)
    open_page(hand, "F5", "DeviceScreen")
    rest = hand.picture()
    sticks.to(0, 0.9)
    bars = np.argwhere(np.abs(rest - hand.picture()).max(axis=2) > 60)
    assert len(bars) > 300  # the bar of axis 0 has grown
    assert np.ptp(bars[:, 1]) > 60
    sticks.to(0, 0.0)
    guided(hand, sticks, "Return", ((0, 0.9), (1, -0.9), (3, 0.9)))
    assert pad.hands.throttle.index == 2
    assert pad.hands.pitch.invert
    assert pad.hands.buttons == {"release": 3}
    press(hand, "i", lambda: pad.hands.throttle.invert, "I inverts the chosen function")
    press(hand, "i", lambda: not pad.hands.throttle.invert, "and back")
    zone = pad.hands.throttle.dead_zone
    press(hand, "Right", lambda: pad.hands.throttle.dead_zone > zone, "Right widens")
    press(hand, "m", lambda: pad.hands.mode == 3, "M changes the mode")
    press(hand, "Escape", lambda: app.screen is None, "Esc leaves")

    sticks.to(0, 0.5)
    hand.until(lambda: app.thumbs.source == "gamepad", "it has the sticks")
    hand.frames(10)
    assert app.thumbs.mode == app.panels.mode == 3
    assert "not armed" in app.panels.warning_parts[1].text
    sticks.to(1, -0.4, 0.0)
    sticks.to(3, 0.4, 0.0)
    sticks.to(2, -0.9)
    hand.until(lambda: pad.armed, "all seen moving and throttle low")
    sticks.to(2, 0.9)
    hand.until(lambda: app.rehearsal.reading.throttle > 0.95, "full throttle")
    sticks.stick.button(3, True)
    hand.until(lambda: app.rehearsal.flown, "its button throws")
    open_page(hand, "F2", "DirectionsScreen")
    sticks.stick.unplug()
    hand.until(lambda: not pad.connected, "unplugged behind a page")
    press(hand, "F2", lambda: app.screen is None, "the page is left")
    hand.frames(2)
    assert app.rehearsal.clock.paused
    assert "unplugged" in app._card().lines[0]
    neutral = app.thumbs.sticks(0.0, set())
    assert neutral[:4] == (0.0, 0.0, 0.0, 0.0)
    again = Sticks(hand)
    hand.frames(2)
    assert f"{pad.name} is plugged in" in app._card().lines[0]
    assert pad.hands.mode == 3  # its own profile, from the folder
    assert not pad.armed
    again.stick.unplug()
    hand.until(lambda: not pad.connected, "gone")


def test_mixed_channels_go_straight_to_the_servos(hand):
    app, pad = hand.app, hand.app.thumbs.gamepad
    sticks = Sticks(hand)
    open_page(hand, "F5", "DeviceScreen")
    guided(hand, sticks, "c", ((0, 0.9), (1, 0.9)))
    assert pad.hands.sends == "channels"
    press(hand, "Escape", lambda: app.screen is None, "Esc leaves")
    assert app.thumbs.straight is not None
    sticks.to(0, 0.5, 0.0)
    sticks.to(1, 0.8)
    hand.until(lambda: app.thumbs.source == "gamepad", "it has the sticks")
    hand.frames(25)
    reading = app.rehearsal.reading
    assert abs(reading.surface_elevon_left_deg) < 1.5  # no reflex: the transmitter's own matter
    assert reading.surface_elevon_right_deg < -18.0

    sticks.to(1, 0.0)
    for lesson in (None, "straight"):  # a lesson's card says it as well
        if lesson:
            app.aids.schooling.begin(lesson)
        hand.frames(8)
        assert "sends no reflex: 0° up, 5° is planned" in " ".join(app._card().lines)
        assert app._card().alarm
    app.aids.schooling.leave()
    sticks.to(1, 0.8)

    open_page(hand, "F2", "DirectionsScreen")  # of the airframe's own mixing
    told = [part.text for part in app.screen.page().parts if hasattr(part, "text")]
    assert not any("WRONG" in text for text in told)
    press(hand, "F2", lambda: app.screen is None, "F2 leaves")
    drill(hand, "none")
    hand.frames(25)
    reading = app.screen.reading
    assert abs(reading.surface_elevon_left_deg) < 1.5  # not mixed a second time
    assert reading.surface_elevon_right_deg < -18.0
    assert "reversed-roll" in [answer.fault for answer in app.screen.asked.answers]  # acts here too
    press(hand, "Escape", lambda: app.screen is None, "Esc leaves")

    app.act("release")  # and in the air it is refitted to a device that sends sticks
    hand.frames(3)
    flight = app.rehearsal.flight
    pad.assign(pad.hands.model_copy(update={"sends": "sticks"}))
    app.refit()
    sticks.to(1, 0.0)
    sticks.to(0, 0.6)
    hand.frames(10)
    assert app.rehearsal.flight is flight
    reading = app.rehearsal.reading
    assert reading.surface_elevon_left_asked_deg > reading.surface_elevon_right_asked_deg + 8.0
    sticks.stick.unplug()
    hand.until(lambda: not pad.connected, "gone")
    app.act("again")
    hand.frames(2)
    assert app.thumbs.straight is None  # back to the mixing of the airframe's file


def test_a_device_plugged_in_behind_a_page_is_flown_when_the_page_is_left(hand):
    app, pad = hand.app, hand.app.thumbs.gamepad
    before = Sticks(hand)
    mixed = pad.hands.model_copy(update={"sends": "channels"})
    profiles.save_profile(mixed, pad.name, pad.guid)
    before.stick.unplug()
    hand.until(lambda: not pad.connected, "it is put away")
    open_page(hand, "F2", "DirectionsScreen")
    sticks = Sticks(hand)
    assert pad.hands.sends == "channels"  # as it was assigned before
    press(hand, "Escape", lambda: app.screen is None, "Esc leaves")
    assert app.thumbs.straight is not None
    sticks.stick.unplug()
    hand.until(lambda: not pad.connected, "gone")
    hand.until(lambda: app.thumbs.straight is None or app.act("again"), "the file's own mixing")


def test_of_two_devices_a_number_chooses(hand):
    app, pad = hand.app, hand.app.thumbs.gamepad
    first = Sticks(hand)
    other = VirtualStick(axes=4)
    hand.until(lambda: len(pad.devices) == 2, "both are there")
    open_page(hand, "F5", "DeviceScreen")
    press(hand, "2", lambda: len(pad.raw()) == 4, "2 takes the second")
    press(hand, "1", lambda: len(pad.raw()) == 6, "1 the first")
    for stick in (other, first.stick):
        stick.unplug()
    hand.until(lambda: not pad.connected, "both gone")
    shown = [part.text for part in app.screen.page().parts if hasattr(part, "text")]
    assert any("None is plugged in" in text for text in shown)
    press(hand, "F5", lambda: app.screen is None, "F5 leaves")


def test_a_device_that_goes_for_another_ends_the_guide(hand):
    app, pad = hand.app, hand.app.thumbs.gamepad
    first, other = Sticks(hand), VirtualStick(axes=4)
    hand.until(lambda: len(pad.devices) == 2, "both are there")
    open_page(hand, "F5", "DeviceScreen")
    press(hand, "Return", lambda: app.screen.guide, "the guide begins")
    guide = app.screen.guide
    hand.frames(3)
    press(hand, "Return", lambda: guide.at == 1, "at the sweep")
    hand.frames(2)
    first.stick.unplug()
    hand.until(lambda: len(pad.raw()) == 4, "the other one is taken")
    hand.frames(2)
    assert app.screen.guide is None
    assert "changed" in app.screen.note
    other.unplug()
    hand.until(lambda: not pad.connected, "both gone")
    press(hand, "F5", lambda: app.screen is None, "F5 leaves")


def test_the_letters_of_the_corner_are_whole(hand):
    """The top row of the t, d and i of 'standing view' is drawn: all rows between its top and
    its base line hold some of the paper's colour."""
    app = hand.app
    app.view_name = "standing"
    app.words_at = -1e9
    hand.frames(2)
    back = app.panels.corner_back
    tall = app.window.get_size()[1]
    rows = slice(round(tall - back.y - back.height), round(tall - back.y))
    tag = hand.picture()[rows, round(back.x) : round(back.x + back.width)]
    lit = (tag.min(axis=2) > 120).sum(axis=1)
    inked = np.nonzero(lit)[0]
    assert inked[-1] - inked[0] + 1 == len(inked)
    assert len(inked) >= 11  # ascenders to descenders of nine points
    assert inked[0] >= 3
    assert inked[-1] <= len(lit) - 3
