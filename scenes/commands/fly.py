"""`firstthrow fly`: in the window or without one; every flight recorded, the last debriefed."""

from __future__ import annotations

import argparse
import contextlib
import json
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from firstthrow.scenes.commands.debrief import (
    finding_lines,
    flight_in_short,
    lesson_lines,
    own_hands_lines,
    reason_lines,
    write_page,
)
from firstthrow.scenes.commands.output import TABLES, add_force, problems, taken
from firstthrow.scenes.commands.shared import (
    DONE,
    FAILED,
    add_airframe,
    field_apart,
    say,
    say_when_compiling,
    seed,
)
from firstthrow.scenes.commands.showing.hands import fitting
from firstthrow.scenes.commands.showing.sight import first_sight, key_of, seen_before
from firstthrow.scenes.commands.view_options import add_looks, lasting, lesson, settings

if TYPE_CHECKING:
    from firstthrow.scenes.flight.settings import Settings
    from firstthrow.scenes.hands.hands import Hands
    from firstthrow.scenes.window.early import Early
    from firstthrow.sim.describe.airframe import Airframe
    from firstthrow.sim.describe.field import Field
    from firstthrow.sim.flight.record import Recorder

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
    add("--seconds", metavar="S", type=lasting, help="end the flight after S seconds")
    add("--seed", metavar="N", type=seed, default=0, help="of the gusts (0)")
    add("--record", metavar="FILE", help="CSV file to write (flights/<airframe>-<date>-<time>.csv)")
    add_force(fly)
    add("--no-window", action="store_true", help="fly as fast as it computes, draw nothing")
    add("--countdown", action="store_true", help="the throw comes after a count of three")
    add("--scatter", metavar="FILE", help="no throw like the other: spreads, such as arm")
    add("--drill", action="store_true", help="begin with the launch drill")
    add("--lesson", metavar="NAME", type=lesson, help="a flying lesson: first-ten to fault")
    add(
        "--practice",
        action="store_true",
        help="the copy that fits your hands (firstthrow hands, with the same --field and --set)",
    )
    add_looks(fly)


class _Asked(NamedTuple):
    """What a run was asked for, read and checked."""

    airframe: Airframe
    field: Field
    changed: list[str]  # of the airframe, by --set
    flown: tuple[Airframe, Field]  # with the fault asked for
    hands: Hands
    looks: Settings
    pilot: Callable | None  # None leaves the sticks to the window


@contextlib.contextmanager
def _killed_as_by_ctrl_c() -> Iterator[None]:
    """A polite kill is taken for a Ctrl-C."""
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


@_killed_as_by_ctrl_c()
def run(chosen: argparse.Namespace) -> int:
    """Flies in the window, or without one; records, then debriefs the last flight."""
    key = key_of(chosen)
    early = seen_before(key)
    with contextlib.ExitStack() as at_last:
        if early:
            at_last.callback(early.close)
        asked = early.during(lambda: _asked(chosen)) if early else _asked(chosen)
        if early and early.left:
            return _tell_flight([], chosen.json, {})
        if key is not None and key_of(chosen) != key:  # a file was written to meanwhile
            key = None
            if early:
                early.close()
                early = None
        chosen.set = asked.changed
        windowed, who = bool(early), chosen.pilot or "thumbs"
        if not early:
            windowed, early = first_sight(chosen, key, asked.airframe, asked.field, asked.looks)
            if early:
                at_last.callback(early.close)
        if not windowed:
            _check_unseen(chosen)
            if asked.pilot is None:
                who = "steady"
                steady = _pilot(who, *asked.flown, chosen.launch, chosen.seed)
                asked = asked._replace(pilot=steady)
        records = _Records(chosen, asked.airframe, asked.field, who)
        say_when_compiling()
        try:
            with _stopping_cleanly():
                if windowed:
                    _fly_in_window(chosen, asked, records, early)
                else:
                    _fly_unseen(chosen, *asked.flown, asked.pilot, records)
        finally:
            records.close()
    return _tell_flight(records.paths, chosen.json, records.causes)


def _asked(chosen: argparse.Namespace) -> _Asked:
    """Raises ConfigError, TimelineError, RecordError, CannotFly: all before a record is begun."""
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.hands.preferences import kept
    from firstthrow.sim.build.strips import cut
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field

    of_airframe, of_field = field_apart(chosen.set)
    airframe = load_airframe(find("airframes", chosen.airframe), of_airframe)
    field = load_field(find("fields", chosen.field), of_field)
    if chosen.practice:
        airframe, field = fitting(airframe, field)
    hands = load_hands(chosen.hands)
    _check_launch(airframe, chosen.launch)
    cut(airframe)  # more sheets than can fly are refused
    if chosen.fault and chosen.lesson:
        raise ConfigError(["--fault with --lesson: a lesson sets a fault of its own, or none"])
    flown = _with_fault(chosen.fault, airframe, field)
    looks = settings(
        chosen,
        countdown=chosen.countdown,
        scatter=_scatter(chosen.scatter),
        drill=chosen.drill,
        lesson=chosen.lesson,
        airframe_file=find("airframes", chosen.airframe),
        preferences=kept(),
    )
    if chosen.record is not None:
        _check_record(Path(chosen.record), chosen.force)
    who = chosen.pilot or "thumbs"
    pilot = _pilot(who, flown[0], flown[1], chosen.launch, chosen.seed)
    return _Asked(airframe, field, of_airframe, flown, hands, looks, pilot)


def _check_unseen(chosen: argparse.Namespace) -> None:
    """What is for the window changes nothing without one. Raises ConfigError where none is
    wanted, and says so where there is none."""
    from firstthrow.sim.describe.config import ConfigError

    names = ("scatter", "drill", "countdown", "lesson")
    asked = [f"--{name}" for name in names if getattr(chosen, name)]
    words = f"{' and '.join(asked)}: for the window only"
    if asked and chosen.no_window:
        raise ConfigError([f"{words}, wanted without --no-window"])
    if asked:
        say(f"{words}; the throw is the planned one.")


def _fly_in_window(
    chosen: argparse.Namespace, asked: _Asked, records: _Records, early: Early | None
) -> None:
    from firstthrow.scenes.flight.relief import Relief

    airframe, field, pilot = asked.airframe, asked.field, asked.pilot
    if early:
        early.during(_load_window)
    _run_window(
        airframe,
        field,
        asked.hands,
        pilot=pilot,
        launch=chosen.launch,
        seed=chosen.seed,
        record_factory=records.start,
        seconds=chosen.seconds,
        fault=chosen.fault or "",
        relief=None if pilot else Relief(airframe, field, chosen.launch, chosen.seed),
        settings=asked.looks,
        causes=records.causes,
        early=early,
    )


def _load_window() -> None:
    from firstthrow.scenes.window import run  # noqa: F401 most of what a window needs


def _run_window(*what, **how) -> list:
    from firstthrow.scenes.window.run import run

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
        launch = chosen.launch or airframe.launch.kind
        self.meta = flight_meta(
            field, overrides=chosen.set, seed=chosen.seed, launch=launch, pilot=pilot
        )
        # so that a replay finds what was flown wherever it is started from
        self.meta["airframe_file"] = str(find("airframes", chosen.airframe).resolve())
        self.meta["field_file"] = str(find("fields", chosen.field).resolve())
        self.recorders: list[Recorder] = []
        self.causes: dict = {}  # by path, those that the window has found

    @property
    def paths(self) -> list[Path]:
        return [recorder.path for recorder in self.recorders]

    def start(self, airframe=None, fault: str | None = None, field=None, **told):
        """The recorder of the next flight, of what the window has changed since the start: the
        airframe, with a fault when one is told, the field; raises OSError or RecordError."""
        from firstthrow.sim.flight.record import field_meta

        card = {"fault": fault, "described_si": self.airframe.model_dump(mode="json")}
        meta = {**self.meta, **(card if fault else {}), **told}
        if field is not None:
            meta.update(field_meta(field))
        self.recorders.append(self._recorder(airframe or self.airframe, meta))
        return self.recorders[-1]

    def _recorder(self, airframe, meta: dict) -> Recorder:
        """The file named, for the first flight; a numbered one for the others, and without a
        name."""
        from firstthrow.sim.flight.record import Recorder, default_path, unused

        named = self.chosen.record
        if named and not self.recorders:
            return Recorder(named, airframe, meta, over=self.chosen.force)
        while True:
            path = unused(Path(named)) if named else default_path(self.airframe.name)
            try:
                return Recorder(path, airframe, meta)
            except FileExistsError:  # another program has just begun a flight of that name
                continue

    def close(self) -> None:
        """Flights that nobody ended were stopped, by a key, a signal or the window's closing."""
        from firstthrow.sim.flight.outcome import Ending, Outcome

        for recorder in self.recorders:
            recorder.close(Outcome(Ending.STOPPED, "The flight was stopped before it ended."))


def _check_record(path: Path, force: bool) -> None:
    """Said before anything flies. Raises RecordError for a place that cannot take a record."""
    from firstthrow.sim.flight.record import RecordError, companions

    wrong = problems("--record", str(path) if path.name else "", TABLES, force)
    for one in [] if wrong else companions(path)[1:]:  # what goes beside the record
        wrong = wrong or [f"--record {path}: {told}" for told in taken(one, force)]
    if wrong:
        raise RecordError(wrong[0])
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
    if who == "thumbs":
        return None
    from firstthrow.sim.flight.named_pilot import named
    from firstthrow.sim.flight.stick_timeline import TimelineError

    try:
        return named(who, airframe, field, launch, seed)
    except ValueError as error:
        raise TimelineError([f"--pilot {error}; or thumbs, in the window"]) from None


@contextlib.contextmanager
def _stopping_cleanly() -> Iterator[None]:
    """Ctrl-C ends the flight, not the program: the record gets closed."""
    try:
        yield
    except KeyboardInterrupt:
        say("Stopped.")


def _tell_flight(paths: list[Path], as_json: bool, causes: dict) -> int:
    """Prints the flights that left the hand, if any did: the earlier ones in short, the last with
    its debrief and plot page. `causes`: those that are known, by path."""
    from firstthrow.sim.flight.flown import Summary, summary
    from firstthrow.sim.flight.outcome import Ending, Outcome
    from firstthrow.sim.flight.record import load

    if not paths:
        say("Nothing was flown.")
        if as_json:
            _print_json(Outcome(Ending.STOPPED, "Nothing was flown."), Summary(), None)
        return DONE
    loaded = [(path, load(path)) for path in paths]
    flown = [pair for pair in loaded if summary(pair[1]).flight_time_s > 0.0]
    path, record = (flown or loaded)[-1]
    outcome, numbers = record.outcome, summary(record)
    assert outcome is not None, "the record was closed"
    if as_json:
        _print_json(outcome, numbers, str(path))
    else:
        figures = ", ".join(numbers.words(record.units))
        earlier = [line for one in flown[:-1] for line in flight_in_short(*one, causes)]
        why = reason_lines(path, record, causes)
        told = [*earlier, *lesson_lines(record), *why, *finding_lines(record)]
        told += [*own_hands_lines(record), figures]
        print("\n".join([*told, f"Record: {path}"]))
    if flown:
        write_page(record, path.with_suffix(".png"))
    return FAILED if outcome.word is Ending.DIVERGED else DONE


def _print_json(outcome, numbers, record: str | None) -> None:
    told = {"outcome": outcome.word, "outcome_text": outcome.text}
    print(json.dumps({**told, **numbers.as_json(), "record": record}, indent=1))
