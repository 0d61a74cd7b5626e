"""What to measure next: the shift of the balance that an unknown is felt as, and launches saved."""

import json

import numpy as np
import pytest
from bodies import shipped
from checks import compare

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.trims import trims
from firstthrow.sim.study.odds import launches
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.odds.survival import Sample, sample
from firstthrow.sim.study.subject import Subject, subject_of
from firstthrow.sim.study.unsure.ranking import LITTLE, measure_next, moves, ranked_by


@pytest.fixture(scope="module")
def subject():
    return Subject(shipped())


@pytest.fixture(scope="module")
def flown(subject):
    """A sample with everything off that is not known."""
    plan = launches.Plan(Scatter(), "human", 4.0, 0)
    ready = launches.setup(subject, plan)
    return Sample(ready, plan, launches.run([ready], plan, 64)[0])


def test_bow_is_felt_as_the_balance_that_trims_alike(subject):
    """Trimmed anew as a bowed board and as one balanced elsewhere: the same elevator for both."""
    (row,) = [one for one in subject.unknowns if one.key == (What.BOW, "slab")]
    shift = moves(subject, [row], subject.level)[row.key].aft

    def elevator(airframe) -> float:
        (trim,) = trims(Subject(airframe).model, airframe, [subject.cruise], ("level",))
        return float(np.degrees(trim.elevator))

    plain, airframe = elevator(subject.airframe), subject.airframe
    bowed = elevator(put(airframe, ("sheets", "slab", "bow"), row.spread)) - plain
    moved = elevator(put(airframe, ("corrections", "balance"), shift)) - plain
    print(f"{1e3 * shift:.1f} mm of balance, {bowed:+.2f} and {moved:+.2f} deg of elevator")
    assert bowed > 0.3
    compare("elevator for bow and for its shift of the balance", bowed, moved, 0.15)


def test_a_part_moves_the_balance_by_its_share(subject):
    """Wiring of pantry: 12 g of 415 g, 25 mm unsure."""
    (row,) = [one for one in subject.unknowns if one.key == (What.AFT, "wiring")]
    assert moves(subject, [row], subject.level)[row.key].aft == pytest.approx(
        0.012 * 0.025 / 0.41498, rel=1e-3
    )
    (row,) = [one for one in subject.unknowns if one.key == (What.NEUTRAL_POINT, "")]
    assert abs(moves(subject, [row], subject.level)[row.key].aft) == pytest.approx(row.spread)


def test_an_unmeasured_board_comes_first_and_a_measured_one_no_more(subject, flown):
    found = ranked_by(subject, flown)
    assert (found.launches_flown, found.launches_survived) == (64, flown[2].survived)
    assert found.rows[0].name == "bow of the slab"
    assert "straightedge" in found.words()[0]
    small = [r for r in found.rows if r.moves_balance_m + r.moves_balance_sideways_m < LITTLE]
    assert [row.name for row in small] == ["bending strength of the slab"]  # nothing of balance
    known = Subject(shipped("pantry", "sheets.slab.bow=0 mm"))
    assert "bow of the slab" not in [row.name for row in ranked_by(known, flown).rows]


def test_launches_lost_to_one_unknown_are_saved_by_measuring_it(subject, flown):
    """With nothing else off, those that are lost are lost to the bow: measured, most survive."""
    nothing = Scatter(parts="none", surfaces="none", air="none", drive="none").model_copy(
        update=dict.fromkeys(("speed", "pitch", "bank", "slip", "roll_rate", "build"), 0.0)
    )
    plan = launches.Plan(nothing, "hands-off", 4.0, 0)
    # Where it stands near its front limit and is thrown with little throttle, a bow decides.
    near = shipped("pantry", "items.pack.aft=-35 mm", "launch.hand.throttle=73 %")
    subject = Subject(near, subject.field)
    ready = launches.setup(subject, plan)
    odds = launches.run([ready], plan, 64)[0]
    lost = 100.0 * (1.0 - odds.fraction)
    found = ranked_by(subject, Sample(ready, plan, odds))
    saved = {row.name: row.launches_saved for row in found.rows}
    print(f"lost {lost:.0f} of 100, saved {saved}")
    assert lost > 10.0
    assert saved["bow of the slab"] > 0.5 * lost
    assert saved["effect of surfaces of the taped hinges"] == 0.0


def test_a_surer_case_is_the_same_case(subject, flown):
    """The same throw, and that one unknown less off; whichever others are flown with it."""
    ready, plan, odds = flown
    cases = np.array([3, 9])
    same = launches.fly(launches.drawn(ready, plan, cases, {(What.BOW, "slab"): 1.0}))
    np.testing.assert_array_equal(same, odds.results[cases])
    other = launches.fly(launches.drawn(ready, plan, cases, {(What.BOW, "slab"): 0.2}))
    assert (other != odds.results[cases]).all()


def test_every_report_ranks_by_the_launches_that_decide(capsys):
    """Of one airframe that loses launches weigh, trim and odds rank as check does, which is not by
    what moves the balance alone."""
    slow = "launch.hand.speed=7 m/s"
    subject = subject_of(shipped("pantry", slow))
    found = measure_next(subject)
    names = [row.name for row in found.rows]
    for command in (("weigh",), ("trim", "--speed", "9 m/s"), ("odds", "--flights", "4")):
        main([command[0], "pantry", "--set", slow, "--json", *command[1:]])
        told = json.loads(capsys.readouterr().out)["measure_next"]["rows"]
        assert [row["name"] for row in told] == names, command
    flights = sample(subject)
    alive = flights.odds.alive
    whole = flights.odds._replace(
        results=flights.odds.results[alive], cases=flights.odds.cases[alive]
    )
    by_balance = ranked_by(subject, flights._replace(odds=whole))
    assert names != [row.name for row in by_balance.rows]
    assert found.order.startswith("what costs most launches first")
