"""The bench's set-up into the airframe file: comments and units kept, a backup beside it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from firstthrow import configs
from firstthrow.sim.describe.edit import edited, replaced
from firstthrow.sim.describe.replace import new


def target(path: Path) -> Path:
    """Where a changed airframe file goes: over itself, but beside the person's own ones when it
    is the copy that came with the program."""
    shipped = Path(configs.__file__).resolve().parent
    own = Path("configs") / "airframes" / path.name
    if path.resolve().is_relative_to(shipped) and shipped != Path("configs").resolve():
        return own
    return path


def proposal(path: Path, bench, today: date) -> tuple[str, str]:
    """The file's text as it is and as it would be. Raises OSError, ValueError when it cannot be
    read, or has been changed so that it cannot be edited."""
    text = path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    found = bench.edits()
    told = f"{today.isoformat()}: changed on the bench, in the window"
    return text, edited(text, found, told) if found else text


def keep(path: Path, text: str) -> str:
    """Writes the text, a backup of what was there beside it; says what was done. Raises OSError."""
    to = target(path)
    if to.exists():
        backup = replaced(to, text)
        return f"Kept: {to.name}; before: {backup.name}"
    to.parent.mkdir(parents=True, exist_ok=True)
    new(to, text.encode("utf-8"))
    return f"Kept, as your own copy: {to}"
