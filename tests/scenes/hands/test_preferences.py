"""What the person chose for good, and keys by their place whatever the layout."""

from __future__ import annotations

import pytest

from firstthrow.scenes.hands import preferences
from firstthrow.scenes.hands.bindings import BINDINGS, NOW, key_words
from firstthrow.scenes.hands.places import CODES, X11_BASE, places_of
from firstthrow.sim.describe.config import ConfigError

# Keysyms plain and shifted of some places. Source: xkeyboard-config, symbols/fr and symbols/de.
FRENCH = {
    "Q": (ord("a"), ord("A")),
    "W": (ord("z"), ord("Z")),
    "A": (ord("q"), ord("Q")),
    "Z": (ord("w"), ord("W")),
    "M": (ord(","), ord("?")),
    "COMMA": (ord(";"), ord(".")),
    "_2": (0xE9, ord("2")),
}
GERMAN = {"Y": (ord("z"), ord("Z")), "EQUAL": (0xFE51, 0xFE50), "_0": (ord("0"), ord("="))}
NAMELESS = 1 << 32  # how pyglet calls a key whose keysym it does not know: its code, raised


@pytest.fixture(autouse=True)
def usual():
    yield
    NOW.change({})
    NOW.printed = {}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_config_path", lambda *a, **k: tmp_path / "own")
    return tmp_path / "own"


def layout(table):
    return places_of((p, s, NAMELESS + CODES[p] + X11_BASE) for p, s in table.items())


def test_on_french_keys_the_left_stick_is_where_it_is_on_others():
    places = layout(FRENCH)
    found = [places.name(ord(letter), "?") for letter in "zqwa"]
    assert found == ["W", "A", "Z", "Q"]
    assert places.name(NAMELESS + CODES["_2"] + X11_BASE, "?") == "_2"  # its key is e acute
    assert places.name(ord("5"), "_5") == "_5"
    NOW.printed = places.printed
    assert key_words("throttle_up") == "Z"
    assert key_words("yaw_left") == "Q"


def test_on_german_keys_larger_text_is_in_reach():
    places = layout(GERMAN)
    place = places.name(NAMELESS + CODES["EQUAL"] + X11_BASE, "?")
    assert NOW.actions[place] == "bigger"
    NOW.printed = places.printed
    assert key_words("bigger") == "´"


def test_every_letter_that_is_bound_has_a_place():
    letters = [b.key for b in BINDINGS if len(b.key) == 1 or b.key in ("EQUAL", "MINUS", "COMMA")]
    assert set(letters) <= set(CODES)


def test_what_was_chosen_is_kept_and_read_again(folder):
    assert preferences.kept() == preferences.Preferences()
    chosen = preferences.Preferences(text_size=1.25, mute=True, view="tail", keys={"pause": "F11"})
    path = preferences.keep(chosen)
    assert path.parent == folder
    assert preferences.kept() == chosen
    text = path.read_text(encoding="utf-8")
    assert "text_size = 1.25" in text
    assert 'pause = "F11"' in text
    path.write_text(text.replace("F11", "V"), encoding="utf-8")
    with pytest.raises(ConfigError, match=r"toml:\d+: keys: V is both pause and view"):
        preferences.kept()
    path.write_text(text.replace("pause", "pauze"), encoding="utf-8")
    with pytest.raises(ConfigError, match="pauze"):
        preferences.kept()


def test_two_actions_change_their_keys_with_each_other():
    keys = preferences.swapped({}, "pause", "V")
    assert keys == {"pause": "V", "view": "P"}
    preferences.use(preferences.Preferences(keys=keys))
    assert NOW.actions["V"] == "pause"
    assert key_words("view") == "P"
    assert preferences.swapped(keys, "pause", "P") == {}
    with pytest.raises(ValueError, match="both"):
        preferences.use(preferences.Preferences(keys={"pause": "V"}))
