"""What may be wrong with a drive: every cause, how common it is, and what meters would then show.

Every cause is a changed description run through the same drive as flies. What is adjusted (a kV,
a resistance, a charge) is tried over its whole range, each value weighed by how common it is.
How common: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.drive_at_rest import equilibrium, refitted
from firstthrow.sim.flight.drive_measured import METERS, seen
from firstthrow.sim.study.power_match import (
    near_sizes,
    size_name,
    with_motor,
    with_propeller,
    with_size,
)
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import milliohms, rpm

AS_DESCRIBED = "everything is as described"
WEAK, EMPTY = "the pack is weak", "the pack is not full"
READINGS = tuple(METERS)
# How often each is met, over a drive that is as described.
ANOTHER_SIZE = 0.3  # any of them
BACKWARDS = 0.1
SWAPPED = 0.05
WEAK_PACK = 0.15
NOT_FULL = 0.3
ANOTHER_KV = 0.15
POINTS = 21  # values tried of what is adjusted


class Way(NamedTuple):
    """A cause with one number to adjust: values that are tried, how common each is (together 1),
    words for a value, and the model changed by it."""

    prior: float
    values: np.ndarray
    weights: np.ndarray
    words: Callable[[float], str]
    change: Callable[[Model, float], Model]


class Hypothesis(NamedTuple):
    """One or two causes, with all that meters would show of them."""

    prior: float
    adjusted: int  # numbers adjusted, sizes chosen, causes beyond the first
    texts: tuple[str, ...]  # (points,) in words, for every value tried
    weights: np.ndarray  # (points,)
    shown: np.ndarray  # (points, READINGS)


class _Fixed(NamedTuple):
    """Causes with nothing to adjust."""

    text: str
    prior: float
    adjusted: int
    model: Model
    pairs: bool  # whether a second cause is looked for beside it


def _ways(airframe: Airframe) -> list[Way]:
    pack, motor = airframe.pack, next(iter(airframe.motors.values()))
    weak = np.exp(np.linspace(np.log(1.3), np.log(8.0), POINTS))
    left = np.linspace(0.02, 0.95, POINTS)
    faster = np.linspace(0.05, 0.5, POINTS // 2)  # nearer to it is the kV as described
    kv = np.exp(np.concatenate([-faster[::-1], faster]))

    def normal(of: np.ndarray, spread: float) -> np.ndarray:
        found = np.exp(-0.5 * (of / spread) ** 2)
        return found / found.sum()

    return [
        Way(
            WEAK_PACK,
            weak,
            normal(np.log(weak), 1.0),
            lambda f: (
                f"{WEAK}: {milliohms(f * pack.resistance):.0f} mohm a cell, "
                f"not {milliohms(pack.resistance):.0f}"
            ),
            _weaker,
        ),
        Way(
            NOT_FULL,
            left,
            np.full(POINTS, 1.0 / POINTS),
            lambda c: f"{EMPTY}: {100.0 * c:.0f} %",
            _emptier,
        ),
        Way(
            ANOTHER_KV,
            kv,
            normal(np.log(kv), 0.2),
            lambda f: (
                f"the motor has another kV: {rpm(f * motor.kv):.0f}, not {rpm(motor.kv):.0f} rpm/V"
            ),
            _faster,
        ),
    ]


def _weaker(model: Model, factor: float) -> Model:
    found = model.with_body(model.record.copy())
    found.record.pack_resistance *= factor
    return found


def _emptier(model: Model, charge: float) -> Model:
    found = model.with_body(model.record.copy())
    found.record.charge_at_start = charge
    return found


def _faster(model: Model, factor: float) -> Model:
    found = model.with_body(model.record.copy())
    found.record.motor_kt /= factor
    return found


def _fixed(subject: Subject) -> list[_Fixed]:
    airframe = subject.airframe

    def model(changed: Airframe) -> Model:
        return refitted(subject.model, changed)

    back = "the propeller is on backwards"
    found = [
        _Fixed(AS_DESCRIBED, 1.0, 0, model(airframe), True),
        _Fixed(back, BACKWARDS, 0, model(with_propeller(airframe, backwards=True)), True),
        _Fixed(
            "two motor leads are swapped: it turns the wrong way",
            SWAPPED,
            0,
            model(with_motor(airframe, leads_swapped=True)),
            True,
        ),
    ]
    sizes = near_sizes(airframe)
    for size in sizes:
        text, prior = f"the propeller is another one, {size_name(size)}", ANOTHER_SIZE / len(sizes)
        other = with_size(airframe, size)
        found.append(_Fixed(text, prior, 1, model(other), True))
        turned = model(with_propeller(other, backwards=True))
        both = f"{text}, and on backwards"
        found.append(_Fixed(both, prior * BACKWARDS, 2, turned, False))
    return found


def hypotheses(subject: Subject, throttle: float = 1.0) -> list[Hypothesis]:
    """Every cause and every two of them, with what they would show standing still."""

    def shown(models: list[Model]) -> np.ndarray:
        every = [seen(equilibrium(model, throttle)) for model in models]
        return np.array([[one[name] for name in READINGS] for one in every])

    ways, fixed = _ways(subject.airframe), _fixed(subject)
    found = [
        Hypothesis(one.prior, one.adjusted, (one.text,), np.ones(1), shown([one.model]))
        for one in fixed
    ]
    for one in fixed:
        for way in ways if one.pairs else []:
            alone = one.text == AS_DESCRIBED
            told = [way.words(x) for x in way.values]
            found.append(
                Hypothesis(
                    one.prior * way.prior,
                    one.adjusted + (1 if alone else 2),
                    tuple(told if alone else [f"{one.text}, and {text}" for text in told]),
                    way.weights,
                    shown([way.change(one.model, x) for x in way.values]),
                )
            )
    found += [
        _both(fixed[0].model, first, second, shown)
        for k, first in enumerate(ways)
        for second in ways[k + 1 :]
    ]
    return found


def _both(model: Model, first: Way, second: Way, shown: Callable) -> Hypothesis:
    """Two adjusted causes at once."""
    pairs = [(x, y) for x in first.values for y in second.values]
    return Hypothesis(
        first.prior * second.prior,
        3,
        tuple(f"{first.words(x)}, and {second.words(y)}" for x, y in pairs),
        np.outer(first.weights, second.weights).ravel(),
        shown([second.change(first.change(model, x), y) for x, y in pairs]),
    )
