"""What meters say of a drive: causes by how likely they are, one and two at once."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from bodies import shipped, shipped_model, shipped_subject

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.flight.drive_at_rest import equilibrium, refitted
from firstthrow.sim.flight.drive_measured import METERS, seen
from firstthrow.sim.study import power_match
from firstthrow.sim.study.meters.causes import AS_DESCRIBED, READINGS, hypotheses
from firstthrow.sim.study.meters.likely import TOLERANCE, chi_square, ranked, verdict
from firstthrow.sim.units import INCH

MEASURED = ("current", "thrust", "rpm", "voltage")


@lru_cache
def every():
    """All causes of the shipped drive at full throttle, worked out once."""
    return hypotheses(shipped_subject())


def with_pack(airframe, **changes):
    return airframe.model_copy(update={"pack": airframe.pack.model_copy(update=changes)})


def readings(changed) -> dict[str, float]:
    return seen(equilibrium(refitted(shipped_model(), changed), 1.0))


def made_up(random) -> tuple[str, dict[str, float]]:
    """A drive with one thing wrong that can be noticed, how its explanation must begin, and what
    meters show of it, each with its own error."""
    airframe = shipped()
    motor, pack = airframe.motors["motor"], airframe.pack
    kind = ("backwards", "swapped", "size", "pack", "charge", "kv")[random.integers(6)]
    if kind == "backwards":
        text, changed = "the propeller is on", power_match.with_propeller(airframe, backwards=True)
    elif kind == "swapped":
        text, changed = "two motor leads", power_match.with_motor(airframe, leads_swapped=True)
    elif kind == "size":
        sizes = power_match.near_sizes(airframe)
        size = sizes[random.integers(len(sizes))]
        text = f"the propeller is another one, {size[0] / INCH:.0f}"
        changed = power_match.with_size(airframe, size)
    elif kind == "pack":
        text = "the pack is weak"
        changed = with_pack(airframe, resistance=random.uniform(3.0, 6.0) * pack.resistance)
    elif kind == "charge":
        text, changed = (
            "the pack is not full",
            with_pack(airframe, charge=random.uniform(0.05, 0.5)),
        )
    else:
        factor = random.uniform(1.15, 1.35) ** random.choice((-1, 1))
        text = "the motor has another kV"
        changed = power_match.with_motor(airframe, kv=motor.kv * factor)
    shown = readings(changed)
    return text, {n: shown[n] * (1.0 + METERS[n] * random.standard_normal()) for n in MEASURED}


def test_nine_of_ten_made_up_causes_are_named_first():
    """Thirty drives drawn by seed; a size counts as named by its diameter. A weak pack and one
    that is not full sag alike at one throttle: there the first sentence has to name both."""
    alone, said = [], []
    for seed in range(30):
        text, measured = made_up(np.random.default_rng(seed))
        found = ranked(every(), measured)
        best, sentence = found[0], verdict(measured, found)[0]
        alone.append(best.text.startswith(text) and ", and " not in best.text)
        said.append(text in sentence and ", and " not in sentence)
        if not (alone[-1] and said[-1]):
            print(f"{seed}: {text}: told {sentence}")
    print(f"named first: {sum(alone)}, in the first sentence: {sum(said)} of {len(said)}")
    assert np.mean(said) >= 0.9
    assert np.mean(alone) >= 0.8


def test_two_causes_at_once_are_found():
    airframe = power_match.with_propeller(shipped(), backwards=True)
    kv = 1.25 * airframe.motors["motor"].kv
    shown = readings(power_match.with_motor(airframe, kv=kv))
    best = ranked(every(), {name: shown[name] for name in MEASURED})[0]
    print(best)
    assert best.text.startswith("the propeller is on backwards, and the motor has another kV")
    assert best.adjusted == 2


def test_nothing_wrong_is_said():
    shown = readings(shipped())
    measured = {"current": 1.04 * shown["current"], "thrust": 0.96 * shown["thrust"]}
    found = ranked(every(), measured)
    assert found[0].text == AS_DESCRIBED
    assert "agrees with the description" in verdict(measured, found)[0]
    assert sum(one.probability for one in found) == pytest.approx(1.0)


def test_how_common_a_cause_is_counts():
    """By Bayes's rule: of two that fit alike, their odds are those of how common they are."""
    alike = np.array([[10.0, 5.0, 800.0, 11.0, 110.0]])
    one = every()[0]._replace(shown=alike, prior=0.3, texts=("often",))
    other = one._replace(prior=0.1, texts=("seldom",))
    found = ranked([other, one], {"current": 10.5})
    assert [e.text for e in found] == ["often", "seldom"]
    assert found[0].probability == pytest.approx(0.75)


def test_what_can_be_adjusted_to_anything_is_less_likely_for_it():
    """The average over what is adjusted, not the best of it (Bayes's rule)."""
    fixed = every()[0]._replace(shown=np.array([[10.0, 5.0, 800.0, 11.0, 110.0]]))
    rows = np.repeat(fixed.shown, 11, axis=0)
    rows[:, 0] = np.linspace(5.0, 15.0, 11)
    loose = fixed._replace(shown=rows, weights=np.full(11, 1 / 11), texts=("loose",) * 11)
    found = ranked([loose, fixed], {"current": 10.0})
    assert found[0].text == AS_DESCRIBED
    assert found[0].probability > 0.75


def test_what_fits_nothing_is_said():
    measured = {"current": 4.0, "thrust": 60.0, "rpm": 20.0}
    assert verdict(measured, ranked(every(), measured))[0].startswith("Nothing here explains it")


def test_chi_square():
    """Two tolerances off in one value is 4; power says nothing beside current and voltage."""
    shown = np.array([[10.0 * (1.0 + 2.0 * TOLERANCE["current"]), 3.0, 800.0, 11.0, 1.0]])
    assert chi_square({"current": 10.0}, shown) == pytest.approx([4.0])
    known = {"current": 10.0, "voltage": 11.0, "power": 110.0}
    assert chi_square(known, shown) == pytest.approx([4.0])
    assert (*MEASURED, "power") == READINGS


def test_thrust_in_grams_and_ounces_and_power_as_meters_show_them(capsys):
    told = []
    for thrust in ("thrust=620 g", "thrust=21.87 oz"):
        assert main(["power", "pantry", "--measured", f"{thrust},power=120 W"]) == 0
        told.append(capsys.readouterr().out)
    assert told[0].splitlines()[-9:-3] == told[1].splitlines()[-9:-3]
    assert "likely  cause" in told[0]
    assert "misfit" not in told[0]
