"""The smallest change that makes an airframe go: found part by part, then checked and flown.

What forbids it is taken up in the order of the house: first what holds it together, last how it
is thrown. Of the ways for a part the cheapest that clears it is taken, in work and grams; of
several ways for the launch, the one with which most launches survive joins the next. The search
looks at one part of the verdict at a time and flies few launches, more only where those would do;
what comes out is checked whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.linkage import DoesNotReach
from firstthrow.sim.once import once_for
from firstthrow.sim.study import directions, power, throws
from firstthrow.sim.study.advice import changes
from firstthrow.sim.study.advice.answer import Advice, Needed, Standing, Step
from firstthrow.sim.study.advice.changes import Change
from firstthrow.sim.study.band.band import limits_verdict, meant
from firstthrow.sim.study.band.limits import limits
from firstthrow.sim.study.check import (
    Preflight,
    Reports,
    part,
    preflight,
    reports,
    throttle_limit,
    whole,
)
from firstthrow.sim.study.directions import Movement
from firstthrow.sim.study.loads import load_limits
from firstthrow.sim.study.odds.arm import RUN, arm_speed
from firstthrow.sim.study.odds.survival import ByHands, by_hands
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict, Verdict

FEW = 30  # launches in the search
ROUNDS = 2  # of ways for the launch, one on top of another
ORDER = ("strength", "surfaces", "power", "balance", "launch")
PER_SHARE = 500.0  # minutes that all of the airframe's mass added is held to be worth
LEAST_OF_STALL = 0.7  # a throw from a run below that share of the stall speed is not tried
SPEED_STEP = 0.5  # of the throw that is needed [m/s]


@once_for(8)
def advised(subject: Subject) -> Preflight:
    """The verdict, and where it is no-go the advice: applied, checked and flown."""
    found = whole(subject)
    answer = preflight(found)
    if answer.verdict is Verdict.GO or found.directions.verdict is not Movement.OK:
        return answer
    if found.surfaces is None or not found.weigh.pitch_control:
        return answer
    advice = advise(subject, found, answer)
    u = subject.airframe.units
    told = " ".join(text for text in (advice.words(u), advice.throw_words(u)) if text)
    return replace(answer, advice=advice, next=told)


def advise(subject: Subject, found: Reports, answer: Preflight) -> Advice:
    before = standing(subject, answer)
    steps, now = _found(subject, found, answer)
    after = before
    if steps:
        after = standing(now, preflight(reports(now, is_whole=False)))
        if not is_better(before, after):
            steps, now, after = [], subject, before
    return Advice(
        steps=tuple(steps),
        mass_change_kg=now.mass - subject.mass,
        work_min=sum(step.work_min for step in steps),
        before=before,
        after=after,
        throws=_throws(subject, answer),
    )


def standing(subject: Subject, answer: Preflight) -> Standing:
    stopped = tuple(check.name for check in answer.stopped)
    why = next((check.reasons[0] for check in answer.stopped), "")
    return Standing(answer.verdict, 100.0 * subject.margin, answer.odds, stopped, why)


def tried(subject: Subject) -> Standing:
    """By few launches, and without the ends of the band: for a change that was asked for. A rod
    that does not reach forbids it, too."""
    try:
        return standing(subject, preflight(reports(subject, FEW, is_whole=False)))
    except DoesNotReach as why:
        odds = by_hands(subject, FEW)
        return Standing(Verdict.NO_GO, 100.0 * subject.margin, odds, ("surfaces",), str(why))


def is_better(before: Standing, after: Standing) -> bool:
    """Whether nothing got worse, and something better."""
    if not set(after.stopped_by) <= set(before.stopped_by):
        return False
    if after.verdict is Verdict.GO:
        return True
    fewer = len(after.stopped_by) < len(before.stopped_by)
    survive_more = after.odds.fraction > before.odds.fraction
    return not _more_lost(before, after) and (fewer or survive_more)


def is_worse(before: Standing, after: Standing) -> bool:
    """Whether another part forbids it, or fewer survive, beyond one launch of chance."""
    more = not set(after.stopped_by) <= set(before.stopped_by)
    return more or _more_lost(before, after)


def _more_lost(before: Standing, after: Standing) -> bool:
    """By more than one launch of the sample after, which ends early where it decides."""
    expected = before.odds.fraction * after.odds.flown
    return after.odds.survived < expected - 1.5


def price(change: Change, now: Subject) -> float:
    """Work, and what added mass is held to be worth [min]."""
    added = now.changed(change.airframe).mass - now.mass
    return change.work + PER_SHARE * max(0.0, added) / now.mass


def _found(subject: Subject, found: Reports, answer: Preflight) -> tuple[list[Step], Subject]:
    """The steps, and the airframe with all of them."""
    bad = {check.name for check in answer.stopped}
    now, before = subject, subject.airframe
    taken: list[tuple[Change, Step]] = []

    def take(change: Change) -> None:
        nonlocal now
        after = now.changed(change.airframe)
        added = after.mass - now.mass
        if change.rebalances:
            added += sum(step.mass_change_kg for one, step in taken if one.balances)
            taken[:] = [one for one in taken if not one[0].balances]
        step = Step(change.text, added, change.work, change.place)
        taken.append((change, step))
        now = after

    if "balance" in bad and limits_verdict(subject) is BalanceVerdict.OK:
        bad.remove("balance")  # it trims and is stable: the launch is what fails there
    for name in ORDER[:-1]:
        for ways in WAYS[name] if name in bad else ():
            cleared = _first_clear(now, found, name, ways(now, found))
            if cleared is not None:
                before = now.airframe if cleared.balances else cleared.airframe
                take(cleared)
                break
    for change in _launch(now, found, before):
        take(change)
    steps = [step for _, step in taken if step.text]
    told = list(changes.settings(subject.airframe, now.airframe))
    same = subject.airframe.mixing == now.airframe.mixing
    work = 0.0 if same else changes.TRANSMITTER
    steps += [Step(text, 0.0, work / len(told)) for text in told]
    return steps, now


def _first_clear(now: Subject, found: Reports, name: str, ways: Iterable[Change]) -> Change | None:
    """The cheapest way with which that part no longer forbids it."""
    for way in sorted(ways, key=lambda change: price(change, now)):
        after = now.changed(way.airframe)
        if name == "balance":
            if limits_verdict(after) is BalanceVerdict.OK:
                return way
        elif not part(name, _looked(found, after, name)).reasons:
            return way
    return None


def _looked(found: Reports, after: Subject, name: str) -> Reports:
    """The reports with what one part rests on worked out anew."""
    if name == "strength":
        weighed = replace(
            found.weigh, strength=load_limits(after), stall_speed_m_s=after.stall_speed
        )
        return replace(found, weigh=weighed)
    if name == "surfaces":
        return replace(found, surfaces=throws.study(after), directions=directions.study(after))
    launch = after.airframe.launch
    plan = launch.thrown or launch.ground
    return replace(
        found,
        power=power.study(after),
        throttle_limit=throttle_limit(after),
        launch=replace(found.launch, throttle=plan.throttle if plan else 0.0),
    )


def _margin(now: Subject) -> float:
    """What the file wants where that lies in the band, else that of the band's middle."""
    ends = limits(now)
    return (now.neutral_point - meant(now, ends.front.aft, ends.rear.aft)) / now.chord


# Ways for each part, the easier ones first: the next are looked at where those do not clear it.
Ways = Callable[[Subject, Reports], Iterable[Change]]
WAYS: dict[str, tuple[Ways, ...]] = {
    "strength": (lambda now, found: changes.stronger(now),),
    "surfaces": (
        lambda now, found: changes.other_holes(now, found.surfaces),
        lambda now, found: changes.stronger_servos(now, found.surfaces),
    ),
    "power": (lambda now, found: changes.gentler_drive(now, found.throttle_limit),),
    "balance": (
        lambda now, found: changes.ballasted(now, _margin(now)),
        lambda now, found: changes.more_throw(now),
        lambda now, found: changes.rebuilt(now, _margin(now)),
    ),
}


def _launch(now: Subject, found: Reports, before: Airframe) -> list[Change]:
    """Ways of launching it, until enough survive; none where enough do as it is. `before`: the
    airframe before it was balanced."""
    taken: list[Change] = []
    limit = found.throttle_limit
    slow = _arm(now)
    if slow is not None:
        taken.append(slow)
        now = now.changed(slow.airframe)
    odds = _flown(now)
    rounds = 0 if _is_hopeless(now) else ROUNDS
    for _ in range(rounds):
        if odds.is_enough:
            return taken
        ways = [*changes.thrown_by_an_arm(now), *changes.launched_otherwise(now, limit, before)]
        best = _most_surviving(now, ways, odds)
        if best is None:
            break
        change, odds = best
        taken.append(change)
        now = now.changed(change.airframe)
    if odds.is_enough:
        return taken
    for change in changes.on_wheels(now, limit):
        if _flown(now.changed(change.airframe)).is_enough:
            return [*taken, change]
    return taken


def _flown(now: Subject) -> ByHands:
    """By few launches; where so few would do, by as many as decide."""
    odds = by_hands(now, FEW)
    return by_hands(now) if odds.is_enough else odds


def _is_hopeless(now: Subject) -> bool:
    """Whether no run brings a throw near the stall speed."""
    thrown = now.airframe.launch.thrown is not None
    return thrown and arm_speed(now.mass) + RUN < LEAST_OF_STALL * now.stall_speed


def _arm(now: Subject) -> Change | None:
    """A plan that asks more than an arm gives is brought back to what it gives, standing."""
    hand = now.airframe.launch.thrown
    if hand is None:
        return None
    first = next(iter(changes.thrown_by_an_arm(now)), None)
    if first is None or first.airframe.launch.by_hand.speed > hand.speed:
        return None
    return first


def _most_surviving(
    now: Subject, ways: list[Change], odds: ByHands
) -> tuple[Change, ByHands] | None:
    """The cheapest way with which enough survive; else the one with which most do, where that is
    more than as it is."""
    best: tuple[Change, ByHands] | None = None
    for way in sorted(ways, key=lambda change: price(change, now)):
        flown = _flown(now.changed(way.airframe))
        if flown.is_enough:
            return way, flown
        if flown.fraction > (best[1] if best else odds).fraction:
            best = way, flown
    return best


def _throws(subject: Subject, answer: Preflight) -> tuple[Needed, ...]:
    """The throw that is needed, as it is, with all the throttle, and a tenth lighter."""
    hand = subject.airframe.launch.thrown
    stopped = [check.name for check in answer.stopped]
    if stopped != ["launch"] or hand is None:
        return ()
    open_ = put(subject.airframe, ("launch", "hand", "throttle"), 1.0)
    items = {
        name: item.model_copy(update={"mass": 0.8 * item.mass})
        for name, item in subject.airframe.items.items()
    }
    lighter = subject.changed(subject.airframe.model_copy(update={"items": items}))
    lighter = lighter.balanced_at(subject.cg)
    less = subject.airframe.units.mass(subject.mass - lighter.mass)
    asked = [("as it is", subject)]
    if hand.throttle < 0.99 and subject.airframe.motors:
        asked.append(("with all the throttle", subject.changed(open_)))
    asked.append((f"{less} lighter", lighter))
    found = [Needed(text, needed(one)) for text, one in asked]
    first, *rest = found
    return (first, *(one for one in rest if _is_lower(one, first)))


def _is_lower(one: Needed, than: Needed) -> bool:
    """Whether a slower throw does; what asks for a faster one is no help."""
    return one.speed_m_s is not None and one.speed_m_s < (than.speed_m_s or np.inf)


def needed(subject: Subject) -> float | None:
    """The slowest throw [m/s], in steps of half a metre a second, at which enough launches
    survive; None where they do not at twice the stall speed. Taken to grow with the speed."""
    grid = np.arange(0.5, 2.0, SPEED_STEP / subject.stall_speed) * subject.stall_speed
    grid = SPEED_STEP * np.unique(np.round(grid / SPEED_STEP))

    def flies(speed: float) -> bool:
        thrown = put(subject.airframe, ("launch", "hand", "speed"), float(speed))
        return _flown(subject.changed(thrown)).is_enough

    low, high = -1, len(grid) - 1
    if not flies(grid[high]):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if flies(grid[middle]) else (middle, high)
    return float(grid[high])
