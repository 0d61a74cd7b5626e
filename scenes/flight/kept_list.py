"""A list of what was done, day after day, in a JSON file of the user's own folder."""

from __future__ import annotations

import json
import os
from datetime import datetime
from pathlib import Path
from typing import Any

from firstthrow.sim.describe.replace import replace


def read(place: Path) -> list[dict]:
    """All of it, the oldest first; nothing where there is no file. Raises ValueError for a file
    that is no such list, OSError for one that cannot be read."""
    if not place.exists():
        return []
    try:
        kept = json.loads(place.read_text(encoding="utf-8"))
    except RecursionError:
        raise ValueError(f"{place}: nested too deep") from None
    if not isinstance(kept, list) or not all(isinstance(one, dict) for one in kept):
        raise ValueError(f"{place}: not a history")
    return kept


def add(place: Path, told: dict[str, Any]) -> Path:
    """One more, with the time of now. A file that cannot be read is moved aside, not overwritten.
    Raises OSError."""
    place.parent.mkdir(parents=True, exist_ok=True)
    try:
        kept = read(place)
    except ValueError:
        os.replace(place, place.with_suffix(".unread.json"))
        kept = []
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    replace(place, json.dumps([*kept, {"when": now, **told}], indent=1) + "\n")
    return place
