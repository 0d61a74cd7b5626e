"""What broke is drawn broken; dust and grass rise from the place, and come down again."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped

from firstthrow.scenes.world.meshes import airframe_mesh
from firstthrow.scenes.world.wreck import CLODS, NOSE, SECONDS, SHARDS, broken, strewn, thrown_up
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.flight.outcome import Ending


@pytest.fixture(scope="module")
def mesh():
    airframe = shipped("pantry")
    return airframe_mesh(airframe, balance(parts(airframe)).place)


def test_a_nose_bends_and_the_rest_stays(mesh):
    bent = broken(mesh, Ending.BROKE)
    places = bent.fixed.places
    front = mesh.fixed.places[:, 0].max()
    cut = front - NOSE * mesh.length
    # it stands up from the board, where it can be seen from afar, and none of it is in the ground
    nose = mesh.fixed.places[:, 0] > cut
    up = mesh.fixed.places[nose, 2].min() - places[places[:, 0] > cut + 1e-6, 2].min()
    assert up > 0.02
    assert places[:, 2].max() < mesh.fixed.places[:, 2].max() + 1e-6

    def area(corners) -> float:
        a, b, c = corners.reshape(-1, 3, 3).transpose(1, 0, 2)
        return 0.5 * float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum())

    behind = mesh.fixed.places[:, 0].reshape(-1, 3).max(axis=1) < cut
    for triangle in mesh.fixed.places.reshape(-1, 3, 3)[behind][::9]:
        assert (np.abs(places.reshape(-1, 3, 3) - triangle).max(axis=(1, 2)) < 1e-9).any()
    assert area(places) == pytest.approx(area(mesh.fixed.places), rel=0.01)  # a crease, no stretch
    sizes = np.linalg.norm(bent.fixed.normals, axis=1)
    assert sizes == pytest.approx(np.ones(len(sizes)))


def test_a_folded_slab_brings_its_tips_together(mesh):
    folded = broken(mesh, Ending.FOLDED)
    assert np.ptp(folded.fixed.places[:, 1]) < 0.8 * np.ptp(mesh.fixed.places[:, 1])
    sides = [part.mesh.places[:, 2].mean() for part in folded.surfaces]
    assert sides == pytest.approx(sides[::-1])  # left and right alike
    assert max(sides) < min(part.mesh.places[:, 2].mean() for part in mesh.surfaces) - 0.05


def test_what_landed_stays_whole(mesh):
    assert broken(mesh, Ending.LANDED) is mesh


def test_dust_and_grass_rise_and_fall():
    place, travel, eye = (
        np.array([20.0, 3.0, -0.1]),
        np.array([9.0, 0.0, 4.0]),
        np.array([0, 0, -1.7]),
    )

    def tops(seconds: float) -> tuple[float, float]:
        corners, tints = thrown_up(place, travel, seconds, eye)
        assert np.isfinite(corners).all()
        solid = tints[:, 3] == 1.0
        return float(-corners[solid, 2].min()), float(tints[~solid, 3].max())

    first, early, late = tops(0.02), tops(0.3), tops(0.98 * SECONDS)
    assert first[0] < early[0] > late[0]
    assert late[0] < 0.1
    assert first[1] > early[1] > late[1] < 0.02


def test_what_lies_about_stays_on_the_grass_and_grows_with_the_impact():
    place, span = np.array([20.0, -3.0, -0.2]), 1.2
    reach = []
    for speed in (3.0, 12.0, 30.0):
        corners, tints = strewn(place, np.array([speed, 0.0, 0.0]), span)
        assert corners.shape == (3 * (2 * SHARDS + 6 * CLODS), 3)
        assert len(tints) == len(corners)
        assert corners[:, 2].max() <= 0.0
        assert corners[:, 2].min() < -0.005 * span
        reach.append(np.linalg.norm(corners[:, :2] - place[:2], axis=1).max())
    assert 3.9 < reach[1] / reach[0] < 4.1  # by the speed
    assert reach[2] == reach[1] < 3.0 * span
    still, _ = strewn(place, np.zeros(3), span)
    assert np.abs(still - [20.0, -3.0, 0.0]).max() == 0.0
