"""What broke is drawn broken; dust and grass rise from the place, and come down again."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped

from firstthrow.scenes.world.meshes import airframe_mesh
from firstthrow.scenes.world.wreck import SECONDS, broken, thrown_up
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.flight.outcome import Ending


@pytest.fixture(scope="module")
def mesh():
    airframe = shipped("pantry")
    return airframe_mesh(airframe, balance(parts(airframe)).place)


def test_a_nose_bends_and_the_rest_stays(mesh):
    bent = broken(mesh, Ending.BROKE)
    moved = np.linalg.norm(bent.fixed.places - mesh.fixed.places, axis=1) > 1e-9
    assert 0.02 < moved.mean() < 0.8
    assert mesh.fixed.places[moved, 0].min() > mesh.fixed.places[~moved, 0].min()
    assert bent.fixed.places[:, 0].max() < mesh.fixed.places[:, 0].max() - 0.01
    assert np.linalg.norm(bent.fixed.normals, axis=1) == pytest.approx(
        np.linalg.norm(mesh.fixed.normals, axis=1)
    )


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
