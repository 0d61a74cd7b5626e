"""Every fault shows in a flight what it is known by, against the same flight without it."""

from __future__ import annotations

from functools import lru_cache
from math import radians

import numpy as np
import pytest
from bodies import shipped

from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.pages.drill import called
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.study import fault_changes, faults
from firstthrow.sim.study.odds.launches import Plan, run, setup
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject

THROTTLE = shipped().launch.hand.throttle
BEGIN, END = 0.2, 0.6  # when the stick is moved [s]


class Kept:
    """Readings of a flight, by column."""

    def __init__(self) -> None:
        self.rows = []

    def write(self, reading) -> None:
        self.rows.append(reading)

    def column(self, name: str) -> np.ndarray:
        return np.array([getattr(row, name) for row in self.rows])

    def at(self, time: float):
        return min(self.rows, key=lambda row: abs(row.time_s - time))


def thumb(stick: str, amount: float):
    """Sticks in the middle, but one for 0.4 s after the release."""

    def pilot(reading) -> Sticks:
        moved = {stick: amount} if stick and BEGIN <= reading.time_s < END else {}
        return Sticks(throttle=THROTTLE, **moved)

    return pilot


@lru_cache
def flown(fault: str = "", stick: str = "", amount: float = 0.5, name: str = "pantry") -> Kept:
    kept = Kept()
    airframe, field, model = described(fault, name)
    fly(airframe, field, thumb(stick, amount), 1.2, "hand", record=kept, model=model)
    return kept


@lru_cache
def described(fault: str, name: str):
    airframe, field = shipped(name), STANDARD
    if fault:
        airframe, field = faults.apply(fault, airframe, field)
    return airframe, field, build(airframe, field)


def mass_and_place(fault: str):
    return balance(parts(described(fault, "pantry")[0]))


def told(fault: str, words: str, right: float, wrong: float) -> None:
    print(f"{fault}: {words} {right:.2f} without, {wrong:.2f} with it")


def both(fault: str, column: str, time: float, stick: str = "") -> tuple[float, float]:
    right, wrong = (getattr(flown(f, stick).at(time), column) for f in ("", fault))
    told(fault, f"{column} at {time} s", right, wrong)
    return right, wrong


def test_reversed_roll():
    right, wrong = both("reversed-roll", "roll_deg", 0.6, "roll")
    assert right > 15.0
    assert wrong < -15.0
    pitch = both("reversed-roll", "pitch_deg", 0.6, "pitch")
    assert pitch[1] == pytest.approx(pitch[0], abs=1e-6)


def test_reversed_pitch():
    right, wrong = both("reversed-pitch", "q_deg_s", 0.5, "pitch")
    assert right > 20.0
    assert wrong < -20.0


def test_swapped_elevons():
    """Roll is reversed and pitch is right, and so is the neutral: each has the other's command."""
    right, wrong = both("swapped-elevons", "p_deg_s", 0.5, "roll")
    assert right > 50.0
    assert wrong < -50.0
    assert both("swapped-elevons", "q_deg_s", 0.5, "pitch")[1] > 20.0
    with_it, without = flown("swapped-elevons", "roll").at(0.5), flown("", "roll").at(0.5)
    assert with_it.surface_elevon_left_asked_deg == without.surface_elevon_right_asked_deg


def test_cg_aft():
    """10 mm further back; the nose comes up more for the same stick and stays up longer."""
    moved = mass_and_place("cg-aft").place - mass_and_place("").place
    assert moved == pytest.approx([0.010, 0.0, 0.0], abs=1e-9)
    right, wrong = both("cg-aft", "pitch_deg", 1.0, "pitch")
    assert wrong > right + 5.0


def test_no_reflex():
    right, wrong = both("no-reflex", "pitch_deg", 0.6)
    assert wrong < right - 5.0
    assert abs(flown("no-reflex").at(0.0).surface_elevon_left_asked_deg) < 1.0


def test_warped_tip():
    """The left tip lifts: it rolls right, faster than without."""
    right, wrong = both("warped-tip", "roll_deg", 0.6)
    assert wrong > right + 10.0


def test_propeller_backwards():
    """About half the thrust (trade rule, from memory), at more rpm and less current."""
    right, wrong = both("propeller-backwards", "motor_motor_thrust_N", 0.0)
    assert 0.4 < wrong / right < 0.75
    rpm, current = (both("propeller-backwards", c, 0.0) for c in ("motor_motor_rpm", "pack_A"))
    assert rpm[1] > rpm[0]
    assert current[1] < current[0]


def test_motor_reversed():
    """It turns the other way, pushes back, and torque rolls the other way."""
    assert both("motor-reversed", "motor_motor_rpm", 0.0)[1] < -3000.0
    assert both("motor-reversed", "motor_motor_thrust_N", 0.0)[1] < -0.5
    right, wrong = both("motor-reversed", "airspeed_m_s", 0.6)
    assert wrong < right - 2.0


def test_weak_pack():
    """It runs, slower; the voltage falls further for the current drawn."""
    right, wrong = both("weak-pack", "motor_motor_thrust_N", 0.0)
    assert 0.3 * right < wrong < 0.9 * right
    assert both("weak-pack", "pack_V", 0.0)[1] < 0.92 * flown().at(0.0).pack_V


def test_brown_out():
    """The supply dips when sticks load the servos; then motor and surfaces are dead, and the
    surfaces stay or drift while something else is asked."""
    kept, healthy = flown("brown-out", "pitch", 1.0), flown("", "pitch", 1.0)
    supply = kept.column("supply_V")
    assert supply.min() < 0.72 * 5.0
    assert healthy.column("supply_V").min() == 5.0
    dips = kept.rows[int(np.argmax(supply < 0.72 * 5.0))].time_s
    print(f"brown-out: supply {supply.min():.1f} V, dips at {dips:.2f} s")
    assert BEGIN <= dips < END
    later = kept.at(dips + 0.3)
    assert later.motor_motor_A == 0.0
    assert abs(later.surface_elevon_left_deg - later.surface_elevon_left_asked_deg) > 2.0
    still = healthy.at(dips + 0.3)
    assert still.motor_motor_A > 1.0
    assert abs(still.surface_elevon_left_deg - still.surface_elevon_left_asked_deg) < 2.0


def test_elevon_stuck():
    """The left one stays while the right one follows; pitch also rolls."""
    kept = flown("elevon-stuck", "pitch")
    assert np.ptp(kept.column("surface_elevon_left_asked_deg")) > 4.0
    slop = np.degrees(described("", "pantry")[2].record.surface_slop[0])
    assert np.ptp(kept.column("surface_elevon_left_deg")) <= slop + 1e-6
    assert np.ptp(kept.column("surface_elevon_right_deg")) > 4.0
    right, wrong = both("elevon-stuck", "p_deg_s", 0.5, "pitch")
    assert wrong > right + 15.0


@pytest.mark.parametrize("name", ["pantry", "allotment"])
def test_the_line_names_what_is_struck_also_without_elevons(name):
    surface = called("elevon-off", shipped(name)).split()[1]
    for fault in ("elevon-stuck", "elevon-off"):
        assert surface in faults.FAULTS[fault].line.replace(",", "").split()


def test_elevon_off():
    """Lighter by the elevon, and it rolls towards the side that lost its reflex's download."""
    lost = mass_and_place("").mass - mass_and_place("elevon-off").mass
    assert lost == pytest.approx(shipped().sheets["slab"].surfaces["elevon"].mass)
    right, wrong = both("elevon-off", "roll_deg", 0.6)
    assert abs(wrong) > abs(right) + 10.0
    assert flown("elevon-off", "pitch").column("servo_elevon_left_load") == pytest.approx(0.0)


def test_gust_at_release():
    """Wind from the right and down within a second of the release, gone after it."""
    kept = flown("gust-at-release")
    early, late = kept.at(0.5), kept.at(1.1)
    told("gust-at-release", "wind east, down m/s", early.wind_east_m_s, early.wind_down_m_s)
    assert early.wind_east_m_s == pytest.approx(-3.5, abs=0.2)  # thrown north: from the right
    assert early.wind_down_m_s == pytest.approx(1.5, abs=0.1)
    assert abs(late.wind_east_m_s) + abs(late.wind_down_m_s) < 1e-6
    right, wrong = both("gust-at-release", "height_m", 0.8)
    assert wrong < right - 0.1


@pytest.mark.parametrize("heading", [0.0, 90.0, 200.0])
def test_gust_comes_from_the_right(heading):
    """Whichever way the launch goes: a quarter turn clockwise from it."""
    field = STANDARD.model_copy(update={"heading": radians(heading)})
    _, gusty = faults.apply("gust-at-release", shipped(), field)
    assert np.degrees(gusty.gusts.pulse.from_bearing) == pytest.approx((heading + 90.0) % 360.0)


def test_slow_throw():
    first = flown("slow-throw").column("time_s").searchsorted(1e-6)
    speed = flown("slow-throw").rows[first].airspeed_m_s
    assert speed == pytest.approx(0.6 * shipped().launch.hand.speed, rel=0.05)
    right, wrong = both("slow-throw", "height_m", 0.6)
    assert wrong < right - 0.2


def test_a_pack_that_slides_rears_it_up():
    right, wrong = both("pack-slides", "pitch_deg", 0.8)
    assert wrong > right + 8.0


def test_the_rate_switch_does_nothing():
    """Low rates give what high ones do."""
    right, wrong = described("", "pantry")[0], described("high-rates", "pantry")[0]
    low = Sticks(roll=1.0, low_rates=True)
    assert mixer(wrong).angles(low) == mixer(right).angles(low._replace(low_rates=False))
    assert mixer(right).angles(low) != mixer(wrong).angles(low)


def test_half_the_throttle_sinks():
    climbs = []
    for fault in ("", "low-throttle"):
        airframe, _, model = described(fault, "pantry")
        throttle = Sticks(throttle=airframe.launch.by_hand.throttle)
        kept = Kept()
        fly(airframe, STANDARD, lambda _, t=throttle: t, 1.2, "hand", record=kept, model=model)
        climbs.append(kept.at(1.0).climb_m_s)
    told("low-throttle", "climb m/s", *climbs)
    assert climbs[1] < climbs[0] - 0.3


def test_a_linkage_with_play_lets_the_air_move_the_surface():
    """Reflex is held by nothing but the rod: the air pushes the surface down through the play."""
    right, wrong = both("loose-linkage", "surface_elevon_left_deg", 0.5)
    told("loose-linkage", "elevon deg", right, wrong)
    assert wrong > right + 1.5


def test_an_old_crease_folds_in_a_pull_that_a_whole_board_bears():
    right, wrong = both("old-crease", "bending_fraction", 0.5, "pitch")
    assert wrong == pytest.approx(right / fault_changes.CREASED, rel=0.3)


def test_short_blades_turn_faster_and_pull_less():
    right, wrong = both("propeller-damaged", "motor_motor_rpm", 0.3)
    assert wrong > 1.02 * right
    right, wrong = both("propeller-damaged", "motor_motor_thrust_N", 0.3)
    assert wrong < 0.7 * right


def test_a_differential_the_wrong_way_round_dives_as_it_rolls():
    right, wrong = both("differential-reversed", "q_deg_s", 0.5, "roll")
    assert wrong < right - 5.0


def test_up_held_at_the_throw_rears_it_up_until_it_is_let_go():
    kept = flown("up-held")
    sticks, time = kept.column("stick_pitch"), kept.column("time_s")
    assert (sticks[1:][time[1:] <= 0.5] == 1.0).all()
    assert (sticks[time > 0.55] == 0.0).all()
    right, wrong = both("up-held", "pitch_deg", 0.5)
    assert wrong > right + 25.0


def test_up_held_is_held_in_launches_by_the_hundred_too():
    plan = Plan(Scatter(), "hands-off", 1.0, 0)
    pairs = [described(fault, "pantry")[:2] for fault in ("", "up-held")]
    right, wrong = run([setup(Subject(*pair), plan) for pair in pairs], plan, 4)
    assert (wrong.results["stall_margin"] < right.results["stall_margin"] - 0.2).all()


def test_a_hinge_torn_over_its_outer_half_leaves_less_than_half_of_the_roll():
    """The other elevon rolls as before, the torn one by its inner half, nearer to the middle."""
    right, wrong = both("hinge-torn", "p_deg_s", 0.3, "roll")
    still = [flown(fault).at(0.3).p_deg_s for fault in ("", "hinge-torn")]
    left = (wrong - still[1]) / (right - still[0])
    told("hinge-torn", "share of the roll rate", 1.0, left)
    assert 0.5 < left < 0.75
    assert mass_and_place("hinge-torn").mass == mass_and_place("").mass
    pitch = both("hinge-torn", "p_deg_s", 0.5, "pitch")
    assert pitch[1] > pitch[0] + 10.0  # stick back rolls it towards what is torn less far up


def test_a_rod_that_slipped_moves_its_surface_half_as_far_reflex_and_all():
    right, wrong = described("", "pantry")[0], described("rod-slipped", "pantry")[0]
    for sticks in (Sticks(), Sticks(roll=0.5), Sticks(pitch=0.5)):
        whole, half = mixer(right).angles(sticks), mixer(wrong).angles(sticks)
        assert half == pytest.approx([0.5 * whole[0], whole[1]])
    swapped = right.mixing.model_copy(update={"swapped": True})
    whole, half = (
        mixer(one.model_copy(update={"mixing": swapped})).angles(Sticks(roll=0.5))
        for one in (right, wrong)
    )
    assert half == pytest.approx([0.5 * whole[0], whole[1]])
    right, wrong = both("rod-slipped", "p_deg_s", 0.5, "pitch")
    assert wrong > right + 10.0


def test_a_damaged_aerial_hears_nothing_beyond_its_reach():
    airframe, field, model = described("antenna-damaged", "pantry")
    kept = Kept()
    fly(airframe, field, thumb("", 0.0), 1.8, "hand", record=kept, model=model)
    way = np.sqrt(sum(kept.column(c) ** 2 for c in ("north_m", "east_m", "height_m")))
    current, near = kept.column("motor_motor_A"), way <= fault_changes.DEAF_BEYOND
    assert 0.3 < near.mean() < 0.95
    assert current[near][1:].min() > 1.0  # from the hand on
    assert current[~near][1:].max() == 0.0


@pytest.mark.parametrize("name", list(faults.FAULTS))
def test_fault_is_pure_and_changes_something(name):
    """The descriptions given stay as they were; what comes back differs from them."""
    airframe, field = shipped(), STANDARD
    before = airframe.model_dump_json(), field.model_dump_json()
    changed = faults.apply(name, airframe, field)
    assert (airframe.model_dump_json(), field.model_dump_json()) == before
    assert tuple(c.model_dump_json() for c in changed) != before


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "pantry-swept", "allotment"])
def test_every_airframe_has_its_faults_or_says_why_not(name):
    tail = {"swapped-elevons", "no-reflex", "differential-reversed"}
    cannot = tail if name == "allotment" else set()
    for fault in cannot:
        with pytest.raises(ConfigError, match=f"{name}: has no "):
            faults.apply(fault, shipped(name), STANDARD)
    for fault in set(faults.FAULTS) - cannot:
        assert faults.apply(fault, shipped(name), STANDARD) != (shipped(name), STANDARD)


def test_unknown_fault():
    with pytest.raises(ConfigError, match="did you mean 'no-reflex'"):
        faults.apply("noreflex", shipped(), STANDARD)


def test_each_is_told_in_one_line():
    assert all(len(fault.line) < 80 and "\n" not in fault.line for fault in faults.FAULTS.values())


def test_command_lists_them(capsys):
    assert main(["faults"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == list(faults.FAULTS)


def test_what_a_roll_stick_moves_is_found_on_the_ground_where_it_is_a_rudder():
    assert "rudder" in faults.FAULTS["reversed-roll"].found
    assert "rudder" not in faults.FAULTS["swapped-elevons"].found  # takes two sides
