"""A config with some values changed: comments, units and order kept, what was kept beside it.

The text is edited by `tomlkit`; each changed line says what it was, and a history at the end says
when and by what it was changed.
"""

from __future__ import annotations

import difflib
import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import tomlkit
from tomlkit.items import Table

from firstthrow.sim.describe.write import number
from firstthrow.sim.units import KINDS, to_unit


class Edit(NamedTuple):
    """A key and the SI value, or the word, it is to have; `unit` when the file has none yet."""

    path: tuple[str, ...]
    value: float | str
    unit: str


def edited(text: str, edits: Sequence[Edit], history: str) -> str:
    """The text with every edit in the unit that stood there, and a line of history at its end."""
    document, new = tomlkit.parse(text), []
    for edit in edits:
        table = document
        for depth, key in enumerate(edit.path[:-1], 1):
            if key not in table:
                last = depth == len(edit.path) - 1
                table[key] = tomlkit.table(is_super_table=not last)
                if last:
                    new.append(f"[{'.'.join(edit.path[:depth])}]")
            table = table[key]
        _put(table, edit)
    found = tomlkit.dumps(document).rstrip("\n") + "\n"
    for head in new:
        found = _set_off(found, head)
    head = "" if "\n# History\n" in found else "\n# History\n"
    return f"{found}{head}# {history}\n"


def _set_off(text: str, head: str) -> str:
    """With an empty line before and after a table that was added."""
    before, _, after = text.partition(f"{head}\n")
    after = re.sub(r"([^\n])\n\[", r"\1\n\n[", after, count=1)
    return f"{before.rstrip()}\n\n{head}\n{after}"


def _put(table: Table, edit: Edit) -> None:
    key = edit.path[-1]
    was = table.get(key)
    unit = _unit(was) or edit.unit
    text = f"{number(to_unit(edit.value, unit))} {unit}" if unit else str(edit.value)
    value = tomlkit.string(text)
    if was is not None:
        value.trivia.indent = was.trivia.indent
        before = was.trivia.comment.lstrip("# ").strip()
        note = f"was {was}"
        value.comment(f"{before}; {note}" if before else note)
        value.trivia.comment_ws = "  "
    table[key] = value


def _unit(was) -> str:
    """The unit of a quantity as it is written, empty when it is none."""
    text = str(was or "").strip()
    tail = text.lstrip("+-0123456789.eE").strip()
    return tail if any(tail in kind.units for kind in KINDS) else ""


def difference(before: str, after: str, name: str) -> str:
    """As a unified diff."""
    lines = difflib.unified_diff(
        before.splitlines(keepends=True),
        after.splitlines(keepends=True),
        name,
        f"{name} (new)",
        n=1,
    )
    return "".join(lines)


def replace(path: Path, text: str) -> Path:
    """Writes the file; what it held goes to a backup beside it, whose path is returned.

    Raises OSError, and leaves the file as it was.
    """
    backup, count = path.with_name(f"{path.name}.bak"), 2
    while backup.exists():
        backup = path.with_name(f"{path.name}.bak{count}")
        count += 1
    backup.write_bytes(path.read_bytes())
    beside = path.with_name(f"{path.name}.part")
    beside.write_text(text, encoding="utf-8", newline="\n")
    os.replace(beside, path)
    return backup
