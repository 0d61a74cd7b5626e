"""Advice: what an arm gives, what is worth saying, what a change is told as, what it costs."""

from __future__ import annotations

from dataclasses import replace
from math import radians

import pytest
from bodies import shipped, shipped_subject

from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.linkage import DoesNotReach
from firstthrow.sim.study import throws
from firstthrow.sim.study.advice import changes, search
from firstthrow.sim.study.advice.answer import Advice, Needed, Standing, Step
from firstthrow.sim.study.advice.search import is_better, is_worse, price, tried
from firstthrow.sim.study.ballast import usual_place
from firstthrow.sim.study.band.band import limits_verdict
from firstthrow.sim.study.check import part, preflight, whole
from firstthrow.sim.study.margin import ways
from firstthrow.sim.study.odds.arm import RUN, arm_speed, mass_for
from firstthrow.sim.study.odds.survival import LAUNCHES, ByHands
from firstthrow.sim.study.throws import LOCKS
from firstthrow.sim.study.verdict import Verdict


def odds(survived: int, flown: int = 100) -> ByHands:
    return ByHands("club", flown, survived, survived / flown, 0.0, 1.0, {})


BAD = Standing(Verdict.NO_GO, 3.0, odds(31), ("balance", "launch"))
GOOD = Standing(Verdict.GO, 8.0, odds(97), ())


def test_an_arm_throws_what_is_heavier_slower():
    """800 g leave at 7 to 9 m/s (common practice, no source); the same work for every mass."""
    assert 7.0 < arm_speed(0.8) < 9.0
    assert mass_for(arm_speed(0.8)) == pytest.approx(0.8)
    assert mass_for(99.0) == 0.0
    work = [(0.65 + mass) * arm_speed(mass) ** 2 for mass in (0.1, 0.4, 1.5)]
    assert work == pytest.approx([work[0]] * 3)
    for name in ("pantry", "pantry-swept", "allotment"):
        airframe = shipped_subject(name)
        assert airframe.airframe.launch.by_hand.speed <= arm_speed(airframe.mass)


def test_throws_of_an_arm_are_offered_standing_and_from_a_run():
    heavy = shipped_subject("pantry", "items.pack.mass=500 g", "launch.hand.speed=11 m/s")
    offered = [c.airframe for c in changes.thrown_by_an_arm(heavy)]
    speeds = [airframe.launch.by_hand for airframe in offered]
    arm = arm_speed(heavy.mass)
    assert [hand.speed for hand in speeds] == pytest.approx([arm, arm + RUN], abs=0.1)
    assert [hand.run for hand in speeds] == [0.0, RUN]
    assert all(hand.speed <= arm + hand.run for hand in speeds)
    standing, running = (" ".join(changes.settings(heavy.airframe, one)) for one in offered)
    assert "running" not in standing
    assert f"{RUN:g} m/s of it by running (launch.hand.run)" in running


@pytest.mark.parametrize(
    ("after", "is_said"),
    [
        (GOOD, True),
        (replace(BAD, odds=odds(60)), True),  # more survive
        (replace(BAD, stopped_by=("launch",)), True),  # one part less
        (BAD, False),  # does nothing
        (replace(BAD, odds=odds(20), stopped_by=("launch",)), False),  # fewer survive
        (replace(BAD, odds=odds(99), stopped_by=("balance", "power")), False),  # spoils another
    ],
)
def test_what_harms_or_does_nothing_is_not_said(after, is_said):
    assert is_better(BAD, after) is is_said


def test_samples_that_ended_early_are_compared_by_what_they_would_have_shown():
    """7 of 8 are no fewer than 96 of 100 beyond a launch of chance; 5 of 8 are."""
    before = replace(GOOD, odds=odds(96))
    assert not is_worse(before, replace(GOOD, odds=odds(7, 8)))
    assert is_worse(before, replace(GOOD, odds=odds(5, 8)))
    assert is_worse(before, replace(GOOD, stopped_by=("power",)))


def test_a_rod_that_does_not_reach_forbids_it_and_what_weighs_nothing_is_no_rod(monkeypatch):
    def breaks(error):
        def study(*_, **__):
            raise error

        monkeypatch.setattr(search, "reports", study)

    subject = shipped_subject("glasshouse")
    breaks(DoesNotReach("a rod of 20 mm does not reach"))
    found = tried(subject)
    assert (found.stopped_by, found.because) == (("surfaces",), "a rod of 20 mm does not reach")
    breaks(ValueError("it weighs nothing"))
    with pytest.raises(ValueError, match="weighs nothing"):
        tried(subject)


def test_a_second_balance_takes_the_place_of_the_first():
    """What is told of ballast and pack is what is on the airframe, all of it, once."""
    aft = shipped_subject("pantry-swept", "items.pack.aft=100 mm")
    first = next(iter(changes.ballasted(aft, 0.10)))
    now = aft.changed(first.airframe)
    again = list(changes.rebalanced(now, 0.07, aft.airframe))
    assert {change.text.split()[0] for change in again} == {"put", "move"}
    for change in again:
        after = aft.changed(change.airframe)
        assert change.rebalances
        assert after.margin == pytest.approx(0.07, abs=2e-4)
        added = [item for name, item in after.airframe.items.items() if "added" in name]
        told = sum(item.mass for item in added)
        assert after.mass - aft.mass == pytest.approx(told)
        if change.text.startswith("put"):
            assert f"put {1e3 * told:.0f} g" in change.text


def test_a_linkage_that_locks_is_given_holes_that_reach():
    """Told to a whole mark, and clear when what is told is written into the file."""
    arm = "sheets.fin.surfaces.rudder.arm"
    locks = shipped_subject("allotment", f"{arm}=4 mm")
    reports = whole(locks)
    assert part("surfaces", reports).reasons == (f"rudder: {LOCKS}",)
    shorter, longer = changes.other_holes(locks, reports.surfaces)
    assert shorter.text == "rudder: a horn of 6 mm instead of 12 mm"
    assert longer.text.startswith("rudder: an arm of ")
    told = ("sheets.fin.surfaces.rudder.horn=6 mm", f"{arm}=4 mm")
    assert shorter.airframe == shipped("allotment", *told)
    for change in (shorter, longer):
        after = locks.changed(change.airframe)
        assert not part("surfaces", replace(reports, surfaces=throws.study(after))).reasons
    ways = search.WAYS["surfaces"][0](locks, reports)
    assert search._first_clear(locks, reports, "surfaces", ways).text == shorter.text


def test_where_ballast_goes_when_nothing_is_said():
    """To that which is there, on or off, where that helps; else to the end that helps. `weigh
    --margin` and the advice ask the same."""
    own = shipped_subject("pantry")
    assert usual_place(own, own.margin + 0.02) == "ballast"
    assert usual_place(own, own.margin - 0.01) == "ballast"  # some of its 20 g comes off
    assert usual_place(own, own.margin - 0.20) == "tail"
    bare = shipped_subject("allotment")
    assert usual_place(bare, bare.margin + 0.02) == "nose"
    assert usual_place(bare, bare.margin - 0.02) == "tail"
    for subject, margin in ((own, own.margin - 0.01), (bare, bare.margin - 0.02)):
        assert ways(subject, margin).ballast.where == usual_place(subject, margin)
    there = ways(bare, bare.margin + 1e-4)
    assert (there.ballast.mass, there.others) == (0.0, [])


def test_advice_tells_before_and_after_with_its_price():
    step = Step("put 205 g at the nose, 75 mm ahead of the datum", 0.205, 10.0)
    advice = Advice((step,), 0.205, 10.0, BAD, GOOD, ())
    assert advice.words() == (
        "Put 205 g at the nose, 75 mm ahead of the datum: go, margin 8.0 %, 97 of 100 launches "
        "survive (now 3.0 %, 31 of 100); +205 g, some 10 min of work."
    )
    near = replace(advice, after=replace(BAD, odds=odds(60), stopped_by=("launch",)))
    assert near.words().startswith("Nothing that was tried makes it go. Nearest: put 205 g")
    assert near.words().endswith("still no-go for launch.")
    why = replace(near, after=replace(near.after, because="it stalls"))
    assert why.words().endswith("still no-go for launch: it stalls.")
    light = replace(advice, mass_change_kg=0.0)
    assert light.words().endswith("(now 3.0 %, 31 of 100); some 10 min of work.")
    assert not replace(advice, steps=(), after=BAD).goes
    slow = replace(advice, throws=(Needed("as it is", 9.5), Needed("50 g lighter", None)))
    assert slow.throw_words() == "Throw it at least: as it is 9.5 m/s, 50 g lighter no throw does."


def test_settings_are_told_by_what_differs_in_the_end():
    before = shipped("pantry")
    after = put(before, ("mixing", "reflex"), radians(6.5))
    after = put(put(after, ("launch", "hand", "speed"), 9.0), ("launch", "hand", "throttle"), 0.9)
    assert list(changes.settings(before, after)) == [
        "6.5 deg of reflex (now 5)",
        "throw it at 9.0 m/s (planned 8.0 m/s)",
        "launch with 90 % throttle (now 78 %)",
    ]
    assert list(changes.settings(before, before)) == []


def test_easy_ways_to_a_margin_reach_it_and_the_lighter_is_cheaper():
    """A slab balanced behind its band: each way, built, lies inside it with the margin asked."""
    aft = shipped_subject("pantry", "items.pack.aft=80 mm")
    assert limits_verdict(aft) != "ok"
    ways = list(changes.ballasted(aft, 0.08))
    assert len(ways) >= 2
    for way in ways:
        after = aft.changed(way.airframe)
        assert after.margin == pytest.approx(0.08, abs=2e-4)
        assert limits_verdict(after) == "ok"
    dear = max(ways, key=lambda way: aft.changed(way.airframe).mass)
    assert price(dear, aft) == max(price(way, aft) for way in ways)


def test_ways_are_tried_where_few_launches_let_pass_what_as_many_as_decide_refuse(monkeypatch):
    """Of the first 30 of a sample 29 may survive, and 90 of the 96 that decide."""
    subject = shipped_subject("pantry")
    arm = int(10.0 * arm_speed(subject.mass)) / 10.0

    def fly(now, most=LAUNCHES):
        if now.airframe.launch.by_hand.speed == arm:
            return odds(29, 30) if most < 72 else odds(71, 72)
        return odds(29, 30) if most < 96 else odds(90, 96)

    monkeypatch.setattr(search, "by_hands", fly)
    found = whole(subject)
    steps, now = search._found(subject, found, preflight(found))
    assert steps
    assert now.airframe.launch.by_hand.speed == arm
