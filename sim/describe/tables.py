"""The tables of a file before its values are checked: what cannot be read is passed over.

Checks of what fits together read these, so that they also speak when some other value is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from firstthrow.sim.units import LENGTH, Kind, read

Table = dict[str, Any]


def table(tree: Any, key: str) -> Table:
    """The table at a key; empty when there is none."""
    value = tree.get(key) if isinstance(tree, dict) else None
    return value if isinstance(value, dict) else {}


def tables(tree: Any, key: str) -> Iterator[tuple[str, Table]]:
    """Names and tables of a table of tables."""
    for name, entry in table(tree, key).items():
        if isinstance(entry, dict):
            yield name, entry


def value_of(holder: Table, key: str, kind: Kind, usual: float | None = None) -> float | None:
    """A quantity in SI: `usual` where the key is not said, None where it cannot be read."""
    if key not in holder:
        return usual
    try:
        return read(holder[key], kind)
    except ValueError:
        return None


def length(holder: Table, key: str, usual: float | None = None) -> float | None:
    """A length [m]: `usual` where the key is not said, None where it cannot be read."""
    return value_of(holder, key, LENGTH, usual)


def is_mirrored(sheet: Table) -> bool:
    """Whether the sheet has an image left of the centreline: all but upright ones, unless told."""
    said = sheet.get("mirrored")
    return said if isinstance(said, bool) else sheet.get("stance") != "upright"


def corner_places(corners: Any) -> list[tuple[float, float]] | None:
    """Corners as (aft, out) [m]; None where one of them cannot be read."""
    try:
        return [(read(aft, LENGTH), read(out, LENGTH)) for aft, out in corners]
    except (ValueError, TypeError):
        return None
