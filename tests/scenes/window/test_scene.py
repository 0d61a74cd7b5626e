"""The picture on the window, part by part: sky, water, what is softened."""

from __future__ import annotations

import math
from functools import cache
from itertools import product

import numpy as np
import pytest

from firstthrow.scenes.window.edged import around, boxes, edges, lines_of, through
from firstthrow.scenes.world.camera import Pose, View, level_view, on_screen, rotation
from firstthrow.scenes.world.light import LIGHTS
from firstthrow.scenes.world.meshes import airframe_mesh, box
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.kernels.rotation import from_angles

SIZE = (640, 360)


@pytest.fixture(scope="module")
def mesh():
    pantry = load_airframe(find("airframes", "pantry"))
    return airframe_mesh(pantry, balance(parts(pantry)).place)


def tilted(bank: float, pitch: float, up: float) -> View:
    """From `up` [m] over the grass, angles [deg]."""
    turned = rotation(tuple(from_angles(math.radians(bank), math.radians(pitch), 0.4)))
    return View(np.array([0.0, 0.0, -up]), turned[:, 0], -turned[:, 2], math.radians(60.0))


def test_an_airframe_lies_within_the_box_that_is_softened(mesh):
    for bank, away in product((0.0, 50.0), (6.0, 60.0)):
        attitude = np.array(from_angles(math.radians(bank), 0.1, 0.7))
        pose = Pose(np.array([away, 1.0, -4.0]), attitude, (0.0,), (0.0,), (0.0,), (0.0, 0.0))
        view = level_view(np.array([0.0, 0.0, -1.7]), pose.place, 0.8)
        ((x, y, wide, tall),) = boxes(view, SIZE, [around(mesh, pose)], [])
        body = rotation(tuple(attitude))
        for place in mesh.fixed.places[::7]:
            right, up = on_screen(view, SIZE[0] / SIZE[1], pose.place + body @ place)
            column, row = 0.5 * SIZE[0] * (1.0 + right), 0.5 * SIZE[1] * (1.0 + up)
            assert x <= column <= x + wide
            assert y <= row <= y + tall
        assert wide < 0.4 * SIZE[0]


def test_through_the_loupe_only_what_the_airframe_takes_is_softened(mesh):
    from firstthrow.scenes.window.loupe import loupe_view

    glass = (216, 216)
    pose = Pose(
        np.array([40.0, 3.0, -9.0]),
        np.array(from_angles(0.3, 0.1, 0.7)),
        (0.0,),
        (0.0,),
        (0.0,),
        (0.0, 0.0),
    )
    view = loupe_view(np.array([0.0, 0.0, -1.7]), pose.place, mesh.span)
    x, y, wide, tall = through(view, glass, mesh, pose)
    body = rotation(tuple(pose.attitude))
    for place in mesh.fixed.places[::5]:
        right, up = on_screen(view, 1.0, pose.place + body @ place)
        assert x <= 108.0 * (1.0 + right) <= x + wide
        assert y <= 108.0 * (1.0 + up) <= y + tall
    assert wide * tall < 0.6 * glass[0] * glass[1]


def test_ground_is_in_the_picture_where_a_corner_looks_below_the_horizon():
    from firstthrow.scenes.world.picture import sees_ground

    for bank, pitch in product((0.0, 40.0, 90.0, 180.0), (-80.0, -20.0, 20.0, 35.0, 50.0, 89.0)):
        view = tilted(bank, pitch, 2.0)
        right = np.cross(view.ahead, view.up)
        reach = math.tan(0.5 * view.height_angle)
        ways = [
            view.ahead + reach * (up * view.up + 16 / 9 * side * right)
            for up, side in product((-1.0, 1.0), repeat=2)
        ]
        assert sees_ground(view, 16 / 9) == any(way[2] > 0.0 for way in ways), (bank, pitch)


def test_what_is_behind_the_eye_has_no_box_and_what_fills_the_picture_only_along_its_edges(mesh):
    level = Pose(np.zeros(3), np.eye(4)[0], (0.3, -0.3), (0.4,), (0.0,), (0.0, 0.0))
    view = level_view(np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.8)
    behind = level._replace(place=np.array([-9.0, 0.0, 0.0]))
    assert boxes(view, SIZE, [around(mesh, behind)], [(mesh, behind)]) == []
    seat = rotation(tuple(level.attitude)) @ mesh.seat
    for eye, way in ((seat, (1.0, 0.0, 0.1)), (np.array([-0.9, 0.1, -0.5]), (1.0, 0.0, 0.5))):
        view = level_view(eye, np.array(way), 1.0)
        found = boxes(view, SIZE, [], [(mesh, level)])
        assert 0.05 < sum(wide * tall for _, _, wide, tall in found) / (SIZE[0] * SIZE[1]) < 0.6
        held = np.zeros(SIZE, dtype=bool)
        for x, y, wide, tall in found:
            held[x : x + wide, y : y + tall] = True
        for line in lines_of(mesh, level):
            for share in np.linspace(0.0, 1.0, 30):
                spot = on_screen(view, SIZE[0] / SIZE[1], line[0] + share * (line[1] - line[0]))
                if spot is not None and max(abs(spot[0]), abs(spot[1])) < 1.0:
                    column, row = (0.5 * n * (1.0 + s) for n, s in zip(SIZE, spot, strict=True))
                    assert held[int(column), int(row)]


def test_faces_that_lie_flush_have_no_edge_between_them(mesh):
    slab = box((0.0, 0.0, 0.0), (1.0, 2.0, 0.1), (1.0, 1.0, 1.0))
    assert len(edges(slab)) == 12


@pytest.mark.window
def test_the_sky_is_drawn_wherever_it_may_be_seen(display):
    from firstthrow.scenes.world.sky import lowest_row

    for bank, pitch, up in product((0.0, 35.0, 100.0, 180.0), (-40.0, 0.0, 30.0), (1.7, 80.0)):
        view = tilted(bank, pitch, up)
        lowest = lowest_row(view, 16.0 / 9.0)
        reach = math.tan(0.5 * view.height_angle)
        side = np.cross(view.ahead, view.up)
        for x, y in product(np.linspace(-1.0, 1.0, 9), np.linspace(-1.0, 1.0, 41)):
            way = view.ahead + x * reach * 16.0 / 9.0 * side + y * reach * view.up
            if way[2] < 0.0:
                assert y >= lowest, (bank, pitch, up)
    assert lowest_row(tilted(0.0, 0.0, 1.7), 16.0 / 9.0) == pytest.approx(0.0, abs=0.02)
    assert lowest_row(tilted(0.0, -60.0, 1.7), 16.0 / 9.0) == 1.0


@pytest.fixture(scope="module")
def window(display):
    from firstthrow.scenes.window.opening import open_window

    opened = open_window(SIZE, unseen=True)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def in_light(window, mesh):
    """The picture of the water meadow in a light; nobody throws."""
    from firstthrow.scenes.world.picture import picture_of

    field = load_field(find("fields", "water-meadow"))

    @cache
    def made(light: str):
        window.switch_to()
        return picture_of(mesh, field.model_copy(update={"light": light}), None)

    return made


@pytest.mark.window
@pytest.mark.parametrize("away", [700.0, 1150.0])
def test_a_far_airframe_is_before_sky_and_clouds(window, in_light, away):
    """All round at a height where clouds stand: no direction in which they hide it."""
    from firstthrow.scenes.world.snapshot import pixels

    picture, unseen = in_light("noon"), 0
    for bearing in np.radians(np.arange(0.0, 360.0, 30.0)):
        way = np.array([math.cos(bearing), math.sin(bearing), -0.25])
        place = away * way / np.linalg.norm(way)
        view, shown = level_view(np.array([0.0, 0.0, -1.7]), place, math.radians(2.0)), []
        attitude = np.array(from_angles(math.radians(70.0), 0.3, bearing))
        for where in (place, np.array([-500.0, 0.0, 0.0])):
            picture.draw(view, *SIZE, FAR._replace(place=where, attitude=attitude))
            shown.append(pixels(window)[..., :3].astype(int))
            window.flip()
        unseen += int(np.abs(shown[0] - shown[1]).max() < 15)
    assert unseen == 0


FAR = Pose(np.array([-500.0, 0.0, 0.0]), np.eye(4)[0], (0.0, 0.0), (0.0,), (0.0,), (1.0, 0.0))


@pytest.fixture(scope="module")
def water(window, in_light):
    """The mean colour (0..1) of the stream straight ahead, in a light, from so high and far."""
    from firstthrow.scenes.world.snapshot import pixels

    def seen(light: str, up: float, away: float) -> np.ndarray:
        picture = in_light(light)
        ahead = np.array([math.cos(picture.heading), math.sin(picture.heading), 0.0])
        down = np.array([0.0, 0.0, 1.0])
        eye = (122.0 - away) * ahead - up * down
        view = level_view(eye, 122.0 * ahead - eye, math.radians(2.0 * up / away))
        picture.draw(view, *SIZE, FAR._replace(place=-500.0 * ahead))
        shown = pixels(window)[SIZE[1] // 2 - 3 : SIZE[1] // 2 + 3, 300:340] / 255.0
        window.flip()
        return shown.mean(axis=(0, 1))

    return seen


@pytest.mark.window
def test_a_picture_in_a_corner_fills_its_part_and_no_other(window, in_light):
    from pyglet import gl

    from firstthrow.scenes.world.snapshot import pixels

    picture, (x, y, wide, tall) = in_light("noon"), (400, 200, 200, 120)
    view = level_view(np.array([0.0, 0.0, -1.7]), np.array([1.0, 0.0, 0.05]), 0.8)
    gl.glClearColor(1.0, 0.0, 1.0, 1.0)
    gl.glClear(gl.GL_COLOR_BUFFER_BIT)
    gl.glEnable(gl.GL_SCISSOR_TEST)
    gl.glScissor(x, y, wide, tall)
    picture.draw(view, wide, tall, FAR, (x, y))
    gl.glDisable(gl.GL_SCISSOR_TEST)
    gl.glViewport(0, 0, *SIZE)
    bare = (pixels(window)[::-1, :, :3] == (255, 0, 255)).all(axis=2)  # from the foot
    window.flip()
    assert not bare[y : y + tall, x : x + wide].any()
    bare[y : y + tall, x : x + wide] = True
    assert bare.all()


@pytest.mark.window
def test_water_mirrors_the_sky_the_flatter_it_is_looked_at(water):
    """Schlick's form of Fresnel's equations: little from above, most at a
    grazing look; so from above it is dark, and flat it has the sky's colour."""
    steep, flat = water("noon", 40.0, 10.0), water("noon", 2.0, 40.0)
    sky = np.array(LIGHTS["noon"].haze)
    assert np.linalg.norm(flat - sky) < 0.6 * np.linalg.norm(steep - sky)
    assert flat.mean() > steep.mean() + 0.15


@pytest.mark.window
def test_water_is_warm_in_the_evening_and_grey_under_clouds(water):
    evening, noon = water("evening", 2.0, 40.0), water("noon", 2.0, 40.0)
    grey = water("overcast", 2.0, 40.0)
    assert evening[0] - evening[2] > noon[0] - noon[2] + 0.1
    assert np.ptp(grey) < 0.08


@pytest.mark.window
def test_no_pixel_beside_a_paper_is_left_undrawn(display):
    """What lies under a paper is not drawn; its edges fall between pixels."""
    from firstthrow.scenes.words.instruments import Rect
    from firstthrow.scenes.words.placing import whole_pixels

    for x, y, wide, tall in product((8.0, 8.4, 8.6), (3.2, 3.7), (20.1, 20.5), (10.0, 10.9)):
        for fine in (1.0, 1.25, 2.0):
            left, low, across, up = whole_pixels(Rect(x, y, wide, tall), fine)
            assert fine * x <= left <= fine * x + 1.0
            assert fine * y <= low <= fine * y + 1.0
            assert fine * (x + wide) - 1.0 <= left + across <= fine * (x + wide)
            assert fine * (y + tall) - 1.0 <= low + up <= fine * (y + tall)


def test_each_level_of_a_picture_takes_the_means_of_the_one_before():
    from firstthrow.scenes.world.levels import levels

    values = np.random.default_rng(1).random((4, 8, 2))
    found = levels(values)
    assert [one.shape for one in found] == [(4, 8, 2), (2, 4, 2), (1, 2, 2), (1, 1, 2)]
    means = values[:2, :2].mean(axis=(0, 1)), values.mean(axis=(0, 1))
    np.testing.assert_array_equal(found[1][0, 0], np.round(255.0 * means[0]))
    np.testing.assert_array_equal(found[3][0, 0], np.round(255.0 * means[1]))
