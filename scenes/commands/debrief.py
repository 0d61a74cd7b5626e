"""`firstthrow debrief`: what happened in recorded flights, what to try next, and a page of it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.shared import DONE, at_work, say
from firstthrow.scenes.commands.view_options import seconds


def add(commands) -> None:
    """Adds the command's words to the command line."""
    debrief = commands.add_parser(
        "debrief",
        help="what happened in a flight, and what to try next",
        description="Say what happened in a recorded flight, fly it again with changes of "
        "balance, reflex, throws and launch to see which would have helped, and draw its page. "
        "With several records, or --against, hold them side by side.",
    )
    debrief.set_defaults(command=run)
    add = debrief.add_argument
    add(
        "record",
        metavar="RECORD",
        nargs="+",
        help="the CSV file of a flight; several of an evening in their order",
    )
    add("--against", metavar="RECORD", help="an earlier flight to compare with")
    add(
        "--out",
        metavar="FILE",
        help="page to write, .html, .pdf, or .png for one page (RECORD with .png)",
    )
    output.add_force(debrief)
    add("--airframe", help="explain the log of a real flight of this one: GPX, IGC, NMEA or CSV")
    add("--field", default="", metavar="FIELD", help="of that log; still air when not given")
    add("--notes", metavar="FILE", help="of that log: [log.columns.NAME] says which column is what")
    add("--released", type=seconds, metavar="SECONDS", help="from its first place to the throw")
    add("--no-refly", action="store_true", help="only say what happened")
    add("--json", action="store_true", help="print the answer as JSON, in SI")


def run(chosen: argparse.Namespace) -> int:
    """Prints verdict, findings, what to try and the comparison; writes the page."""
    from firstthrow.sim.describe.problems import plainly
    from firstthrow.sim.flight.flown import flown
    from firstthrow.sim.flight.record import RecordError, load

    _check_together(chosen)
    if chosen.airframe:
        return _explain_log(chosen)
    paths = [Path(name) for name in chosen.record]
    if chosen.against:
        paths.append(Path(chosen.against))
    wrong = output.problems("--out", chosen.out, (".html", ".pdf", ".png"), chosen.force)
    if wrong:
        raise RecordError("\n".join(wrong))
    records = [load(path) for path in paths]
    page = Path(chosen.out) if chosen.out else _usual_page(paths[0])
    from firstthrow.sim.learn.compare import names_of
    from firstthrow.sim.learn.debriefing import Debrief

    several = len(chosen.record) > 1
    causes = [] if chosen.no_refly else _causes(records)
    cure = None if several or chosen.no_refly else _cure(records[0], causes[0])
    # What is wrong is put right first: trims and throws that make up for it would not be.
    quiet = several or chosen.no_refly or cure
    advice, remarks = ([], []) if quiet else _advice(records[0])
    names = names_of(paths)
    debrief = Debrief(records[0], records, names, advice, remarks, causes, cure)
    if chosen.json:
        print(json.dumps(debrief.answer(paths).as_json(), indent=1))
    else:
        with at_work("Summing it up"):
            told = [*lines(debrief, several), *own_hands_lines(records[0], chosen.no_refly)]
        print(plainly("\n".join(told)))
    if flown(records[0]).time.size > 1:
        from firstthrow.sim.paper.debrief import write

        output.make_room(str(page))
        with at_work("Drawing the page"):
            write(debrief, page)
        say(f"Plot page: {page}")
    return DONE


def _check_together(chosen: argparse.Namespace) -> None:
    """A log is explained by itself, without a page; what belongs to a log needs its airframe."""
    from firstthrow.sim.describe.config import ConfigError

    if chosen.airframe:
        idle: tuple[str, ...] = ("against", "out", "force", "no_refly")
        wrong = [f"--{name.replace('_', '-')}" for name in idle if getattr(chosen, name)]
        wrong += ["several logs"] if len(chosen.record) > 1 else []
        why = "is for records of flights, not for a log with --airframe"
    else:
        idle = ("field", "notes", "released")
        wrong = [f"--{name}" for name in idle if getattr(chosen, name) not in (None, "")]
        why = "is for the log of a real flight: say --airframe, too"
    if wrong:
        raise ConfigError([f"{name}: {why}" for name in wrong])


def _explain_log(chosen: argparse.Namespace) -> int:
    """Prints why a real flight went as it did, as far as its log tells."""
    from firstthrow.sim.describe.config import find, load, load_airframe, load_field
    from firstthrow.sim.describe.field import STANDARD
    from firstthrow.sim.describe.notes import Notes, notes_problems
    from firstthrow.sim.learn.logged import explained
    from firstthrow.sim.learn.logs import read
    from firstthrow.sim.learn.why import lines as reasons

    airframe = load_airframe(find("airframes", chosen.airframe))
    field = load_field(find("fields", chosen.field)) if chosen.field else STANDARD
    notes = load(Notes, chosen.notes, agreement=notes_problems) if chosen.notes else Notes()
    with at_work("Looking for the cause"):
        found = explained(read(chosen.record[0], notes.log), airframe, field, chosen.released)
    if chosen.json:
        print(json.dumps(found.as_json(), indent=1))
        return DONE
    print(f"Thrown {found.released_s:.1f} s into the log, which shows {found.seconds:.1f} s of it.")
    if found.cause:
        print("\n".join(reasons(found.cause, airframe.units)))
    for text in found.remarks:
        print(f"{text[0].upper()}{text[1:]}.")
    if found.highest_m is not None:
        print(f"At most {airframe.units.distance(found.highest_m, 1)} above the hand.")
    if found.cannot_tell:
        print("This log cannot tell, and why:")
        print("\n".join(f"   {text}" for text in found.cannot_tell))
    return DONE


def own_hands_lines(record, quick: bool = True) -> list[str]:
    """Of a flight by the person's own hands, how they have changed, and, not `quick`, how often
    they bring the airframe through; never kept in the record."""
    from firstthrow.scenes.hands import own_hands
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.study.hands.told import since

    if record.meta.get("pilot") != "thumbs":
        return []
    try:
        own = own_hands.kept()
    except (ConfigError, OSError):
        return []
    last = own.last
    if last is None:
        return []
    found, before = [], own.before(last.device)
    if before:
        days = before.when.date(), last.when.date()
        changed = since(last.measured, before.measured, *days)
        found = [f"Your hands, in the exercises of {last.when:%Y-%m-%d}: {changed}"]
    return found if quick else [*found, *_own_odds(record, own.measured)]


def _own_odds(record, measured) -> list[str]:
    """Of its airframe as described, with these hands; none where the record does not hold it."""
    from firstthrow.sim.flight.refly import NoSource, described, source
    from firstthrow.sim.study.hands.told import beside_club
    from firstthrow.sim.study.odds.survival import by_hands, by_measured
    from firstthrow.sim.study.subject import subject_of

    try:
        subject = subject_of(described(record), source(record).field)
        flown = by_measured(subject, measured.skill), by_hands(subject)
    except (NoSource, ValueError):
        return []
    return [f"{subject.airframe.name}: {beside_club(*flown)}."]


def _usual_page(record: Path) -> Path:
    """Beside the record; numbered when a picture of that name is there that is no page of ours."""
    from firstthrow.sim.flight.record import unused
    from firstthrow.sim.paper.plots.debrief import is_ours

    page = record.with_suffix(".png")
    return page if is_ours(page) else unused(page)


def _causes(records) -> list:
    """Why each went as it did."""
    from firstthrow.sim.learn.why import why

    with at_work("Looking for the cause"):
        return [why(record) for record in records]


def _cure(record, cause):
    """The cause put right and flown, if there is one to put right."""
    from firstthrow.sim.learn.cure import cured

    with at_work("Putting the cause right"):
        return cured(record, cause)


def _advice(record) -> tuple[list, list[str]]:
    """What to try next; without anything to cure or to fly, none, and why."""
    from firstthrow.sim.flight.refly import NoSource, remarks, source
    from firstthrow.sim.learn.advice import advise, curable

    if not curable(record):
        return [], []
    try:
        origin = source(record)
    except NoSource as why:
        return [], [f"It cannot be flown again: {why}"]
    with at_work("Flying it again with changes"):
        return advise(record, origin), remarks(record)


def lines(debrief, several: bool) -> list[str]:
    """As a person reads it: the verdict first."""
    from firstthrow.sim.learn.compare import table
    from firstthrow.sim.learn.sentence import verdict
    from firstthrow.sim.paper.debrief import text_table

    told = [_reasons(*one) for one in zip(debrief.causes, debrief.records, strict=False)]
    told += [[]] * (len(debrief.records) - len(told))  # of what no cause was looked for
    if several:
        said = []
        for name, record, cause in zip(debrief.names, debrief.records, told, strict=True):
            said += [f"{name}: {verdict(record)}", *(f"   {line}" for line in cause[:1])]
    else:
        cure = debrief.cure.words if debrief.cure else []
        lesson = lesson_lines(debrief.record)
        said = [verdict(debrief.record), *lesson, *told[0], *cure, *finding_lines(debrief.record)]
    if debrief.next:
        said += ["", "What to try next, each flown again:"]
        said += [f"   {line}" for line in debrief.next]
    if debrief.side_by_side:
        said += ["", *debrief.side_by_side, ""]
        said += text_table(table(debrief.records, debrief.names))
    return said


def lesson_lines(record) -> list[str]:
    """The mark of a flight that was a lesson."""
    from firstthrow.sim.learn.school.marking import sentence

    told = sentence(record)
    return [told] if told else []


def flight_in_short(path: Path, record, causes: dict) -> list[str]:
    """An earlier flight: how it went, and why."""
    from firstthrow.sim.learn.sentence import verdict

    why = reason_lines(path, record, causes)[:1]
    return [f"{path.name}: {verdict(record)}", *(f"   {line}" for line in why)]


def reason_lines(path: Path, record, causes: dict) -> list[str]:
    """Why it went as it did; of what never flew free, what shows all the same. `causes`: what is
    known already, by path."""
    from firstthrow.sim.learn.why import why

    return _reasons(causes[path] if path in causes else why(record), record)


def _reasons(found, record) -> list[str]:
    """Of a cause that was found, if any, with its number in lengths that a ruler has."""
    from firstthrow.sim.flight.refly import NoSource, described
    from firstthrow.sim.learn.aftermath.said import reasons
    from firstthrow.sim.learn.aftermath.unflown import unflown

    try:
        return reasons(found, described(record)) if found else unflown(record)
    except NoSource:
        return []


def finding_lines(record) -> list[str]:
    """Each finding behind a mark of how bad it is."""
    from firstthrow.sim.learn.debrief import findings
    from firstthrow.sim.learn.finding import Severity

    marks = {Severity.NOTE: "-", Severity.CAUTION: "!", Severity.DANGER: "!!"}
    return [f"{marks[finding.severity]:>2} {finding.text}" for finding in findings(record)]


def write_page(record, page: Path) -> None:
    """The page of one flight; of one that was over at once there is nothing to draw."""
    from firstthrow.sim.flight.flown import flown
    from firstthrow.sim.paper.plots.debrief import write

    if flown(record).time.size < 2:
        return

    output.make_room(str(page))
    write(record, page)
    say(f"Plot page: {page}")
