"""`firstthrow replay`: a recorded flight in the window, to be stopped, slowed and turned round."""

from __future__ import annotations

import argparse
from pathlib import Path

from firstthrow.scenes.commands.shared import DONE, FAILED, say
from firstthrow.scenes.commands.view_options import add_looks, seconds, settings


def add(commands) -> None:
    """Adds the command's words to the command line."""
    replay = commands.add_parser(
        "replay",
        help="watch a recorded flight in the window",
        description="Watch a recorded flight again: scrub, stop, slow motion, all views.",
    )
    replay.set_defaults(command=run)
    add_record(replay)
    add_looks(replay)
    replay.add_argument(
        "--from", dest="start", metavar="S", type=seconds, help="start at S seconds"
    )


def add_record(command: argparse.ArgumentParser) -> None:
    command.add_argument("record", metavar="RECORD", help="the CSV file of a flight")
    command.add_argument(
        "--airframe", metavar="FILE", help="what was flown (as the record's sidecar says)"
    )
    command.add_argument("--field", metavar="FILE", help="where (as the sidecar says)")


def load_replay(chosen: argparse.Namespace):
    """The replay of the record named, and its path; says what is not as it was."""
    from firstthrow.scenes.flight.replay import Replay, described
    from firstthrow.sim.flight.record import RecordError, load

    path = Path(chosen.record)
    record = load(path)
    airframe, field, note = described(record, path, chosen.airframe, chosen.field)
    if note:
        say(note)
    try:
        return Replay(record, airframe, field), path
    except RecordError as error:
        raise RecordError(f"{path}: {error}") from None


def run(chosen: argparse.Namespace) -> int:
    """Opens the window on a record until the person leaves."""
    from firstthrow.scenes.commands.showing.sight import display_problem, no_window
    from firstthrow.scenes.hands.preferences import kept

    replay, path = load_replay(chosen)
    looks = settings(chosen, preferences=kept())
    problem = display_problem()
    if problem:
        say(f"{no_window(problem)}: `firstthrow film {path}` makes a film without one.")
        return FAILED
    from firstthrow.scenes.window.replay_window import ReplayApp

    app = ReplayApp(replay, path, settings=looks)
    if chosen.start is not None:
        replay.seek(chosen.start)
    app.loop()
    return DONE
