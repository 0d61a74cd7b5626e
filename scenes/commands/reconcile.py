"""`firstthrow reconcile`: what a real flight says about the airframe's file, and its change."""

from __future__ import annotations

import argparse
import json
import re
from datetime import date
from pathlib import Path

from firstthrow.scenes.commands.shared import DONE, add_airframe, at_work, say


def add(commands) -> None:
    """Adds the command's words to the command line."""
    reconcile = commands.add_parser(
        "reconcile",
        help="fit the airframe's file to what was seen in real flight",
        description="Fit what is uncertain about an airframe (balance, reflex, thrust line, "
        "propeller, drag, and the wind of a log) to notes of real flights; say how sure that is "
        "and what cannot be told apart; show the change of the file, and make it with --write.",
    )
    reconcile.set_defaults(command=run)
    add_airframe(reconcile)
    add = reconcile.add_argument
    add("--notes", metavar="FILE", required=True, help="what was seen, a TOML file")
    add("--log", metavar="FILE", help="a log of the flight: GPX, IGC, NMEA or CSV")
    add("--write", action="store_true", help="change the airframe's file, keep a backup beside it")
    add("--copy", metavar="FILE", help="write the changed airframe into a file of its own instead")
    add("--template", action=Template, nargs=0, help="print notes to fill in, and stop")


def run(chosen: argparse.Namespace) -> int:
    """Prints the fit as text or JSON, and the change as a diff or made."""
    from firstthrow.sim.describe.config import ConfigError, find, load, load_airframe
    from firstthrow.sim.describe.notes import Notes, notes_problems

    path = find("airframes", chosen.airframe)
    airframe = load_airframe(path, chosen.set)
    if chosen.write and chosen.set:
        raise ConfigError(["--write: not with --set, which is not in the file"])
    _may_write(chosen, path)
    notes = load(Notes, chosen.notes, agreement=notes_problems)
    notes, winds = _with_log(notes, chosen.log)
    from firstthrow.sim.learn import lessons
    from firstthrow.sim.learn.next_note import most_telling
    from firstthrow.sim.learn.reconcile import Problem

    try:
        problem = Problem(airframe, notes)
        if not problem.expectation.seen:
            raise ConfigError(
                [
                    f"{chosen.notes}: holds no figure to fit: say a trim, a current, "
                    "a sink, a dive or a launch"
                ]
            )
        with at_work(f"Fitting {airframe.name} to what was seen"):
            found = problem.solve()
    except ValueError as error:
        raise ConfigError([f"{airframe.name}: {error}"]) from error
    worth = most_telling(airframe, notes, found, problem.expectation.usual)
    said = lessons.sentences(found, winds, worth.told if worth else "", airframe.units)
    name = Path(chosen.notes).name
    if f", from {name}: " in path.read_text(encoding="utf-8-sig"):
        said.append(f"{name} has changed this file before: what it says now counts twice.")
    changes = lessons.edits(airframe, notes, found)
    if chosen.json:
        told = lessons.answer(airframe, found, winds, said, changes)
        print(json.dumps(told.as_json(), indent=1, allow_nan=False))
    else:
        print("\n".join([airframe.name, *lessons.table(found, airframe.units), "", *said]))
    history = lessons.history(notes, name, found, date.today().isoformat(), airframe.units)
    _change(path, changes, history, chosen)
    return DONE


class Template(argparse.Action):
    """Prints notes with every key as a comment; nothing else has to be said then."""

    def __call__(self, parser, namespace, values, option_string=None) -> None:
        from firstthrow.sim.describe.explain import template
        from firstthrow.sim.describe.notes import NAMES, TEMPLATE, Notes

        print(template(Notes, NAMES, TEMPLATE), end="")
        parser.exit(DONE)


def _may_write(chosen: argparse.Namespace, path: Path) -> None:
    """Before anything is worked out. Raises ConfigError for what is not to be written."""
    from firstthrow import configs
    from firstthrow.sim.describe.config import ConfigError

    if chosen.copy and chosen.set:
        raise ConfigError(["--copy: not with --set, which is not in the file"])
    if chosen.copy and Path(chosen.copy).suffix != ".toml":
        raise ConfigError([f"--copy {chosen.copy}: wanted a name that ends in .toml"])
    if chosen.copy and Path(chosen.copy).exists():
        raise ConfigError([f"--copy {chosen.copy}: is there already"])
    shipped = path.resolve().is_relative_to(Path(configs.__file__).resolve().parent)
    if chosen.write and shipped and not chosen.copy:
        raise ConfigError(
            [
                f"{chosen.airframe}: comes with the program and stays as it is; "
                f"--copy my-{path.stem}.toml makes a file of your own with the change"
            ]
        )


def _with_log(notes, log: str | None):
    from firstthrow.sim.describe.config import ConfigError

    if log is None:
        marked = [name for name, one in notes.steady.items() if one.start is not None]
        if marked:
            raise ConfigError([f"steady.{marked[0]}: has a start and an end; say --log FILE"])
        return notes, None
    from firstthrow.sim.learn.log_winds import stretches, with_log
    from firstthrow.sim.learn.logs import read

    winds = stretches(read(log, notes.log), notes)
    return with_log(notes, winds), winds


def _change(path: Path, changes, history: str, chosen: argparse.Namespace) -> None:
    """Shows the change as a diff, or makes it; the new text is read back before it is kept."""
    from firstthrow.sim.describe.config import load_airframe
    from firstthrow.sim.describe.edit import difference, edited, replaced

    if not changes:
        if not chosen.json:
            print("\nNothing to change in the file.")
        return
    text = path.read_text(encoding="utf-8-sig")
    new = edited(text, changes, history)
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        trial = Path(folder) / path.name
        trial.write_text(new, encoding="utf-8")
        load_airframe(trial)
    if not chosen.json:
        print(f"\n{difference(text, new, str(path))}".rstrip())
    if chosen.copy:
        own = re.sub(r"^#:schema \.\./[^\n]*\n", "", new)  # leads nowhere from there
        with open(chosen.copy, "x", encoding="utf-8", newline="\n") as file:
            file.write(own)
        say(f"Written: {chosen.copy}; {path} is as it was.")
    elif chosen.write:
        say(f"Written: {path}; as it was: {replaced(path, new)}")
    else:
        say("Nothing was written: add --write to change the file.")
