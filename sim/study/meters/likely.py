"""Measured values against the drive as described: what explains them, and how likely it is.

Bayes's rule: how common a cause is, times how likely its readings are, each normal about what the
drive would show, averaged over what is adjusted by how common each value is. A cause that can be
adjusted to fit anything is less likely for it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.flight.drive_measured import propeller_corrections
from firstthrow.sim.study.meters.causes import (
    AS_DESCRIBED,
    EMPTY,
    READINGS,
    WEAK,
    Hypothesis,
    hypotheses,
)
from firstthrow.sim.study.power import Corrected, Explained, Instruments, Measured
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import to_unit

# Measured against computed, one standard deviation: a builder's meter, scale and tachometer
# together with how far the drive's model is off for a propeller nobody measured.
TOLERANCE = {"current": 0.08, "thrust": 0.08, "rpm": 0.03, "voltage": 0.02, "power": 0.08}
TOLD = 8  # explanations at most
LIKELY = 0.5  # from here on an explanation is called the likely one
WORTH_SAYING = 0.1
HARDLY = 0.02  # a weak pack beside an empty one, or the other way, is said down to this
GOOD = 4.0  # chi-square for each measured value up to which an explanation is one


class Explanation(NamedTuple):
    text: str
    chi_square: float
    adjusted: int  # numbers adjusted, sizes chosen, causes beyond the first
    rank: float  # -2 log of how common it is times how likely the readings are with it
    probability: float  # among all that are looked at
    found: dict[str, float]  # what it would have given, as measured


def chi_square(measured: dict[str, float], computed: np.ndarray) -> np.ndarray:
    """(points,) sums of ((measured - computed) / tolerance)^2, tolerances as shares of the
    measured value; computed: (points, READINGS)."""
    total = np.zeros(len(computed))
    for name, value in _told_apart(measured).items():
        gap = value - computed[:, READINGS.index(name)]
        total += (gap / (TOLERANCE[name] * max(abs(value), 1e-6))) ** 2
    return total


def _told_apart(measured: dict[str, float]) -> dict[str, float]:
    """Power is voltage times current: with both it says nothing new."""
    known = {"current", "voltage"} <= measured.keys()
    return {n: v for n, v in measured.items() if n != "power" or not known}


def ranked(every: list[Hypothesis], measured: dict[str, float]) -> list[Explanation]:
    """Every explanation, the likeliest first."""
    found = []
    for one in every:
        off = chi_square(measured, one.shown)
        best = int(np.argmin(off - 2.0 * np.log(np.maximum(one.weights, 1e-300))))
        share = one.weights @ np.exp(-0.5 * (off - off[best]))
        rank = float(off[best] - 2.0 * np.log(one.prior * max(share, 1e-300)))
        given = dict(zip(READINGS, map(float, one.shown[best]), strict=True))
        found.append(Explanation(one.texts[best], float(off[best]), one.adjusted, rank, 0.0, given))
    found.sort(key=lambda e: e.rank)
    odds = np.exp(-0.5 * (np.array([e.rank for e in found]) - found[0].rank))
    chances = odds / odds.sum()
    return [e._replace(probability=float(p)) for e, p in zip(found, chances, strict=True)]


def explanations(
    subject: Subject, measured: dict[str, float], throttle: float = 1.0
) -> list[Explanation]:
    """For values measured standing still at a throttle, by the names of READINGS, in SI."""
    return ranked(hypotheses(subject, throttle), measured)


def verdict(measured: dict[str, float], found: list[Explanation]) -> list[str]:
    """The answer in sentences."""
    best = found[0]
    if best.text == AS_DESCRIBED:
        return ["What was measured agrees with the description, within the tolerances."]
    if best.chi_square > GOOD * len(_told_apart(measured)):
        return [
            f"Nothing here explains it well; nearest: {best.text}.",
            "More than two causes at once, or a meter that is off: measure again, one thing at a "
            "time.",
        ]
    others = [e for e in found[1:4] if e.probability >= WORTH_SAYING]
    sags = next((e for e in found[1:] if e.adjusted == 1 and _sag_alike(best, e)), None)
    if sags and sags.probability < HARDLY:
        sags = None
    chance = best.probability + (sags.probability if sags else 0.0)
    word = "Most likely" if chance >= LIKELY else "Likeliest of several"
    told = [f"{word} ({100.0 * chance:.0f} %): {best.text}."]
    if sags:
        told[0] = told[0][:-1] + f", or else {sags.text}; its voltage at rest tells which."
        others = [e for e in others if e is not sags]
    if others:
        words = "; ".join(f"{e.text} ({100.0 * e.probability:.0f} %)" for e in others)
        told.append(f"Or: {words}.")
    wanted = ("thrust", "current", "rpm", "voltage")
    missing = [name for name in wanted if name not in measured]
    if others and missing:
        told.append(f"Measure {' and '.join(missing)} as well to tell them apart.")
    return told


def _sag_alike(one: Explanation, other: Explanation) -> bool:
    """Whether one is of a weak pack and the other of an empty one: at one throttle both sag."""
    return one.text.startswith((WEAK, EMPTY)) and other.text.startswith(
        EMPTY if one.text.startswith(WEAK) else WEAK
    )


def instruments(values: dict[str, float]) -> Instruments:
    """Measured or computed values, of which some may be missing."""
    speed = values.get("rpm")
    return Instruments(
        current_A=values.get("current"),
        thrust_N=values.get("thrust"),
        rpm=None if speed is None else to_unit(speed, "rpm"),
        voltage_V=values.get("voltage"),
        power_W=values.get("power"),
    )


def explained(subject: Subject, measured: dict[str, float]) -> Measured:
    """What was measured at full throttle, standing still, and what it points to."""
    found = explanations(subject, measured)
    return Measured(
        measured=instruments(measured),
        tolerance={name: TOLERANCE[name] for name in measured},
        verdict=verdict(measured, found),
        explanations=tuple(
            Explained(e.text, e.chi_square, e.adjusted, e.rank, e.probability, instruments(e.found))
            for e in found[:TOLD]
        ),
        corrections={
            name: Corrected(c.factor, c.spread)
            for name, c in propeller_corrections(
                subject.model, subject.airframe, _told_apart(measured)
            ).items()
        },
    )
