"""`firstthrow replay`: a recorded flight in the window, to be stopped, slowed and turned round."""

from __future__ import annotations

import argparse
import math
from pathlib import Path

from scenes.command import DONE, FAILED, say


def add(commands) -> None:
    """Adds the command's words to the command line."""
    replay = commands.add_parser(
        "replay", help="watch a recorded flight in the window",
        description="Watch a recorded flight again: scrub, stop, slow motion, all views.",
    )  # fmt: skip
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


def add_looks(command: argparse.ArgumentParser) -> None:
    """What concerns eyes and ears; `settings` reads it."""
    command.add_argument("--ghost", metavar="RECORD", help="another flight, drawn pale")
    command.add_argument(
        "--reduced-motion", action="store_true",
        help="no zoom, a slow chase view, a horizon held level on board",
    )  # fmt: skip
    command.add_argument(
        "--steady-horizon", action="store_true", help="hold the horizon level on board"
    )
    command.add_argument(
        "--fov", metavar="DEG", type=_degrees, help="vertical field of view, 25 to 90 degrees"
    )
    command.add_argument("--mute", action="store_true", help="without sound")


def seconds(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not abs(found) <= 3600.0:
        raise argparse.ArgumentTypeError(f"'{text}': wanted a number of seconds")
    return found


def _degrees(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not 25.0 <= found <= 90.0:
        raise argparse.ArgumentTypeError(f"'{text}': wanted 25 to 90 degrees")
    return math.radians(found)


def settings(chosen: argparse.Namespace, **more):
    """The window's settings. Raises RecordError for a ghost that is no record."""
    from scenes.settings import Settings

    return Settings(
        reduced_motion=chosen.reduced_motion, steady_horizon=chosen.steady_horizon,
        view_angle=chosen.fov, mute=chosen.mute,
        ghost=_ghost(chosen.ghost) if chosen.ghost else None, **more,
    )  # fmt: skip


def _ghost(name: str):
    from scenes.replay import Rows, described
    from scenes.track import earlier
    from sim.record import load

    path = Path(name)
    record = load(path)
    Rows(record)
    airframe, _, _ = described(record, path)
    return earlier(record, airframe, path.stem)


def load_replay(chosen: argparse.Namespace):
    """The replay of the record named, and its path; says what is not as it was."""
    from scenes.replay import Replay, described
    from sim.record import RecordError, load

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
    from scenes.command_fly import display_problem

    replay, path = load_replay(chosen)
    looks = settings(chosen)
    problem = display_problem()
    if problem:
        say(f"There is no display ({problem}): `firstthrow film {path}` makes a film without one.")
        return FAILED
    from scenes.replay_window import ReplayApp

    app = ReplayApp(replay, path, settings=looks)
    if chosen.start is not None:
        replay.seek(chosen.start)
    app.loop()
    return DONE
