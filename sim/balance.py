"""How sure the balance is, and how far it may lie forward and aft.

Spreads are standard deviations; independent ones add by the root of the sum of squares
(first-order propagation, e.g. JCGM 100:2008, the Guide to the Expression of Uncertainty in
Measurement, eq. 10; a test holds it against Monte Carlo).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sim import polar
from sim.airframe import Airframe
from sim.lifting_surface import influence, lattice
from sim.model import Model
from sim.shape import corners, pieces, surface_spans
from sim.state import MAX_SURFACES
from sim.sticks import Sticks, surface_angles
from sim.strips import Strips, cut
from sim.weights import Part, balance, parts

MASS_SPREAD = 0.10  # of a guessed mass
PLACE_SPREAD = 0.005  # of a guessed place, each way [m]

# Measured lift slopes of plates scatter by a tenth (digitised set quoted from Branlard, 2011):
# between sheets of different shape that much of the lift may be shared out otherwise.
SLOPE_SCATTER = 0.10
# What the lattice cannot know, of the mean chord: the bubble behind a square edge, which moves
# the centre of lift aft with incidence, and the propeller's side force and stream, which move it
# forward. Some 1 to 2 % either way, from memory, no source.
UNKNOWN = 0.015

TO_SPARE = 0.20  # of the up elevator, kept for a gust, the ground's pull and a late hand
FLARE = 1.1  # speed over stall speed at which the flare is held
ROUND_OUT = 1.2  # load factor in which the sag of a launch is rounded out
LIFT_OFF = 1.2  # speed over stall speed of a ground launch


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


def _spreads(airframe: Airframe, part: Part) -> tuple[float, float]:
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
        mass, place = _spreads(airframe, part)
        if mass == 0.0 and place == 0.0:
            continue
        lever = abs(float(part.place[0] - at.place[0]))
        known.append(Guess(
            part.name, part.source, mass, place, mass * lever / at.mass, part.mass * place / at.mass,
        ))  # fmt: skip
    return sorted(known, key=lambda guess: -guess.moves)


def cg_spread(airframe: Airframe) -> np.ndarray:
    """(3,) standard deviation of the centre of gravity aft, right and up [m]."""
    found = parts(airframe)
    at = balance(found)
    square = np.zeros(3)
    for part in found:
        mass, place = _spreads(airframe, part)
        square += (mass * (part.place - at.place)) ** 2 + (part.mass * place) ** 2
    return np.sqrt(square) / at.mass


def weigh_first(ranked: list[Guess]) -> str:
    """What to weigh or measure next, in a sentence."""
    if not ranked:
        return "Every part has been weighed: nothing is guessed."
    first = ranked[0]
    verb = "Weigh" if first.by_mass >= first.by_place else "Measure where it sits:"
    return f"{verb} the {_plain(first.name)} first: it moves the balance {_mm(first.moves)}."


def _plain(name: str) -> str:
    return name.replace("_", " ")


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
    matrix = influence(strips, grid, np.array([1.0, 0.0, 0.0]))
    up = strips.normal[:, 2]
    vortex = np.linalg.solve(matrix, -np.repeat(up, k)).reshape(n, k)
    vortex *= (strips.width * up)[:, None]
    aft = strips.middle[:, :1] + (grid.vortex_at - 0.5) * (strips.chord * strips.aft[:, 0])[:, None]
    return vortex.sum(axis=1), (vortex * aft).sum(axis=1)


def neutral_spread(airframe: Airframe, chord: float) -> NeutralSpread:
    """How unsure the neutral point is, and why; `chord` is the mean chord [m]."""
    lift, moment = _lift(cut(airframe))
    fine_lift, fine_moment = _lift(cut(airframe, finer=2))
    at = moment.sum() / lift.sum()
    moved = fine_moment.sum() / fine_lift.sum() - at
    sheet = cut(airframe).sheet
    slopes = [
        SLOPE_SCATTER * (moment[sheet == s].sum() - at * lift[sheet == s].sum()) / lift.sum()
        for s in np.unique(sheet)
    ]
    return NeutralSpread(
        float(abs(moved)), float(np.linalg.norm(slopes)), UNKNOWN * chord
    )


def has_pitch(airframe: Airframe) -> bool:
    """Whether any surface raises the nose."""
    return any(
        surface.role in ("elevon", "elevator")
        for sheet in airframe.sheets.values() for surface in sheet.surfaces.values()
    ) and bool(surface_spans(airframe))  # fmt: skip


def rear_limit(airframe: Airframe, neutral: float, chord: float) -> Limit:
    """The balance furthest aft that keeps the airframe's least static margin."""
    least = airframe.least_margin
    return Limit(neutral - least * chord, f"{100 * least:.0f} % static margin is left")


def front_limits(airframe: Airframe, model: Model) -> tuple[Limit, Limit]:
    """The balances furthest forward that leave elevator for the flare and for the launch.

    Flare: near the ground at 1.1 times the stall speed, the motor off, four fifths of the
    travel from neutral to the stick right back hold the nose at the angle of attack that
    carries the weight. Stall speed is that with the surfaces so; nearer to it a gust stalls
    it, faster it lands hard. A fifth stays to spare: the ground takes away downwash and asks
    for more elevator, and the hand is late.
    Launch: at the speed of the throw (or 1.2 times the stall speed from the ground), the same
    elevator rounds out the sag at 1.2 g.
    Moving the balance by d leaves force and flow as they are and adds force times d to the
    moment, so the limit is where the moment is nothing. Valid for: still air, no ground effect.
    """
    if not has_pitch(airframe):
        why = "no elevator or elevon: nothing holds the nose up"
        return Limit(None, why), Limit(None, why)
    neutral, back = (surface_angles(airframe, Sticks(pitch=p)) for p in (0.0, 1.0))
    held = np.zeros(MAX_SURFACES)
    held[: neutral.size] = neutral + (1.0 - TO_SPARE) * (back - neutral)
    found = polar.polar(model, np.radians(np.arange(-6.0, 42.0, 1.0)), held)
    most = float(found.lift.max())
    if most <= 0.0:
        why = "it does not lift with the stick back"
        return Limit(None, why), Limit(None, why)
    weight = model.record.mass * model.record.gravity
    stall = np.sqrt(2.0 * weight / (model.record.density * found.area * most))
    place = float(model.balance.place[0])
    flare = _held_at(found, most / FLARE**2, place)
    hand = airframe.launch.hand if airframe.launch.kind == "hand" else None
    speed = hand.speed if hand else LIFT_OFF * stall
    wanted = ROUND_OUT * weight / (0.5 * model.record.density * max(speed, 0.1) ** 2 * found.area)
    if wanted >= most:
        launch = Limit(None, f"at {speed:.1f} m/s the launch is too slow to round out")
    else:
        launch = Limit(_held_at(found, wanted, place),
                       f"80 % of the up elevator rounds out the launch at {speed:.1f} m/s")  # fmt: skip
    return Limit(flare, f"80 % of the up elevator flares it at {FLARE * stall:.1f} m/s"), launch


def _held_at(found: polar.Polar, lift: float, place: float) -> float:
    """The balance [m] at which a lift coefficient below the stall needs no more elevator."""
    top = int(np.argmax(found.lift)) + 1
    alpha = np.interp(lift, np.maximum.accumulate(found.lift[:top]), found.alpha[:top])
    moment, normal = (np.interp(alpha, found.alpha, c) for c in (found.moment, found.normal))
    return float(place - moment * found.chord / normal)


def band(airframe: Airframe, model: Model, neutral: float, chord: float) -> tuple[Limit, Limit]:
    """The front and the rear limit of the balance."""
    fronts = front_limits(airframe, model)
    known = [limit for limit in fronts if limit.aft is not None]
    front = max(known, key=lambda limit: limit.aft) if known else fronts[0]
    return front, rear_limit(airframe, neutral, chord)


def root_edges(airframe: Airframe, name: str) -> tuple[float, float]:
    """Leading and trailing edge of a sheet at its innermost station, aft of the datum [m]."""
    sheet = airframe.sheets[name]
    outline = corners(sheet)
    inner = outline[outline[:, 1] <= outline[:, 1].min() + 1e-6]
    return float(sheet.aft + inner[:, 0].min()), float(sheet.aft + inner[:, 0].max())
