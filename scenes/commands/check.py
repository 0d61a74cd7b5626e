"""`firstthrow check`: the whole pre-flight in one, go or no-go with reasons."""

from __future__ import annotations

import argparse
import json
from textwrap import wrap
from typing import TYPE_CHECKING

from firstthrow.scenes.commands.shared import DONE, NO_GO, add_airframe, at_work

if TYPE_CHECKING:  # the physics is set up only when it is asked for
    from firstthrow.sim.describe.builder_units import Units
    from firstthrow.sim.flight.skills import Skill
    from firstthrow.sim.study.check import Preflight
    from firstthrow.sim.study.odds.survival import ByHands

WIDTH = 92  # of the text


def add(commands) -> None:
    """Adds the command's words to the command line."""
    check = commands.add_parser(
        "check",
        help="the whole pre-flight in one: go or no-go",
        description="Balance, strength, power, surfaces and launch, go or no-go each with the "
        "reasons, and what to do next. Exit code 3 on no-go.",
    )
    check.set_defaults(command=run)
    add_airframe(check)
    check.add_argument(
        "--pilot",
        choices=("human", "mine"),
        default="human",
        help="mine: also how often your own hands, as the exercises measured them, bring it "
        "through; the verdict stays that of club hands (human)",
    )


def run(chosen: argparse.Namespace) -> int:
    """Prints the verdicts as text or JSON; 3 when one is no-go."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe

    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    from firstthrow.sim.study.advice.search import advised
    from firstthrow.sim.study.odds.survival import by_measured
    from firstthrow.sim.study.subject import subject_of
    from firstthrow.sim.study.verdict import Verdict

    mine = _measured() if chosen.pilot == "mine" else None
    try:
        with at_work(f"Checking {airframe.name}"):
            answer = advised(subject_of(airframe))
            own = by_measured(subject_of(airframe), mine) if mine else None
    except ValueError as error:  # weighs nothing, or a rod that does not reach
        raise ConfigError([f"{airframe.name}: {error}"]) from error
    beside = {"mine": own.as_json()} if own else {}
    print(
        json.dumps(answer.as_json() | beside, indent=1)
        if chosen.json
        else "\n".join(lines(answer, airframe.units, own))
    )
    return DONE if answer.verdict is Verdict.GO else NO_GO


def _measured() -> Skill:
    from firstthrow.scenes.hands.own_hands import mine

    return mine().skill


def _flying(answer: Preflight) -> list[tuple[str, str]]:
    return [("fly", answer.fly), ("throw", answer.throw), ("torque", answer.torque)]


def _headed(heads: list[tuple[str, str]]) -> list[str]:
    told = []
    for head, text in heads:
        first, *rest = wrap(text, WIDTH - 13)
        told += [f"  {head:<10} {first}", *(f"{'':<13}{row}" for row in rest)]
    return told


def lines(answer: Preflight, u: Units, own: ByHands | None = None) -> list[str]:
    """As a person reads it: a line for each part, reasons and cautions under it; `own`: launches
    by the person's own hands."""
    from firstthrow.sim.study.hands.told import beside_club

    measure = answer.measure_next.words(u)
    told = [f"{answer.airframe}: {answer.verdict.upper()}"]
    told += [f"  {line}" for line in wrap(answer.sentence, WIDTH - 2)]
    heads = [("by hands", beside_club(own, answer.odds))] if own else []
    heads += [(name, text) for name, text in _flying(answer) if text]
    told += _headed(heads)
    heads = [("measure", answer.measure_next.first(u))] if measure else []
    if answer.stopped or not heads:
        heads.insert(0, ("next", answer.next))
    told += _headed(heads)
    if answer.remarks:
        told.append("  look again")
    for text in answer.remarks:
        first, *rest = wrap(text, WIDTH - 8)
        told += [f"    ? {first}", *(f"      {row}" for row in rest)]
    for check in answer.checks:
        told.append(f"  {check.name:<10} {check.verdict}")
        for mark, texts in (("!", check.reasons), ("-", check.cautions)):
            for text in texts:
                first, *rest = wrap(text, WIDTH - 8)
                told += [f"    {mark} {first}", *(f"      {row}" for row in rest)]
    if measure:
        told.append(f"  measure next, {answer.measure_next.order}")
    for text in measure:
        first, *rest = wrap(text, WIDTH - 8)
        told += [f"    - {first}", *(f"      {row}" for row in rest)]
    return told
