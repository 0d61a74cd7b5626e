"""The command `firstthrow`: finds the command asked for, runs it, turns its errors into codes.

Exit codes: 0 done; 1 something failed; 2 the input is wrong; 3 the answer is no-go.
Answers go to standard output, everything else to standard error. Heavy modules are imported
inside the commands (command_*.py), so that --help comes at once.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from scenes import (
    command_benchsheet,
    command_check,
    command_debrief,
    command_directions,
    command_faults,
    command_film,
    command_fly,
    command_new,
    command_odds,
    command_polar,
    command_power,
    command_reconcile,
    command_replay,
    command_schema,
    command_sticks,
    command_surfaces,
    command_sweep,
    command_trim,
    command_weigh,
)
from scenes.command import DONE, FAILED, WRONG_INPUT, say


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command, returns its exit code; SystemExit when argparse refuses the line."""
    parser = _parser()
    chosen = parser.parse_args(arguments)
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
        place = f"{error.filename}: " if error.filename else ""
        say(f"firstthrow: {place}{error.strerror or error}")
        return FAILED
    except KeyboardInterrupt:
        say("firstthrow: stopped")
        return FAILED


def _input_errors() -> tuple[type[Exception], ...]:
    """Errors whose text tells the builder what to put right; imported when one is about."""
    from sim.config import ConfigError
    from sim.pilot import TimelineError
    from sim.record import RecordError
    from sim.strips import CannotFly

    return (ConfigError, TimelineError, RecordError, CannotFly)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="firstthrow",
        description="Rehearse the first flight of a flat-foam radio-control airframe.",
        epilog="Exit codes: 0 done, 1 something failed, 2 the input is wrong, 3 no-go.",
    )
    parser.set_defaults(command=None)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    command_fly.add(commands)
    command_weigh.add(commands)
    command_sweep.add(commands)
    command_trim.add(commands)
    command_debrief.add(commands)
    command_reconcile.add(commands)
    command_replay.add(commands)
    command_film.add(commands)
    command_polar.add(commands)
    command_power.add(commands)
    command_sticks.add(commands)
    command_surfaces.add(commands)
    command_directions.add(commands)
    command_faults.add(commands)
    command_odds.add(commands)
    command_check.add(commands)
    command_benchsheet.add(commands)
    command_new.add(commands)
    command_schema.add(commands)
    return parser


if __name__ == "__main__":
    sys.exit(main())
