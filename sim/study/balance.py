"""How sure the balance is, and how far it may lie forward and aft.

Spreads are standard deviations; independent ones add by the root of the sum of squares
(first-order propagation, e.g. JCGM 100:2008, the Guide to the Expression of Uncertainty in
Measurement, eq. 10; a test holds it against Monte Carlo).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.lattice import influence, lattice
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import pieces
from firstthrow.sim.build.sticks import Sticks, command
from firstthrow.sim.build.strips import FINE, Strips, fine
from firstthrow.sim.build.weights import Part, balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight import polar
from firstthrow.sim.kernels.layout import MAX_SURFACES

MASS_SPREAD = 0.10  # of a guessed mass
PLACE_SPREAD = 0.005  # of a guessed place, each way [m]

# Measured lift slopes of plates scatter by a tenth (digitised set quoted from Branlard, 2011):
# between sheets of different shape that much of the lift may be shared out otherwise.
SLOPE_SCATTER = 0.10
# What the lattice cannot know, of the mean chord: the bubble behind a square edge, which moves
# the centre of lift aft with incidence, and the propeller's side force and stream, which move it
# forward. Some 1 to 2 % either way, from memory, no source.
UNKNOWN = 0.015

TO_SPARE = 0.20  # of the elevator stick, kept for a gust, the ground's pull and a late hand
FLARE = 1.2  # speed over stall speed at which it touches down, or lifts off from wheels
ROUND_OUT = 1.2  # load factor in which the sag of a throw is rounded out


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


class Limit(NamedTuple):
    """A limit of the balance aft of the datum [m], or None, and why."""

    aft: float | None
    why: str


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


def guesses(airframe: Airframe) -> list[Guess]:
    """Every part with a spread, the one that moves the balance most first."""
    found = parts(airframe)
    at = balance(found)
    known = []
    for part in found:
        mass, place = part_spreads(airframe, part)
        if mass == 0.0 and place == 0.0:
            continue
        lever = abs(float(part.place[0] - at.place[0]))
        moves = mass * lever / at.mass, part.mass * place / at.mass
        known.append(Guess(part.name, part.source, mass, place, *moves))
    return sorted(known, key=lambda guess: -guess.moves)


def cg_spread(airframe: Airframe) -> np.ndarray:
    """(3,) standard deviation of the centre of gravity aft, right and up [m]."""
    found = parts(airframe)
    at = balance(found)
    square = np.zeros(3)
    for part in found:
        mass, place = part_spreads(airframe, part)
        square += (mass * (part.place - at.place)) ** 2 + (part.mass * place) ** 2
    return np.sqrt(square) / at.mass


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
    return f"{1000.0 * metres:.1f} mm" if metres < 0.00995 else f"{1000.0 * metres:.0f} mm"


def tip(airframe: Airframe) -> float:
    """How far out the airframe's flat sheets reach [m]."""
    outs = [abs(p.corners[:, 1]).max() for p in pieces(airframe) if abs(p.normal[2]) > 0.5]
    return float(max(outs, default=0.0))


def imbalance(airframe: Airframe) -> float:
    """Mass at the tip that would balance it sideways [kg]; positive: right is heavy."""
    at, reach = balance(parts(airframe)), tip(airframe)
    return float(at.mass * at.place[1] / reach) if reach > 0.0 else 0.0


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


def neutral_spread(airframe: Airframe, chord: float) -> NeutralSpread:
    """How unsure the neutral point is, and why; `chord` is the mean chord [m]."""
    strips = fine(airframe)
    lift, moment = _lift(strips)
    fine_lift, fine_moment = _lift(fine(airframe, 2 * FINE))
    at = moment.sum() / lift.sum()
    moved = fine_moment.sum() / fine_lift.sum() - at
    sheet = strips.sheet
    slopes = [
        SLOPE_SCATTER * (moment[sheet == s].sum() - at * lift[sheet == s].sum()) / lift.sum()
        for s in np.unique(sheet)
    ]
    return NeutralSpread(float(abs(moved)), float(np.linalg.norm(slopes)), UNKNOWN * chord)


def _neutral_and_back(airframe: Airframe) -> tuple[np.ndarray, np.ndarray]:
    """(MAX_SURFACES,) angles with the sticks in the middle, and with pitch right back [rad]."""
    return tuple(command(airframe, Sticks(pitch=p))[:MAX_SURFACES] for p in (0.0, 1.0))


def has_pitch(airframe: Airframe) -> bool:
    """Whether pulling the stick back moves any surface."""
    neutral, back = _neutral_and_back(airframe)
    return bool(np.abs(back - neutral).max() > 1e-6)


def rear_limit(airframe: Airframe, neutral: float, chord: float) -> Limit:
    """The balance furthest aft that keeps the airframe's least static margin."""
    least = airframe.least_margin
    return Limit(neutral - least * chord, f"{100 * least:.0f} % static margin is left")


def front_limits(airframe: Airframe, model: Model) -> tuple[Limit, Limit]:
    """The balances furthest forward that leave elevator for the flare and for the launch.

    Flare: the motor off, four fifths of the way from neutral to the stick right back hold the
    nose at the angle of attack that carries the weight at 1.2 times the stall speed (that with
    the surfaces so). A fifth stays to spare: the ground takes away downwash and asks for more
    elevator, gusts come, the hand is late; with all of it a slab holds itself down to about 1.1
    times. Common practice, no source: nearer to the stall a gust drops it, faster it lands hard.
    Launch: at the speed of the throw the same elevator rounds out the sag at 1.2 g; from wheels
    it lifts off at the speed of the flare.
    Moving the balance by d leaves flow and force as they are and adds force times d to the
    moment, so the limit is where the moment is nothing. Valid for: still air, no ground effect.
    """
    if not has_pitch(airframe):
        none = Limit(None, "no elevator or elevon: nothing holds the nose up")
        return none, none
    neutral, back = _neutral_and_back(airframe)
    held = neutral + (1.0 - TO_SPARE) * (back - neutral)
    found = polar.polar(model, np.radians(np.arange(-6.0, 42.0, 1.0)), held)
    top = stall(found.lift)
    if found.lift[top] <= 0.0:
        none = Limit(None, "it does not lift with the stick back")
        return none, none
    weight = model.record.mass * model.record.gravity
    pressure = 0.5 * model.record.density * found.area
    slowest = np.sqrt(weight / (pressure * found.lift[top]))
    place = float(model.balance.place[0])
    flare = Limit(
        _held_at(found, top, found.lift[top] / FLARE**2, place),
        f"80 % of the elevator stick flares it at {FLARE * slowest:.1f} m/s",
    )
    if airframe.launch.kind != "hand" or airframe.launch.hand is None:
        why = f"80 % of the elevator stick lifts it off at {FLARE * slowest:.1f} m/s"
        return flare, Limit(flare.aft, why)
    speed = airframe.launch.hand.speed
    if pressure * speed**2 * found.lift[top] <= ROUND_OUT * weight:
        return flare, Limit(None, f"a throw of {speed:.1f} m/s is too slow to round out")
    wanted = ROUND_OUT * weight / (pressure * speed**2)
    return flare, Limit(
        _held_at(found, top, wanted, place),
        f"80 % of the elevator stick rounds out a throw of {speed:.1f} m/s",
    )


def stall(lift: np.ndarray) -> int:
    """Where a lift curve over rising incidence has its first top: beyond, a plate only mushes."""
    falls = np.flatnonzero((lift[1:] < lift[:-1]) & (lift[:-1] > 0.0))
    return int(falls[0]) if falls.size else len(lift) - 1


def _held_at(found: polar.Polar, top: int, lift: float, place: float) -> float:
    """The balance [m] at which a lift coefficient below the stall needs no more elevator."""
    alpha = np.interp(lift, found.lift[: top + 1], found.alpha[: top + 1])
    moment, normal = (np.interp(alpha, found.alpha, c) for c in (found.moment, found.normal))
    return float(place - moment * found.chord / normal)


def band(airframe: Airframe, model: Model, neutral: float, chord: float) -> tuple[Limit, Limit]:
    """The front and the rear limit of the balance."""
    fronts = front_limits(airframe, model)
    known = [limit for limit in fronts if limit.aft is not None]
    front = max(known, key=lambda limit: limit.aft) if known else fronts[0]
    return front, rear_limit(airframe, neutral, chord)
