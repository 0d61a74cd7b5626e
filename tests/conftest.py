"""A display for the tests that drive the real window; the pantry slab changed by its text."""

from __future__ import annotations

import os

import pytest
from bodies import shortened
from driven import screen
from hypothesis import HealthCheck, settings
from odd import PANTRY

from firstthrow.sim.describe.config import load_airframe

# What is drawn decides, not how busy the machine is that tries it.
settings.register_profile("any load", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any load")
os.environ["PYGLET_DEBUG_GL"] = "1"  # a call of OpenGL that goes wrong fails the test


@pytest.fixture(scope="session")
def display():
    """The name of an X display: the one there is, or an Xvfb started for these tests.

    Fails, and does not skip, when neither can be had: the window tests are part of the program.
    """
    if os.environ.get("DISPLAY"):
        yield os.environ["DISPLAY"]
        return
    with screen() as (_server, name):
        os.environ["DISPLAY"] = name
        yield name
        del os.environ["DISPLAY"]


@pytest.fixture
def brief(monkeypatch):
    """Launches that decide on a verdict are watched for a second, and cost little: for tests of
    what is told beside them. What is worked out so is kept: of an airframe that is no other
    test's (`bodies.copied`)."""
    shortened(monkeypatch)


@pytest.fixture
def written(tmp_path):
    """Loads the pantry slab with some texts of its file replaced: written((old, new), ...)."""

    def load(*changes: tuple[str, str]):
        text = PANTRY
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "odd.toml"
        path.write_text(text, encoding="utf-8")
        return load_airframe(path)

    return load
