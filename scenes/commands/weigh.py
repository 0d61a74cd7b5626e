"""`firstthrow weigh`: mass, balance, strength and parts, as JSON, a table or a drawing."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.shared import DONE, NO_GO, add_airframe, at_work, heading, say

if TYPE_CHECKING:  # the physics is set up only when it is asked for
    from firstthrow.sim.describe.builder_units import Units
    from firstthrow.sim.study.advice.to_margin import Flown
    from firstthrow.sim.study.loads import Strength
    from firstthrow.sim.study.margin import Settled, ToMargin
    from firstthrow.sim.study.weigh import Weighing

WIDTH = 80  # of the words


def add(commands) -> None:
    """Adds the command's words to the command line."""
    weigh = commands.add_parser(
        "weigh",
        help="mass, balance, strength and parts",
        description="Mass, centre of gravity and how sure it is, neutral point, allowed band, "
        "strength and parts of an airframe; with --margin, what gives a wanted static margin.",
    )
    weigh.set_defaults(command=run)
    add_airframe(weigh)
    output.add_force(weigh)
    weigh.add_argument("--plot", metavar="FILE", help="draw it from above: PNG, PDF or SVG")
    weigh.add_argument("--margin", metavar="P%", help="find the ballast for this static margin")
    where = weigh.add_mutually_exclusive_group()
    where.add_argument(
        "--at", metavar="PLACE", help="ballast there: nose, tail, or a part's name (ballast, nose)"
    )
    where.add_argument(
        "--along",
        metavar="EDGE",
        choices=("leading", "trailing"),
        help="ballast as a strip or rod along the leading or trailing edge",
    )
    weigh.add_argument(
        "--strip",
        metavar="MASS/LENGTH",
        help='that strip or rod; without it a 4 mm steel rod, "99 g/m"',
    )


def run(chosen: argparse.Namespace) -> int:
    """Prints mass, balance and parts, or ballast for a margin: SI as JSON, or a table."""
    from firstthrow.sim.describe.config import find, load_airframe

    margin, per_length = _wanted(chosen)
    airframe = load_airframe(find("airframes", chosen.airframe), chosen.set)
    if margin is not None:
        return _run_ballast(chosen, airframe, margin, per_length)
    # Only now: errors in the file come before the physics is set up.
    from firstthrow.sim.study.check import ruling
    from firstthrow.sim.study.subject import subject_of
    from firstthrow.sim.study.unsure.ranking import measure_next
    from firstthrow.sim.study.verdict import BalanceVerdict, Verdict
    from firstthrow.sim.study.weigh import weigh

    subject = subject_of(airframe)
    with at_work(f"Weighing {airframe.name}, and flying it for the verdict"):
        found, ruled, next_ = weigh(subject), ruling(subject), measure_next(subject)
    if chosen.json:
        whole = {"preflight": ruled.as_json(), "measure_next": next_.as_json()}
        print(json.dumps(found.as_json() | whole, indent=1))
    else:
        name, *rest = lines(airframe, found)
        print("\n".join([name, *heading(ruled, next_.first(airframe.units)), *rest]))
    if chosen.plot:
        _draw(airframe, found, chosen.plot)
    if not found.pitch_control:
        say(f"{airframe.name}: {BalanceVerdict.NO_PITCH_CONTROL.fact}; no-go")
        return NO_GO
    return DONE if ruled.verdict is Verdict.GO else NO_GO


def _wanted(chosen: argparse.Namespace) -> tuple[float | None, float | None]:
    """Margin and mass per length in SI. Raises ConfigError."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.units import FRACTION, LINEAR_MASS, read

    problems, found = [], []
    for option, text, kind in (
        ("--margin", chosen.margin, FRACTION),
        ("--strip", chosen.strip, LINEAR_MASS),
    ):
        try:
            found.append(None if text is None else read(text, kind))
        except ValueError as error:
            problems.append(f"{option}: {error}")
    if not problems:
        margin, per_length = found
        if margin is not None and not -0.2 <= margin <= 0.5:
            problems.append(f"--margin {chosen.margin}: wanted between -20 % and 50 %")
        if per_length is not None and per_length <= 0.0:
            problems.append(f"--strip {chosen.strip}: must be more than 0")
        if per_length is not None and not chosen.along:
            problems.append("--strip: goes with --along leading or --along trailing")
        if margin is None and (chosen.at or chosen.along):
            option = "--at" if chosen.at else "--along"
            problems.append(f"{option}: goes with --margin, such as --margin 8%")
    problems += output.problems("--plot", chosen.plot, output.DRAWINGS, chosen.force)
    if chosen.plot and chosen.margin:
        problems.append("--plot: goes without --margin")
    if problems:
        raise ConfigError(problems)
    return found[0], found[1]


def _draw(airframe, weighed: Weighing, name: str) -> None:
    from firstthrow.sim.paper.plan_view import page
    from firstthrow.sim.paper.printing import write

    output.make_room(name)
    write(page(airframe, weighed), name)
    say(f"Drawing: {name}")


def lines(airframe, weighed: Weighing) -> list[str]:
    """As a person reads it."""
    from firstthrow.sim.study.gist.headline import of_weighing

    inertia, u = weighed.inertia_kg_m2, airframe.units
    rows = [
        ("mass", u.mass(weighed.mass_kg)),
        ("wing loading", u.loading(weighed.wing_loading_kg_m2)),
        ("balance (CG)", _place(weighed.cg_m, u)),
        (
            "",
            f"{weighed.cg_percent_mac:.1f} % of the mean chord, "
            f"give or take {u.length(weighed.cg_spread_m[0], 1)}",
        ),
        ("", weighed.verdict.told),
        ("allowed band", _band(weighed, u)),
        *(("", words) for words in _reasons(weighed, u)),
        ("sideways", _sideways(weighed, u)),
        ("datum", airframe.datum),
        ("mean chord", u.length(weighed.mean_chord_m)),
        (
            "neutral point",
            f"{u.length(weighed.neutral_point_m)}, "
            f"{weighed.neutral_point_percent_mac:.1f} % of the mean chord, give or take "
            f"{u.length(weighed.neutral_point_spread_m)}",
        ),
        (
            "static margin",
            f"{weighed.static_margin_percent:.1f} % in a fast dive ({_margin(weighed)})",
        ),
        *(("", words) for words in _flown(weighed, u)),
        ("stall speed", u.speed(weighed.stall_speed_m_s)),
        *_strength(weighed.strength, u),
        (
            "inertia",
            "  ".join(u.inertia(inertia[i][i]) for i in range(3))
            + f" {u.inertias} in roll, pitch, yaw",
        ),
    ]
    lines = [airframe.name, *(f"  {row}" for row in wrap(of_weighing(weighed, u), WIDTH + 15))]
    lines += [*(line for name, words in rows for line in _told(name, words)), ""]
    lines += _parts(weighed, u)
    if airframe.pack_item is None:
        lines += ["", "  No part is called pack or battery: is the battery weighed?"]
    return lines


def _told(name: str, words: str) -> list[str]:
    first, *rest = wrap(words, WIDTH) or [""]
    return [f"  {name:<14} {first}", *(f"{'':<17}  {line}" for line in rest)]


def _parts(weighed: Weighing, u: Units) -> list[str]:
    moves = {guess.name: guess.moves_cg_m for guess in weighed.guesses}
    lines = [f"  {'part':<26} {'mass':>9} {'aft':>9} {'right':>9} {'up':>9}  source"]
    for part in weighed.parts:
        places = " ".join(f"{u.length(place):>9}" for place in part.place_m)
        mass = u.mass(part.mass_kg, 1)
        moved = moves.get(part.name)
        told = part.source
        if moved is not None:
            told += f", moves the CG {u.length(moved, 1)}"
        lines.append(f"  {part.name:<26} {mass:>9} {places}  {told}")
    return lines


def _place(metres: Sequence[float], u: Units) -> str:
    """A place as one measures it from the datum, without signs."""
    ways = (("aft", "ahead"), ("right", "left"), ("above", "below"))
    words = [
        f"{u.length(abs(place), 1)} {positive if place >= -5e-5 else negative}"
        for place, (positive, negative) in zip(metres, ways, strict=True)
    ]
    return ", ".join(words) + ", from the datum"


def _along(metres: float, u: Units) -> str:
    return f"{u.length(abs(metres))} {'aft' if metres >= 0.0 else 'ahead'}"


def _band(weighed: Weighing, u: Units) -> str:
    front, rear = weighed.cg_front_limit_m, weighed.cg_rear_limit_m
    if weighed.cg_closed_by or front is None:
        return f"none: {weighed.cg_closed_by}"
    return f"{_along(front, u)} to {_along(rear, u)}, {u.length(rear - front)} wide"


def _reasons(weighed: Weighing, u: Units) -> list[str]:
    from firstthrow.sim.flight.speeds import SLOWEST_SAFE

    if weighed.cg_closed_by:
        return []
    why, odds = weighed.cg_limits_why, weighed.cg_limits_odds
    ends = (("front", why.front, odds.front), ("rear", why.rear, odds.rear))
    told = [
        f"{end}: {reason}{f'; here {flown.words}' if flown else ''}" for end, reason, flown in ends
    ]
    if any(flown and not flown.is_enough for _, _, flown in ends):
        told.append("launches fail inside it, too: put the throw or the take-off right first")
    slow = weighed.flare_m_s
    if slow is not None and slow > SLOWEST_SAFE * weighed.stall_speed_m_s:
        told.append(f"without power it flies on at {u.speed(slow)}: it touches down that fast")
    return told


WHERE = {"launch": "at the launch", "cruise": "in cruise", "slowest": "at the slowest safe speed"}


def _flown(weighed: Weighing, u: Units) -> list[str]:
    return [
        f"{one.static_margin_percent:.1f} ± {one.static_margin_spread_percent:.1f} % "
        f"{WHERE[one.where]}, {u.speed(one.airspeed_m_s)} at "
        f"{one.alpha_deg:.1f} deg{'' if one.kind == 'level' else ', motor off'}"
        for one in weighed.flown_margins
    ]


def _sideways(weighed: Weighing, u: Units) -> str:
    mass = weighed.imbalance_at_tip_kg
    if abs(mass) < 0.05e-3:
        return "balanced"
    heavy, light = ("right", "left") if mass > 0.0 else ("left", "right")
    return f"{heavy} heavy: {u.mass(abs(mass), 1)} at the {light} tip balances it"


def _strength(strength: Strength | None, u: Units) -> list[tuple[str, str]]:
    if strength is None:
        return [("strength", "no flat sheet with a root that could fold")]
    first = strength.breaks_first
    first = f"the {strength.material if first == 'foam' else first.replace('_', ' ')}"
    at = strength.breaks_at_m
    where = "at the root" if at < 1e-3 else f"{u.length(at)} out"
    rows = [
        (
            "strength",
            f"the root bears {u.moment(strength.root_bending_N_m)}; {first} breaks first, {where}",
        )
    ]
    factor, bank = strength.limit_load_factor, strength.turn_bank_deg
    if factor is not None:
        told = f"folds at {factor:.{0 if factor >= 10.0 else 1}f} times its weight"
        turn = f"in a level turn banked {bank:.0f} deg" if factor > 1.0 else "in level flight"
        rows.append(("", f"{told}, {turn}"))
    speed = strength.full_elevator_speed_m_s
    rows.append(
        (
            "",
            f"full elevator folds it at {u.speed(speed, 0)}"
            if speed is not None
            else f"full elevator does not fold it below {u.speed(40.0, 0)}",
        )
    )
    return rows


def _margin(weighed: Weighing) -> str:
    margin = weighed.static_margin_percent
    if margin < 0.0:
        return "it will not fly hands off: balance further forward"
    return "stable, the nose comes back by itself" if margin >= 3.0 else "barely stable"


def _run_ballast(chosen, airframe, margin: float, per_length: float | None) -> int:
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.study.advice.to_margin import to_margin_flown
    from firstthrow.sim.study.ballast import ROD, NoSuchPlace
    from firstthrow.sim.study.check import ruling
    from firstthrow.sim.study.subject import subject_of
    from firstthrow.sim.study.unsure.ranking import measure_next

    subject = subject_of(airframe)
    try:
        found, flown = to_margin_flown(subject, margin, chosen.at, chosen.along, per_length or ROD)
    except NoSuchPlace as error:
        option = "--at" if chosen.at else "--along"
        raise ConfigError([f"{option} {error}"]) from None
    ruled, next_ = ruling(subject), measure_next(subject)
    if chosen.json:
        whole = {"preflight": ruled.as_json(), "measure_next": next_.as_json()}
        whole["flown"] = flown.as_json()
        print(json.dumps(found.as_json() | whole, indent=1))
    else:
        name, *rest = _ballast_lines(found, flown, bool(chosen.strip), airframe.units)
        print("\n".join([name, *heading(ruled, next_.first(airframe.units)), *rest]))
    if found.ballast is None:
        say(f"{airframe.name}: {found.reason}")
    return DONE if found.is_reached else NO_GO


def _ballast_lines(found: ToMargin, flown: Flown, own_strip: bool, u: Units) -> list[str]:
    from firstthrow.sim.study.margin import ballast_words

    lines = [
        f"{found.airframe}: {found.margin_wanted_percent:.1f} % static margin wanted, "
        f"{found.now.static_margin_percent:.1f} % as it is",
        f"  {'':<60} {'mass':>8} {'CG':>8} {'stall':>9}",
        _row("as it is", None, found.now, u),
    ]
    if found.ballast:
        strip = {"strip": "of that strip"} if own_strip else {}
        words = ballast_words(found.ballast, u, **strip)
        lines.append(_row(words, found.ballast.mass_kg, found.ballast, u))
        lines += _checked(flown.words(flown.ballast))
    for other in found.alternatives:
        if other.reaches:
            lines.append(_row(other.text, other.mass_change_kg, other, u))
            lines += _checked(flown.words(getattr(flown, other.name)))
        elif not other.leads_away:
            reached = f"{other.text}: {other.static_margin_percent:.1f} % only"
            lines.append(_row(reached, other.mass_change_kg, other, u))
        if other.why_not_alone:
            lines.append(f"    ({other.why_not_alone})")
    return lines


def _checked(words: str) -> list[str]:
    return [f"    {line}" for line in wrap(words, 80)]


def _row(words: str, mass: float | None, after: Settled, u: Units) -> str:
    change = "" if mass is None else u.mass(mass, sign="+")
    place = u.length(after.cg_m_aft)
    first, *rest = wrap(words, 60)
    tail = f" {change:>8} {place:>8} {u.bare_speed(after.stall_speed_m_s):>5} {u.speeds}"
    return "\n".join([f"  {first:<60}{tail}", *(f"    {line}" for line in rest)])
