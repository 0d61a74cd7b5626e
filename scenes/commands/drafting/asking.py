"""Answers to the questions of `firstthrow new`: from options, a person, a pipe, or as offered."""

from __future__ import annotations

import argparse
import sys

from firstthrow.scenes.commands.shared import say


class Asker:
    """Answers from options, else from the person or a pipe, else the default; problems gathered.

    A pipe has a line for each question, an empty one for what is offered; what was taken is said.
    """

    def __init__(self, chosen: argparse.Namespace) -> None:
        self.chosen = chosen
        self.asks = not chosen.defaults and sys.stdin is not None
        self.piped = self.asks and not sys.stdin.isatty()
        self.problems: list[str] = []

    def answer(self, key: str, question: str, default: str, read):
        """`read` turns text into a value and raises ValueError with a sentence."""
        given = getattr(self.chosen, key)
        if given is not None:
            return self._read(given, default, read, f"--{key.replace('_', '-')}")
        if self.piped:
            line = sys.stdin.readline().strip()
            say(f"{question} {line}" if line else f"{question} {default} (as offered)")
            return self._read(line or default, default, read, f"the answer to '{question}'")
        while self.asks:
            print(f"{question} [{default}] ", end="", file=sys.stderr, flush=True)
            try:
                return read(sys.stdin.readline().strip() or default)
            except ValueError as error:
                say(f"  {error}")
        return read(default)

    def _read(self, text: str, default: str, read, place: str):
        try:
            return read(text)
        except ValueError as error:
            self.problems.append(f"{place}: {error}")
            return read(default)

    def finish(self) -> None:
        """After the last question: a pipe that says more has answered other questions."""
        left = sys.stdin.read().strip() if self.piped else ""
        if left:
            self.problems.append(f"{left.splitlines()[0]!r}: an answer to no question")
