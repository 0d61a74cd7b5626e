"""The loupe: how close it looks, when it comes, and where it stands."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstthrow.scenes.window import loupe
from firstthrow.scenes.words import placing
from firstthrow.scenes.words.instruments import SCALES, fitted, layout, suited
from firstthrow.scenes.world.camera import WIDE, level_view, on_screen

EYE = np.array([0.0, 0.0, -1.7])


@pytest.mark.parametrize("away", [20.0, 60.0, 150.0])
def test_the_span_fills_the_glass(away):
    place = np.array([0.9 * away, 0.3 * away, -0.2 * away])
    view = loupe.loupe_view(EYE, place, 0.7)
    assert on_screen(view, 1.0, place) == pytest.approx((0.0, 0.0), abs=1e-9)
    side = np.cross(view.ahead, view.up)
    tip = on_screen(view, 1.0, place + 0.35 * side)
    assert tip[0] == pytest.approx(loupe.FILLED, rel=0.02)


def test_it_comes_for_a_small_airframe_and_does_not_flicker():
    view = level_view(EYE, np.array([1.0, 0.0, 0.0]), WIDE)
    far, near = (np.array([d, 0.0, -1.7]) for d in (60.0, 8.0))
    assert loupe.is_wanted(False, loupe.share_of_height(view, far, 0.7))
    assert not loupe.is_wanted(False, loupe.share_of_height(view, near, 0.7))
    between = 0.5 * (loupe.SHOWN_BELOW + loupe.HIDDEN_ABOVE)
    assert loupe.is_wanted(True, between)
    assert not loupe.is_wanted(False, between)


@pytest.mark.parametrize("size", [(800, 500), (1280, 720), (1920, 1080)])
@pytest.mark.parametrize("wanted", SCALES)
@pytest.mark.parametrize("side", [-1, 1])
def test_cards_and_loupe_keep_off_the_tags_and_the_middle(size, wanted, side):
    scale = fitted(*size, wanted)
    tags = layout(size[0], scale)
    free = placing.room(*size, scale, tags, side)
    placed = placing.loupe(*size, scale, tags, side)
    middle = 0.5 * size[0]
    assert placed is not None or free.height < 100.0 * scale
    for rect in (free, placed.card) if placed is not None else (free,):
        assert not any(rect.overlaps(tag) for tag in tags.values())
        assert rect.y + rect.height <= size[1] - 24.0 * scale  # the line in the corner
        edge = rect.x + rect.width if side < 0 else rect.x
        assert abs(edge - middle) > 0.09 * size[1]
        assert side * (edge - middle) > 0.0
    if wanted <= suited(size[1]):
        assert free.height > 130.0 * scale  # a card leaves the tags where they are
        assert placed.glass.width > 0.15 * size[1]
        assert math.isclose(placed.glass.width, placed.glass.height)


def test_sides_change_only_when_it_is_well_past_the_middle():
    side = placing.side_away(-1, -0.05)
    assert side == -1
    side = placing.side_away(side, -0.3)
    assert side == 1
    assert placing.side_away(side, 0.05) == 1
    assert placing.side_away(side, None) == 1
    assert placing.side_away(side, 0.3) == -1


def test_near_the_middle_the_side_is_away_from_what_is_flown_to():
    assert placing.side_away(-1, 0.05, -0.4) == 1
    assert placing.side_away(1, None, 0.4) == -1
    assert placing.side_away(-1, -0.3, -0.4) == 1
    assert placing.side_away(1, 0.3, -0.4) == -1  # the airframe comes first
    assert placing.side_away(1, 0.05, 0.05) == 1
