"""`firstthrow hands`: what was measured of your hands, the odds with them, and what to practise."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from firstthrow.scenes.commands.shared import DONE, say, say_when_compiling

if TYPE_CHECKING:  # the physics is set up only when it is asked for
    from firstthrow.scenes.hands.own_hands import OwnHands
    from firstthrow.sim.flight.record import Record
    from firstthrow.sim.study.hands.practice import Practice
    from firstthrow.sim.study.odds.survival import ByHands
    from firstthrow.sim.study.subject import Subject

BAR = 20  # letters of a bar


def add(commands) -> None:
    """Adds the command's words to the command line."""
    hands = commands.add_parser(
        "hands",
        help="your own hands: measured, their odds, what to practise",
        description="Show what the exercises in the window (F9) measured of your hands beside "
        "beginner, club and expert hands. With an airframe also how often its launch survives "
        "with your hands, and which copy of it to practise with. All of it is kept in your own "
        "folder on this machine only.",
    )
    hands.set_defaults(command=run)
    hands.add_argument(
        "airframe",
        metavar="AIRFRAME",
        nargs="?",
        help="a file, or the name of one in configs/airframes",
    )
    hands.add_argument(
        "--set", metavar="key=value", action="append", default=[], help="change a value"
    )
    hands.add_argument("--field", metavar="FILE", default="water-meadow", help="where to fly")
    hands.add_argument(
        "--flights",
        metavar="RECORD",
        nargs="+",
        help="records of your own flights, or folders of them: what they show is added",
    )
    hands.add_argument("--forget", action="store_true", help="delete all that is kept of you")
    hands.add_argument("--json", action="store_true", help="print the answer as JSON, in SI")


def run(chosen: argparse.Namespace) -> int:
    """Prints the figures, the odds and the practice; or deletes what is kept."""
    from firstthrow.scenes.hands import own_hands

    if chosen.forget:
        return _forget(chosen)
    notes = _from_flights(chosen.flights) if chosen.flights else []
    own = own_hands.kept()
    if own.last is None:
        return _none_yet(chosen, own, notes)
    found = None
    if chosen.airframe:
        own, found = _practised(chosen, own)
    if chosen.json:
        print(json.dumps(_as_json(own, found), indent=1))
    else:
        print("\n".join([*notes, *lines(own, found)]))
    return DONE


def _from_flights(names: list[str]) -> list[str]:
    """What records show of the person's hands, kept; which of them counted. Raises RecordError
    for what is no record, ConfigError where none shows anything."""
    from firstthrow.scenes.hands import own_hands
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.flight.refly import source
    from firstthrow.sim.study.hands.element import element
    from firstthrow.sim.study.hands.flights import groups, in_flight, why_not
    from firstthrow.sim.study.subject import subject_of

    records, notes = [], []
    for path, record in _loaded(names):
        reason = why_not(record)
        if reason:
            notes.append(f"{path} does not count: {reason}.")
        else:
            records.append(record)
    if not records:
        raise ConfigError([f"--flights: {note}" for note in notes] or ["--flights: no records"])
    *others, most = groups(records)
    if others:
        name, count = most[0].meta.get("airframe"), sum(map(len, others))
        notes.append(f"Only the {len(most)} of {name} are used, not {count} of other airframes.")
    say("Looking at how you flew...")
    origin = source(most[0])
    try:
        shown = in_flight(element(subject_of(origin.airframe, origin.field)), most)
    except ValueError as error:
        raise ConfigError([f"--flights: {error}"]) from None
    own_hands.add_flights(origin.airframe.name, shown)
    return notes


def _loaded(names: list[str]) -> Iterator[tuple[Path, Record]]:
    """Records, and those of folders; what is no record in a folder is passed over."""
    from firstthrow.sim.flight.record import RecordError, load

    for name in map(Path, names):
        if not name.is_dir():
            yield name, load(name)
            continue
        for path in sorted(name.glob("*.csv")):
            try:
                yield path, load(path)
            except RecordError:
                say(f"{path} is no record that can be read.")


def _forget(chosen: argparse.Namespace) -> int:
    from firstthrow.scenes.hands import own_hands

    there = own_hands.forget()
    if chosen.json:
        print(json.dumps({"forgotten": there}))
    else:
        print(f"Deleted: {own_hands.path()}" if there else "Nothing was kept.")
    return DONE


def _none_yet(chosen: argparse.Namespace, own: OwnHands, notes: list[str]) -> int:
    from firstthrow.sim.study.hands.told import in_flight

    flown = own.flights[-1] if own.flights else None
    if chosen.json:
        beside = {"in_flight": flown.shown.as_json()} if flown else {}
        print(json.dumps({"measured": None, **beside}))
    else:
        if flown:
            print("\n".join([*notes, *in_flight(flown.shown, flown.airframe)]))
        print(
            "Your hands have not been measured yet. Open the window with firstthrow fly and press "
            "F9:\nthree exercises of 40 s with the keyboard, gamepad or transmitter you fly with."
        )
    return DONE


def _practised(chosen: argparse.Namespace, own: OwnHands) -> tuple[OwnHands, tuple]:
    """The odds and the copy that fits, kept for the chart."""
    from firstthrow.scenes.hands import own_hands
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field
    from firstthrow.sim.study.hands.practice import practice
    from firstthrow.sim.study.odds.survival import by_hands
    from firstthrow.sim.study.subject import subject_of

    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    subject = subject_of(airframe, load_field(find("fields", chosen.field)))
    say_when_compiling()
    say("Launching it with your hands...")
    assert own.measured is not None
    try:
        fits = practice(subject, own.measured.skill)
    except ValueError as error:
        raise ConfigError([str(error)]) from None
    club = by_hands(subject)
    today = own_hands.Practised(
        when=datetime.now().astimezone(),
        airframe=airframe.name,
        field=subject.field.name,
        survived=fits.real.survived,
        flown=fits.real.flown,
        rung=fits.rung,
    )
    first = fits.passed and airframe.name not in own.told
    told = (*own.told, airframe.name) if first else own.told
    own = own.model_copy(update={"practised": (*own.practised, today), "told": told})
    own_hands.keep(own)
    return own, (subject, fits, club, first)


def _as_json(own: OwnHands, found: tuple | None) -> dict[str, Any]:
    from firstthrow.sim.flight.skills import SKILLS
    from firstthrow.sim.study.hands.told import NOT_A_FIELD, rows

    last, measured = own.last, own.measured
    assert last is not None
    assert measured is not None
    told: dict[str, Any] = {
        "when": last.when.isoformat(timespec="seconds"),
        "airframe": last.airframe,
        "device": last.device,
        "measured": measured.as_json(),
        "skills": {name: skill._asdict() for name, skill in SKILLS.items()},
        "sentences": [row.sentence for row in rows(measured)],
        "not_a_field": NOT_A_FIELD,
    }
    if own.in_flight:
        told["in_flight"] = own.in_flight.shown.as_json()
    if found:
        subject, fits, club, _ = found
        told["odds"] = {"airframe": subject.airframe.name, "mine": fits.real.as_json()}
        told["odds"]["club"] = club.as_json()
        told["practice"] = {k: v for k, v in fits.as_json().items() if k != "real"}
        told["days"] = [
            {"when": one.when.isoformat(timespec="seconds"), "survived": one.survived}
            | {"flown": one.flown, "rung": one.rung}
            for one in own.days(subject.airframe.name, subject.field.name)
        ]
    return told


def lines(own: OwnHands, found: tuple | None) -> list[str]:
    """As a person reads it."""
    from firstthrow.sim.study.hands import told

    last, measured = own.last, own.measured
    assert last is not None
    assert measured is not None
    said = [
        f"Your hands, measured {last.when:%Y-%m-%d %H:%M} with the {last.device} on "
        f"{last.airframe}",
        *told.lines(measured),
    ]
    flown = own.in_flight
    if flown:
        said += ["", *told.in_flight(flown.shown, flown.airframe)]
        said += told.wrapped("The figures above are of both, each by how sure it is.")
    before = own.before(last.device)
    if before:
        days = before.when.date(), last.when.date()
        said += ["", told.since(last.measured, before.measured, *days)]
    if found:
        subject, fits, club, first = found
        said += ["", *_odds(subject, fits, club, first), "", *_chart(own, subject)]
    return [*said, "", *told.wrapped(told.NOT_A_FIELD)]


def _odds(subject: Subject, fits: Practice, club: ByHands, first: bool) -> list[str]:
    from firstthrow.sim.study.hands import told

    said = [f"{subject.airframe.name}: {told.beside_club(fits.real, club)}."]
    said += told.wrapped(told.practise(subject, fits))
    if first:
        said += ["", *told.wrapped(f"Your odds have passed 95 of 100. {told.IN_THE_FIELD}")]
    return said


def _chart(own: OwnHands, subject: Subject) -> list[str]:
    from firstthrow.sim.study.hands import told

    airframe, field = subject.airframe.name, subject.field.name
    said = [f"Day by day, launches of {airframe} that survive with your hands ({field}):"]
    for one in own.days(airframe, field):
        share = one.survived / max(one.flown, 1)
        bar = ("#" * round(BAR * share)).ljust(BAR, ".")
        said.append(f"  {one.when:%Y-%m-%d}  {bar}  {told.of_100(share):3d} %  rung {one.rung:+d}")
    return said


def fitting(airframe, field) -> tuple:
    """Airframe and field of the copy that `firstthrow hands` found to fit. Raises ConfigError."""
    from firstthrow.scenes.hands import own_hands
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.study.hands.practice import copy
    from firstthrow.sim.study.subject import subject_of

    found = own_hands.kept().days(airframe.name, field.name)
    if not found:
        asked = f"firstthrow hands {airframe.name} with the same --field ({field.name})"
        raise ConfigError([f"--practice: ask {asked} first what fits your hands there"])
    there = copy(subject_of(airframe, field), found[-1].rung)
    return there.airframe, there.field
