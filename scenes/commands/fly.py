"""`firstthrow fly`: in the window or without one; every flight recorded, the last debriefed."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

from firstthrow.scenes.commands.debrief import print_findings, write_page
from firstthrow.scenes.commands.shared import DONE, FAILED, add_airframe, say, seed
from firstthrow.scenes.commands.view_options import add_looks, settings

SECONDS = 120.0  # a flight without a window is over by then


def add(commands) -> None:
    """Adds the command's words to the command line."""
    fly = commands.add_parser(
        "fly", help="fly it in the window", description="Fly an airframe, record and debrief it."
    )
    fly.set_defaults(command=run)
    add_airframe(fly, "pantry")
    add = fly.add_argument
    add("--field", metavar="FILE", default="water-meadow", help="where to fly (water-meadow)")
    add("--hands", metavar="FILE", default="keyboard", help="keys and gamepad (keyboard)")
    add("--launch", choices=("hand", "ground"), help="how it starts (the airframe's own way)")
    add(
        "--pilot",
        metavar="thumbs|hands-off|steady|human|FILE",
        help="who flies: you, nobody, a script, simulated hands (human:beginner, human:club, "
        "human:expert), or a stick timeline in CSV (thumbs)",
    )
    add("--fault", metavar="NAME", help="with something wrong; `firstthrow faults` lists what")
    add("--seconds", metavar="S", type=_seconds, help="end the flight after S seconds")
    add("--seed", metavar="N", type=seed, default=0, help="of the gusts (0)")
    add("--record", metavar="FILE", help="CSV file to write (flights/<airframe>-<date>-<time>.csv)")
    add("--no-window", action="store_true", help="fly as fast as it computes, draw nothing")
    add("--countdown", action="store_true", help="the throw comes after a count of three")
    add("--scatter", metavar="FILE", help="no throw like the other: spreads, such as arm")
    add("--drill", action="store_true", help="begin with the launch drill")
    add_looks(fly)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0.0 < seconds <= 3600.0:
        raise argparse.ArgumentTypeError(f"'{text}': wanted more than 0 and at most 3600 seconds")
    return seconds


def run(chosen: argparse.Namespace) -> int:
    """Flies in the window, or without one; records, then debriefs the last flight."""
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.sim.build.strips import cut
    from firstthrow.sim.describe.config import find, load_airframe, load_field

    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    field = load_field(find("fields", chosen.field))
    hands = load_hands(chosen.hands)
    _check_launch(airframe, chosen.launch)
    cut(airframe)  # more sheets than can fly are refused before a record is begun
    flown, flown_field = _with_fault(chosen.fault, airframe, field)
    looks = settings(
        chosen,
        countdown=chosen.countdown,
        scatter=_scatter(chosen.scatter),
        drill=chosen.drill,
        airframe_file=find("airframes", chosen.airframe),
    )
    windowed = _has_window(chosen)
    if not windowed:
        _check_unseen(chosen)
    who = chosen.pilot or "thumbs"
    if who == "thumbs" and not windowed:
        who = "steady"
    pilot = _pilot(who, flown, flown_field, chosen.launch, chosen.seed)
    records = _Records(chosen, airframe, field, who)
    _say_when_compiling()
    try:
        with _stopping_cleanly():
            if windowed:
                _fly_in_window(chosen, airframe, field, hands, pilot, records, looks)
            else:
                _fly_unseen(chosen, flown, flown_field, pilot, records)
    finally:
        records.close()
    return _tell_flight(records.paths, chosen.json)


def _check_unseen(chosen: argparse.Namespace) -> None:
    """What is for the window changes nothing without one. Raises ConfigError where none is
    wanted, and says so where there is none."""
    from firstthrow.sim.describe.config import ConfigError

    asked = [f"--{name}" for name in ("scatter", "drill", "countdown") if getattr(chosen, name)]
    words = f"{' and '.join(asked)}: for the window only"
    if asked and chosen.no_window:
        raise ConfigError([f"{words}, wanted without --no-window"])
    if asked:
        say(f"{words}; the throw is the planned one.")


def _fly_in_window(chosen, airframe, field, hands, pilot, records: _Records, looks) -> None:
    from firstthrow.sim.flight.pilot import Human

    relief = Human(airframe, field, launch=chosen.launch, seed=chosen.seed) if not pilot else None
    _run_window(
        airframe,
        field,
        hands,
        pilot=pilot,
        launch=chosen.launch,
        seed=chosen.seed,
        record_factory=records.start,
        seconds=chosen.seconds,
        fault=chosen.fault or "",
        relief=relief,
        settings=looks,
    )


def _run_window(*what, **how) -> list:
    from firstthrow.scenes.window.window import run

    return run(*what, **how)


def _fly_unseen(chosen, airframe, field, pilot, records: _Records) -> None:
    from firstthrow.sim.flight.flight import fly

    recorder = records.start(airframe, chosen.fault)
    flight = fly(
        airframe,
        field,
        pilot,
        chosen.seconds or SECONDS,
        launch=chosen.launch,
        seed=chosen.seed,
        record=recorder,
    )
    recorder.close(flight.outcome)


class _Records:
    """The records of one run of `fly`: one for each flight, the later ones numbered."""

    def __init__(self, chosen, airframe, field, pilot: str):
        from firstthrow.sim.describe.config import find
        from firstthrow.sim.flight.record import flight_meta

        self.chosen, self.airframe = chosen, airframe
        if chosen.record:
            _check_record(Path(chosen.record))
        launch = chosen.launch or airframe.launch.kind
        self.meta = flight_meta(
            field, overrides=chosen.set, seed=chosen.seed, launch=launch, pilot=pilot
        )
        # so that a replay finds what was flown wherever it is started from
        self.meta["airframe_file"] = str(find("airframes", chosen.airframe).resolve())
        self.meta["field_file"] = str(find("fields", chosen.field).resolve())
        self.recorders = []

    @property
    def paths(self) -> list[Path]:
        return [recorder.path for recorder in self.recorders]

    def start(self, airframe=None, fault: str | None = None, field=None, **told):
        """The recorder of the next flight, of what the window has changed since the start: the
        airframe, with a fault when one is told, the field; raises OSError or RecordError."""
        from firstthrow.sim.flight.record import Recorder, default_path, field_meta, unused

        path = default_path(self.airframe.name)
        if self.chosen.record:
            path = Path(self.chosen.record)
            path = unused(path) if self.recorders else path
        meta = {**self.meta, **({"fault": fault} if fault else {}), **told}
        if field is not None:
            meta.update(field_meta(field))
        self.recorders.append(Recorder(path, airframe or self.airframe, meta))
        return self.recorders[-1]

    def close(self) -> None:
        """Flights that nobody ended were stopped, by a key, a signal or the window's closing."""
        for recorder in self.recorders:
            recorder.close(("stopped", "The flight was stopped before it ended."))


def _check_record(path: Path) -> None:
    """Said before anything flies. Raises RecordError for a place that cannot take a record."""
    from firstthrow.sim.flight.record import RecordError

    if path.suffix.lower() != ".csv":
        raise RecordError(f"--record {path}: wanted a name that ends in .csv")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = error.strerror or error
        raise RecordError(f"--record {path}: its folder cannot be made: {why}") from None


def _scatter(name: str | None):
    """The thrower's spreads of a file, None without one. Raises ConfigError."""
    if not name:
        return None
    from firstthrow.sim.describe.config import find, load
    from firstthrow.sim.study.odds.scatter import Scatter

    return load(Scatter, find("scatter", name))


def _with_fault(name: str | None, airframe, field) -> tuple:
    """Both with the fault asked for. Raises ConfigError for a name that is none."""
    if not name:
        return airframe, field
    from firstthrow.sim.study.faults import FAULTS, apply

    changed = apply(name, airframe, field)
    say(f"Fault card, {name}: {FAULTS[name].line}.")
    return changed


def _check_launch(airframe, launch: str | None) -> None:
    from firstthrow.sim.describe.config import ConfigError

    if launch and getattr(airframe.launch, launch) is None:
        raise ConfigError([f"--launch {launch}: {airframe.name} has no [launch.{launch}]"])


def _pilot(who: str, airframe, field, launch: str | None, seed: int):
    """The pilot of that name or file; None leaves the sticks to the window."""
    from firstthrow.sim.flight import pilot

    if who == "thumbs":
        return None
    if who == "hands-off":
        return pilot.hands_off(pilot.launch_throttle(airframe, launch))
    if who == "steady":
        return pilot.Steady()
    if who.partition(":")[0] == "human" and not Path(who).exists():
        try:
            return pilot.Human(airframe, field, pilot.skill_of(who), launch, seed)
        except ValueError as error:
            raise pilot.TimelineError([f"--pilot {error}"]) from None
    if not Path(who).exists():
        raise pilot.TimelineError(
            [f"--pilot {who}: no such file; wanted thumbs, hands-off, steady, human or a CSV file"]
        )
    return pilot.timeline(who)


def _has_window(chosen) -> bool:
    """Whether to open a window; says so when there is no display to open it on."""
    if chosen.no_window:
        return False
    problem = display_problem()
    if problem:
        who = "the steady pilot" if chosen.pilot in (None, "thumbs") else f"'{chosen.pilot}'"
        say(f"There is no display ({problem}): {who} flies without a window.")
    return not problem


def display_problem() -> str:
    """Why no window with OpenGL 3.3 can be opened, found by opening one unseen; empty if it can."""
    display = os.environ.get("DISPLAY")
    if sys.platform.startswith("linux") and not display:
        return "DISPLAY is not set"
    try:
        import pyglet
        from pyglet.display import get_display

        get_display()
    except Exception:
        return f"nothing answers at {display}" if display else "the system offers none"
    try:
        config = pyglet.gl.Config(major_version=3, minor_version=3, forward_compatible=True)
        pyglet.window.Window(16, 16, visible=False, config=config).close()
    except Exception as error:  # each system and driver has its own
        return f"no OpenGL 3.3: {str(error).strip() or type(error).__name__}"
    return ""


def _say_when_compiling() -> None:
    from firstthrow.sim.kernels.compiled import cache_is_cold

    if cache_is_cold():
        say("Preparing the physics for this machine, once...")


@contextlib.contextmanager
def _stopping_cleanly() -> Iterator[None]:
    """Ctrl-C and a polite kill end the flight, not the program: the record gets closed."""

    def stop(number, frame):
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    except KeyboardInterrupt:
        say("Stopped.")
    finally:
        signal.signal(signal.SIGTERM, before)


def _tell_flight(paths: list[Path], as_json: bool) -> int:
    """Prints the last flight that left the hand, with its debrief and plot page."""
    from firstthrow.sim.flight.flown import summary
    from firstthrow.sim.flight.record import load

    if not paths:
        return _tell_nothing(as_json)
    loaded = [(path, load(path)) for path in paths]
    flown = [pair for pair in loaded if summary(pair[1])["flight_time_s"] > 0.0]
    path, record = (flown or loaded)[-1]
    outcome = record.meta["outcome"]
    numbers = summary(record)
    if as_json:
        _print_json(outcome["word"], outcome["text"], numbers, str(path))
    else:
        print_findings(record)
        print(
            f"{numbers['flight_time_s']:.1f} s of flight, {numbers['distance_m']:.0f} m of track, "
            f"{numbers['max_height_m']:.1f} m highest, "
            f"{numbers['min_airspeed_m_s']:.1f} m/s slowest, "
            f"{numbers['max_load_factor']:.1f} g most, {numbers['pack_used_mAh']:.0f} mAh used"
        )
        print(f"Record: {path}")
    if flown:
        write_page(record, path.with_suffix(".png"))
    for earlier, _ in flown[:-1]:
        say(f"Earlier flight: firstthrow debrief {earlier}")
    return FAILED if outcome["word"] == "diverged" else DONE


def _tell_nothing(as_json: bool) -> int:
    """The window was closed before anything left the hand."""
    from firstthrow.sim.flight.flown import NOTHING

    say("Nothing was flown.")
    if as_json:
        _print_json("stopped", "Nothing was flown.", NOTHING, None)
    return DONE


def _print_json(word: str, text: str, numbers: dict, record: str | None) -> None:
    answer = {"outcome": word, "outcome_text": text, **numbers, "record": record}
    print(json.dumps(answer, indent=1))
