"""Where it is seen from, and what is drawn beside it: views, streamer, tracing; keys and mouse."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from driven import FRAME, Driven, changed, horizon_tilt, throw

from firstthrow.scenes.flight.eyes import Eyes, Orbit
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.flight.track import Track
from firstthrow.scenes.world.camera import VIEWS, Pose, on_screen, rotation
from firstthrow.scenes.world.meshes import airframe_mesh
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.kernels.rotation import from_angles


@pytest.fixture(scope="module")
def pantry():
    return load_airframe(find("airframes", "pantry"))


@pytest.fixture(scope="module")
def mesh(pantry):
    return airframe_mesh(pantry, balance(parts(pantry)).place)


class Speed:
    """A reading as far as the eyes read it."""

    def __init__(self, u: float):
        self.u_m_s, self.v_m_s, self.w_m_s = u, 0.0, 0.0


def pose(bank=0.0, pitch=0.0, heading=0.0, place=(0.0, 0.0, -10.0)) -> Pose:
    attitude = np.array(from_angles(*(math.radians(a) for a in (bank, pitch, heading))))
    return Pose(np.array(place), attitude, (0.0, 0.0), (0.0,), (0.0,), (0.0, 0.0))


def test_a_steady_horizon_stays_level_on_board(mesh):
    banked = pose(bank=40.0, pitch=10.0, heading=30.0)
    for name in ("riding", "tail"):
        tilted = Eyes(0.0, mesh, Settings()).look(name, FRAME, banked, Speed(9.0))
        steady = Eyes(0.0, mesh, Settings(steady_horizon=True)).look(
            name, FRAME, banked, Speed(9.0)
        )
        right = np.cross(steady.ahead, steady.up)
        assert right[2] == pytest.approx(0.0, abs=1e-9)
        assert abs(np.cross(tilted.ahead, tilted.up)[2]) > 0.5
        assert math.degrees(math.atan2(steady.ahead[1], steady.ahead[0])) == pytest.approx(30.0)


def test_reduced_motion_neither_zooms_nor_swings(mesh):
    usual, calm = Eyes(0.0, mesh, Settings()), Eyes(0.0, mesh, Settings(reduced_motion=True))
    far = pose(heading=90.0, place=(120.0, 0.0, -20.0))
    for _ in range(60):
        zoomed = usual.look("standing", FRAME, far, Speed(9.0))
        plain = calm.look("standing", FRAME, far, Speed(9.0))
    assert zoomed.height_angle < 0.6 * plain.height_angle
    assert plain.height_angle == pytest.approx(usual.standing.wide)
    turned = [math.atan2(eyes.towed.way[1], eyes.towed.way[0]) for eyes in (usual, calm)]
    assert math.degrees(turned[0]) > 65.0
    assert math.degrees(turned[1]) < 40.0


@pytest.mark.parametrize("name", VIEWS)
def test_the_field_of_view_is_as_asked(mesh, name):
    eyes = Eyes(0.0, mesh, Settings(view_angle=math.radians(75.0)))
    eyes.standing.zooms = False
    view = eyes.look(name, FRAME, pose(place=(40.0, 0.0, -10.0)), Speed(9.0))
    assert math.degrees(view.height_angle) == pytest.approx(75.0)


def test_the_free_view_goes_round_and_never_under_the_grass():
    orbit = Orbit(0.0, 0.7)
    place = np.array([3.0, 4.0, -0.3])
    for _ in range(40):
        orbit.turn(0.3, -0.2)
        view = orbit.look(place, 0.8)
        assert view.eye[2] <= -0.08
        assert np.cross(view.ahead, view.up)[2] == pytest.approx(0.0, abs=1e-9)
    high = np.array([0.0, 0.0, -50.0])
    far = np.linalg.norm(orbit.look(high, 0.8).eye - high)
    orbit.near(0.5)
    assert np.linalg.norm(orbit.look(high, 0.8).eye - high) == pytest.approx(0.5 * far)


class Row:
    """A reading as far as a track reads it, going north at 10 m/s and climbing at 2."""

    def __init__(self, time: float):
        self.north_m, self.east_m, self.height_m = 10.0 * time, 0.0, 2.0 * time
        w, x, y, z = from_angles(0.0, 0.0, 0.2 * time)
        self.attitude_w, self.attitude_x, self.attitude_y, self.attitude_z = w, x, y, z
        self.wind_north_m_s = self.wind_east_m_s = 0.0


def test_a_track_tells_places_between_and_the_last_seconds():
    track = Track((), ())
    for k in range(200):
        track.add(k / 20.0, Row(k / 20.0))
    at = track.at(3.025)
    assert at.place == pytest.approx([30.25, 0.0, -6.05])
    heading = math.atan2(*rotation(tuple(at.attitude))[1::-1, 0])
    assert heading == pytest.approx(0.2 * 3.025, abs=1e-6)
    places, wings = track.recent(7.03, 3.0, 60)
    assert 55 <= len(places) <= 61
    assert places[-1] == pytest.approx([70.3, 0.0, -14.06])
    assert places[0][0] == pytest.approx(40.3, abs=0.6)
    later, _ = track.recent(7.04, 3.0, 60)
    assert later[10] == pytest.approx(places[10])  # it lies still in the air
    assert np.linalg.norm(wings, axis=1) == pytest.approx(1.0)
    assert len(track.recent(0.0, 3.0, 60)[0]) == 0


@pytest.fixture(scope="module")
def window(display, pantry):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import TITLE, App

    rehearsal = Rehearsal(pantry, load_field(find("fields", "water-meadow")))
    driven = Driven(App(rehearsal, load_hands("keyboard"), settings=Settings(mute=True)), TITLE)
    yield driven
    driven.app.close()


@pytest.fixture
def hand(window):
    app = window.app
    app.rehearsal.pilot = None
    app.rehearsal.clock.rate = 1.0
    app.view_name, app.instruments, app.eyes.steady = "standing", False, False
    app.aids.tracing_shown, app.aids.streamer_shown = False, True
    app.act("again")
    window.frames(2)
    yield window
    for name in ("Up", "Down", "Left", "Right", "w", "s"):
        window.key_up(name)
    window.until(lambda: not app.keys, "all keys are up")


def steady(hand, seconds: float) -> None:
    """Thrown, and flown by a script."""
    hand.app.rehearsal.pilot = Steady()
    hand.until(lambda: hand.app.rehearsal.flown, "the script throws")
    hand.until(lambda: hand.app.rehearsal.flight.time > seconds, "it flies")


def paused_picture(hand) -> np.ndarray:
    hand.app.rehearsal.clock.paused = True
    hand.app.panels.show_card(None)
    hand.app._card = lambda: None
    try:
        return hand.picture()
    finally:
        del hand.app._card


@pytest.mark.window
def test_the_view_key_goes_round_all_views(hand):
    seen = []
    for name in (*VIEWS[1:], VIEWS[0]):
        hand.key("v")
        hand.until(lambda name=name: hand.app.view_name == name, f"V shows the {name} view")
        seen.append(hand.picture())
    for first, second in pairwise(seen):
        assert np.abs(first - second).mean() > 8.0


@pytest.mark.window
def test_from_the_tail_the_elevons_are_in_sight_above_the_instruments(hand):
    app = hand.app
    app.view_name, app.instruments = "tail", True
    hand.frames(2)
    level = hand.picture()
    before = app.rehearsal.reading.surface_elevon_left_deg
    hand.key_down("Down")
    hand.until(lambda: app.rehearsal.reading.surface_elevon_left_deg < before - 8.0, "stick back")
    pulled = hand.picture()
    spots = changed(level, pulled)
    above = spots[spots[:, 0] < 720 - 110]
    assert len(above) > 800


@pytest.mark.window
def test_the_horizon_key_levels_the_view_on_board(hand):
    app = hand.app
    throw(hand)
    app.view_name = "riding"
    hand.key_down("Right")
    hand.until(lambda: app.rehearsal.over or app.rehearsal.reading.roll_deg > 22.0, "it banks")
    hand.key_up("Right")
    assert not app.rehearsal.over
    tilted = paused_picture(hand)
    hand.key("j")
    hand.until(lambda: app.eyes.steady, "J holds the horizon")
    level = paused_picture(hand)
    assert horizon_tilt(tilted) > 15.0
    assert abs(horizon_tilt(level)) < 3.0


@pytest.mark.window
def test_mouse_and_keys_look_round_while_paused(hand):
    app = hand.app
    steady(hand, 1.0)
    hand.drag((600, 300), (700, 320))
    assert not app.eyes.free  # not in flight
    hand.key("p")
    hand.until(lambda: app.rehearsal.clock.paused, "P pauses")
    stood = paused_picture(hand)
    hand.drag((600, 300), (760, 340))
    assert app.eyes.free
    first = paused_picture(hand)
    assert np.abs(first - stood).mean() > 8.0
    column, row = hand.pixel(np.zeros(3))
    assert (column, row) == pytest.approx((640.0, 360.0), abs=3.0)  # it stays in the middle
    size = app.eyes.orbit.distance
    hand.mouse("click", "4")
    assert app.eyes.orbit.distance < size
    bearing = app.eyes.orbit.bearing
    hand.key_down("Right")
    hand.until(lambda: abs(app.eyes.orbit.bearing - bearing) > 0.3, "the arrow key turns it")
    hand.key_up("Right")
    hand.key("p")
    hand.until(lambda: not app.eyes.free, "going on leaves the free view")


@pytest.mark.window
def test_the_streamer_lies_where_it_flew_and_goes_by_its_key(hand):
    app = hand.app
    steady(hand, 3.0)
    with_streamer = paused_picture(hand)
    hand.key("b")
    hand.until(lambda: not app.aids.streamer_shown, "B hides the streamer")
    without = paused_picture(hand)
    spots = changed(with_streamer, without, 12)
    assert len(spots) > 150
    track, aspect = app.aids.track, app.canvas.width / app.canvas.height
    view = app._view(0.0, app._pose(0.0))
    near = 0
    for time in np.arange(1.2, 2.8, 0.2):
        spot = on_screen(view, aspect, track.at(float(time)).place)
        column, row = 640.0 * (1.0 + spot[0]), 360.0 * (1.0 - spot[1])
        if 0.0 <= column < 1280.0 and 0.0 <= row < 720.0:
            near += np.hypot(spots[:, 1] - column, spots[:, 0] - row).min() < 6.0
    assert near >= 5


@pytest.mark.window
def test_the_tracing_is_the_flight_before_and_pale(hand):
    app = hand.app
    steady(hand, 2.5)
    hand.key("r")
    hand.until(lambda: app.rehearsal.held, "R brings it back")
    app.aids.streamer_shown = False
    hand.until(lambda: app.rehearsal.flown, "thrown again")
    app.rehearsal.pilot = lambda reading: Sticks(throttle=0.8, roll=-0.2, pitch=0.1)
    hand.until(lambda: app.rehearsal.flight.time > 1.2, "it flies another way")
    app.rehearsal.clock.paused = True
    hand.key("g")
    hand.until(lambda: app.aids.tracing_shown, "G shows the tracing")
    traced = paused_picture(hand)
    app.aids.tracing_shown = False  # no frame between, in which the eye would move
    without = paused_picture(hand)
    spots = changed(without, traced, 16)
    spots = spots[spots[:, 0] > 40]  # the corner tells of it, too
    place = app.aids.last[0].at(app.rehearsal.flight.time).place
    assert np.linalg.norm(place - app._pose(0.0).place) > 0.5
    right, up = on_screen(app._view(0.0, app._pose(0.0)), 1280.0 / 720.0, place)
    column, row = 640.0 * (1.0 + right), 360.0 * (1.0 - up)
    assert len(spots) > 60
    assert np.median(spots[:, 1]) == pytest.approx(column, abs=14.0)
    assert np.median(spots[:, 0]) == pytest.approx(row, abs=14.0)
    shade = traced[spots[:, 0], spots[:, 1]]
    assert np.ptp(shade, axis=1).mean() < 90.0  # hardly coloured
