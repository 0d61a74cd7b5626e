"""Quantities of the file that a record puts elsewhere: each as a slip of the builder; in words.

A slip scatters wider than what is not known anyway: a part forgotten on the scale, a motor not
mounted as it was drawn; how wide is our judgement.
"""

from __future__ import annotations

from math import degrees, log, radians
from typing import NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.learn.causes import RARE, SOUND
from firstthrow.sim.learn.circumstances import SLIPS, WIDE, Circumstance
from firstthrow.sim.learn.evidence import OF_THE_MASS, Examined, Fit, fit

OFF = 1.3  # spreads that a quantity lies off its file, to be said
SURE = 3.0  # spreads of what the record leaves open that it lies off
FORGOTTEN = 0.1  # of the whole mass, standard deviation of a slip
ASKEW = radians(3.0)  # of a thrust line
LINES = (What.THRUST_DOWN, What.THRUST_RIGHT)
MASS, BALANCE = "mass", "balance"


@frozen
class Off(Answer):
    """A quantity that the record puts elsewhere than the file, SI."""

    name: str
    amount: float
    spread: float


class Direction(NamedTuple):
    """Something that may be off: its share of every unknown's spread, and its unit of that [SI];
    `slip`: the standard deviation of a slip, `usual`: how often there is one."""

    words: str
    along: np.ndarray
    unit: float
    slip: float
    usual: float


def off_file(held: Examined, found: Fit) -> tuple[Off, ...]:
    """Quantities that the record puts clearly elsewhere, the furthest first. The balance stands
    for all that moves it against the neutral point, the mass for that of all parts."""
    told = []
    for one in _directions(held):
        at, usual = float(one.along @ found.at), float(np.linalg.norm(one.along))
        left = float(np.sqrt(one.along @ found.covariance @ one.along))
        if abs(at) > OFF * usual and abs(at) > SURE * left:
            told.append((abs(at) / usual, Off(one.words, at * one.unit, left * one.unit)))
    return tuple(off for _, off in sorted(told, key=lambda pair: -pair[0]))


def _directions(held: Examined) -> list[Direction]:
    masses = np.array([one.spread if one.what is What.MASS else 0.0 for one in held.unknowns])
    told = [(BALANCE, held.shifts, 1.0), (MASS, masses, 1.0)]
    for n, one in enumerate(held.unknowns):
        if one.what not in OF_THE_MASS:
            told.append((one.words, np.eye(len(held.unknowns))[n], one.spread))
    mass, found = held.subject.mass, []
    for words, along, unit in told:
        spread = float(np.linalg.norm(along)) * unit
        if spread == 0.0:
            continue
        slip, usual = WIDE * spread, SLIPS / len(told)
        if words == MASS:
            slip, usual = max(slip, FORGOTTEN * mass), RARE
        elif words.startswith(LINES):
            slip, usual = max(slip, ASKEW), RARE
        found.append(Direction(words, along, unit, slip, usual))
    return found


def slips(held: Examined, plain: Fit) -> dict[Circumstance, Fit]:
    """Each quantity as a slip, with what that leaves: its scatter wider than what is not known,
    which is a wider normal still."""
    missed, slopes = held.straight[SOUND], held.slopes[SOUND]
    found: dict[Circumstance, Fit] = {}
    for one in _directions(held):
        spread = float(np.linalg.norm(one.along))
        way, times = one.along / spread, one.slip / (spread * one.unit)
        wider = np.eye(len(slopes)) + (times - 1.0) * np.outer(way, way)
        slip = fit(missed, wider @ slopes)
        evidence = slip.log_likelihood - plain.log_likelihood + log(one.usual)
        if evidence > 0.0:
            along = wider @ one.along
            left = float(np.sqrt(along @ slip.covariance @ along))
            off = Off(one.words, float(along @ slip.at) * one.unit, left * one.unit)
            told = off_words(off, held.subject.airframe.units)
            found[Circumstance(f"{one.words} off", evidence, 0.0, off.amount, told)] = slip
    return found


def off_words(off: Off, units: Units) -> str:
    """Such as 'it balanced 9 ± 2 mm further aft than the file says'."""
    size = abs(off.amount)
    if off.name == BALANCE:
        way = "aft" if off.amount > 0.0 else "forward"
        amount = f"{units.bare_length(size)} ± {units.length(off.spread)} further {way}"
        return f"it balanced {amount} than the file says"
    if off.name == MASS:
        way = "heavier" if off.amount > 0.0 else "lighter"
        return f"it was {units.mass(size)} {way} than the file says, ± {units.mass(off.spread)}"
    if off.name.startswith(LINES):
        ways = ("down", "up") if off.name.startswith(What.THRUST_DOWN) else ("right", "left")
        way, line = ways[off.amount < 0.0], off.name.partition(" of the ")[2]
        amount = f"{degrees(size):.0f} ± {degrees(off.spread):.0f} deg"
        return f"the {line} pulled {amount} further {way} than the file says"
    kind, _, of = off.name.partition(" of the ")
    if kind in (What.SLOPE, What.THRUST):
        what = "the propeller pulled" if kind == What.THRUST else f"the {of} lifted"
        more = "more" if off.amount > 0.0 else "less"
        share = min(1.0, size) if off.amount < 0.0 else size
        amount = f"{100.0 * share:.0f} ± {100.0 * off.spread:.0f} % {more}"
        return f"{what} {amount} for the weight than the file says"
    return f"the {off.name} is not what the file says"
