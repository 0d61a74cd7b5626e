"""What is claimed of a flight, what is said of it, and what a fold tells."""

from __future__ import annotations

from math import log
from types import SimpleNamespace

import numpy as np
import pytest
from bodies import shipped
from scipy.stats import chi2, norm

from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.describe.builder_units import METRIC
from firstthrow.sim.learn import cure
from firstthrow.sim.learn.causes import _as_bent
from firstthrow.sim.learn.circumstances import Circumstance
from firstthrow.sim.learn.claims import FALSELY, claims, enough
from firstthrow.sim.learn.diagnose import Diagnosis, Likely
from firstthrow.sim.learn.evidence import TEMPER, Fit, fit, tells
from firstthrow.sim.learn.hands_seen import _once
from firstthrow.sim.learn.quantities import Off, off_words
from firstthrow.sim.learn.why import lines
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

SOUND = Likely("as-described", 0.4, None, "", 0.0, (), "")


def test_a_fold_tells_by_the_load_under_which_it_came():
    """A board bore the bending until the reading before, and not that of the last: between the two
    lies its strength, whose logarithm is normal (against scipy's)."""
    subject = Subject(shipped())
    spread = next(row.spread for row in subject.unknowns if row.what is What.STRENGTH)
    bent = np.array([0.3, 0.5, 2.0])
    borne, folds = (norm.sf(log(one) / spread) for one in (0.5, 2.0))
    assert _as_bent(subject, bent, True) == pytest.approx(log(borne - folds), abs=1e-9)
    assert _as_bent(subject, bent[:2], False) == pytest.approx(log(borne), abs=1e-9)
    # A tenth of that breaks no board, although the last reading lies far over its strength.
    assert _as_bent(subject, 0.1 * bent, True) < _as_bent(subject, bent, True) - 15.0


def test_a_rare_fault_must_gain_more_to_be_claimed():
    assert enough(0.2, 0.7) == pytest.approx(-log(FALSELY))
    assert enough(0.01, 0.7) == pytest.approx(log(1.5 * 70.0))


def test_hands_come_after_the_airframe_that_they_fought():
    cause = SimpleNamespace(name="reversed-roll", usual=0.02)
    plain = SimpleNamespace(name="as-described", usual=0.7)
    chances = {"as-described": 0.0, "reversed-roll": 0.9, "roll-too-much": 0.95}
    held = SimpleNamespace()
    assert claims(held, [plain, cause], chances, {"roll-too-much"}) == [
        "reversed-roll",
        "roll-too-much",
    ]
    chances = {"as-described": 0.0, "reversed-roll": 0.9, "slow-throw": 0.95}
    found = claims(held, [plain, cause], chances, {"slow-throw"})
    assert found == ["slow-throw", "reversed-roll"]


def test_the_same_slip_on_both_sticks_is_one():
    both = [
        Circumstance(f"{stick}-too-much", evidence, 0.5, 0.9, f"the {stick} stick went too far")
        for stick, evidence in (("roll", 0.1), ("pitch", 0.4))
    ]
    (found,) = _once(both)
    assert found.name == "pitch-too-much"
    assert found.log_evidence == pytest.approx(np.logaddexp(0.1, 0.4))
    assert found.words == "the pitch stick went too far; the roll stick too"


def test_what_a_fit_leaves_and_whether_it_strains():
    """Against what is missed less what the quantities explain; as often as a chi-square does."""
    draw = np.random.default_rng(2)
    slopes, missed = draw.standard_normal((3, 12)), 2.0 * draw.standard_normal(12)
    found = fit(missed, slopes)
    left = missed + found.at @ slopes
    assert found.left == pytest.approx(float(left @ left))
    assert found.missed == pytest.approx(left)
    assert TEMPER > 1.0
    many = 40
    beyond = chi2.ppf(0.999, many)
    for size, wanted in ((0.7 * beyond, False), (1.3 * beyond, True)):
        at = np.full(many, np.sqrt(size / many))
        assert Fit(0.0, at, np.zeros((many, many)), left).strains is wanted


def test_what_no_cause_explains_is_said_and_not_put_right():
    odd = Likely("reversed-roll", 0.0, 1.0, "roll rate", 0.5, (), "")
    first = Likely("reversed-roll", 0.98, 0.3, "roll rate", -0.6, (), "")
    found = Diagnosis((first, SOUND), (), BalanceVerdict.OK, 2.0, sound=0.02, unexplained=odd)
    assert lines(found)[0] == (
        "Why: no one cause that is looked for explains this flight: from 1.0 s it rolled right by "
        "29 deg/s more than sticks, air and file explain. The nearest is this: the roll stick "
        "works the wrong way round."
    )
    assert cure.cured(None, found) is None


def test_what_may_be_so_besides_is_no_other_cause():
    """And what is said of the airframe is its own chance, whatever the hands did."""
    late = Likely(
        "roll-too-late", 0.5, 0.5, "", 0.8, (), "the roll stick answered late", apart=True
    )
    aft = Likely("cg-aft", 0.2, None, "", 0.0, (), "")
    told = lines(Diagnosis((SOUND, late, aft), (), BalanceVerdict.OK, 2.0, sound=0.8))
    assert told[0].startswith(
        "Why: nothing wrong with the airframe shows in the first 2.0 s (80 %)"
    )
    assert told[1] == "And perhaps, 50 %: the roll stick answered late."
    assert told[2] == "Or, 20 %: it balances further back than the file says."


def test_quantities_off_the_file_are_told_by_how_much():
    for name, amount, spread, words in (
        ("mass", 0.06, 0.01, "it was 60 g heavier than the file says, ± 10 g"),
        ("thrust line, down of the motor", -0.0873, 0.0175, "pulled 5 ± 1 deg further up than"),
        ("lift slope of the slab", -0.14, 0.02, "the slab lifted 14 ± 2 % less for the weight"),
    ):
        assert words in off_words(Off(name, amount, spread), METRIC)


def test_what_tells_two_causes_apart_is_what_a_fit_of_the_difference_lacks():
    chance = np.random.default_rng(1)
    slopes, apart = chance.normal(size=(5, 60)), chance.normal(size=60)
    lacks = fit(0.0 * apart, slopes).log_likelihood - fit(apart, slopes).log_likelihood
    assert tells(apart, slopes) == pytest.approx(lacks, rel=1e-9)
