"""The airframe as it is drawn stands where its file says."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstthrow.scenes.world import meshes
from firstthrow.scenes.world.camera import board_view, on_screen
from firstthrow.scenes.world.meadow import for_one_side, meadow
from firstthrow.scenes.world.meshes import ABOVE, BELOW, RIM, airframe_mesh, hinge_axis, to_body
from firstthrow.sim.build.shape import pieces, surface_names
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import find, load_airframe

AIRFRAMES = ("pantry", "pantry-swept", "glasshouse", "allotment")


def turned(points: np.ndarray, origin: np.ndarray, axis: np.ndarray, angle: float) -> np.ndarray:
    arm = points - origin
    along = np.outer(arm @ axis, axis)
    return origin + along + math.cos(angle) * (arm - along) + math.sin(angle) * np.cross(axis, arm)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_a_positive_angle_moves_the_trailing_edge_against_the_normal(name):
    airframe = load_airframe(find("airframes", name))
    flip = np.array([-1.0, 1.0, -1.0])
    moving = [piece for piece in pieces(airframe) if piece.surface >= 0]
    assert {piece.surface for piece in moving} == set(range(len(surface_names(airframe))))
    for piece in moving:
        rear = to_body(piece.corners[2:], np.zeros(3))
        hinge = to_body(piece.hinge[0], np.zeros(3))
        moved = turned(rear, hinge, hinge_axis(piece, piece.hinge), math.radians(20.0)) - rear
        assert (moved @ (piece.normal * flip) < -0.005).all()


@pytest.mark.parametrize("name", AIRFRAMES)
def test_the_drawn_airframe_has_the_size_of_its_file_and_is_light_to_draw(name):
    airframe = load_airframe(find("airframes", name))
    mesh = airframe_mesh(airframe, balance(parts(airframe)).place)
    corners = np.concatenate([piece.corners for piece in pieces(airframe)])
    assert mesh.span == pytest.approx(np.ptp(corners[:, 1]))
    around = meadow(0.0, 1.8)
    drawn = mesh.fixed.triangles + sum(part.mesh.triangles for part in mesh.surfaces)
    drawn += sum(p.blades.triangles + p.disc.triangles for p in mesh.propellers)
    drawn += (
        around.solid.triangles
        + around.sheets.triangles
        + around.sock.triangles
        + around.thrower.triangles
    )
    drawn += (len(around.rough.plan) + len(around.mown.plan) + len(around.water.places)) // 3
    assert drawn + 2 * len(around.plants.feet) < 9000
    for part in (mesh.fixed, *(p.mesh for p in mesh.surfaces), around.solid):
        assert np.isfinite(part.places).all()
        assert np.linalg.norm(part.normals, axis=1) == pytest.approx(1.0)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_on_board_the_nose_is_in_sight_above_the_instruments(name):
    airframe = load_airframe(find("airframes", name))
    mesh = airframe_mesh(airframe, balance(parts(airframe)).place)
    high = np.array([0.0, 0.0, -20.0])
    view = board_view(high, np.eye(3), mesh.seat)
    nose = mesh.fixed.places[np.argmax(mesh.fixed.places[:, 0])]
    right, up = on_screen(view, 16.0 / 9.0, nose + high)
    assert abs(right) < 0.15
    assert -0.68 < up < -0.2
    ahead = mesh.fixed.places[mesh.fixed.places[:, 0] > mesh.seat[0] + 0.06]
    tops = [on_screen(view, 16.0 / 9.0, place + high) for place in ahead]
    assert max(spot[1] for spot in tops if spot) < 0.1  # and nothing stands before the sky


def test_top_and_bottom_differ_by_pattern():
    airframe = load_airframe(find("airframes", "pantry"))
    mesh = airframe_mesh(airframe, balance(parts(airframe)).place).fixed
    faces_up, faces_down = mesh.normals[:, 2] < -0.99, mesh.normals[:, 2] > 0.99
    top = set(mesh.paints[faces_up & (mesh.paints[:, 2] > 0.0), 2])
    under = set(mesh.paints[faces_down & (mesh.paints[:, 2] > 0.0), 2])
    assert top - {RIM} == {ABOVE}
    assert under - {RIM} == {BELOW}


def test_the_meadow_turns_with_the_field():
    north, east = meadow(0.0), meadow(math.pi / 2.0)
    assert east.sock_place[1] == pytest.approx(north.sock_place[0])
    assert east.sock_place[0] == pytest.approx(-north.sock_place[1])
    assert north.solid.places[:, 2].max() < 1.5  # nothing hangs under the ground but ridges' feet


def test_what_is_drawn_from_one_side_only_is_counterclockwise_round_its_normals():
    around = meadow(0.7, 1.8)
    a, b, c = np.moveaxis(around.solid.places.reshape(-1, 3, 3), 1, 0)
    ways = np.cross(b - a, c - a)
    facing = (ways * around.solid.normals[::3]).sum(axis=1) / np.linalg.norm(ways, axis=1)
    assert len(facing) > 1000
    assert facing.min() > 0.7
    assert around.sheets.triangles > 500


@pytest.mark.parametrize("name", AIRFRAMES)
def test_an_airframe_drawn_for_whom_it_faces_lacks_nothing(name):
    airframe = load_airframe(find("airframes", name))
    mesh = airframe_mesh(airframe, balance(parts(airframe)).place)
    for part in (mesh.fixed, *(one.mesh for one in mesh.surfaces)):
        shown = for_one_side(part)
        a, b, c = np.moveaxis(shown.places.reshape(-1, 3, 3), 1, 0)
        assert ((np.cross(b - a, c - a) * shown.normals[::3]).sum(axis=1) > 0.0).all()
        assert shown.triangles == part.triangles
        sizes = [np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()]
        a, b, c = np.moveaxis(part.places.reshape(-1, 3, 3), 1, 0)
        sizes.append(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum())
        assert sizes[0] == pytest.approx(sizes[1])


def test_corners_that_are_the_same_are_kept_once(monkeypatch):
    """Numbers that fall together cost room and nothing else: a factor of 0 makes them all so."""
    random = np.random.default_rng(0)
    rows = random.integers(-2, 3, (4000, 6)).astype(np.float32)
    rows[::7] *= -1.0  # zeros of either sign
    known = np.unique(rows, axis=0)
    found, which = meshes.distinct(rows)
    np.testing.assert_array_equal(found[which], rows)
    assert len(found) == len(known) < len(rows)
    monkeypatch.setattr(meshes, "MIXING", 0)
    found, which = meshes.distinct(rows)
    np.testing.assert_array_equal(found[which], rows)
