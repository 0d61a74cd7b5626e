"""The light of a field: a key of its file, by which nothing flies, and in which all can be read."""

from __future__ import annotations

import json

import numpy as np
import pytest

from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.shared import field_apart
from firstthrow.scenes.world.heavens import BASE, atlas, cloud, strips
from firstthrow.scenes.world.light import LIGHTS, NOON
from firstthrow.sim.describe.config import ConfigError, find, fingerprint, load_field

MEADOW = find("fields", "water-meadow")


def test_the_light_is_a_choice_of_the_field_and_flies_nothing():
    usual, evening = load_field(MEADOW), load_field(MEADOW, ["light=evening"])
    assert (usual.light, evening.light) == ("noon", "evening")
    assert fingerprint(usual) == fingerprint(evening)
    with pytest.raises(ConfigError, match="light"):
        load_field(MEADOW, ["light=dusk"])
    assert field_apart(["items.pack.aft=95 mm", "field.light=overcast"]) == (
        ["items.pack.aft=95 mm"],
        ["light=overcast"],
    )


def test_it_is_explained_and_set_for_a_flight(tmp_path, capsys):
    assert main(["explain", "field.light"]) == 0
    assert "nothing that flies feels it" in capsys.readouterr().out
    path = tmp_path / "f.csv"
    asked = ["fly", "--no-window", "--seconds", "0.5", "--pilot", "hands-off"]
    assert main([*asked, "--record", str(path), "--set", "field.light=morning"]) == 0
    meta = json.loads(path.with_suffix(".json").read_text())
    assert meta["field_si"]["light"] == "morning"
    assert main([*asked, "--set", "field.lihgt=morning"]) == 2
    assert "light" in capsys.readouterr().err


@pytest.mark.parametrize("name", LIGHTS)
def test_every_light_shows_shape(name):
    """The sun is up, behind the pilot's shoulders, and what faces it is lighter than what does
    not; the sky pales towards the horizon; grass stays green."""
    light = LIGHTS[name]
    sun = light.towards(0.3)
    assert np.linalg.norm(sun) == pytest.approx(1.0)
    assert sun[2] < -0.2
    assert sun @ (np.cos(0.3), np.sin(0.3), 0.0) < 0.0
    assert np.sum(light.above) > np.sum(light.below) + 0.2
    assert np.sum(light.haze) > np.sum(light.zenith)
    grass = np.array((0.44, 0.57, 0.23)) * light.on_grass
    assert grass[1] == grass.max()


def test_noon_is_what_ground_is_held_against():
    assert NOON.on_grass == pytest.approx(np.ones(3))


def test_a_cloud_has_a_flat_base_and_fades_at_its_rim():
    light, density = np.moveaxis(cloud(11), 2, 0)
    assert density[:, [0, -1]].max() == density[[0, -1]].max() == 0.0
    assert density.max() == 1.0
    lowest = np.argmax(density > 0.5, axis=0)[np.any(density > 0.5, axis=0)]
    assert np.ptp(np.sort(lowest)[: len(lowest) // 2]) < 0.06 * len(density)
    assert lowest.min() >= BASE * len(density) * 0.6
    thick = density > 0.5
    upper = light[len(light) // 2 :][thick[len(light) // 2 :]].mean()
    assert upper > light[: len(light) // 3][thick[: len(light) // 3]].mean() + 0.1
    assert atlas().shape[2] == 2


def test_a_cloud_is_drawn_in_strips_over_its_cells_and_no_others_that_meet_corner_to_corner():
    there = np.random.default_rng(4).random((6, 9)) < 0.6
    triangles = strips(there).reshape(-1, 3, 2)
    one, other = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    areas = 0.5 * np.abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
    rows = triangles.mean(axis=1)[:, 1].astype(int)
    for row, cells in enumerate(there):
        assert areas[rows == row].sum() == pytest.approx(cells.sum())
    corners = set(map(tuple, triangles.reshape(-1, 2).tolist()))
    for sides in (triangles, np.roll(triangles, 1, axis=1), np.roll(triangles, 2, axis=1)):
        for (x0, y0), (x1, y1), _ in sides.tolist():
            if y0 == y1:  # along a row: no corner of another strip lies between
                between = range(int(min(x0, x1)) + 1, int(max(x0, x1)))
                assert not any((float(x), y0) in corners for x in between)
