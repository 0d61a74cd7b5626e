"""A person's hands: exercises done by pilots who are known, and what is measured of them."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find as find_config
from firstthrow.sim.describe.config import load_field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Rows, columns, reading_type
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.flight.skills import SKILLS, hands
from firstthrow.sim.kernels import human
from firstthrow.sim.learn.school.lessons import BY_NAME
from firstthrow.sim.learn.school.marking import Attempt
from firstthrow.sim.study.band.band import band
from firstthrow.sim.study.hands import exercise, told
from firstthrow.sim.study.hands.element import FRAME, element
from firstthrow.sim.study.hands.exercise import FRAMES, MEASURED, Doing, forcing
from firstthrow.sim.study.hands.measure import CannotBeMeasured, first_moves, measure, unusable
from firstthrow.sim.study.hands.practice import copy, practice
from firstthrow.sim.study.hands.simulated import do_all
from firstthrow.sim.study.odds import kept, launches, report
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.odds.tally import Tally
from firstthrow.sim.study.subject import Subject

KNOWN = SKILLS["club"]._replace(
    delay=18 * FRAME,
    lag=0.15,
    crossover=1.8,
    crossover_roll=2.4,
    lead_pitch=0.25,
    lead_roll=0.1,
    dead_zone=0.035,
    trimming=0.2,
    remnant=0.25,
    remnant_time=0.2,
    wander=0.0,
    wrong_chance=0.3,
    stick_speed=8.0,
)


@pytest.fixture(scope="module")
def pantry():
    return Subject(shipped("pantry"))


@pytest.fixture(scope="module")
def steered(pantry):
    return element(pantry)


@pytest.fixture(scope="module")
def runs(pantry, steered):
    return do_all(pantry, steered, KNOWN, 11)


@pytest.fixture(scope="module")
def found(steered, runs):
    return measure(steered, runs)


def test_a_known_pilot_is_recovered(pantry, steered, found):
    """The parameters that the exercises were flown with lie in the 95 % intervals, and near."""
    own = hands(KNOWN, pantry.model, pantry.airframe, pantry.airframe.launch.hand.throttle)
    true = {
        "delay_s": KNOWN.delay,
        "lag_s": KNOWN.lag,
        "dead_zone_rad": KNOWN.dead_zone,
        "remnant": KNOWN.remnant,
        "remnant_time_s": KNOWN.remnant_time,
        "gain_pitch_per_rad": own.gain_pitch,
        "gain_roll_per_rad": own.gain_roll,
        "lead_pitch_s": KNOWN.lead_pitch,
        "lead_roll_s": KNOWN.lead_roll,
        "trimming_per_s": KNOWN.trimming,
        "crossover_pitch_rad_s": steered.crossover(0, own.gain_pitch, own.lead_pitch),
        "crossover_roll_rad_s": steered.crossover(1, own.gain_roll, own.lead_roll),
    }
    figures = {name: getattr(found, name) for name in true}
    for name, value in true.items():
        print(f"{name}: {value:.3f}, found {figures[name]}")
    assert sum(figures[name].holds(value) for name, value in true.items()) >= 11
    off = [abs(figures[name].value / value - 1.0) for name, value in true.items()]
    assert np.median(off) < 0.08
    assert figures["delay_s"].high - figures["delay_s"].low < 0.05


def test_hands_flown_as_measured_do_as_the_measured_ones_did(pantry, steered, runs, found):
    """The same exercises by a pilot made of the figures leave errors of the same size."""
    again = do_all(pantry, steered, found.skill, 12)
    for one, other in zip(runs, again, strict=True):
        for axis in exercise.STEERED[one.kind]:
            sizes = [np.std(run.errors[MEASURED:, axis]) for run in (one, other)]
            assert sizes[1] == pytest.approx(sizes[0], rel=0.2)


def marks(subject, skill, seeds):
    """Of the first lesson, flown by hands of this skill."""
    found = []
    for seed in seeds:
        rows = Rows()
        pilot = Human(subject.airframe, subject.field, skill, seed=seed, model=subject.model)
        fly(subject.airframe, subject.field, pilot, 12.0, seed=seed, record=rows)
        attempt = Attempt(BY_NAME["first-ten"], subject.field.heading)
        kind = reading_type(tuple(columns(subject.airframe)))
        for row in rows.kept:
            attempt.see(kind(*row))
        found.append(attempt.mark(None).mark)
    return np.array(found)


def test_hands_flown_as_measured_are_marked_in_a_lesson_as_the_measured_ones(pantry, found, slow):
    """Within what their own flights scatter; hands that are too slow are not."""
    subject = Subject(pantry.airframe, load_field(find_config("fields", "water-meadow")))
    known, again, others = (marks(subject, skill, range(3)) for skill in (KNOWN, found.skill, slow))
    print(known, again, others)
    scatter = float(np.hypot(known.std(ddof=1), again.std(ddof=1)))
    assert abs(again.mean() - known.mean()) < scatter
    assert others.mean() < known.mean() - 3.0 * scatter


def test_first_moves_that_go_wrong_are_counted(pantry, steered):
    """Of hands that always, and of hands that never, begin on the wrong side."""
    for chance in (0.0, 1.0):
        skill = KNOWN._replace(wrong_chance=chance, remnant=0.02)
        wrong, moves, lasted = first_moves(do_all(pantry, steered, skill, 3), skill.delay)
        assert moves >= 7
        assert (wrong == 0) if chance == 0.0 else (wrong >= moves - 1)
        assert lasted == (pytest.approx(skill.wrong_for, abs=0.1) if chance else None)


def steady(steered, sticks):
    """The exercises by sticks that are a function of the frame and of what is to be seen."""
    done = []
    for kind in range(3):
        doing = Doing(steered, kind, 5)
        while not doing.done:
            doing.step(sticks(doing))
        done.append(doing.flown())
    return done


def mashed(doing):
    """Full left, full right, twice a second, whatever is to be seen."""
    side = 1.0 if doing.frame // 15 % 2 else -1.0
    return Sticks(side, side)


@pytest.mark.parametrize(
    ("sticks", "why"),
    [
        (lambda doing: Sticks(), "hardly moved"),
        (mashed, "at its ends"),
    ],
)
def test_what_cannot_be_measured_is_said(steered, sticks, why):
    with pytest.raises(CannotBeMeasured, match=why):
        measure(steered, steady(steered, sticks))


def test_what_was_lost_is_to_be_done_again(runs):
    lost = runs[1]._replace(lost=True)
    assert unusable(runs[1]) == ""
    assert unusable(lost) == "it was lost after 40 s of the exercise 'wings'"


def test_sticks_that_answer_something_else_are_no_hands(steered, runs):
    """Those of the same pilot, last first."""
    mixed = [run._replace(sticks=run.sticks[::-1]) for run in runs]
    with pytest.raises(CannotBeMeasured, match="answers what was to be seen"):
        measure(steered, mixed)


def test_nobody_can_foresee_the_exercises_and_they_leak_nothing():
    """Sines of whole periods: power only at their own frequencies, each on one axis alone."""
    one, other = forcing(2, 1), forcing(2, 2)
    assert not np.allclose(one.angles, other.angles)
    for axis, periods in enumerate(exercise.PERIODS):
        power = np.abs(np.fft.rfft(one.angles[MEASURED:, axis])) ** 2
        assert power[list(periods)].sum() > 0.999 * power.sum()
        size = np.std(one.angles[MEASURED:, axis])
        assert size == pytest.approx(exercise.SIZE[axis], rel=1e-6)
    both = [n for periods in exercise.PERIODS for n in periods]
    assert len(set(both)) == len(both)
    assert len(one.angles) == FRAMES


def test_the_element_is_the_airframe(steered):
    """Step by step it answers a sine on the stick as its linear motion says, a stick that is held
    for a frame being half a frame late (zero-order hold)."""
    for w in (0.5, 3.0, 9.0):
        angle, rate = steered.answers(np.exp(np.array([1j * w * FRAME])))
        held = np.sinc(0.5 * w * FRAME / np.pi) * np.exp(-0.5j * w * FRAME)
        wanted = held * np.array(steered.motion.response(w))
        np.testing.assert_allclose(angle[:, 0], wanted, rtol=0.03)
        np.testing.assert_allclose(rate[0], 1j * w * angle[0], rtol=0.05)


@pytest.mark.kernel
def test_the_remnant_follows_the_error_seen():
    """Its definition: a share of the error's root mean square, through a first-order filter."""
    mine = np.zeros(1, human.HANDS)[0]
    mine.stick_speed, mine.gain_pitch, mine.wrong_pitch, mine.lag = 1e3, 1.0, 1.0, 1e-3
    mine.remnant, mine.remnant_time = 0.3, 0.2
    noise = np.random.default_rng(2).standard_normal((12000, 2))
    shown, sizes = np.zeros(human.SEEN), []
    for error in (0.05, 0.2):
        mind, sticks = np.zeros(1, human.MIND)[0], []
        shown[human.PITCH] = -error
        for k in range(len(noise)):
            human.look(mind, shown)
            human.act(mind, mine, 10.0, FRAME, noise[k])
            sticks.append(float(mind.pitch) - error)
        kept = np.array(sticks[600:])
        sizes.append(np.std(kept) / error)
        late = np.mean(kept[12:] * kept[:-12]) / np.mean(kept**2)  # a time constant later
        assert late == pytest.approx(np.exp(-1.0), abs=0.1)
    assert sizes == pytest.approx([0.3, 0.3], rel=0.1)


@pytest.fixture(scope="module")
def slow():
    """Hands that a lively airframe is too much for."""
    return KNOWN._replace(delay=0.6, crossover=3.0, crossover_roll=3.0, wrong_chance=0.5)


def test_odds_fly_measured_hands(pantry, slow):
    club = launches.Plan(Scatter(), "human", 4.0, 0)
    mine = club._replace(mine=slow)
    ready = [launches.setup(pantry, plan) for plan in (club, mine)]
    assert (ready[1].hands.delay, ready[0].hands.delay) == (0.6, SKILLS["club"].delay)
    flown = [launches.run([r], p, 16)[0] for r, p in zip(ready, (club, mine), strict=True)]
    assert flown[1].survived < flown[0].survived
    again = launches.run([ready[1]], mine, 16)[0]
    np.testing.assert_array_equal(again.results, flown[1].results)
    assert kept.name_of(ready[1], mine) != kept.name_of(ready[1], club)
    assert report.who(mine) == "your hands"
    tally = Tally()
    tally.add(again.results)
    assert report.answer("x", "y", mine, [], [tally.numbers()], [], 16).skill == "mine"


def test_practice_gets_tamer_for_hands_that_lose_it(pantry, slow):
    """And a tamer copy is one: nearer to the middle of its band, with less throw; there these hands
    survive more often than with the airframe itself."""
    found = practice(pantry, slow, launches=16)
    print(found)
    assert found.real.fraction < 0.5
    assert found.rung < 0
    assert found.survived / found.flown > found.real.fraction
    ends = band(pantry)
    middle = 0.5 * (ends.front.aft_m + ends.rear.aft_m)
    tame, tamest = copy(pantry, -1), copy(pantry, -3)
    assert pantry.cg < tame.cg < tamest.cg == pytest.approx(middle, abs=1e-4)
    assert tame.airframe.mixing.high.pitch < pantry.airframe.mixing.high.pitch


def test_a_share_short_of_95_is_not_said_as_95():
    assert [told.of_100(n / 96) for n in (91, 92)] == [94, 95]
    assert told.of_100(0.29) == 29  # of 28.999999999999996


def test_hands_are_held_against_the_skills(found):
    rows = {row.name: row for row in told.rows(found)}
    assert "between beginner and club hands" in rows["delay"].sentence
    line = told.scale(rows["delay"])
    assert line.index("e") < line.index("c") < line.index("o") < line.index("b")
    assert any("wrong way" in text for text in told.lines(found))


def test_what_changed_since_the_last_time_is_said(found):
    from dataclasses import replace
    from datetime import date

    first = found.delay_s
    later = replace(first, value=first.value + 0.1, low=first.low + 0.1, high=first.high + 0.1)
    then, today = date(2026, 3, 1), date(2026, 3, 8)
    said = told.since(replace(found, delay_s=later), found, then, today)
    assert said == "You answered 0.10 s later than the week before."
    assert "as soon as" in told.since(found, found, then, today)


@pytest.mark.parametrize("share", [0.0, 0.4])
def test_a_side_that_is_favoured_shows(pantry, steered, share):
    """Hands that answer errors to the right by so much more than the mean, and none to the left."""

    def firmer():
        return lambda sticks: sticks._replace(
            roll=sticks.roll * (1.0 + share * np.sign(sticks.roll))
        )

    found = measure(steered, do_all(pantry, steered, KNOWN, 21, firmer))
    print(found.side_pitch, found.side_roll)
    assert not found.side_pitch.is_firmer
    assert found.side_roll.is_firmer == bool(share)
    assert found.side_roll.firmer == pytest.approx(share, abs=0.15)
    assert ("to the right" in told.sides(found)) == bool(share)


def test_the_pace_of_keys_is_not_taken_for_the_hands(found):
    from dataclasses import replace

    by_keys = replace(found, stick_speed_per_s=2.2, stick_is_limited=True, keys=True)
    by_thumbs = replace(by_keys, keys=False)
    assert (by_thumbs.skill.stick_speed, by_keys.skill.stick_speed) == (2.2, 4.0)
    said = [told.rows(one)[5].sentence for one in (by_thumbs, by_keys)]
    assert "short of" in said[0]
    assert "whoever presses them" in said[1]
    assert "hands" not in said[1]
    blurred = ["Keys blur" in " ".join(told.lines(one)) for one in (by_thumbs, by_keys)]
    assert blurred == [False, True]
