"""Odds: fractions and their spread, the same answer whatever the cores, words and files."""

from __future__ import annotations

import argparse
import csv
import json
import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from bodies import meadow, shipped

from firstthrow.scenes.commands import odds_flown
from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.describe.config import find, load, load_airframe, load_field
from firstthrow.sim.flight.skills import steers_by_rudder
from firstthrow.sim.kernels import batch, integrate
from firstthrow.sim.kernels.human import HANDS
from firstthrow.sim.study import improve
from firstthrow.sim.study.odds import launches
from firstthrow.sim.study.odds import varied as odds_map
from firstthrow.sim.study.odds.scatter import BLOCK, Drawn, Scatter, draws
from firstthrow.sim.study.odds.survival import DOUBT, most_lost, sample, turns
from firstthrow.sim.study.odds.tally import Tally
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.sweep import vary

PANTRY = find("airframes", "pantry")


@pytest.fixture(scope="module")
def plan():
    return launches.Plan(Scatter(), "human", 2.0, 5)


FIELD = load_field(find("fields", "water-meadow"))


def subject(*overrides, field=FIELD) -> Subject:
    return Subject(load_airframe(PANTRY, overrides), field)


@pytest.fixture(scope="module")
def ready(plan):
    return launches.setup(subject(), plan)


def test_same_answer_whatever_cores_batches_and_count(plan, ready):
    one = launches.run([ready], plan, 40, workers=1)[0]
    two = launches.run([ready], plan, 40, workers=2)[0]
    fewer = launches.run([ready], plan, 21, workers=2)[0]
    np.testing.assert_array_equal(one.results, two.results)
    np.testing.assert_array_equal(one.results[:21], fewer.results)
    np.testing.assert_array_equal(one.cases, np.arange(40))
    other = launches.run([ready], plan._replace(seed=6), 21, workers=2)[0]
    assert not np.array_equal(other.results, fewer.results)


def test_no_launches_are_none(plan, ready):
    lot = launches.drawn(ready, plan, [])
    assert len(launches.fly(lot)) == 0
    with ThreadPoolExecutor(1) as threads:
        assert launches.fly_wave(lot, range(0), threads).flown == 0


def test_gusts_too_belong_to_the_case(plan):
    brief = plan._replace(seconds=1.0)
    breeze = subject(field=load_field(find("fields", "water-meadow-breeze")))
    ready = launches.setup(breeze, brief)
    whole = launches.fly_cases(ready, brief, 0, 6)
    np.testing.assert_array_equal(whole[4:], launches.fly_cases(ready, brief, 4, 2))
    calm = launches.setup(breeze.changed(field=FIELD), brief)
    assert not np.array_equal(whole, launches.fly_cases(calm, brief, 0, 6))


def test_deviates_belong_to_the_case():
    whole = draws(7, 0, 2 * BLOCK, 3)
    np.testing.assert_array_equal(draws(7, BLOCK - 2, 5, 3), whole[BLOCK - 2 : BLOCK + 3])
    assert abs(whole.mean()) < 4.0 / whole.size**0.5
    assert whole.std() == pytest.approx(1.0, abs=0.1)


def test_stopping_keeps_what_is_done(plan, ready):
    whole = launches.run([ready], plan, 96)[0]
    seen = []

    def progress(flown):
        seen.append(flown)
        if len(seen) == 2:
            raise KeyboardInterrupt

    cut = launches.run([ready], plan, 96, progress, workers=2)[0]
    assert 16 <= cut.flown < 96
    np.testing.assert_array_equal(cut.results, whole.results[cut.cases])


def made_up(*ends) -> launches.Odds:
    """Odds of (word, most bank) rows."""
    results = np.zeros(len(ends), batch.RESULT)
    results["word"], results["most_bank"] = zip(*ends, strict=True)
    results["stall_margin"] = 1e9
    return launches.Odds(results, np.arange(len(ends)))


def test_what_counts_as_survived():
    one = made_up(
        (integrate.FLYING, 0.3),
        (integrate.LANDED, 3.0),
        (integrate.FLYING, 1.7),
        (integrate.STRUCK, 0.0),
        (integrate.BROKE, 0.0),
        (integrate.BROKE, 2.0),
    )
    assert one.fraction == pytest.approx(2 / 6)
    assert one.causes() == {
        "broke on the ground": 2,
        "propeller strike": 1,
        "out of control": 1,
    }
    assert next(iter(one.causes())) == "broke on the ground"
    tally = Tally()
    tally.add(one.results)
    told = tally.numbers()
    assert told.survived_fraction == one.fraction
    assert told.causes == one.causes()
    assert (told.stall_margin_median, told.stall_margin_worst_tenth) == (None, None)


def test_hands_help_and_a_hard_throw_helps(plan):
    """A club instructor would say no less."""
    longer = plan._replace(seconds=4.0)
    soft, hard = (subject(f"launch.hand.speed={v} m/s") for v in (4, 9))
    fractions = {}
    for pilot in ("human", "hands-off"):
        own = longer._replace(pilot=pilot)
        setups = [launches.setup(thrown, own) for thrown in (soft, hard)]
        fractions[pilot] = [one.fraction for one in launches.run(setups, own, 32)]
    print(fractions)
    assert fractions["human"][1] > fractions["human"][0] + 0.1
    assert fractions["human"][0] >= fractions["hands-off"][0]
    assert sum(fractions["human"]) > sum(fractions["hands-off"]) + 0.1


def chord(*values: str, own: float | None = None):
    return odds_map.Axis(vary(f"cg={','.join(values)}")._replace(unit="%"), own)


def test_sentence_a_builder_needs():
    axis = chord("9 %", "14 %", "19 %", "25 %")
    assert odds_map.sentence(axis, [0.7, 0.95, 0.97, 0.26]) == (
        "Between 14 % and 19 % chord 95 of 100 launches or more survive; "
        "at 9 % chord two of three; at 25 % chord one in four."
    )
    assert odds_map.sentence(axis, [0.7, 0.95, 0.33, 0.0]) == (
        "At 14 % chord only 95 of 100 launches or more survive; "
        "at 9 % chord two of three; at 25 % chord next to none."
    )
    assert odds_map.sentence(axis, [0.95, 0.96, 0.99, 1.0]) == (
        "Everywhere between 9 % and 25 % chord 95 of 100 launches or more survive."
    )
    assert odds_map.sentence(axis, [0.1, 0.5, 0.8, 0.3]) == (
        "Nowhere between 9 % and 25 % chord do 95 of 100 launches survive: "
        "at best four of five, at 19 % chord; at worst one in ten, at 9 % chord."
    )


def test_the_widest_band_is_told():
    assert odds_map.bands([0.95, 0.2, 0.96, 0.95, 0.94]) == [(0, 0), (2, 3)]
    assert odds_map.bands([0.1, float("nan")]) == []


def test_own_value_is_placed_among_the_points():
    axis = chord("10 %", "20 %", own=15.0)
    assert odds_map.own_words(axis, [1.0, 0.5]) == "The file's own 15 % chord: three of four."
    assert odds_map.own_words(axis._replace(own=30.0), [1.0, 0.5]) == (
        "The file's own 30 % chord lies outside."
    )


def test_axes_find_the_file_s_own_values():
    varied = [vary("cg=12..28%:3"), vary("launch.hand.speed=20..40km/h:3")]
    cg, speed = odds_map.axes(PANTRY, [], varied)
    assert cg.own == pytest.approx(13.4, abs=0.2)  # as `weigh` tells
    assert speed.own == pytest.approx(8.0 * 3.6)


def test_set_ups_sit_where_they_were_asked_for(plan):
    varied = [vary("cg=14..20%:2"), vary("mixing.reflex=2..6deg:2")]
    found = odds_map.setups(PANTRY, [], varied, plan, FIELD)
    places = [100.0 * one.subject.cg / 0.35 for one in found]
    assert places == pytest.approx([14.0, 14.0, 20.0, 20.0], abs=0.01)
    assert [np.degrees(one.subject.airframe.mixing.reflex) for one in found] == pytest.approx(
        [2, 6, 2, 6]
    )
    assert not np.array_equal(
        found[0].subject.model.record.mix_trim, found[1].subject.model.record.mix_trim
    )


def test_example_scatter_is_the_usual_one():
    ours = load(Scatter, find("scatter", "arm")).model_dump()
    usual = Scatter().model_dump()
    for name, value in usual.items():
        assert ours[name] == (pytest.approx(value) if isinstance(value, float) else value)


def told(capsys, *words: str) -> tuple[int, str, str]:
    try:
        code = main(words)
    except SystemExit as leaving:
        code = leaving.code
    said = capsys.readouterr()
    return code, said.out, said.err


def test_command_tells_json_and_a_row_for_each_launch(capsys, tmp_path):
    place, page = tmp_path / "new" / "launches.csv", tmp_path / "page.png"
    code, out, err = told(
        capsys,
        "odds",
        "pantry",
        "--flights",
        "20",
        "--seconds",
        "1",
        "--json",
        "--csv",
        str(place),
        "--plot",
        str(page),
    )
    assert code == 0
    answer = json.loads(out)
    assert answer["flights_flown"] == 20
    assert answer["skill"] == "club"
    (point,) = answer["points"]
    assert set(point) == {
        "values",
        "flown",
        "survived_fraction",
        "survived_low",
        "survived_high",
        "causes",
        "height_lost_median_m",
        "height_lost_worst_tenth_m",
        "stall_margin_median",
        "stall_margin_worst_tenth",
        "load_factor_median",
        "load_factor_worst_tenth",
    }
    assert point["survived_low"] <= point["survived_fraction"] <= point["survived_high"]
    assert "flights/s" not in err  # which is no terminal
    with place.open() as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 20
    alive = sum(row["outcome"] in ("flying", "landed") for row in rows)
    assert alive / 20 == point["survived_fraction"]
    assert float(rows[0]["throw_speed_m_s"]) != float(rows[1]["throw_speed_m_s"])
    assert page.read_bytes().startswith(b"\x89PNG")


def test_command_draws_a_line_and_a_map(capsys, tmp_path):
    line = ("odds", "pantry", "--seconds", "0.5", "--vary", "cg=12..20%:3")
    place = tmp_path / "points.csv"
    code, out, _ = told(
        capsys, *line, "--flights", "6", "--plot", str(tmp_path / "line.svg"), "--csv", str(place)
    )
    assert code == 0
    assert out.splitlines()[0] == "pantry: 6 launches of 0.5 s, club hands"
    assert "Everywhere between 12 % and 20 % chord" in out
    assert place.read_text().startswith("cg [%],flown,survived_fraction,")
    code, out, _ = told(
        capsys,
        *line,
        "--vary",
        "launch.hand.speed=7..9m/s:2",
        "--flights",
        "6",
        "--pilot",
        "human:expert",
        "--plot",
        str(tmp_path / "map.png"),
    )
    assert code == 0
    assert "With throw speed 7 m/s: everywhere between" in out
    assert (tmp_path / "map.png").stat().st_size > 10_000


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("pantry", "--vary", "cg=12..28mm"), "--vary: cg: wanted percent of the mean chord"),
        (("pantry", "--vary", "items.pak.aft=1..2mm"), "--vary items.pak.aft: no 'pak'"),
        (("pantry", "--pilot", "human:ace"), "--pilot human:ace: wanted human, or human: with"),
        (("pantry", "--pilot", "nobody"), "wanted human, human:SKILL, mine or hands-off"),
        (("pantry", "--scatter", "leg"), "leg: no scatter of that name; known: arm"),
        (("pantry", "--improve", "--want", "120 %"), "--want 120 %: wanted more than 0 %"),
        (("pantry", "--want", "90 %"), "--want: goes with --improve"),
        (
            ("pantry", "--vary", "launch.hand.speed=7 m/s,-1 m/s,9 m/s"),
            "--vary launch.hand.speed: '-1 m/s': must be 0 or more",
        ),
        (("pantry", "--flights", "0"), "wanted a whole number from 1"),
        (("pantry", "--seed", "-1"), "wanted a whole number from 0"),
        (("pantry", "--plot", "map.gif"), "--plot map.gif: wanted a name that ends in"),
    ],
)
def test_wrong_input_is_said_in_one_line(capsys, words, says):
    code, out, err = told(capsys, "odds", *words)
    assert (code, out) == (2, "")
    assert says in err
    assert "Traceback" not in err


def test_stopped_command_says_how_many(capsys, monkeypatch):
    def cut(ready, plan, runs, keep, *far):
        keep(0, 0, np.zeros(16, batch.RESULT))

    monkeypatch.setattr(launches, "fly_each", cut)
    code, out, err = told(capsys, "odds", "pantry", "--flights", "500")
    assert code == 0
    assert "Stopped: 16 of 500 launches were flown, and count." in err
    assert out.startswith("pantry: 16 launches of 8 s")


@pytest.fixture(scope="module")
def tail_heavy():
    own = subject()
    return own.balanced_at(own.at_percent(28.0))


def test_slopes_show_that_the_cg_matters_most(plan, tail_heavy):
    longer = plan._replace(seconds=3.0)
    now, found = improve.slopes(tail_heavy, longer, 24, lambda flown: None)
    assert {slope.knob.name for slope in found} == {
        "CG, % of chord",
        "reflex",
        "pitch throw",
        "roll throw",
        "expo",
        "throttle",
        "throw speed",
    }
    assert now.fraction < 0.9
    by_name = {slope.knob.name: slope for slope in found}
    cg = by_name["CG, % of chord"]
    assert cg.gain < -improve.SURE * cg.error  # further aft is worse, beyond the noise
    assert cg.step == pytest.approx(0.02, rel=1e-6)
    assert all(slope.error > 0.0 for slope in found)


def test_smallest_change_comes_nearer_to_what_was_wanted(plan, tail_heavy):
    longer = plan._replace(seconds=3.0)
    found = improve.improve(tail_heavy, longer, 0.9, 20)
    print("\n".join(improve.lines(found)))
    # Twenty launches find a better one; whether it is good enough is chance.
    assert found.checked.fraction > found.now.fraction < 0.9
    assert found.checked.fraction >= 0.9 or not found.reached
    moved = {knob.name: after - before for knob, before, after in found.changes}
    assert moved
    assert moved.get("CG, % of chord", 0.0) <= 0.001


def test_improve_flies_no_more_than_asked_or_says_so(capsys, monkeypatch):
    asked = []

    def stopped(subject, plan, want, flights, progress):
        asked.append(flights * improve.BATCHES)
        raise KeyboardInterrupt

    monkeypatch.setattr(improve, "improve", stopped)
    for flights in (1000, 5000):
        assert told(capsys, "odds", "pantry", "--improve", "--flights", str(flights))[0] == 1
        assert 0.8 * flights < asked[-1] <= flights
    said = told(capsys, "odds", "pantry", "--improve", "--flights", "300")[2]
    assert f"--flights 300: too few to compare; up to {asked[-1]} are flown" in said


def test_nothing_to_improve_is_said(plan):
    found = improve.improve(subject(), plan._replace(seconds=1.0), 0.5, 10)
    assert found.reached is None
    assert improve.lines(found)[-1] == "50 % survive already: nothing needs to change."
    assert json.loads(json.dumps(improve.answer(found).as_json()))["changes"] == []


def test_progress_bar_shows_the_rate(capsys, monkeypatch, plan, ready):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    plain = argparse.Namespace(csv=None, vary=[], scheduler=None)
    odds_flown.fly(plain, [ready], plan._replace(seconds=0.5), range(16))
    assert "flights/s" in capsys.readouterr().err


def test_a_case_does_not_depend_on_what_else_is_drawn():
    hands = np.zeros(1, HANDS)[0]
    rows = Subject(shipped()).unknowns
    some = [(), rows[:8], rows[1:]]
    cases = [Drawn(shipped(), Scatter(), hands, False, 7, 5, 3, n) for n in some]
    for other in cases[1:]:
        np.testing.assert_array_equal(cases[0].case, other.case)
    np.testing.assert_array_equal(cases[1].off[:, 1:], cases[2].off[:, :7])
    assert cases[1].off.all()


def test_hands_use_the_rudder_where_nothing_else_turns_it():
    """The same airframe, whether the radio or the pilot takes the roll stick to the rudder."""
    mixed = shipped("allotment")
    plain = shipped("allotment", "mixing.roll_to_yaw=0 %")
    assert not steers_by_rudder(mixed)
    assert not steers_by_rudder(shipped())
    assert steers_by_rudder(plain)
    plan = launches.Plan(Scatter(), "human", 6.0, 5)
    setups = [launches.setup(Subject(a, meadow()), plan) for a in (mixed, plain)]
    with_it, without = launches.run(setups, plan, 64)
    print(f"survived, of 64: {with_it.survived} mixed, {without.survived} by the yaw stick")
    assert without.survived >= with_it.survived - 6


def test_the_effect_of_surfaces_scatters_and_can_be_left_out(ready):
    """By its own spread, alike for both sides, and the same for a case however many are asked."""
    airframe = shipped()
    (row,) = [one for one in ready.subject.unknowns if one.what is What.EFFECT]
    drawn = [
        Drawn(airframe, Scatter(surfaces=word), np.zeros(1, HANDS)[0], True, 3, 0, count, (row,))
        for word, count in (("guessed", 400), ("guessed", 40), ("none", 40))
    ]
    assert np.std(drawn[0].off) == pytest.approx(0.06, rel=0.1)
    assert np.array_equal(drawn[0].off[:40], drawn[1].off)
    assert not drawn[2].off.any()


@pytest.mark.parametrize(
    ("lost", "flown", "most"), [(0, 48, 100), (1, 48, 100), (0, 10, 20), (4, 24, 100)]
)
def test_the_chance_that_the_rest_turns_a_sample(lost, flown, most):
    """Against the beta-binomial law of a library, after Jeffreys' prior."""
    from scipy.stats import betabinom

    still = betabinom(most - flown, lost + 0.5, flown - lost + 0.5)
    passes = float(still.cdf(most_lost(most) - lost))
    wanted = 1.0 - passes if lost <= most_lost(flown) else passes
    assert turns(lost, flown, most) == pytest.approx(wanted, rel=1e-9)


def test_a_sample_ends_where_it_is_decided():
    assert turns(6, 40, 100) == 0.0  # six lost: no longer 95 of 100
    assert turns(5, 100, 100) == 0.0
    assert turns(0, 95, 100) == 0.0  # all others may be lost
    assert turns(0, 48, 100) < DOUBT < turns(0, 40, 100)
    assert turns(3, 24, 100) > DOUBT > turns(4, 24, 100)


def test_a_larger_sample_goes_on_from_a_smaller_one(monkeypatch):
    """None is flown twice, and it is what it would have been alone, to the bit."""
    subject, flown, fly = Subject(shipped()), [], launches.fly_wave

    def counted(lot, wave, threads):
        flown.extend(wave)
        return fly(lot, wave, threads)

    monkeypatch.setattr(launches, "fly_wave", counted)
    few, many = (sample(subject, most).odds for most in (4, 40))
    assert few.flown == 4 < many.flown
    assert flown == [*range(many.flown)]
    alone = sample(Subject(shipped()), 40).odds
    assert np.array_equal(many.results, alone.results)
    assert np.array_equal(many.cases, alone.cases)
