"""Which physics flew a record: a hash of the sources that fly, in its sidecar.

A record is the model's own only where the same sources flew it: those of another version leave
between model and record what was changed since. A changed comment counts as a change, too; the
record is then judged with more doubt than it needs, never with less.
"""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from typing import Any

SIM = Path(__file__).parents[1]
FLIES = ("kernels", "build")  # its folders: what moves an airframe, and the tables it moves by


@cache
def physics(sources: Path = SIM) -> str:
    """Of the program that runs now."""
    digest = hashlib.sha256()
    for folder in FLIES:
        for path in sorted((sources / folder).rglob("*.py")):
            digest.update(path.read_text(encoding="utf-8").encode())  # whatever ends its lines
    return digest.hexdigest()[:16]


def is_own(meta: dict[str, Any]) -> bool:
    """Whether the physics that runs now flew a record with this sidecar; False also where nothing
    says so."""
    return meta.get("physics") == physics()
