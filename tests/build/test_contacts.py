"""Which points of an airframe can touch the ground."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped_model
from odd import ELEVON

from firstthrow.sim.build.contacts import reach
from firstthrow.sim.build.model import build
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.kernels.layout import MAX_CONTACTS


def test_round_tips_touch_the_ground_on_both_sides(written):
    """More corners than there is room for: the farthest are kept."""
    angle = np.linspace(-np.pi / 2.0, np.pi / 2.0, 40)
    tip = [(175.0 + 175.0 * np.sin(a), 175.0 + 175.0 * np.cos(a)) for a in angle]
    corner = [(0.0, 0.0), *tip, (350.0, 0.0)]
    listed = ", ".join(f'["{a:.3f} mm", "{o:.3f} mm"]' for a, o in corner)
    round_ = written(
        (
            'outline = { chord = "350 mm", span = "700 mm" }',
            f"outline = {{ corners = [{listed}] }}",
        ),
        (ELEVON, ""),
    )
    record = build(round_, STANDARD).record
    place = record.contact_place[: record.n_contacts]
    assert record.n_contacts <= MAX_CONTACTS
    assert place[:, 1].max() > 0.345
    assert place[:, 1].min() < -0.345
    assert place[:, 2].min() < -0.15  # the fin's top among them


def test_reach_does_not_grow_with_every_shift():
    model = shipped_model()
    moved = model
    for k in range(20):
        shift = np.array([0.03 * (k % 2), 0.0, 0.0])
        to = model.balance._replace(place=model.balance.place + shift)
        moved = rebalanced(moved, to)
    back = rebalanced(moved, model.balance)
    assert back.record.reach == pytest.approx(float(model.record.reach), rel=1e-9)
    assert reach(back.body.record)[0] == back.record.reach
