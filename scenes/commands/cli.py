"""The command `firstthrow`: finds the command asked for, runs it, turns its errors into codes.

Exit codes: 0 done; 1 something failed; 2 the input is wrong; 3 the answer is no-go.
Answers go to standard output, everything else to standard error. Heavy modules are imported
inside the commands (command_*.py), so that --help comes at once.
"""

from __future__ import annotations

import argparse
import gc
import io
import os
import sys
from collections.abc import Sequence

from firstthrow.scenes.commands import (
    benchsheet,
    check,
    debrief,
    directions,
    explain,
    faults,
    film,
    fly,
    new,
    odds,
    plan,
    polar,
    power,
    reconcile,
    replay,
    schema,
    sticks,
    surfaces,
    sweep,
    trim,
    weigh,
)
from firstthrow.scenes.commands.shared import DONE, FAILED, WRONG_INPUT, Parser, say
from firstthrow.scenes.commands.showing import evening, guide, hands, proof
from firstthrow.sim.describe.replace import trouble

# New objects between two looks for rings among them: what a command loads stays, and looking it
# through as often as usual took 60 ms of every answer. A window has it usual again.
SELDOM = 100_000
# In the order of the help; each file has the name of its command.
EVERY = (
    fly,
    weigh,
    sweep,
    trim,
    debrief,
    reconcile,
    replay,
    film,
    polar,
    power,
    sticks,
    surfaces,
    directions,
    faults,
    odds,
    hands,
    evening,
    check,
    benchsheet,
    plan,
    new,
    schema,
    explain,
    proof,
    guide,
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command, returns its exit code; SystemExit when argparse refuses the line."""
    gc.set_threshold(SELDOM)
    _replace_what_cannot_be_encoded()
    words = sys.argv[1:] if arguments is None else arguments
    parser = _parser(words[0] if words else "")
    chosen = parser.parse_args(words)
    if chosen.command is None:
        parser.print_help(sys.stderr)
        return WRONG_INPUT
    try:
        return chosen.command(chosen)
    except _input_errors() as error:
        say(str(error))
        return WRONG_INPUT
    except BrokenPipeError:  # whoever read the answer has read enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as error:
        say(f"firstthrow: {trouble(error)}")
        return FAILED
    except KeyboardInterrupt:
        say("firstthrow: stopped")
        return FAILED


def _replace_what_cannot_be_encoded() -> None:
    """A terminal or a file of few letters gets a question mark for what it has not."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and stream.errors in ("strict", "surrogateescape"):
            stream.reconfigure(errors="replace")


def _input_errors() -> tuple[type[Exception], ...]:
    """Errors whose text tells the builder what to put right; imported when one is about."""
    from firstthrow.sim.build.strips import CannotFly
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.flight.record import RecordError
    from firstthrow.sim.flight.stick_timeline import TimelineError

    return (ConfigError, TimelineError, RecordError, CannotFly)


class Version(argparse.Action):
    """Says the version of the installed program; of a checkout that is not installed, so."""

    def __call__(self, parser, namespace, values, option_string=None) -> None:
        from importlib.metadata import PackageNotFoundError, version

        try:
            print(f"firstthrow {version('firstthrow')}")
        except PackageNotFoundError:
            print("firstthrow, not installed: run from its sources")
        parser.exit(DONE)


def _parser(asked: str = "") -> argparse.ArgumentParser:
    """Of all commands, or where one is `asked` for, of that alone: it is made in no time."""
    parser = Parser(
        prog="firstthrow",
        description="Rehearse the first flight of a flat-foam radio-control airframe.",
        epilog="Exit codes: 0 done, 1 something failed, 2 the input is wrong, 3 no-go.",
    )
    parser.set_defaults(command=None)
    parser.add_argument("--version", action=Version, nargs=0, help="say which version this is")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    known = [one for one in EVERY if one.__name__.endswith(f".{asked}")] or EVERY
    for one in known:
        one.add(commands, *([main] if one is guide else []))
    return parser


if __name__ == "__main__":
    sys.exit(main())
