"""A problem of a file in words: where it is, as a path of keys, and a sentence with near names."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

KeyPath = tuple[str | int, ...]
Problem = tuple[KeyPath, str]


LONGEST = 600  # characters of a line of words


def dotted(path: KeyPath) -> str:
    """A path as the builder reads it: sheets.wing.outline.corners[1][0]."""
    joined = "".join(f"[{key}]" if isinstance(key, int) else f".{key}" for key in path)
    return joined.removeprefix(".")


def nearest(name: str, choices: Sequence[str]) -> str:
    """The choice spelt most like the name, as a question; empty when none is near."""
    near = difflib.get_close_matches(name, choices, n=1)
    return f"did you mean '{near[0]}'?" if near else ""


def did_you_mean(name: str, choices: Sequence[str], taken: Sequence[str] = ()) -> str:
    """The nearest choice as a question, free ones before those taken; else all free choices."""
    near = nearest(name, choices) or nearest(name, taken)
    if near:
        return near
    return "choose from " + ", ".join(f"'{c}'" for c in choices) if choices else "there are none"


def plainly(text: str) -> str:
    """Words that quote what somebody has typed or written, fit for a terminal: whatever is more
    than words to it stands as its code, and what is too long is cut."""
    lines = []
    for line in text.split("\n"):
        if not line.isprintable():
            line = "".join(s if s.isprintable() else ascii(s)[1:-1] for s in line)
        lines.append(line if len(line) <= LONGEST else f"{line[:LONGEST]}...")
    return "\n".join(lines)
