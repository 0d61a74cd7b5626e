"""What the person has chosen for good: text size, sound, view, keys; kept in the user's folder."""

from __future__ import annotations

from pathlib import Path

from pydantic import Field as Key
from pydantic import StrictBool, field_validator

from firstthrow.scenes.hands.bindings import BINDINGS, NOW, InForce
from firstthrow.scenes.hands.own_folder import window_file as path
from firstthrow.sim.describe.config import load
from firstthrow.sim.describe.described import Described
from firstthrow.sim.describe.problems import did_you_mean
from firstthrow.sim.describe.replace import replace

NAMES = {
    "text_size": "1 is the usual; 0 suits the window's height",
    "mute": "no sound",
    "speech": "spoken words: height, stall, low pack",
    "view": "the one that the window opens with",
    "reduced_motion": "no zoom, an eye that swings slowly, a level horizon",
    "keys": "action = key, by what a US keyboard has at its place",
}


class Preferences(Described):
    text_size: float = Key(0.0, ge=0.0, le=2.0)
    mute: StrictBool = False
    speech: StrictBool = False
    view: str = "standing"
    reduced_motion: StrictBool = False
    keys: dict[str, str] = Key(default_factory=dict)

    @field_validator("keys")
    @classmethod
    def _known(cls, keys: dict[str, str]) -> dict[str, str]:
        actions = [binding.action for binding in BINDINGS]
        for action in keys:
            if action not in actions:
                raise ValueError(f"{action}: no such action; {did_you_mean(action, actions)}")
        InForce().change(keys)
        return keys


def kept() -> Preferences:
    """Those of the file, or the usual ones. Raises ConfigError for a bad file."""
    return load(Preferences, path()) if path().exists() else Preferences()


def keep(chosen: Preferences) -> Path:
    """Writes them beside and moves them over. Raises OSError."""
    import tomlkit  # not needed to read them, which goes before the first picture

    place = path()
    place.parent.mkdir(parents=True, exist_ok=True)
    page = tomlkit.document()
    page.add(tomlkit.comment("What the window of Firstthrow remembers; may be edited by hand."))
    for name, words in NAMES.items():
        value = getattr(chosen, name)
        line = tomlkit.table() if name == "keys" else tomlkit.item(value)
        if name == "keys":
            page.add(tomlkit.nl())
            line.update(value)
        page.add(name, line.comment(words))
    replace(place, tomlkit.dumps(page))
    return place


def swapped(keys: dict[str, str], action: str, key: str) -> dict[str, str]:
    """Changed keys with another key for an action; whoever had that key gets the old one."""
    usual = {binding.action: binding.key for binding in BINDINGS}
    now = {**usual, **keys}
    other = next((a for a, k in now.items() if k == key and a != action), None)
    if other is not None:
        now[other] = now[action]
    now[action] = key
    return {a: k for a, k in now.items() if k != usual[a]}


def use(chosen: Preferences) -> None:
    """Its keys from now on. ValueError where two actions share one."""
    NOW.change(chosen.keys)
