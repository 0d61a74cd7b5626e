"""`firstthrow odds`: thousands of launches by simulated hands: a map, not an opinion."""

from __future__ import annotations

import argparse
import csv
import json
import sys

from firstthrow.scenes.commands import odds_flown, output
from firstthrow.scenes.commands.shared import (
    DONE,
    FAILED,
    NO_GO,
    add_airframe,
    heading,
    say,
    seed,
)

SECONDS = 8.0  # of each flight [s]
FLIGHTS, IMPROVING = 2000, 12000  # launches, when none are asked for


def add(commands) -> None:
    """Adds the command's words to the command line."""
    launches = commands.add_parser(
        "odds",
        help="how often it survives, over thousands of launches",
        description="Launch it thousands of times by simulated hands, over scatter in throw, "
        "balance, build and air, and count what survives.",
    )
    launches.set_defaults(command=run)
    add_airframe(launches)
    add = launches.add_argument
    add(
        "--flights",
        metavar="N",
        type=_count,
        help=f"launches in all, shared among the points of --vary ({FLIGHTS})",
    )
    add(
        "--seconds",
        metavar="S",
        type=_seconds,
        help="length of each flight (8; off the wheels 12, and no less)",
    )
    add(
        "--vary",
        metavar="KEY=LOW..HIGH",
        action="append",
        default=[],
        help="such as cg=12..28%%:9 (percent of mean chord), launch.hand.speed=5..11m/s:7, or "
        "KEY=ONE,OTHER; one gives a line, two a map",
    )
    add("--scatter", metavar="FILE", help="spreads of throw and build, such as arm")
    add("--field", metavar="FILE", default="water-meadow", help="where to fly (water-meadow)")
    add(
        "--pilot",
        metavar="human|mine|hands-off",
        default="human",
        help="who flies: simulated hands, also human:beginner, human:club, human:expert; or your "
        "own as the exercises measured them (human)",
    )
    add("--seed", metavar="N", type=seed, default=0, help="of all scatter (0)")
    add(
        "--improve",
        action="store_true",
        help="what would help most, and the smallest change that reaches --want; compares some "
        f"sixty batches of 10 launches and more, in all --flights at most ({IMPROVING})",
    )
    add("--want", metavar="P%", help="survivors to reach with --improve (95 %%)")
    add("--plot", metavar="FILE", help="draw it: PNG, PDF or SVG")
    add(
        "--csv",
        metavar="FILE",
        help="write the numbers: a row for each launch, with --vary for each point",
    )
    output.add_force(launches)
    add(
        "--cases",
        metavar="FIRST..END",
        type=_cases,
        help="these launches of the seed, by number and without END, in place of --flights: "
        "a batch queue shares them out",
    )
    add(
        "--continue",
        dest="go_on",
        action="store_true",
        help="go on with the launches in the file of --csv: fly and add those that it has not",
    )
    add(
        "--merge",
        metavar="FILE",
        nargs="+",
        help="fly none, tell of the launches in these files of --csv together",
    )
    add(
        "--scheduler",
        metavar="ADDRESS",
        help="fly on the workers of a dask scheduler (extra: cluster), such as tcp://10.0.0.1:8786",
    )


def _cases(text: str) -> range:
    first, dots, end = text.partition("..")
    if not (dots and first.isascii() and first.isdecimal() and end.isascii() and end.isdecimal()):
        raise argparse.ArgumentTypeError(f"'{text}': wanted two numbers, such as 0..250000")
    cases = range(int(first), int(end))
    if not cases or cases.stop > 1 << 40:
        raise argparse.ArgumentTypeError(f"'{text}': wanted the end after the first")
    return cases


def _count(text: str) -> int:
    if not (text.isascii() and text.isdecimal()) or not 1 <= int(text) <= 10_000_000:
        raise argparse.ArgumentTypeError(f"'{text}': wanted a whole number from 1 to 10000000")
    return int(text)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0.1 <= seconds <= 120.0:
        raise argparse.ArgumentTypeError(f"'{text}': wanted 0.1 to 120 seconds")
    return seconds


def run(chosen: argparse.Namespace) -> int:
    """Flies, prints, writes; 1 when it was stopped before a launch was over."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe
    from firstthrow.sim.study.odds import report
    from firstthrow.sim.study.odds import varied as odds_map
    from firstthrow.sim.study.subject import subject_of

    varied = _varied(chosen)
    want = _want(chosen)
    path = find("airframes", chosen.airframe)
    airframe = load_airframe(path, chosen.set)
    plan, field = _plan(chosen, airframe)
    if chosen.improve and airframe.launch.thrown is None:
        raise ConfigError([f"--improve: wants a throw by hand, {airframe.name} rolls off"])
    _check_keys(path, chosen.set, varied)
    if chosen.improve:
        return _improve(chosen, subject_of(airframe, field), plan, want)
    try:
        ready = odds_map.setups(path, chosen.set, varied, plan, field)
    except ValueError as error:
        raise ConfigError([f"--vary: {error}"]) from None
    if chosen.merge:
        tallies = [odds_flown.merged(chosen, ready[0], plan)]
        each = tallies[0].flown
    else:
        cases = chosen.cases or range(max(1, (chosen.flights or FLIGHTS) // len(ready)))
        tallies, each = odds_flown.fly(chosen, ready, plan, cases), len(cases)
    found = [one.numbers() for one in tallies]
    if not all(one.flown for one in found):
        say("Stopped before every point had a launch behind it: nothing to tell.")
        return FAILED
    axes = odds_map.axes(path, chosen.set, varied)
    notes = _notes(axes, found) + _of_the_band(axes, subject_of(airframe, field))
    _write(chosen, axes, ready, plan, found, tallies[0], notes)
    head, whole = _heading(airframe, elsewhere=bool(axes or chosen.field))
    if chosen.json:
        told = report.answer(airframe.name, chosen.field, plan, axes, found, notes, each)
        print(json.dumps(told.as_json() | whole, indent=1))
    else:
        name, *rest = report.lines(airframe, plan, axes, found, notes)
        print("\n".join([name, *head, *rest]))
    return DONE


def _heading(airframe, elsewhere: bool = False) -> tuple[list[str], dict]:
    """What heads the report, as text and as JSON: of the file as it is, in the standard field;
    `elsewhere`: the report is of something else, and that is said."""
    from firstthrow.sim.study.check import ruling
    from firstthrow.sim.study.subject import subject_of
    from firstthrow.sim.study.unsure.ranking import measure_next

    subject = subject_of(airframe)
    ruled, next_ = ruling(subject), measure_next(subject)
    whole = {"preflight": ruled.as_json(), "measure_next": next_.as_json()}
    where = "of the file as it is, in still air" if elsewhere else ""
    return heading(ruled, next_.first(airframe.units), where), whole


def _varied(chosen: argparse.Namespace) -> list:
    """The varied values. Raises ConfigError with all that is wrong with the options."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.study.odds import varied as odds_map
    from firstthrow.sim.study.sweep import vary

    problems, varied = [], []
    for text in chosen.vary:
        try:
            varied.append(vary(text))
        except ValueError as error:
            problems.append(f"--vary {error}")
    if not problems:
        try:
            odds_map.check(varied)
        except ValueError as error:
            problems.append(f"--vary: {error}")
    if chosen.want is not None and not chosen.improve:
        problems.append("--want: goes with --improve")
    if chosen.improve and varied:
        problems.append("--improve: finds its own changes; give it without --vary")
    if chosen.improve and (chosen.plot or chosen.csv):
        problems.append("--improve: prints a table or --json; give it without --plot and --csv")
    problems += output.problems("--plot", chosen.plot, output.DRAWINGS, chosen.force)
    problems += output.problems("--csv", chosen.csv, output.TABLES, chosen.force or chosen.go_on)
    problems += _misplaced(chosen)
    if problems:
        raise ConfigError(problems)
    return varied


def _misplaced(chosen: argparse.Namespace) -> list[str]:
    """What is wrong with the options for a share of the launches."""
    problems = []
    for option, given in (
        ("--cases", chosen.cases),
        ("--continue", chosen.go_on),
        ("--merge", chosen.merge),
    ):
        if given and (chosen.vary or chosen.improve):
            problems.append(f"{option}: is for launches of one set-up; give it without --vary")
    if chosen.go_on and not chosen.csv:
        problems.append("--continue: wanted --csv with the file to go on with")
    if chosen.merge and (chosen.csv or chosen.cases or chosen.go_on or chosen.scheduler):
        problems.append("--merge: flies nothing; give it without --csv, --cases and --scheduler")
    if chosen.improve and chosen.scheduler:
        problems.append("--improve: compares on this machine; give it without --scheduler")
    return problems


def _want(chosen: argparse.Namespace) -> float:
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.units import FRACTION, read

    text = chosen.want or "95 %"
    try:  # 0.9 is as good as 90 %
        want = float(text) if "%" not in text else read(text, FRACTION)
    except ValueError as error:
        raise ConfigError([f"--want: {error}"]) from None
    if not 0.0 < want < 1.0:
        raise ConfigError([f"--want {text}: wanted more than 0 % and less than 100 %"])
    return want


def _plan(chosen: argparse.Namespace, airframe):
    """The plan, and the field."""
    from firstthrow.sim.describe.config import ConfigError, find, load, load_field
    from firstthrow.sim.flight.simulated_hands import skill_of
    from firstthrow.sim.study.odds.launches import Plan
    from firstthrow.sim.study.odds.scatter import Scatter
    from firstthrow.sim.study.odds.survival import watched

    scatter = Scatter()
    if chosen.scatter:
        scatter = load(Scatter, find("scatter", chosen.scatter))
    pilot = chosen.pilot
    if pilot.startswith("human:"):
        try:
            scatter = scatter.model_copy(update={"skill": skill_of(pilot)})
        except ValueError as error:
            raise ConfigError([f"--pilot {error}"]) from None
        pilot = "human"
    mine = None
    if pilot == "mine":
        from firstthrow.scenes.hands.own_hands import mine as measured

        pilot, mine = "human", measured().skill
    if pilot not in ("human", "hands-off"):
        raise ConfigError([f"--pilot {pilot}: wanted human, human:SKILL, mine or hands-off"])
    field = load_field(find("fields", chosen.field))
    least = 0.0 if airframe.launch.thrown else watched(airframe)
    seconds = chosen.seconds or max(SECONDS, least)
    if seconds < least:
        told = f"{airframe.name} rolls first: wanted {least:.0f} or more"
        raise ConfigError([f"--seconds {seconds:g}: {told}"])
    return Plan(scatter, pilot, seconds, chosen.seed, mine), field


def _check_keys(path, overrides, varied) -> None:
    """A key or unit that is wrong is said once, before the work."""
    from firstthrow.sim.describe.config import ConfigError, load_airframe
    from firstthrow.sim.study.odds.varied import CG

    problems = []
    for one in varied:
        for value in dict.fromkeys(one.values) if one.key != CG else ():
            try:
                load_airframe(path, [*overrides, f"{one.key}={value}"])
            except ConfigError as error:
                problems.append(error.problems[0].replace("--set", "--vary", 1))
                break
    if problems:
        raise ConfigError(problems)


def _notes(axes, found) -> list[str]:
    import numpy as np

    from firstthrow.sim.study.odds import report
    from firstthrow.sim.study.odds import varied as odds_map

    if not axes:
        low, high = report.percent(found[0].survived_low), report.percent(found[0].survived_high)
        survive = odds_map.words(found[0].survived_fraction).capitalize()
        return [f"{survive} survive ({low} to {high}, 95 % sure)."]
    fractions = np.array([one.survived_fraction for one in found])
    return odds_map.sentences(axes, fractions.reshape([len(axis.places) for axis in axes]))


def _of_the_band(axes, subject) -> list[str]:
    """Where the balance was varied: how far of that it may lie, whatever survives."""
    from firstthrow.sim.study.band.limits import limits
    from firstthrow.sim.study.odds.varied import CG

    if not any(axis.vary.key == CG for axis in axes):
        return []
    found = limits(subject)
    if found.front.aft is None or not found.are_open:
        return []
    front, rear = subject.percent(found.front.aft), subject.percent(found.rear.aft)
    return [
        f"Steady flight allows {front:.0f} to {rear:.0f} % chord: {found.rear.why}. Behind that a "
        "simulated hand may hold for seconds what does not fly by itself: do not."
    ]


def _balances(axes, ready):
    """Neutral point and band for a plot over the balance; None for another."""
    from firstthrow.sim.paper.plots.odds import Balances
    from firstthrow.sim.study.band.limits import limits
    from firstthrow.sim.study.odds.varied import CG
    from firstthrow.sim.study.subject import Subject

    if not any(axis.vary.key == CG for axis in axes):
        return None
    subject = Subject(ready[0].subject.airframe, ready[0].subject.field)
    found = limits(subject)
    ahead = found.front.aft
    front = subject.percent(ahead) if found.are_open and ahead is not None else None
    return Balances(subject.percent(subject.neutral_point), front, subject.percent(found.rear.aft))


def _write(chosen, axes, ready, plan, found, tally, notes) -> None:
    from firstthrow.sim.study.odds import report

    output.make_room(chosen.plot)
    if chosen.csv:
        if axes:
            with output.opened(chosen.csv, chosen.force) as file:
                table = csv.writer(file, lineterminator="\n")
                table.writerows(report.point_rows(axes, found))
        say(f"Table: {chosen.csv}")
    if chosen.plot:
        from firstthrow.sim.paper.plots import odds as odds_plot

        flown = sum(one.flown for one in found)
        title = f"{ready[0].subject.airframe.name}: {report.who(plan)}, {flown} launches"
        u = ready[0].subject.airframe.units
        odds_plot.write(title, axes, found, tally, notes, chosen.plot, _balances(axes, ready), u)
        say(f"Plot: {chosen.plot}")


def _improve(chosen, subject, plan, want: float) -> int:
    from tqdm import tqdm

    from firstthrow.sim.study import improve

    wanted = chosen.flights or IMPROVING
    batch = max(10, wanted // improve.BATCHES)
    most = batch * improve.BATCHES
    if wanted < most:
        say(f"--flights {wanted}: too few to compare; up to {most} are flown, {batch} at a time.")
    with tqdm(
        total=most, unit=" flights", file=sys.stderr, ascii=True, leave=False, disable=None
    ) as bar:
        try:
            found = improve.improve(subject, plan, want, batch, bar.update)
        except KeyboardInterrupt:
            found = None
    if found is None:
        say("Stopped before the comparison was complete: nothing to tell.")
        return FAILED
    head, whole = _heading(subject.airframe)
    if chosen.json:
        print(json.dumps(improve.answer(found).as_json() | whole, indent=1))
    else:
        name, *rest = improve.lines(found)
        print("\n".join([name, *head, *rest]))
    return DONE if found.reached is not False else NO_GO
