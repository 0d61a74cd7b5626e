"""Where the faces lie that come with matplotlib, which is found and not loaded."""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path


@cache
def folder() -> Path:
    """Of the files; loading what they come with takes longer than a page."""
    found = find_spec("matplotlib")
    beside = Path(found.origin if found and found.origin else "").parent / "mpl-data/fonts/ttf"
    if beside.is_dir():
        return beside
    import matplotlib  # where a system keeps its data apart

    return Path(matplotlib.get_data_path()) / "fonts/ttf"
