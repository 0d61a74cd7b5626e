"""What was measured standing still, against the drive as described: the likeliest causes first.

Every explanation is a changed description run through the same drive as flies. They are ranked by
how likely they are after the readings (Bayes's rule): chi-square, the sum of squared gaps over
their tolerance, and how rare each cause is beforehand, both as -2 ln of a probability. One cause
of motor and propeller and one of pack or label may come together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import exp, log, pi, sqrt
from typing import NamedTuple

import numpy as np
import scipy

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.powertrain import CELL_REST
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.drive import Pack
from firstthrow.sim.flight.drive_at_rest import equilibrium, refitted
from firstthrow.sim.flight.drive_measured import METERS, propeller_corrections, seen
from firstthrow.sim.study.power import Corrected, Explained, Instruments, Measured
from firstthrow.sim.study.propulsion.sizes import (
    near_sizes,
    size_name,
    with_motor,
    with_propeller,
    with_size,
)
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import milliohms, rpm, to_unit

# Measured against computed, one standard deviation: a builder's meter, scale and tachometer
# together with how far the drive's model is off for a propeller nobody measured.
TOLERANCE = {"current": 0.08, "thrust": 0.08, "rpm": 0.03, "voltage": 0.02, "rest": 0.01}
TOLD = 8  # explanations at most
CLOSE = 3.0  # explanations within this of the best can't be told from it
GOOD = 4.0  # chi-square for each measured value up to which an explanation is one

# How likely each cause is when a drive does not do what was worked out: our assumption (common
# practice, no source). Packs off the charger and labels of motors differ most often.
LIKELY = {
    "as described": 0.55,
    "size": 0.25,
    "backwards": 0.15,
    "leads": 0.05,
    "not full": 0.25,
    "weak": 0.1,
    "kV": 0.1,
}
NOTHING_ADJUSTED = 1.0 - LIKELY["not full"] - LIKELY["weak"] - LIKELY["kV"]
LABEL = 0.15  # standard deviation of a motor's kV about its label, as a share
MISTAKEN = 0.15, 0.3  # of one propeller taken for another: diameter, pitch, as shares
EMPTIEST, WEAKEST = 0.02, 8.0  # charge; times the resistance
NUDGE = 0.02  # of a range, to see how sharply it fits
AS_DESCRIBED = "everything is as described"


class Explanation(NamedTuple):
    text: str
    chi_square: float
    adjusted: int  # numbers adjusted, sizes chosen, causes beyond the first
    found: dict[str, float]  # what it would have given, as measured
    rarer: float = 0.0  # how much less likely beforehand than all as described, -2 ln of the ratio

    @property
    def rank(self) -> float:
        return self.chi_square + self.rarer


def chi_square(measured: dict[str, float], computed: dict[str, float]) -> float:
    """Sum of ((measured - computed) / tolerance)^2, tolerances as shares of the measured value."""
    return sum(
        ((value - computed[name]) / (TOLERANCE[name] * max(abs(value), 1e-6))) ** 2
        for name, value in measured.items()
    )


def explanations(
    subject: Subject, measured: dict[str, float], throttle: float = 1.0
) -> list[Explanation]:
    """Every explanation, the likeliest first, for values measured standing still at a throttle: of
    motor and propeller, of what is adjusted, and of one of each."""
    airframe, found = subject.airframe, []
    for built in _builds(airframe):
        model = refitted(subject.model, built.airframe)
        fits = [Fit((), 0.0, _shown(model, throttle, airframe.pack.charge))]
        fits += [
            _fitted(adjustment, model, measured, throttle)
            for adjustment in _adjustments(airframe, "rest" in measured)
        ]
        found += [_told(built, fit, measured) for fit in fits]
    return sorted(found, key=lambda e: e.rank)


class Build(NamedTuple):
    """What the motor and its propeller may be, and how likely that is beforehand."""

    text: str  # empty as described
    airframe: Airframe
    likely: float
    causes: int


class Adjustment(NamedTuple):
    """A cause with a number to it: words for its value, what the drive then shows, its range, and
    how likely each value is beforehand, as a density whose integral is that of the cause."""

    words: Callable[[float], str]
    shown: Callable[[Model, float, float], dict[str, float]]  # of model, value, throttle
    low: float
    high: float
    density: Callable[[float], float]


class Fit(NamedTuple):
    """What was adjusted, in words, with its likelihood beforehand against nothing adjusted."""

    texts: tuple[str, ...]
    rarer: float
    found: dict[str, float]


def _told(built: Build, fit: Fit, measured: dict[str, float]) -> Explanation:
    texts = [text for text in (built.text, *fit.texts) if text]
    return Explanation(
        "; and ".join(texts) or AS_DESCRIBED,
        chi_square(measured, fit.found),
        built.causes + len(fit.texts),
        fit.found,
        fit.rarer - 2.0 * log(built.likely / LIKELY["as described"]),
    )


def _fitted(cause: Adjustment, model: Model, measured: dict[str, float], throttle: float) -> Fit:
    """The value that fits best. A cause is as likely beforehand as its density times the width of
    the values that fit (Laplace's approximation: MacKay, Information Theory, Inference, and
    Learning Algorithms, 2003, ch. 28, from memory)."""

    def gap(x: float) -> float:
        return chi_square(measured, cause.shown(model, x, throttle))

    best = _least(gap, cause.low, cause.high)
    step = NUDGE * (cause.high - cause.low)
    middle = min(max(best, cause.low + step), cause.high - step)
    bend = (gap(middle + step) - 2.0 * gap(middle) + gap(middle - step)) / step**2
    wide = cause.high - cause.low
    if bend > 0.0:
        wide = min(wide, sqrt(4.0 * pi / bend))
    likely = max(1e-12, cause.density(best) * wide)
    rarer = -2.0 * log(likely / NOTHING_ADJUSTED)
    return Fit((cause.words(best),), rarer, cause.shown(model, best, throttle))


def _least(gap: Callable[[float], float], low: float, high: float) -> float:
    """Where a function of several hollows is least, within 0.2 % of the range or so."""
    grid = np.linspace(low, high, 17)
    k = int(np.argmin([gap(x) for x in grid]))
    ends = grid[max(k - 1, 0)], grid[min(k + 1, 16)]
    return float(scipy.optimize.minimize_scalar(gap, bounds=ends, method="bounded").x)


def _builds(airframe: Airframe) -> Iterator[Build]:
    yield Build("", airframe, LIKELY["as described"], 0)
    back = "the propeller is on backwards"
    yield Build(back, with_propeller(airframe, backwards=True), LIKELY["backwards"], 1)
    swapped = "two motor leads are swapped: it turns the wrong way"
    yield Build(swapped, with_motor(airframe, leads_swapped=True), LIKELY["leads"], 1)
    sizes = near_sizes(airframe)
    own = next(iter(airframe.motors.values())).propeller.size
    near = np.array([_nearness(size, own) for size in sizes])
    for size, share in zip(sizes, near / max(near.sum(), 1e-12), strict=True):
        name, other = f"the propeller is another one, {size_name(size)}", with_size(airframe, size)
        likely = max(1e-12, LIKELY["size"] * float(share))
        yield Build(name, other, likely, 1)
        turned = with_propeller(other, backwards=True)
        yield Build(f"{name}, and on backwards", turned, likely * LIKELY["backwards"], 2)


def _nearness(size: tuple[float, float], own: tuple[float, float]) -> float:
    """How readily one size is taken for another."""
    far = [log(a / b) / by for a, b, by in zip(size, own, MISTAKEN, strict=True)]
    return exp(-0.5 * (far[0] ** 2 + far[1] ** 2))


def _adjustments(airframe: Airframe, is_rest_known: bool) -> Iterator[Adjustment]:
    """The pack is one cause with two ways to tell, as long as nobody read its voltage at rest:
    under load a weak one and one that is not full show the same."""
    pack, full = airframe.pack, airframe.pack.charge
    span = min(EMPTIEST, 0.5 * full), full
    if is_rest_known:
        yield Adjustment(
            lambda c: f"the pack is not full: {100.0 * c:.0f} %",
            _emptier,
            *span,
            lambda c: LIKELY["not full"] / (span[1] - span[0]),
        )
        yield Adjustment(
            lambda f: _weak_words(pack, f),
            _weaker,
            1.0,
            WEAKEST,
            lambda f: LIKELY["weak"] / (f * log(WEAKEST)),
        )
    else:
        yield Adjustment(
            lambda c: _pack_words(airframe, c),
            _emptier,
            *span,
            lambda c: (LIKELY["not full"] + LIKELY["weak"]) / (span[1] - span[0]),
        )
    kv = next(iter(airframe.motors.values())).kv
    yield Adjustment(
        lambda f: f"the motor has another kV: {rpm(f * kv):.0f}, not {rpm(kv):.0f} rpm/V",
        _other_kv,
        0.5,
        1.8,
        lambda f: LIKELY["kV"] * exp(-0.5 * (log(f) / LABEL) ** 2) / (f * LABEL * sqrt(2.0 * pi)),
    )


def _shown(model: Model, throttle: float, charge: float) -> dict[str, float]:
    """What all meters show, that of the voltage at rest before the motor runs, too."""
    table = model.record.rest_voltage
    rest = float(np.interp(charge, np.linspace(0.0, 1.0, len(table)), table))
    return seen(equilibrium(model, throttle, charge=charge)) | {"rest": rest}


def _emptier(model: Model, charge: float, throttle: float) -> dict[str, float]:
    return _shown(model, throttle, charge)


def _weaker(model: Model, factor: float, throttle: float) -> dict[str, float]:
    record = model.record.copy()
    record.pack_resistance *= factor
    return _shown(model.with_body(record), throttle, float(record.charge_at_start))


def _other_kv(model: Model, factor: float, throttle: float) -> dict[str, float]:
    record = model.record.copy()
    record.motor_kt /= factor
    return _shown(model.with_body(record), throttle, float(record.charge_at_start))


def _weak_words(pack: Pack, factor: float) -> str:
    was = milliohms(pack.resistance)
    return f"the pack is weak: {factor * was:.0f} mohm a cell, not {was:.0f}"


def _pack_words(airframe: Airframe, charge: float) -> str:
    """Both ways to read it, and what its voltage at rest tells."""
    pack = airframe.pack
    charges = np.linspace(0.0, 1.0, len(CELL_REST))
    full, empty = pack.cells * np.interp((pack.charge, charge), charges, CELL_REST)
    return (
        f"the pack gives too little: not full, some {100.0 * charge:.0f} %, or weak (at rest it "
        f"shows {empty:.1f} V if not full, {full:.1f} V if weak)"
    )


def verdict(measured: dict[str, float], ranked: list[Explanation]) -> list[str]:
    """The answer in sentences."""
    best = ranked[0]
    described = next(e for e in ranked if e.text == AS_DESCRIBED)
    if best.chi_square > GOOD * len(measured):
        return [
            f"Nothing here explains it well; nearest: {best.text}.",
            "More than was tried at once, or a meter that is off: measure again, one thing at a "
            "time.",
        ]
    if described.rank <= best.rank + CLOSE:
        return ["What was measured agrees with the description, within the tolerances."]
    good = [e for e in ranked if e.rank <= best.rank + CLOSE]
    told = [f"Best explanation: {best.text}."]
    if len(good) > 1:
        others = "; ".join(e.text for e in good[1:4])
        told.append(f"As good within the tolerances: {others}.")
    missing = [name for name in ("thrust", "current", "rpm") if name not in measured]
    if len(good) > 1 and missing:
        told.append(f"Measure {' and '.join(missing)} as well to tell them apart.")
    return told


def instruments(values: dict[str, float]) -> Instruments:
    """Measured or computed values, of which some may be missing."""
    speed = values.get("rpm")
    return Instruments(
        current_A=values.get("current"),
        thrust_N=values.get("thrust"),
        rpm=None if speed is None else to_unit(speed, "rpm"),
        voltage_V=values.get("voltage"),
        rest_voltage_V=values.get("rest"),
    )


def explained(subject: Subject, measured: dict[str, float]) -> Measured:
    """What was measured at full throttle, standing still, and what it points to."""
    ranked = explanations(subject, measured)
    at_work = {name: value for name, value in measured.items() if name in METERS}
    if measured.get("thrust", 1.0) < 0.0:  # it turns the wrong way: that says nothing of blades
        at_work = {}
    found = propeller_corrections(subject.model, subject.airframe, at_work) if at_work else {}
    return Measured(
        measured=instruments(measured),
        tolerance={name: TOLERANCE[name] for name in measured},
        verdict=verdict(measured, ranked),
        explanations=tuple(
            Explained(e.text, e.chi_square, e.adjusted, e.rank, instruments(e.found))
            for e in ranked[:TOLD]
        ),
        corrections={name: Corrected(c.factor, c.spread) for name, c in found.items()},
    )
