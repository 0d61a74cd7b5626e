"""Measured values against the drive as described: what explains them best; and other propellers.

Every explanation is a changed description run through the same drive as flies. They are ranked
by chi-square, the sum of squared gaps over their tolerance, plus 2 for each number that was
adjusted or chosen to fit (Akaike's criterion for known errors), and the same for a second cause.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize_scalar

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.drive_at_rest import Running, equilibrium, refitted, unlimited
from firstthrow.sim.flight.drive_measured import propeller_corrections, seen
from firstthrow.sim.study.power import (
    Corrected,
    Explained,
    Instruments,
    Level,
    Measured,
    Propellers,
    Size,
    Wanted,
    fastest,
)
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import INCH, milliohms, rpm, to_unit

# Measured against computed, one standard deviation: a builder's meter, scale and tachometer
# together with how far the drive's model is off for a propeller nobody measured.
TOLERANCE = {"current": 0.08, "thrust": 0.08, "rpm": 0.03, "voltage": 0.02}
TOLD = 8  # explanations at most
CLOSE = 3.0  # explanations within this of the best can't be told from it
GOOD = 4.0  # chi-square for each measured value up to which an explanation is one

# Sizes in shops, diameter and pitch in inches. Common practice, no source.
SIZES = (
    (5, 3),
    (5, 4.5),
    (6, 3),
    (6, 4),
    (7, 3.5),
    (7, 4),
    (7, 5),
    (7, 6),
    (8, 3.8),
    (8, 4),
    (8, 6),
    (9, 4.7),
    (9, 5),
    (9, 6),
    (10, 4.7),
    (10, 5),
    (10, 7),
    (11, 4.7),
    (11, 5.5),
    (11, 7),
    (12, 6),
    (12, 8),
    (13, 4),
    (13, 6.5),
    (13, 8),
    (14, 7),
    (14, 8.5),
    (15, 6),
    (15, 8),
    (16, 6),
    (16, 8),
    (17, 8),
    (17, 10),
    (18, 6),
    (18, 8),
    (18, 10),
    (19, 10),
    (20, 8),
    (20, 10),
    (22, 10),
)
AS_DESCRIBED = "everything is as described"
NEAR = 0.35  # of the diameter: sizes further off are not tried


class Explanation(NamedTuple):
    text: str
    chi_square: float
    adjusted: int  # numbers adjusted, sizes chosen, causes beyond the first
    found: dict[str, float]  # what it would have given, as measured

    @property
    def rank(self) -> float:
        return self.chi_square + 2.0 * self.adjusted


class Choice(NamedTuple):
    """One propeller size on the airframe's own drive."""

    size: tuple[float, float]  # [m]
    static: Running  # at full throttle
    fits: bool  # within the current limits
    fastest: float | None  # level, at full throttle [m/s]


def chi_square(measured: dict[str, float], computed: dict[str, float]) -> float:
    """Sum of ((measured - computed) / tolerance)^2, tolerances as shares of the measured value."""
    return sum(
        ((value - computed[name]) / (TOLERANCE[name] * max(abs(value), 1e-6))) ** 2
        for name, value in measured.items()
    )


def explanations(
    subject: Subject, measured: dict[str, float], throttle: float = 1.0
) -> list[Explanation]:
    """Every explanation, the best first, for values measured standing still at a throttle."""
    airframe = subject.airframe

    def run(changed: Airframe) -> dict[str, float]:
        return seen(equilibrium(refitted(subject.model, changed), throttle))

    found = [
        Explanation(text, chi_square(measured, computed), adjusted, computed)
        for text, changed, adjusted in _plain(airframe)
        for computed in [run(changed)]
    ]
    for words, change, low, high in _adjustable(airframe):

        def gap(x: float, change=change) -> float:
            return chi_square(measured, run(change(x)))

        best = _least(gap, low, high)
        computed = run(change(best))
        found.append(Explanation(words(best), chi_square(measured, computed), 1, computed))
    return sorted(found, key=lambda e: e.rank)


def _least(gap: Callable[[float], float], low: float, high: float) -> float:
    """Where a function of several hollows is least, within 0.2 % of the range or so."""
    grid = np.linspace(low, high, 17)
    k = int(np.argmin([gap(x) for x in grid]))
    ends = grid[max(k - 1, 0)], grid[min(k + 1, 16)]
    return float(minimize_scalar(gap, bounds=ends, method="bounded").x)


def _plain(airframe: Airframe) -> Iterator[tuple[str, Airframe, int]]:
    """Explanations with nothing to adjust, and how much was chosen to fit."""
    yield AS_DESCRIBED, airframe, 0
    yield "the propeller is on backwards", with_propeller(airframe, backwards=True), 0
    wrong_way = with_motor(airframe, leads_swapped=True)
    yield "two motor leads are swapped: it turns the wrong way", wrong_way, 0
    for size in near_sizes(airframe):
        name = f"the propeller is another one, {size_name(size)}"
        other = with_size(airframe, size)
        yield name, other, 1
        yield f"{name}, and on backwards", with_propeller(other, backwards=True), 2


def _adjustable(airframe: Airframe) -> Iterator[tuple[Callable, Callable, float, float]]:
    """Explanations with one number to adjust: words for it, the changed airframe, its range."""
    pack = airframe.pack

    def weak(factor: float) -> Airframe:
        return with_pack(airframe, resistance=pack.resistance * factor)

    yield (
        lambda f: (
            f"the pack is weak: {milliohms(f * pack.resistance):.0f} mohm a cell, "
            f"not {milliohms(pack.resistance):.0f}"
        ),
        weak,
        1.0,
        8.0,
    )
    yield (
        lambda c: f"the pack is not full: {100 * c:.0f} %",
        lambda c: with_pack(airframe, charge=c),
        0.02,
        1.0,
    )
    motor = next(iter(airframe.motors.values()))

    def other_kv(factor: float) -> Airframe:
        return with_motor(airframe, kv=motor.kv * factor)

    yield (
        lambda f: (
            f"the motor has another kV: {rpm(f * motor.kv):.0f}, not {rpm(motor.kv):.0f} rpm/V"
        ),
        other_kv,
        0.5,
        1.8,
    )


def verdict(measured: dict[str, float], ranked: list[Explanation]) -> list[str]:
    """The answer in sentences."""
    best = ranked[0]
    described = next(e for e in ranked if e.text == AS_DESCRIBED)
    if described.rank <= best.rank + CLOSE:
        return ["What was measured agrees with the description, within the tolerances."]
    good = [e for e in ranked if e.rank <= best.rank + CLOSE]
    if best.chi_square > GOOD * len(measured):
        return [
            f"Nothing here explains it well; nearest: {best.text}.",
            "Two causes at once, or a meter that is off: measure again, one thing at a time.",
        ]
    told = [f"Best explanation: {best.text}."]
    if len(good) > 1:
        others = "; ".join(e.text for e in good[1:4])
        told.append(f"As good within the tolerances: {others}.")
    missing = [name for name in ("thrust", "current", "rpm") if name not in measured]
    if len(good) > 1 and missing:
        told.append(f"Measure {' and '.join(missing)} as well to tell them apart.")
    return told


def near_sizes(airframe: Airframe) -> list[tuple[float, float]]:
    """Shop sizes [m] near the fitted one, itself left out."""
    own = next(iter(airframe.motors.values())).propeller.size
    sizes = [(d * INCH, p * INCH) for d, p in SIZES]
    return [
        s for s in sizes if abs(s[0] / own[0] - 1.0) < NEAR and not np.allclose(s, own, atol=0.002)
    ]


def size_name(size: tuple[float, float]) -> str:
    return f"{size[0] / INCH:.3g}x{size[1] / INCH:.3g} in"


def with_motor(airframe: Airframe, **changes) -> Airframe:
    """The same with every motor changed."""
    motors = {n: m.model_copy(update=changes) for n, m in airframe.motors.items()}
    return airframe.model_copy(update={"motors": motors})


def with_propeller(airframe: Airframe, **changes) -> Airframe:
    """The same with every propeller changed."""
    motors = {
        name: motor.model_copy(update={"propeller": motor.propeller.model_copy(update=changes)})
        for name, motor in airframe.motors.items()
    }
    return airframe.model_copy(update={"motors": motors})


def with_pack(airframe: Airframe, **changes) -> Airframe:
    return airframe.model_copy(update={"pack": airframe.pack.model_copy(update=changes)})


def with_size(airframe: Airframe, size: tuple[float, float]) -> Airframe:
    """Another propeller size; its blades as wide and thick for its diameter as the fitted one's,
    its mass with the cube of it. Common practice, no source."""
    blade = next(iter(airframe.motors.values())).propeller
    grown = size[0] / blade.size[0]
    return with_propeller(
        airframe,
        size=size,
        mass=blade.mass * grown**3,
        blade_width=blade.blade_width * grown,
        blade_thickness=blade.blade_thickness * grown,
    )


def choices(subject: Subject, level: Level | None = None) -> list[Choice]:
    """Every near shop size and the fitted one at full throttle; `level` gives the fastest level
    speed, with the drag of the fitted one's trims."""
    airframe = subject.airframe
    own = next(iter(airframe.motors.values())).propeller.size
    found = []
    for size in sorted([own, *near_sizes(airframe)]):
        fitted = refitted(subject.model, with_size(airframe, size))
        static = equilibrium(unlimited(fitted), 1.0)
        speed = fastest(fitted, level, level.speed) if level else None
        found.append(Choice(size, static, within_limits(airframe, static), speed))
    return found


def within_limits(airframe: Airframe, running: Running) -> bool:
    motor = min(m.limit for m in airframe.motors.values())
    return (
        running.motor_current <= min(motor, airframe.controller.limit)
        and running.pack_current <= airframe.pack.limit
    )


def best_choice(
    found: list[Choice], thrust: float | None = None, speed: float | None = None
) -> Choice | None:
    """The size of least current that gives the wanted static thrust [N] and level speed [m/s]
    within the limits; None when there is none."""
    able = [
        c
        for c in found
        if c.fits
        and (thrust is None or c.static.thrust >= thrust)
        and (speed is None or (c.fastest is not None and c.fastest >= speed))
    ]
    return min(able, key=lambda c: c.static.pack_current) if able else None


def instruments(values: dict[str, float]) -> Instruments:
    """Measured or computed values, of which some may be missing."""
    speed = values.get("rpm")
    return Instruments(
        current_A=values.get("current"),
        thrust_N=values.get("thrust"),
        rpm=None if speed is None else to_unit(speed, "rpm"),
        voltage_V=values.get("voltage"),
    )


def explained(subject: Subject, measured: dict[str, float]) -> Measured:
    """What was measured at full throttle, standing still, and what it points to."""
    ranked = explanations(subject, measured)
    return Measured(
        measured=instruments(measured),
        tolerance={name: TOLERANCE[name] for name in measured},
        verdict=verdict(measured, ranked),
        explanations=tuple(
            Explained(e.text, e.chi_square, e.adjusted, e.rank, instruments(e.found))
            for e in ranked[:TOLD]
        ),
        corrections={
            name: Corrected(c.factor, c.spread)
            for name, c in propeller_corrections(subject.model, subject.airframe, measured).items()
        },
    )


def propellers(subject: Subject, level: Level | None, wanted: Wanted) -> Propellers:
    """Sizes near the fitted one, and which of them gives what is wanted."""
    found = choices(subject, level)
    best = best_choice(found, wanted.thrust_N, wanted.speed_m_s)
    return Propellers(
        wanted=wanted,
        best=best and size_name(best.size),
        sizes=tuple(
            Size(
                size=size_name(choice.size),
                thrust_N=choice.static.thrust,
                current_A=choice.static.motor_current,
                fastest_level_m_s=choice.fastest,
                within_limits=choice.fits,
            )
            for choice in found
        ),
    )
