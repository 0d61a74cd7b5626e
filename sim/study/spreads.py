"""How sure the balance and the neutral point are, and what to weigh first.

Spreads are those of `build.unknowns`; independent ones add by the root of the sum of squares
(first-order propagation, e.g. JCGM 100:2008, the Guide to the Expression of Uncertainty in
Measurement, eq. 10; a test holds it against Monte Carlo).
"""

from __future__ import annotations

from math import hypot
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.lattice import influence, lattice
from firstthrow.sim.build.section import EFFECT
from firstthrow.sim.build.strips import FINE, Strips, fine
from firstthrow.sim.build.unknown_kinds import What, guessed
from firstthrow.sim.build.unknowns import part_spreads, spread_of
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.once import once_for
from firstthrow.sim.study.subject import Subject


class Guess(NamedTuple):
    """A part not fully known, and how far it moves the balance fore and aft."""

    name: str
    source: str
    mass_spread: float  # [kg]
    place_spread: float  # [m]
    by_mass: float  # [m]
    by_place: float  # [m]

    @property
    def moves(self) -> float:
        return float(np.hypot(self.by_mass, self.by_place))


class NeutralSpread(NamedTuple):
    """Standard deviation of the neutral point, by its causes [m]."""

    lattice: float  # strips cut twice as fine
    slope: float  # measured lift slopes against computed ones
    unknown: float  # edge bubble and propeller

    @property
    def total(self) -> float:
        return float(np.sqrt(sum(x**2 for x in self)))


def guesses(subject: Subject) -> list[Guess]:
    """Every part that nobody has weighed, the one that moves the balance most first."""
    known = []
    for part in subject.parts:
        mass, place = part_spreads(subject.airframe, part)
        if part.source == "measured" or (mass == 0.0 and place == 0.0):
            continue
        lever = abs(float(part.place[0]) - subject.cg)
        moves = mass * lever / subject.mass, part.mass * place / subject.mass
        known.append(Guess(part.name, part.source, mass, place, *moves))
    return sorted(known, key=lambda guess: -guess.moves)


def cg_spread(subject: Subject) -> np.ndarray:
    """(3,) standard deviation of the centre of gravity aft, right and up [m]."""
    square = np.zeros(3)
    for part in subject.parts:
        mass, place = part_spreads(subject.airframe, part)
        square += (mass * (part.place - subject.balance.place)) ** 2 + (part.mass * place) ** 2
    return np.sqrt(square) / subject.mass


def effect_spread(subject: Subject) -> float:
    """Of the effect of its surfaces, as a share of it: that of the least sure ones."""
    shares = [
        spread_of(subject.unknowns, What.EFFECT, f"{span.described.gap} hinges")
        / (subject.airframe.corrections.effect * EFFECT[span.described.gap])
        for span in subject.surfaces
    ]
    return max(shares, default=0.0)


def drag_spread(subject: Subject) -> float:
    """Of the drag without lift, as a share of it: sheets and parts on their own."""
    m = subject.model.record
    sheets, parts = float(m.strip_drag @ m.strip_area), float(m.fitting_drag[:, 0].sum())
    own = [
        area * spread_of(subject.unknowns, what)
        for area, what in ((sheets, What.SHEET_DRAG), (parts, What.PART_DRAG))
    ]
    return hypot(*own) / (sheets + parts)


def weigh_first(ranked: list[Guess], units: Units = METRIC) -> str:
    """What to weigh or measure next, in a sentence."""
    if not ranked:
        return "Every part has been weighed: nothing is guessed."
    first = ranked[0]
    name = first.name.replace("_", " ")
    if first.by_place > first.by_mass:
        what = f"Measure where the {name} sits"
    else:
        what = f"Weigh the {name}"
    moves = units.length(first.moves, 1 if first.moves < 0.00995 else 0)
    return f"{what} first: it moves the balance {moves}."


def _lift(strips: Strips) -> tuple[np.ndarray, np.ndarray]:
    """Lift of each strip in even incidence, attached, and its moment about the datum; (n,) each."""
    grid = lattice(strips)
    n, k = grid.vortex_at.shape
    matrix = influence(strips, grid, 1.0)
    up = strips.normal[:, 2]
    vortex = np.linalg.solve(matrix, -np.repeat(up, k)).reshape(n, k)
    vortex *= (strips.width * up)[:, None]
    aft = strips.middle[:, :1] + (grid.vortex_at - 0.5) * (strips.chord * strips.aft[:, 0])[:, None]
    return vortex.sum(axis=1), (vortex * aft).sum(axis=1)


@once_for(16)
def neutral_spread(subject: Subject) -> NeutralSpread:
    """How unsure the neutral point is, and why."""
    strips = fine(subject.airframe)
    lift, moment = _lift(strips)
    fine_lift, fine_moment = _lift(fine(subject.airframe, 2 * FINE))
    at = moment.sum() / lift.sum()
    moved = fine_moment.sum() / fine_lift.sum() - at
    sheet = strips.sheet
    scatter = guessed(What.SLOPE)
    slopes = [
        scatter * (moment[sheet == s].sum() - at * lift[sheet == s].sum()) / lift.sum()
        for s in np.unique(sheet)
    ]
    unknown = guessed(What.NEUTRAL_POINT, subject.chord)
    return NeutralSpread(float(abs(moved)), float(np.linalg.norm(slopes)), unknown)
