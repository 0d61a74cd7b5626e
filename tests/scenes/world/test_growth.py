"""What grows in the meadow, and the shade it casts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstthrow.scenes.world.leaves import HEDGE_CELL, TREE_CELLS, atlas, tree
from firstthrow.scenes.world.light import LIGHTS
from firstthrow.scenes.world.meadow import meadow


def test_a_tree_has_a_broken_outline_and_light_under_it():
    for seed in (40, 41, 42, 43):
        there = tree(seed)[:, :, 3] > 0.5
        crown = there[100:240]
        edges = (np.diff(there.astype(int), axis=1) != 0).sum(axis=1)
        assert np.median(edges[120:220]) >= 8  # a plain blob has two in a row
        assert 0.2 < crown.mean() < 0.7
        under = there[10:55]
        assert under.sum(axis=1).min() >= 3  # the trunk
        assert under.sum(axis=1).max() < 0.12 * there.shape[1]  # and only that


def test_leaves_face_out_of_their_crown_and_lie_on_nothing_beside_it():
    whole = atlas()
    left, low, wide, tall = TREE_CELLS[0]
    shown = whole[low : low + tall, left : left + wide]
    there = shown[:, :, 3] > 0.9
    rows, columns = np.nonzero(there & (shown[:, :, 0] > 0.25))
    facing = 2.0 * shown[rows, columns, 1:3] - 1.0
    assert np.corrcoef(facing[:, 0], columns)[0, 1] > 0.5
    assert np.corrcoef(facing[:, 1], rows)[0, 1] > 0.3
    for cell in TREE_CELLS:
        rim = whole[cell[1] : cell[1] + cell[3], [cell[0], cell[0] + cell[2] - 1], 3]
        assert rim.max() == 0.0


def test_a_hedge_closes_on_itself_and_is_uneven_along_its_top():
    left, low, wide, tall = HEDGE_CELL
    there = atlas()[low : low + tall, left : left + wide, 3] > 0.5
    tops = tall - np.argmax(there[::-1], axis=0)
    assert np.ptp(tops) > 0.2 * tall
    assert abs(int(tops[0]) - int(tops[-1])) < 0.2 * tall
    assert there[: tall // 2].mean() > 0.97


@pytest.mark.parametrize("name", LIGHTS)
def test_shades_lie_away_from_the_sun(name):
    """Of what is 1 m tall the shadow reaches 1 / tan(height of the sun)."""
    light = LIGHTS[name]
    sun = light.towards(0.0)
    assert np.hypot(*light.cast) == pytest.approx(1.0 / math.tan(math.radians(light.height)))
    assert light.cast @ sun[:2] == pytest.approx(-np.hypot(*light.cast) * np.hypot(*sun[:2]))
    flat = meadow(0.0, light=light).solid
    tree_at, tall = np.array([34.0, 36.0]), 8.0
    away = np.linalg.norm(flat.places[:, :2] - tree_at - 0.62 * tall * light.cast, axis=1)
    level = np.abs(flat.places[:, 2] + 0.03) < 1e-6
    rim = flat.places[level & (away < 0.8 * tall * (1.0 + np.hypot(*light.cast)))]
    assert len(rim) >= 3 * 18
    middle = rim[:, :2].mean(axis=0) - tree_at
    assert middle @ light.cast > 0.0
