"""The first picture: the field and the airframe, before the program has been loaded."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from itertools import product
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from firstthrow.scenes.commands import fly
from firstthrow.scenes.commands.showing import sight as opening
from firstthrow.scenes.commands.showing.sight import key_of
from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.window.look import KINDS, looked
from firstthrow.scenes.world import kept as keeping
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.kernels.machine.numbers import packed, unpacked

# A start that ends with the first picture: what had been imported by then, and the picture.
FIRST = """
import os, sys
class Seen:
    def find_spec(self, name, path, target=None):
        if name == "firstthrow.scenes.window.sight":
            from pyglet.window import Window
            Window.flip = end
def end(window):
    print("\\n".join(sys.modules))
    sys.stdout.flush()
    from firstthrow.scenes.world.snapshot import pixels
    import numpy
    numpy.save("seen.npy", pixels(window))
    os._exit(0)
sys.meta_path.insert(0, Seen())
from firstthrow.scenes.commands.cli import main
sys.exit(main(sys.argv[1:]))
"""
# What comes later: nothing of it draws the field.
LATER = {
    "firstthrow.scenes.pages",
    "firstthrow.scenes.window.run",
    "firstthrow.scenes.window.window",
    "firstthrow.scenes.words",
    "firstthrow.sim.build.model",
    "firstthrow.sim.flight",
    "firstthrow.sim.learn",
    "firstthrow.sim.paper",
    "firstthrow.sim.study",
    "llvmlite",
    "matplotlib",
    "numba",
    "PIL",
    "pygame",
    "pyglet.font",
    "pyglet.image",
    "reportlab",
    "scipy",
}
DESCRIBED = {"firstthrow.sim.build", "firstthrow.sim.describe.config", "pydantic", "tomllib"}


@pytest.fixture
def start(display, tmp_path):
    """start(*words): the modules imported before the first picture, the picture, and what else
    was said; with a folder for what is kept, which is empty before the first."""
    env = {
        **os.environ,
        "DISPLAY": display,
        "FIRSTTHROW_CACHE": str(tmp_path / "cache"),
        "XDG_CONFIG_HOME": str(tmp_path / "own"),
    }
    seen = tmp_path / "seen.npy"

    def run(*words):
        seen.unlink(missing_ok=True)
        done = subprocess.run(
            [sys.executable, "-c", FIRST, "fly", *words],
            env=env,
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )
        picture = np.load(seen).astype(float) if seen.exists() else None
        return set(done.stdout.splitlines()), picture, done.stderr

    return run


@pytest.mark.window
def test_a_start_shows_the_field_before_it_loads_the_rest(start):
    first, picture, said = start("pantry")
    assert first & LATER == set(), said
    again, same, said = start("pantry")
    assert again & (LATER | DESCRIBED) == set(), said
    np.testing.assert_array_equal(picture, same)
    assert said == ""


@pytest.mark.window
def test_the_first_picture_is_of_the_field_with_the_airframe_in_it(start):
    _, picture, _ = start("pantry")
    tall, wide, _ = picture.shape
    red, green, blue = (picture[:, :, k] for k in range(3))
    high, low = slice(0, tall // 5), slice(4 * tall // 5, tall)
    assert blue[high].mean() > red[high].mean() + 10.0  # sky
    assert green[low].mean() > 1.2 * blue[low].mean()  # grass
    _, bare, _ = start("pantry", "--set", "name=other", "--set", "launch.hand.height=9 m")
    middle = slice(tall // 4, 3 * tall // 4), slice(wide // 3, 2 * wide // 3)
    assert np.abs(picture - bare)[middle].max() > 60.0  # somebody holds it there


@pytest.mark.window
def test_a_file_that_has_become_wrong_is_not_shown(start, tmp_path):
    own = tmp_path / "own.toml"
    own.write_text(find("airframes", "pantry").read_text())
    assert start("own.toml")[1] is not None
    assert "pydantic" not in start("own.toml")[0]
    own.write_text(own.read_text().replace("span", "spam"))
    _, picture, said = start("own.toml")
    assert picture is None
    assert said.startswith("own.toml:")


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "allotment"])
def test_a_look_is_kept_as_it_was(name):
    airframe, field = (
        load_airframe(find("airframes", name)),
        load_field(find("fields", "water-meadow")),
    )
    look = looked(airframe, field, None, Settings())
    again = unpacked(packed(look), *KINDS)
    assert type(again) is type(look)
    for one, other in zip(flat(look), flat(again), strict=True):
        np.testing.assert_array_equal(one, other)


def flat(made) -> list:
    if isinstance(made, tuple):
        return [found for one in made for found in flat(one)]
    return [made]


def options(*words) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    fly.add(parser.add_subparsers())
    return parser.parse_args(["fly", *words])


def test_a_look_is_known_by_all_that_it_comes_from(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    usual = key_of(options("own.toml"))
    assert key_of(options("own.toml")) == usual
    Path("own.toml").write_text("a")
    written = key_of(options("own.toml"))
    Path("own.toml").write_text("b")
    others = [key_of(options("own.toml")), key_of(options("own.toml", "--set", "field.light=noon"))]
    others += [key_of(options("own.toml", "--fov", "40")), key_of(options())]
    told = [repr(key) for key in (usual, written, *others)]
    assert len(set(told)) == len(told)


@pytest.mark.parametrize("words", ["--fault reversed-roll", "--record a.csv", "--practice"])
def test_what_may_be_refused_is_read_first(words):
    assert key_of(options(*words.split())) is None


def test_what_is_written_to_while_it_is_read_is_looked_at_anew(monkeypatch):
    """The key of before and that of after, with a look that was kept and without; what is looked
    at then is kept for neither."""
    for after, had in product(("one", "another"), (True, False)):
        keys, closed, anew = iter(("one", after)), [], []
        early = SimpleNamespace(
            left=False, during=lambda work: work(), close=lambda closed=closed: closed.append(1)
        )
        monkeypatch.setattr(fly, "key_of", lambda chosen, keys=keys: next(keys))
        monkeypatch.setattr(fly, "seen_before", lambda key, kept=early if had else None: kept)

        def first(chosen, key, *what, anew=anew, closed=closed):
            anew.append((key, bool(closed)))
            return True, None

        monkeypatch.setattr(fly, "first_sight", first)
        monkeypatch.setattr(fly, "_run_window", lambda *what, **how: [])
        assert fly.run(options("--set", "field.light=noon")) == 0
        changed = after != "one"
        assert anew == ([] if had and not changed else [(None if changed else "one", had)])
        assert bool(closed) == had  # at the latest when it is over


def test_what_is_no_file_is_not_read_for_a_key():
    """As a pipe is not, which has no end that one could read to."""
    assert opening._digest(Path(__file__))
    assert opening._digest(Path(os.devnull)) == ""


def test_a_window_that_would_stand_still_is_not_opened_early(monkeypatch):
    """Where nothing can be kept, the physics is compiled before there is anything to be seen."""
    monkeypatch.setattr(keeping, "CACHE", None)
    monkeypatch.setattr(opening, "display_problem", lambda: "")
    assert opening.first_sight(options(), None, None, None, None) == (True, None)
