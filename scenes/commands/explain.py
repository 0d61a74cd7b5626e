"""`firstthrow explain`: what a key of a file is, in words, with an example."""

from __future__ import annotations

import argparse
import json
import textwrap

from firstthrow.scenes.commands.shared import DONE


def add(commands) -> None:
    """Adds the command's words to the command line."""
    explain = commands.add_parser(
        "explain",
        help="what a key of a file is, with an example",
        description="Say in words what a key of an airframe, field, hands, scatter or notes file "
        "is, what may be written there, and what holds without it. Without KEY: the tables there "
        "are.",
    )
    explain.set_defaults(command=run)
    explain.add_argument(
        "key", metavar="KEY", nargs="?", help="such as mixing.reflex, sheets.slab.bow or bow"
    )
    explain.add_argument("--json", action="store_true", help="print it as JSON")


def run(chosen: argparse.Namespace) -> int:
    """Prints every key that is meant. Raises ConfigError with near names for none."""
    from dataclasses import asdict

    from firstthrow.scenes.commands.schema import models
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.describe.explain import explained, matching
    from firstthrow.sim.describe.problems import did_you_mean

    rows = explained(models())
    found = matching(rows, chosen.key) if chosen.key else [r for r in rows if r.keys]
    if not found:
        last = chosen.key.split(".")[-1]
        near = did_you_mean(last, sorted({row.path[-1] for row in rows}))
        near = near if near.startswith("did") else "firstthrow explain lists the tables"
        raise ConfigError([f"{chosen.key}: no such key; {near}"])
    if chosen.json:
        print(json.dumps([asdict(row) for row in found], indent=1, ensure_ascii=False))
    elif chosen.key:
        print("\n\n".join("\n".join(_told(row, rows)) for row in found))
    else:
        print("\n".join(_listed(found)))
    return DONE


def _told(row, rows) -> list[str]:
    """One key; of a table, its keys as well, a line each."""
    lines = [f"{row.place}  (in {_article(row.file)} file)"]
    words = row.words[:1].upper() + row.words[1:]
    lines += textwrap.wrap(words, 96, initial_indent="  ", subsequent_indent="  ")
    without = (
        f"; without it {row.usual}" if row.usual else "" if row.needed else "; may be left out"
    )
    lines += textwrap.wrap(
        f"Write {row.wanted}{'; needed' if row.needed else without}.",
        96,
        initial_indent="  ",
        subsequent_indent="  ",
    )
    if row.example:
        return [*lines, f"  {row.example}"]
    for inner in rows:
        if inner.file == row.file and _within(inner.path, row.path):
            words = textwrap.shorten(inner.words, 68, placeholder=" ...")
            lines.append(f"    {inner.path[-1]:<18} {words}")
    return lines


def _within(path: tuple[str, ...], table: tuple[str, ...]) -> bool:
    """Whether a path is that of a key of the table itself."""
    from firstthrow.sim.describe.explain import NAME

    return path[:-1] in (table, (*table, NAME))


def _listed(tables) -> list[str]:
    lines: list[str] = []
    before = ""
    for row in tables:
        if row.file != before:
            lines += [*([""] if lines else []), f"in {_article(row.file)} file"]
        before = row.file
        lines.append(f"  {row.place:<34} {textwrap.shorten(row.words, 60, placeholder=' ...')}")
    return lines


def _article(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"
