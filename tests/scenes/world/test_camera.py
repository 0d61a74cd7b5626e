"""Where the eyes are, and what falls where in the picture."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstthrow.scenes.world.camera import (
    BEHIND,
    EYE_HEIGHT,
    NARROW,
    WIDE,
    Standing,
    Towed,
    board_view,
    level_view,
    on_screen,
    pilot_eye,
    projection_matrix,
    rotation,
    view_matrix,
)
from firstthrow.sim.kernels.rotation import from_angles

ASPECT = 16.0 / 9.0
AHEAD = np.array([1.0, 0.0, 0.0])


def test_projection_puts_near_and_far_planes_at_the_ends_of_depth():
    matrix = projection_matrix(math.radians(50.0), ASPECT, 0.1, 900.0)
    for distance, depth in ((0.1, -1.0), (900.0, 1.0)):
        clip = matrix @ np.array([0.0, 0.0, -distance, 1.0])
        assert clip[2] / clip[3] == pytest.approx(depth)
    edge = math.tan(math.radians(25.0))
    clip = matrix @ np.array([0.0, edge, -1.0, 1.0])
    assert clip[1] / clip[3] == pytest.approx(1.0)


def test_looking_north_east_is_right_and_high_is_up():
    view = level_view(np.array([0.0, 0.0, -2.0]), AHEAD, WIDE)
    assert on_screen(view, ASPECT, np.array([10.0, 0.0, -2.0])) == pytest.approx((0.0, 0.0))
    right, up = on_screen(view, ASPECT, np.array([10.0, 1.0, -3.0]))
    assert right > 0.0
    assert up > 0.0
    assert on_screen(view, ASPECT, np.array([-10.0, 0.0, -2.0])) is None


def test_view_matrix_turns_without_stretching():
    view = level_view(np.array([3.0, -2.0, -2.0]), np.array([1.0, 0.5, -0.3]), WIDE)
    turn = view_matrix(view)[:3, :3]
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1.0)


@pytest.mark.parametrize("heading", [0.0, 1.0, math.pi, -2.0])
def test_the_pilot_stands_behind_the_launch_at_a_persons_height(heading):
    eye = pilot_eye(heading)
    ahead = np.array([math.cos(heading), math.sin(heading), 0.0])
    assert eye @ ahead == pytest.approx(-BEHIND)
    assert -eye[2] == EYE_HEIGHT


def test_standing_eye_never_loses_a_fast_low_pass():
    standing = Standing(0.0, 0.7)
    dt = 1.0 / 60.0
    for k in range(600):
        t = k * dt
        place = np.array([6.0, -60.0 + 25.0 * t, -3.0 - 1.5 * math.sin(t)])
        view = standing.look(dt, place)
        right, up = on_screen(view, ASPECT, place)
        assert abs(right) < 0.95, t
        assert abs(up) < 0.95, t
        assert view.eye == pytest.approx(pilot_eye(0.0))


def test_zoom_is_slow_and_keeps_a_far_airframe_large_enough():
    standing = Standing(0.0, 0.7)
    near, far = np.array([2.0, 0.0, -1.8]), np.array([60.0, 10.0, -15.0])
    first = standing.look(0.016, near)
    assert first.height_angle == pytest.approx(WIDE)
    soon = standing.look(0.016, far)
    assert soon.height_angle > 0.9 * WIDE
    for _ in range(400):
        later = standing.look(0.016, far)
    assert NARROW <= later.height_angle < 0.55 * WIDE  # the grass under it wants the rest
    low = np.array([60.0, 10.0, -5.0])
    for _ in range(400):
        later = standing.look(0.016, low)
    seen = 0.7 / np.linalg.norm(low - later.eye) / later.height_angle
    assert seen > 0.05  # of the picture's height
    standing.zooms = False
    for _ in range(400):
        unzoomed = standing.look(0.016, far)
    assert unzoomed.height_angle == pytest.approx(WIDE, rel=0.01)


@pytest.mark.parametrize("ahead", [6.0, 20.0, 60.0, 120.0])
@pytest.mark.parametrize("height", [2.0, 8.0, 15.0, 30.0])
def test_an_eighth_of_the_picture_is_ground_below_the_airframe(ahead, height):
    """However far the eye has narrowed, up to 60 degrees over the horizon."""
    standing = Standing(0.0, 0.7)
    place = np.array([ahead - BEHIND, 0.0, -height])
    if height - EYE_HEIGHT > ahead * math.tan(math.radians(60.0)):
        place[2] = -EYE_HEIGHT - ahead * math.tan(math.radians(60.0))
    for _ in range(200):
        view = standing.look(0.016, place)
    assert on_screen(view, ASPECT, place)[1] < 0.75
    level = np.array([view.ahead[0], view.ahead[1], 0.0])
    horizon = on_screen(view, ASPECT, view.eye + 1e6 * level)[1]
    assert 0.5 * (horizon + 1.0) > 0.24  # of the height; the tags lie over the lowest 0.15


@pytest.mark.parametrize("turn", [0.0, 1.5, 3.1])
def test_towed_is_behind_above_and_level(turn):
    towed = Towed(0.0, 0.7)
    nose = np.array([math.cos(turn), math.sin(turn), 0.0])
    place = np.array([20.0, 5.0, -12.0])
    for _ in range(300):
        view = towed.look(0.016, place, 10.0 * nose, nose)
    behind = view.eye - place
    assert behind @ nose < -1.0
    assert behind[2] < -0.3
    assert np.cross(view.ahead, view.up)[2] == pytest.approx(0.0, abs=1e-9)
    right, up = on_screen(view, ASPECT, place)
    assert abs(right) < 0.05
    assert abs(up) < 0.4


def test_towed_stays_above_the_grass():
    towed = Towed(0.0, 0.7)
    view = towed.look(0.016, np.array([0.0, 0.0, 0.4]), 10.0 * AHEAD, AHEAD)
    assert view.eye[2] < 0.0


@pytest.mark.parametrize("bank", [-60.0, -20.0, 0.0, 35.0])
def test_on_board_the_horizon_tilts_against_the_bank(bank):
    body = rotation(tuple(from_angles(math.radians(bank), 0.0, 0.4)))
    view = board_view(np.array([0.0, 0.0, -20.0]), body, np.array([0.2, 0.0, 0.0]))
    ahead = np.array([math.cos(0.4), math.sin(0.4), 0.0])
    side = np.array([-math.sin(0.4), math.cos(0.4), 0.0])
    far = 1e6
    left = on_screen(view, 1.0, view.eye + far * (ahead - 0.2 * side))
    right = on_screen(view, 1.0, view.eye + far * (ahead + 0.2 * side))
    tilt = math.degrees(math.atan2(right[1] - left[1], right[0] - left[0]))
    assert tilt == pytest.approx(bank, abs=1.0)
