"""The grass: cells that leave no gap, texels that are mixed as they were."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstthrow.scenes.world.camera import level_view
from firstthrow.scenes.world.levels import levels
from firstthrow.scenes.world.matrices import camera_matrix
from firstthrow.scenes.world.meadow import HORIZON, STRIP
from firstthrow.scenes.world.turf import SIZE, TILE, layers, mown, rough


def areas(plan: np.ndarray) -> np.ndarray:
    a, b, c = np.moveaxis(plan.reshape(-1, 3, 2), 1, 0)
    one, other = b - a, c - a
    return 0.5 * np.abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])


def test_rough_grass_and_the_strip_cover_the_ground_once():
    outside, inside = rough(STRIP, HORIZON)[0], mown(STRIP)[0]
    near, left, far, right = STRIP
    assert areas(inside).sum() == pytest.approx((far - near) * (right - left))
    assert areas(np.concatenate([outside, inside])).sum() == pytest.approx((2.0 * HORIZON) ** 2)
    middles = outside.reshape(-1, 3, 2).mean(axis=1)
    low, high = np.array([near, left]), np.array([far, right])
    assert not ((middles > low) & (middles < high)).all(axis=1).any()


def test_corners_along_the_strip_are_those_of_the_grass_round_it():
    """Between corners that differ, pixels of what was there before would show."""
    low, high = np.array(STRIP).reshape(2, 2)
    around, within = rough(STRIP, HORIZON)[0], mown(STRIP)[0]

    def along(plan, axis, side):
        there = (plan >= low).all(axis=1) & (plan <= high).all(axis=1) & (plan[:, axis] == side)
        return np.unique(plan[there, 1 - axis])

    for axis, side in [(0, low[0]), (0, high[0]), (1, low[1]), (1, high[1])]:
        np.testing.assert_array_equal(along(around, axis, side), along(within, axis, side))


def test_four_texels_mixed_are_the_smoothed_picture():
    picture = levels(np.random.default_rng(2).random((SIZE, SIZE, 1)))
    found = layers(picture)
    assert found.shape == (len(picture), SIZE, SIZE, 4)
    for level in (0, 3, 6):
        rows = picture[level][:, :, 0].astype(float)
        side = len(rows)
        for x, y in np.random.default_rng(level).uniform(0.0, side, (40, 2)):
            i, j, u, v = int(x), int(y), x % 1.0, y % 1.0
            a, b, c, d = found[level, j, i].astype(float)
            mixed = (1 - v) * ((1 - u) * a + u * b) + v * ((1 - u) * c + u * d)
            east, north = (i + 1) % side, (j + 1) % side
            low = (1 - u) * rows[j, i] + u * rows[j, east]
            high = (1 - u) * rows[north, i] + u * rows[north, east]
            assert mixed == pytest.approx((1 - v) * low + v * high)
        np.testing.assert_array_equal(found[level, :side, :side], found[level, -side:, -side:])


@pytest.mark.parametrize("up", [0.4, 1.7, 30.0])
def test_a_pixel_is_as_long_on_the_ground_as_is_said(display, up):
    """Projected: two places on the ground that are one pixel apart in the picture."""
    from firstthrow.scenes.world.picture import texels

    height = 720
    view = level_view(np.array([0.0, 0.0, -up]), np.array([1.0, 0.0, 0.1]), math.radians(48.0))
    camera = camera_matrix(view, 1280.0 / height)
    for away in (4.0 * up, 12.0 * up):
        step = 1e-3 * away
        ends = [camera @ (away + side * step, 0.0, 0.0, 1.0) for side in (-1.0, 1.0)]
        rows = [0.5 * height * (1.0 + end[1] / end[3]) for end in ends]
        texel = 2.0 * step * SIZE / TILE
        depth = (camera @ (away, 0.0, 0.0, 1.0))[3]
        said = texels(view, height) * depth * depth / math.sqrt(2.0)
        assert said == pytest.approx(texel / (rows[1] - rows[0]), rel=0.01)
