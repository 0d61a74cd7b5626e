"""Which physics flew a record: a hash of the sources that fly, in its sidecar.

A record is the model's own only where the same sources flew it: those of another version leave
between model and record what was changed since. A changed comment counts as a change, too, and
so does what a flight does not need; the record is then judged with more doubt than it needs, and
with less only where a library of others' has changed.
"""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from typing import Any

SIM = Path(__file__).parents[1]
# Its folders, beside its own files: what moves an airframe, what it is moved by, and from what on.
FLIES = ("kernels", "describe", "build", "flight")


def flying(sources: Path) -> list[Path]:
    """The sources that fly."""
    deep = (path for folder in FLIES for path in (sources / folder).rglob("*.py"))
    return sorted([*sources.glob("*.py"), *deep])


@cache
def physics(sources: Path = SIM) -> str:
    """Of the program that runs now."""
    digest = hashlib.sha256()
    for path in flying(sources):
        digest.update(path.read_text(encoding="utf-8").encode())  # whatever ends its lines
    return digest.hexdigest()[:16]


def is_own(meta: dict[str, Any]) -> bool:
    """Whether the physics that runs now flew a record with this sidecar; False also where nothing
    says so."""
    return meta.get("physics") == physics()
