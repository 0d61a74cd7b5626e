"""Options about eyes and ears that the commands with a window share."""

from __future__ import annotations

import argparse
import math
from pathlib import Path

from firstthrow.sim.units import HOUR

LEAST_ANGLE, MOST_ANGLE = 25.0, 90.0  # vertical field of view [deg]


def add_looks(command: argparse.ArgumentParser) -> None:
    """What concerns eyes and ears; `settings` reads it."""
    command.add_argument("--tracing", metavar="RECORD", help="another flight, drawn pale")
    # as it was called before
    command.add_argument("--ghost", dest="tracing", help=argparse.SUPPRESS)
    command.add_argument(
        "--reduced-motion",
        action="store_true",
        help="no zoom, a slow towed view, a horizon held level when riding",
    )
    command.add_argument(
        "--steady-horizon", action="store_true", help="hold the horizon level when riding"
    )
    command.add_argument(
        "--fov", metavar="DEG", type=_degrees, help="vertical field of view, 25 to 90 degrees"
    )
    command.add_argument("--mute", action="store_true", help="without sound")
    command.add_argument(
        "--speech", action="store_true", help="spoken words: height, stall, low pack"
    )


def lesson(text: str) -> str:
    """The name of a flying lesson."""
    from firstthrow.sim.learn.school.lessons import BY_NAME

    if text not in BY_NAME:
        raise argparse.ArgumentTypeError(f"'{text}': wanted one of {', '.join(BY_NAME)}")
    return text


def lasting(text: str) -> float:
    """How long something goes on [s]."""
    try:
        found = float(text)
    except ValueError:
        found = 0.0
    if not 0.0 < found <= HOUR:
        raise argparse.ArgumentTypeError(f"'{text}': wanted more than 0 and at most 3600 seconds")
    return found


def seconds(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not abs(found) <= HOUR:
        raise argparse.ArgumentTypeError(f"'{text}': wanted a number of seconds")
    return found


def _degrees(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not LEAST_ANGLE <= found <= MOST_ANGLE:
        raise argparse.ArgumentTypeError(
            f"'{text}': wanted {LEAST_ANGLE:.0f} to {MOST_ANGLE:.0f} degrees"
        )
    return math.radians(found)


def settings(chosen: argparse.Namespace, **more):
    """The window's settings. Raises RecordError for a tracing that is no record."""
    from firstthrow.scenes.flight.settings import Settings
    from firstthrow.scenes.hands.preferences import Preferences

    kept = more.get("preferences") or Preferences()
    return Settings(
        reduced_motion=chosen.reduced_motion or kept.reduced_motion,
        steady_horizon=chosen.steady_horizon,
        view_angle=chosen.fov,
        mute=chosen.mute or kept.mute,
        speech=chosen.speech or kept.speech,
        tracing=None if chosen.tracing is None else _tracing(chosen.tracing),
        **more,
    )


def _tracing(name: str):
    from firstthrow.scenes.flight.replay import Rows, described
    from firstthrow.scenes.flight.track import earlier
    from firstthrow.sim.flight.record import load

    path = Path(name)
    record = load(path)
    Rows(record)
    airframe, _, _ = described(record, path)
    return earlier(record, airframe, path.stem)
