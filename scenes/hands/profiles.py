"""What each device has been assigned, kept under the user's own folder for settings."""

from __future__ import annotations

import re
from pathlib import Path

import platformdirs
import tomlkit

from firstthrow.scenes.hands.hands import FUNCTIONS, Axis, Hands, load_hands
from firstthrow.sim.describe.replace import replace


def folder() -> Path:
    """Where the profiles are; it need not exist."""
    return platformdirs.user_config_path("firstthrow", appauthor=False) / "hands"


def path_of(name: str, guid: str) -> Path:
    """The profile of a device, by its name and the identity that it tells."""
    slug, own = (re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-") for text in (name, guid))
    return folder() / f"{slug[:40] or 'device'}-{own[:32]}.toml"


def load_profile(name: str, guid: str) -> Hands | None:
    """The hands of a device, None when it has none yet. Raises ConfigError for a bad file."""
    path = path_of(name, guid)
    return load_hands(path) if path.exists() else None


def save_profile(hands: Hands, name: str, guid: str) -> Path:
    """Writes it beside and moves it over, so that no half file is ever read. Raises OSError."""
    path = path_of(name, guid)
    path.parent.mkdir(parents=True, exist_ok=True)
    replace(path, text_of(hands))
    return path


def text_of(hands: Hands) -> str:
    """The hands as a TOML file that `load_hands` reads back."""
    page = tomlkit.document()
    page.add(tomlkit.comment("Made by the guided assignment; may be edited by hand."))
    for name in ("name", "about", "mode", "throttle_spring", "sends"):
        page.add(name, getattr(hands, name))
    page.add("keyboard_rate", _percent(hands.keyboard_rate))
    for name in FUNCTIONS:
        axis = getattr(hands, name)
        if axis is not None:
            page.add(name, _axis(axis))
    if hands.buttons:
        page.add("buttons", dict(hands.buttons))
    if hands.switches:
        table = tomlkit.table(is_super_table=True)
        for action, switch in hands.switches.items():
            table.add(action, {"index": switch.index, "above": switch.above})
        page.add("switches", table)
    return tomlkit.dumps(page)


def _axis(axis: Axis) -> dict:
    found = {
        "index": axis.index,
        "invert": axis.invert,
        "dead_zone": _percent(axis.dead_zone),
        "rests_at": axis.rests_at,
        "low": round(axis.low, 3),
        "centre": round(axis.centre, 3),
        "high": round(axis.high, 3),
    }
    return {**found, "moves": list(axis.moves)} if axis.moves else found


def _percent(share: float) -> str:
    return f"{100.0 * share:.4g} %"
