"""The cause of a flight, found from its record alone; its statistics against a library."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from bodies import shipped
from scipy.stats import multivariate_normal

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.deviated import deviated
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.describe.config import find, load_field
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.outcome import Ending, Outcome
from firstthrow.sim.flight.record import Record, Recorder, Rows, flight_meta, sidecar
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.flight.trims import balanced_at
from firstthrow.sim.learn import claims as claiming
from firstthrow.sim.learn import cure
from firstthrow.sim.learn.aftermath.unflown import unflown
from firstthrow.sim.learn.causes import SOUND, Cause, causes
from firstthrow.sim.learn.circumstances import circumstances
from firstthrow.sim.learn.cure import SAME_HANDS, cured
from firstthrow.sim.learn.diagnose import Diagnosis, Likely, chances_of, diagnose
from firstthrow.sim.learn.evidence import TEMPER, examined, fit
from firstthrow.sim.learn.stretches import LOOKS, ROWS, Seen, misses, stretches
from firstthrow.sim.learn.why import lines, why
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.odds.launches import setup as odds_setup
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

FIELD = load_field(find("fields", "water-meadow"))
SECONDS = 2.0


def stirred(reading) -> Sticks:
    """Thumbs that try both sticks, one after the other."""
    t = reading.time_s
    roll = 0.35 * (0.3 <= t < 0.6) - 0.35 * (0.9 <= t < 1.2)
    pitch = 0.3 * (0.6 <= t < 0.9) - 0.2 * (1.2 <= t < 1.5)
    return Sticks(roll, pitch, 0.0, THROTTLE, t > 0.9)


THROTTLE = shipped().launch.by_hand.throttle


@lru_cache
def record(fault: str = "", field=FIELD) -> Record:
    """Flown with a fault; its sidecar knows only what was described."""
    airframe = shipped()
    wrong, gusty = apply(fault, airframe, field) if fault else (airframe, field)
    rows = Rows()
    pilot = stirred
    if fault == "low-throttle":

        def pilot(reading) -> Sticks:
            return stirred(reading)._replace(throttle=wrong.launch.by_hand.throttle)

    flight = fly(wrong, gusty, pilot, SECONDS, "hand", record=rows)
    return rows.record(flight.columns, sidecar(airframe, flight_meta(field, launch="hand")))


@lru_cache
def explained(fault: str) -> Diagnosis:
    found = diagnose(record(fault), shipped(), FIELD)
    assert found is not None
    return found


def test_a_record_flown_again_by_stretches_is_itself():
    """Multiple shooting with the right airframe leaves nothing, also in gusts along the chord."""
    subject = Subject(shipped(), FIELD)
    seen = Seen(record(), subject)
    assert len(seen.parts) == 4
    assert np.abs(misses(seen, subject.airframe, subject.model)).max() < 0.4
    gust = Seen(record("gust-at-release"), subject)
    assert np.ptp(gust.air[:, 1]) > 2.0
    left = np.abs(misses(gust, subject.airframe, subject.model))
    # Of the readings' air, not of the mean over the frames before them: half a frame late, the
    # gust would leave up to 3 of the noise in its speeds.
    assert left.max() < 0.5


def test_loose_surfaces_are_flown_again_from_where_they_hung():
    """At the release at the end of their play where their weight had laid them, later where the air
    had: begun in the middle, a stretch leaves several times the noise."""
    seen = Seen(record("loose-linkage"), Subject(shipped(), FIELD))
    wrong, _ = apply("loose-linkage", shipped(), FIELD)
    assert np.abs(misses(seen, wrong, build(wrong, FIELD))).max() < 1.0
    assert np.abs(misses(seen, shipped(), build(shipped(), FIELD))).max() > 10.0


def test_a_claim_is_false_on_three_sound_flights_of_a_hundred_at_most(monkeypatch):
    """Markov's inequality, met by the worst that can be: of 100 sound flights three show what the
    fault makes 33 times likelier. A usual fault needs more of a chance than a rare one for that."""
    monkeypatch.setattr(claiming, "alike", lambda *_: False)
    plain = Cause(SOUND, 0.7, shipped(), build(shipped(), FIELD), None)
    usual, rare = plain._replace(name="cg-aft", usual=0.1), plain._replace(name="a", usual=0.01)
    for fault in (usual, rare):
        for likelier, wanted in ((33.0, []), (34.0, [fault.name])):
            weights = np.array([plain.usual, fault.usual * likelier])
            chances = dict(zip((SOUND, fault.name), weights / weights.sum(), strict=True))
            enough = chances[fault.name] > 1.5 * chances[SOUND]
            found = claiming.claims(None, [plain, fault], chances, set())
            assert found == (wanted if enough else [])
    assert 0.1 * 34.0 > 1.5 * 0.7 > 0.01 * 34.0


def test_of_airframe_and_throw_each_has_its_own_claim(monkeypatch):
    monkeypatch.setattr(claiming, "alike", lambda *_: False)
    plain = Cause(SOUND, 0.7, shipped(), build(shipped(), FIELD), None)
    warped = plain._replace(name="warped-tip", usual=0.01)
    chances = {SOUND: 0.004, "warped-tip": 0.98, "slow": 0.8, "fast": 0.1}
    found = claiming.claims(None, [plain, warped], chances, {"slow", "fast"})
    assert found == ["warped-tip", "slow"]
    chances |= {"slow": 0.55, "fast": 0.0}  # as likely as not: none of the two
    assert claiming.claims(None, [plain, warped], chances, {"slow", "fast"}) == ["warped-tip"]


def test_stretches_cover_the_free_flight_and_nothing_else():
    kept = record()
    time, height = kept.column("time_s"), kept.column("height_m")
    for first, rows in stretches(kept):
        part = slice(first, first + rows + 1)
        assert LOOKS[0] <= rows <= ROWS
        assert time[part].min() > 0.0
        assert height[part].min() > 0.7


def test_evidence_is_that_of_a_normal_with_its_unknowns_integrated_out():
    """Against scipy's multivariate normal with covariance I + J' J, up to the constant."""
    draw = np.random.default_rng(1)
    slopes, missed = draw.standard_normal((3, 12)), 2.0 * draw.standard_normal(12)
    found = fit(np.sqrt(TEMPER) * missed, np.sqrt(TEMPER) * slopes)
    whole = multivariate_normal(cov=np.eye(12) + slopes.T @ slopes).logpdf(missed)
    assert found.log_likelihood - 6.0 * np.log(2.0 * np.pi) == pytest.approx(whole, abs=1e-9)
    # Their place and covariance are ridge regression's: the posterior of a linear model.
    ridge = np.linalg.solve(slopes @ slopes.T + np.eye(3), -slopes @ missed)
    assert found.at == pytest.approx(ridge, abs=1e-12)


@pytest.mark.parametrize(
    "fault",
    [
        "reversed-pitch",
        "motor-reversed",
        "propeller-backwards",
        "weak-pack",
        "elevon-off",
        "high-rates",
        "loose-linkage",
        "slow-throw",
        "low-throttle",
    ],
)
def test_the_cause_is_named_first(fault):
    found = explained(fault)
    print(fault, [(one.name, round(one.chance, 3)) for one in found.likely[:3]], found.off)
    assert fault in (found.first.name, *found.first.alike)
    assert found.first.chance > 0.5
    assert all(0.0 <= one.chance <= 1.0 for one in found.likely)


def test_a_throw_off_the_plan_hides_no_fault_of_the_airframe():
    """Independent of one another: each has the chance it would have alone, and nothing was wrong
    where neither was."""
    fault, throw = 1.0 / (1.0 + np.exp(-4.0)), 1.0 / (1.0 + np.exp(-5.0))
    found = chances_of({SOUND: -3.0, "warped-tip": 1.0}, {"high-throttle": 5.0})
    assert found["warped-tip"] == pytest.approx(fault)
    assert found["high-throttle"] == pytest.approx(throw)
    assert found[SOUND] == pytest.approx((1.0 - fault) * (1.0 - throw))


def test_a_sound_flight_is_called_sound():
    found = explained("")
    assert found.first.name == SOUND
    assert found.first.chance > 0.6
    assert lines(found)[0].startswith("Why: nothing wrong with the airframe shows")


def test_a_balance_wrong_in_the_file_itself_is_named_first():
    """It flew as its file says; what the file says cannot fly."""
    airframe = balanced_at(shipped(), Subject(shipped()).at_margin(-0.02))
    rows = Rows()
    flight = fly(airframe, FIELD, stirred, SECONDS, "hand", record=rows)
    meta = sidecar(airframe, flight_meta(FIELD, launch="hand"))
    found = diagnose(rows.record(flight.columns, meta), airframe, FIELD)
    assert found is not None
    assert found.first.name == SOUND
    assert lines(found)[0].startswith(
        "Why: as its file says, the CG lies behind the neutral point: it cannot fly by itself;"
    )


def test_reversed_roll_and_exchanged_leads_are_told_as_one():
    """Both turn the roll stick round and leave pitch: no record tells them apart."""
    for fault, other in (
        ("reversed-roll", "swapped-elevons"),
        ("swapped-elevons", "reversed-roll"),
    ):
        found = explained(fault)
        assert {found.first.name, *found.first.alike} >= {fault, other}
    told = " ".join(lines(explained("reversed-roll")))
    assert "cannot tell" in told
    assert "On the ground" in told


def test_the_evidence_says_when_and_what():
    """The stick goes to the right from 0.3 s on; reversed, it rolls left from there."""
    first = explained("reversed-roll").first
    assert first.channel == "roll rate"
    assert first.from_s == pytest.approx(0.3, abs=0.3)
    assert first.seen < -0.3
    told = lines(explained("reversed-roll"))[0]
    assert told.endswith("it rolled left while the stick was right.")


def test_a_board_that_folds_at_its_strength_was_creased():
    """Thrown hard and pulled; the sound board bears it, which is what tells. Boards scatter, and
    this one bears less than creased ones do by the file."""
    fast = put(shipped(), ("launch", "hand", "speed"), 20.0)
    rows = Rows()

    def pulls(reading) -> Sticks:
        return Sticks(pitch=1.0 if reading.time_s > 0.5 else 0.0, throttle=THROTTLE)

    creased, _ = apply("old-crease", fast, FIELD)
    weak = deviated(build(creased, FIELD), creased, {(What.STRENGTH, "slab"): -0.2})
    flight = fly(creased, FIELD, pulls, SECONDS, "hand", record=rows, model=weak)
    end = flight.end
    assert end.word is Ending.FOLDED
    meta = sidecar(fast, flight_meta(FIELD, launch="hand"), (end.word, end.text))
    found = diagnose(rows.record(flight.columns, meta), fast, FIELD)
    assert found is not None
    assert found.first.name == "old-crease"


def test_many_parts_are_flown_along_the_few_ways_in_which_they_act():
    """Mass and place of sixteen parts act by mass, balance and inertia: what each does alone."""
    held = examined(record(), shipped(), FIELD)
    cause = Cause(SOUND, 1.0, shipped(), held.subject.model, None)
    slopes = held.moved(cause)
    assert len(held.ways) < len(held.unknowns) - 30
    for key in ((What.AFT, "pack"), (What.MASS, "motor"), (What.BOW, "slab")):
        n = [one.key for one in held.unknowns].index(key)
        off = deviated(cause.model, cause.airframe, {key: held.unknowns[n].spread})
        alone = (misses(held.seen, cause.airframe, off) - held.leaves(cause)).ravel()
        assert np.linalg.norm(slopes[n] - alone) < 0.1 * np.linalg.norm(alone)


def test_faults_in_the_sidecar_are_not_read(tmp_path):
    """A record that knows its fault card is explained by what was described, not by the card."""
    airframe = shipped()
    wrong, _ = apply("motor-reversed", airframe, FIELD)
    meta = {
        **flight_meta(FIELD, launch="hand"),
        "fault": "cg-aft",  # a lie
        "described_si": airframe.model_dump(mode="json"),
    }
    recorder = Recorder(tmp_path / "lied.csv", wrong, meta)
    kept = record("motor-reversed")
    for row in kept.rows:
        recorder.write(row.tolist())
    recorder.close(None)
    found = why(Record(kept.columns, kept.rows, recorder.meta))
    assert found is not None
    assert found.first.name == "motor-reversed"


def test_the_cure_is_flown():
    found = cured(record("reversed-roll"), explained("reversed-roll"))
    assert found is not None
    assert found.again.word.survived
    assert found.after > 40 > 25 > found.before
    crashed = replace(found, same_sticks=Outcome(Ending.BROKE, "It broke on the ground."))
    for one, warned in ((found, not found.same_sticks.word.survived), (crashed, True)):
        assert one.words[0].startswith("The same throw in club hands, with that put right: ")
        assert ("nobody answered to the change" in one.words[1]) is warned
    assert cured(record(), explained("")) is None


def test_debrief_says_it_first(tmp_path, capsys):
    path = tmp_path / "one.csv"
    asked = "fly pantry --no-window --pilot hands-off --fault motor-reversed --seconds 2 --record"
    done = main([*asked.split(), str(path)])
    told = capsys.readouterr().out.splitlines()
    assert done == 0
    assert told[0].startswith("Why: the motor turns the wrong way")
    assert main(["debrief", str(path)]) == 0
    told = capsys.readouterr().out.splitlines()
    assert told[1].startswith("Why: the motor turns the wrong way")
    assert any("put right" in line for line in told)
    assert not any("try next" in line for line in told)


def test_a_receiver_that_fell_silent_is_told_by_when_and_where():
    """A restart is over within a second; beyond its reach an aerial hears nothing any more: of
    two seconds, the last one silent, it may have been either."""
    restarts, deaf = explained("brown-out").first, explained("antenna-damaged").first
    held = examined(record("brown-out"), shipped(), FIELD)
    cause = next(one for one in causes(held.subject, held.seen) if one.name == "brown-out")
    assert np.abs(held.leaves(cause)).max() < 4.0  # surfaces go where the air puts them
    assert restarts.name == "brown-out"
    assert "antenna-damaged" not in restarts.alike
    assert {deaf.name, *deaf.alike} >= {"brown-out", "antenna-damaged"}


def test_what_a_record_cannot_tell_from_none_is_said_and_not_claimed():
    """Ten millimetres of balance lie within what is not known of it, and both sides are named."""
    found = explained("cg-aft")
    told = " ".join(lines(found))
    assert (found.first.name, "cg-aft" in found.first.alike) == (SOUND, True)
    assert "balance it again" in told
    assert "shallow dive" in told


def test_a_glider_is_not_blamed_for_its_throttle_stick():
    airframe = shipped().model_copy(update={"motors": {}})
    rows = Rows()
    flight = fly(airframe, FIELD, lambda reading: Sticks(throttle=1.0), 1.5, "hand", record=rows)
    meta = sidecar(airframe, flight_meta(FIELD, launch="hand"))
    found = circumstances(rows.record(flight.columns, meta), Subject(airframe, FIELD))
    assert not any("throttle" in one.name for one in found)


def test_a_throw_is_cured_by_throwing_as_planned():
    found = cured(record("slow-throw"), explained("slow-throw"))
    assert found is not None
    assert found.change == "its speed as planned"
    assert found.after > found.before


def test_a_balance_wrong_in_the_file_is_cured_by_the_pack_moved():
    airframe = balanced_at(shipped(), Subject(shipped()).at_margin(-0.02))
    rows = Rows()
    flight = fly(airframe, FIELD, stirred, SECONDS, "hand", record=rows)
    kept = rows.record(flight.columns, sidecar(airframe, flight_meta(FIELD, launch="hand")))
    found = cured(kept, diagnose(kept, airframe, FIELD))
    assert found is not None
    assert "further forward" in found.change
    assert found.after >= found.before


def test_what_other_physics_flew_is_trusted_less():
    kept = record("rod-slipped")
    other = Record(kept.columns, kept.rows, {**kept.meta, "physics": "0"})
    found = diagnose(other, shipped(), FIELD)
    assert found.first.chance < 0.95 < explained("rod-slipped").first.chance


def test_two_causes_are_cured_together(monkeypatch):
    """A fault and the throw: both are flown wrong before, both as described after."""
    flown = []
    monkeypatch.setattr(cure, "LAUNCHES", 8)

    def made(subject, plan):
        flown.append(subject.airframe)
        return odds_setup(subject, plan)

    monkeypatch.setattr(cure, "setup", made)
    throw = Likely("slow-throw", 0.9, 0.0, "", 4.0, (), "thrown slowly", apart=True)
    first = Likely("reversed-roll", 0.99, 0.3, "", 0.0, (), "")
    found = cured(record("slow-throw"), Diagnosis((first,), (), BalanceVerdict.OK, 2.0, (throw,)))
    assert found.change == "that put right and its speed as planned"
    assert "roll" in flown[0].mixing.reversed
    assert flown[0].launch.by_hand.speed < 0.7 * flown[1].launch.by_hand.speed
    assert flown[1] == shipped()


def test_a_record_is_told_alike_whatever_was_asked_of_it_before():
    """What was flown of other causes in between makes no difference."""
    held = examined(record("loose-linkage"), shipped(), FIELD)
    before = diagnose(record("loose-linkage"), shipped(), FIELD)
    for cause in causes(held.subject, held.seen)[1:]:
        held.moved(cause)
    assert diagnose(record("loose-linkage"), shipped(), FIELD) == before


def test_what_the_roll_shows_of_a_flight_that_never_flew():
    told = " ".join(unflown(record("propeller-damaged")))
    assert "it never flew free" in told
    assert "the propeller's blades are broken short" in told
    slow = np.where(np.array(record().columns) == "motor_motor_rpm", 0.6, 1.0)
    assert (
        ", not as its" in unflown(Record(record().columns, record().rows * slow, record().meta))[1]
    )


def test_what_rolls_fast_enough_and_does_not_lift_is_told_why():
    """An elevon's stick the wrong way round: flown again with that it stays on its wheels, too."""
    airframe = shipped("glasshouse", "items.pack.aft=-150 mm")
    wrong, rows = apply("reversed-pitch", airframe, FIELD)[0], Rows()
    flight = fly(wrong, FIELD, Steady(), 9.0, "ground", record=rows)
    meta = sidecar(airframe, flight_meta(FIELD, launch="ground"))
    told = unflown(rows.record(flight.columns, meta))
    assert told[0].startswith("Why: it rolled at ")
    assert "by its file these sticks lift it after " in told[0]
    assert FAULTS["reversed-pitch"].cause in told[0]
    assert told[1] == f"On the ground: {FAULTS['reversed-pitch'].found}."
    assert "further forward" not in told[0]


def test_a_flight_that_no_cause_explains_is_told_as_such():
    """The right elevon came off, and only a left one is looked for."""
    airframe = shipped()
    surface = airframe.sheets["slab"].surfaces["elevon"]
    off = surface.model_copy(update={"off": True, "fault_side": "right"})
    wrong, rows = put(airframe, ("sheets", "slab", "surfaces", "elevon"), off), Rows()
    flight = fly(wrong, FIELD, stirred, SECONDS, "hand", record=rows)
    meta = sidecar(airframe, flight_meta(FIELD, launch="hand"))
    found = diagnose(rows.record(flight.columns, meta), airframe, FIELD)
    assert found.unexplained is not None
    assert lines(found)[0].startswith("Why: no one cause that is looked for explains this flight")
    for fault in ("", "reversed-roll", "motor-reversed", "elevon-off"):
        assert explained(fault).unexplained is None, fault


def test_hands_that_go_too_far_are_cured_by_gentler_throws(monkeypatch):
    """The same throw and the same hands, which stay tuned to the throws of the file."""
    monkeypatch.setattr(cure, "LAUNCHES", 16)
    first = Likely("roll-too-much", 0.9, 0.5, "", 0.9, (), "the roll stick went too far")
    found = cured(record(), Diagnosis((first,), (), BalanceVerdict.OK, 2.0))
    assert found is not None
    assert found.hands == SAME_HANDS
    assert "instead of" in found.change
    assert found.after > found.before
