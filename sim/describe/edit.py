"""Some values changed: of a description, by `put`; of a config's text, by `edited`.

In the text comments, units and order are kept: it is edited by `tomlkit`, each changed line says
what it was, and a history at the end says when and by what it was changed.
"""

from __future__ import annotations

import difflib
import itertools
import re
from collections.abc import MutableMapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from pydantic import BaseModel

from firstthrow.sim.describe.decimals import COMMA
from firstthrow.sim.describe.replace import new, replace
from firstthrow.sim.describe.write import number
from firstthrow.sim.units import KINDS, to_unit

Described = TypeVar("Described")


def get(described: Any, path: Sequence[str]) -> Any:
    """What a path such as ("mixing", "high", "pitch") leads to, SI; None beyond what is None.

    Raises KeyError or AttributeError for a path that leads nowhere.
    """
    for key in path:
        if described is None:
            return None
        described = described[key] if isinstance(described, dict) else getattr(described, key)
    return described


def put(described: Described, path: Sequence[str], value: Any) -> Described:
    """The description with another value, SI, at the end of a path; all else is shared with it."""
    return _put(described, path, value)


def _put(described: Any, path: Sequence[str], value: Any) -> Any:
    key, *rest = path
    inner = _put(get(described, (key,)), rest, value) if rest else value
    if isinstance(described, dict):
        return {**described, key: inner}
    if isinstance(described, BaseModel):
        return described.model_copy(update={key: inner})
    return described._replace(**{key: inner})


class Edit(NamedTuple):
    """A key and the SI value, or the word, it is to have; `unit` when the file has none yet."""

    path: tuple[str, ...]
    value: float | str
    unit: str


def edited(text: str, edits: Sequence[Edit], history: str) -> str:
    """The text with every edit in the unit that stood there, and a line of history at its end."""
    import tomlkit  # as long to load as a small answer takes: most ask for `put` alone

    document, new = tomlkit.parse(text), []
    comma = document.get("decimals") == COMMA
    for edit in edits:
        table: MutableMapping[str, Any] = document
        for depth, key in enumerate(edit.path[:-1], 1):
            if key not in table:
                last = depth == len(edit.path) - 1
                table[key] = tomlkit.table(is_super_table=not last)
                if last:
                    new.append(f"[{'.'.join(edit.path[:depth])}]")
            table = table[key]
        _write(table, edit, comma)
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


def _write(table: MutableMapping[str, Any], edit: Edit, comma: bool) -> None:
    from tomlkit import string

    key = edit.path[-1]
    was = table.get(key)
    unit = _unit(was) or edit.unit
    if unit and not isinstance(edit.value, str):
        digits = number(to_unit(edit.value, unit))
        value = string(f"{digits.replace('.', ',') if comma else digits} {unit}")
    else:
        value = string(str(edit.value))
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
    tail = text.lstrip("+-0123456789.,eE").strip()
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


def replaced(path: Path, text: str) -> Path:
    """Writes the file; what it held goes to a backup beside it, whose path is returned.

    Raises OSError, and leaves the file as it was.
    """
    before = path.read_bytes()
    for count in itertools.count(1):
        backup = path.with_name(f"{path.name}.bak{count if count > 1 else ''}")
        try:
            new(backup, before)
        except FileExistsError:
            continue
        break
    replace(path, text)
    return backup
