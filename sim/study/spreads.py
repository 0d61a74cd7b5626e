"""How sure the balance and the neutral point are, and what to weigh first.

Spreads are standard deviations; independent ones add by the root of the sum of squares
(first-order propagation, e.g. JCGM 100:2008, the Guide to the Expression of Uncertainty in
Measurement, eq. 10; a test holds it against Monte Carlo).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.lattice import influence, lattice
from firstthrow.sim.build.section import EFFECT_SPREAD
from firstthrow.sim.build.shape import is_mirrored
from firstthrow.sim.build.strips import FINE, Strips, fine
from firstthrow.sim.build.warp import longest_chord
from firstthrow.sim.build.weights import Part
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import Sheet
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import mm

MASS_SPREAD = 0.10  # of a guessed mass
PLACE_SPREAD = 0.005  # of a guessed place, each way [m]

# How far from flat a board is that nobody has looked at: its bow, of the longest chord (1 mm in
# 350 mm), and the twist of a tip; and what a straightedge and two sticks leave open. All our
# assumptions (common practice, no source).
BOW, TWIST = 0.003, float(np.radians(0.5))
BOW_READ, TWIST_READ = 0.0003, float(np.radians(0.2))

# Measured lift slopes of plates scatter by a tenth (digitised set quoted from Branlard, 2011):
# between sheets of different shape that much of the lift may be shared out otherwise.
SLOPE_SCATTER = 0.10
# What the lattice cannot know, of the mean chord: the bubble behind a square edge, which moves
# the centre of lift aft with incidence, and the propeller's side force and stream, which move it
# forward. Some 1 to 2 % either way, from memory, no source.
UNKNOWN = 0.015


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


def part_spreads(airframe: Airframe, part: Part) -> tuple[float, float]:
    """Of mass [kg] and place [m]: what the file says, the rule for guesses, none if measured.

    Mass worked out from a material is a guess of its density; its place is sure.
    """
    item = airframe.items.get(part.name)
    if item is None:
        return (MASS_SPREAD * part.mass, 0.0) if part.source == "computed" else (0.0, 0.0)
    guessed = item.known == "guessed"
    mass, place = item.mass_spread, item.place_spread
    if mass is None:
        mass = MASS_SPREAD if guessed else 0.0
    if place is None:
        place = PLACE_SPREAD if guessed else 0.0
    return mass * part.mass, place


def board_spreads(sheet: Sheet) -> tuple[float, float]:
    """Of a sheet's bow [m] and of the twist of each tip [rad]: less where the file says them."""
    said = sheet.model_fields_set
    bow = BOW_READ if "bow" in said else BOW * longest_chord(sheet)[0]
    return bow, TWIST_READ if said & {"twist", "twist_left", "twist_right"} else TWIST


def warped(sheet: Sheet, bow: float, left: float, right: float) -> Sheet:
    """The sheet with more bow [m], and more twist of its tips [rad]; the right one is that of a
    sheet with one side."""
    both = {"twist": sheet.twist + right}
    if sheet.stance == "flat" or is_mirrored(sheet):
        both = {"twist_left": sheet.twist_left + left, "twist_right": sheet.twist_right + right}
    return sheet.model_copy(update={"bow": sheet.bow + bow, **both})


def effect_spreads(subject: Subject) -> np.ndarray:
    """(surfaces,) of the effect of each surface over thin-aerofoil theory, by slot."""
    return np.array([EFFECT_SPREAD[span.described.gap] for span in subject.surfaces])


def guesses(subject: Subject) -> list[Guess]:
    """Every part with a spread, the one that moves the balance most first."""
    known = []
    for part in subject.parts:
        mass, place = part_spreads(subject.airframe, part)
        if mass == 0.0 and place == 0.0:
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


def weigh_first(ranked: list[Guess]) -> str:
    """What to weigh or measure next, in a sentence."""
    if not ranked:
        return "Every part has been weighed: nothing is guessed."
    first = ranked[0]
    name = first.name.replace("_", " ")
    if first.by_place > first.by_mass:
        what = f"Measure where the {name} sits"
    else:
        what = f"Weigh the {name}"
    return f"{what} first: it moves the balance {_mm(first.moves)}."


def _mm(metres: float) -> str:
    return f"{mm(metres):.1f} mm" if metres < 0.00995 else f"{mm(metres):.0f} mm"


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


def neutral_spread(subject: Subject) -> NeutralSpread:
    """How unsure the neutral point is, and why."""
    strips = fine(subject.airframe)
    lift, moment = _lift(strips)
    fine_lift, fine_moment = _lift(fine(subject.airframe, 2 * FINE))
    at = moment.sum() / lift.sum()
    moved = fine_moment.sum() / fine_lift.sum() - at
    sheet = strips.sheet
    slopes = [
        SLOPE_SCATTER * (moment[sheet == s].sum() - at * lift[sheet == s].sum()) / lift.sum()
        for s in np.unique(sheet)
    ]
    unknown = UNKNOWN * subject.chord
    return NeutralSpread(float(abs(moved)), float(np.linalg.norm(slopes)), unknown)
