"""What the commands of `firstthrow` share: exit codes, words on standard error, options."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from textwrap import wrap
from threading import Event, Thread
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:  # the physics is set up only when it is asked for
    from firstthrow.sim.study.verdict import Ruling

DONE, FAILED, WRONG_INPUT, NO_GO = 0, 1, 2, 3


def say(text: str) -> None:
    """A sentence for the person, on standard error, so that standard output stays data."""
    from firstthrow.sim.describe.problems import plainly

    print(plainly(text), file=sys.stderr, flush=True)


class Parser(argparse.ArgumentParser):
    """argparse, whose words about what was typed are fit for a terminal, too."""

    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        say(f"{self.prog}: error: {message}")
        sys.exit(WRONG_INPUT)


def say_when_compiling() -> None:
    """Before the first flight of a command, where its physics has to be compiled first."""
    from firstthrow.sim.flight import compiling

    if not compiling.missing():
        return
    if compiling.CACHE:
        say("Preparing the physics for this machine, once...")
    else:
        say(
            "Preparing the physics; it cannot be kept for the next time, since there is no folder "
            "for it that is yours alone to write (FIRSTTHROW_CACHE can name one)..."
        )


@contextmanager
def at_work(what: str, after: float = 1.0) -> Iterator[None]:
    """While it lasts longer than `after` seconds: a line on standard error of what is done and
    for how long already, gone at the end. On a terminal only."""
    if not sys.stderr.isatty():
        yield
        return
    over = Event()

    def tell() -> None:
        if over.wait(after):
            return
        from tqdm import tqdm

        form = "{desc} ({elapsed})"
        with tqdm(desc=what, bar_format=form, file=sys.stderr, ascii=True, leave=False) as line:
            while not over.wait(after):
                line.refresh()

    teller = Thread(target=tell, daemon=True)
    teller.start()
    try:
        yield
    finally:
        over.set()
        teller.join()


def heading(ruling: Ruling | None, measure: str, where: str = "", width: int = 92) -> list[str]:
    """What heads a report: the verdict of the whole pre-flight (`where`: of what, when that is not
    plain), and what to measure next."""
    told = []
    verdict = ruling.sentence if ruling else ""
    if where and verdict:
        verdict = f"{verdict} ({where[:1].upper()}{where[1:]}.)"
    for name, words in (("verdict", verdict), ("measure", measure)):
        first, *rest = wrap(words, width - 17) or [""]
        told += [f"  {name:<14} {first}", *(f"{'':<17}{row}" for row in rest)] if words else []
    return told


def add_airframe(command: argparse.ArgumentParser, default: str | None = None) -> None:
    """The airframe, changes to it, and --json; without a default it has to be named."""
    words = "a file, or the name of one in configs/airframes"
    if default:
        command.add_argument(
            "airframe", metavar="AIRFRAME", nargs="?", default=default, help=f"{words} ({default})"
        )
    else:
        command.add_argument("airframe", metavar="AIRFRAME", help=words)
    command.add_argument(
        "--set",
        metavar="key=value",
        action="append",
        default=[],
        help='change a value for this run, such as items.pack.aft="95 mm"; may be repeated',
    )
    command.add_argument("--json", action="store_true", help="print the answer as JSON, in SI")


def field_apart(changes: list[str]) -> tuple[list[str], list[str]]:
    """Of what --set changes: the airframe's values, and the field's, which begin with `field.`"""
    own = [one for one in changes if not one.startswith("field.")]
    return own, [one.removeprefix("field.") for one in changes if one not in own]


def seed(text: str) -> int:
    """A seed for an option; argparse refuses anything else in these words."""
    if not (text.isascii() and text.isdecimal()) or int(text) >= 1 << 32:
        raise argparse.ArgumentTypeError(f"'{text}': wanted a whole number from 0 to 4294967295")
    return int(text)
