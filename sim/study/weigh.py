"""What an airframe weighs, where it balances and may balance, and what it bears: one answer."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.weights import TO_BODY
from firstthrow.sim.study.band.band import LAUNCHES, band, meant
from firstthrow.sim.study.band.flare import flare, has_pitch
from firstthrow.sim.study.loads import Strength, load_limits
from firstthrow.sim.study.margins import FlownMargin, flown_margins
from firstthrow.sim.study.odds.survival import ByHands
from firstthrow.sim.study.spreads import cg_spread, guesses, neutral_spread, weigh_first
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

Place = tuple[float, float, float]


@frozen
class NeutralSpreadFrom(Answer):
    lattice_m: float
    slope_scatter_m: float
    edge_and_propeller_m: float


@frozen
class GuessedPart(Answer):
    name: str
    source: str
    mass_spread_kg: float
    place_spread_m: float
    moves_cg_m: float


@frozen
class Why(Answer):
    front: str
    rear: str


@frozen
class AtEnds(Answer):
    """Launches with the balance at an end of the band; None where there is no such launch."""

    front: ByHands | None
    rear: ByHands | None


@frozen
class WeighedPart(Answer):
    name: str
    mass_kg: float
    place_m: Place
    source: str  # measured, guessed, or computed from the material


@frozen
class Weighing(Answer):
    """SI. Places are aft, right and up from the datum. Percentages are of the mean aerodynamic
    chord of the main flat sheet, from its leading edge. Spreads are standard deviations. Inertia
    is about the centre of gravity in body axes (x forward, y right, z down)."""

    airframe: str
    mass_kg: float
    cg_m: Place
    cg_percent_mac: float
    mean_chord_m: float
    mean_chord_lead_m: float
    neutral_point_percent_mac: float
    neutral_point_m: float
    static_margin_percent: float  # at no incidence: that of a fast dive
    flown_margins: tuple[FlownMargin, ...]
    inertia_kg_m2: np.ndarray  # (3, 3)
    wing_area_m2: float
    wing_loading_kg_m2: float
    stall_speed_m_s: float
    imbalance_at_tip_kg: float  # positive: the right side is heavy
    tip_m: float
    cg_spread_m: Place
    cg_spread_percent_mac: float
    neutral_point_spread_m: float
    neutral_point_spread_percent_mac: float
    neutral_point_spread_from: NeutralSpreadFrom
    guesses: tuple[GuessedPart, ...]  # the one that moves the balance most first
    weigh_first: str
    cg_meant_m: float  # where to balance it: at the margin that is wanted, if the band has that
    cg_front_limit_m: float | None
    cg_rear_limit_m: float
    cg_limits_why: Why
    cg_limits_odds: AtEnds
    cg_closed_by: str  # why no balance suits; empty where there is a band
    cg_flare_limit_m: float | None  # no limits but remarks, these two and the speed
    cg_launch_limit_m: float | None
    flare_m_s: float | None  # down to which the elevator holds the nose up, the motor off
    pitch_control: bool
    verdict: BalanceVerdict
    strength: Strength | None  # None without a flat sheet whose root could fold
    parts: tuple[WeighedPart, ...]


def weigh(subject: Subject, launches: int = LAUNCHES) -> Weighing:
    """`launches`: at each end of the band. Raises ValueError when the airframe weighs nothing."""
    at, chord, limits = subject.balance, subject.chord, band(subject, launches)
    nose = flare(subject)
    ranked, aft, neutral = guesses(subject), cg_spread(subject), neutral_spread(subject)
    return Weighing(
        airframe=subject.airframe.name,
        mass_kg=subject.mass,
        cg_m=_place(at.place),
        cg_percent_mac=subject.percent(subject.cg),
        mean_chord_m=chord,
        mean_chord_lead_m=subject.lead,
        neutral_point_percent_mac=subject.percent(subject.neutral_point),
        neutral_point_m=subject.neutral_point,
        static_margin_percent=100.0 * subject.margin,
        flown_margins=flown_margins(subject),
        inertia_kg_m2=TO_BODY @ at.inertia @ TO_BODY,
        wing_area_m2=subject.wing_area,
        wing_loading_kg_m2=subject.mass / subject.lifting_area,
        stall_speed_m_s=subject.stall_speed,
        imbalance_at_tip_kg=imbalance(subject),
        tip_m=tip(subject),
        cg_spread_m=_place(aft),
        cg_spread_percent_mac=100.0 * float(aft[0]) / chord,
        neutral_point_spread_m=neutral.total,
        neutral_point_spread_percent_mac=100.0 * neutral.total / chord,
        neutral_point_spread_from=NeutralSpreadFrom(*neutral),
        guesses=tuple(
            GuessedPart(one.name, one.source, one.mass_spread, one.place_spread, one.moves)
            for one in ranked
        ),
        weigh_first=weigh_first(ranked, subject.airframe.units),
        cg_meant_m=meant(subject, limits.front.aft_m if limits.front else None, limits.rear.aft_m),
        cg_front_limit_m=limits.front.aft_m if limits.front else None,
        cg_rear_limit_m=limits.rear.aft_m,
        cg_limits_why=Why(limits.front_why, limits.rear.why),
        cg_limits_odds=AtEnds(limits.front.odds if limits.front else None, limits.rear.odds),
        cg_closed_by=limits.closed_by,
        cg_flare_limit_m=nose.aft,
        cg_launch_limit_m=nose.launch_aft,
        flare_m_s=nose.speed,
        pitch_control=has_pitch(subject),
        verdict=limits.verdict(subject),
        strength=load_limits(subject),
        parts=tuple(
            WeighedPart(part.name, float(part.mass), _place(part.place), part.source)
            for part in subject.parts
        ),
    )


def _place(metres: np.ndarray) -> Place:
    aft, right, up = (float(one) for one in metres)
    return aft, right, up


def tip(subject: Subject) -> float:
    """How far out the airframe's flat sheets reach [m]."""
    flat = [abs(p.corners[:, 1]).max() for p in subject.pieces if abs(p.normal[2]) > 0.5]
    return float(max(flat, default=0.0))


def imbalance(subject: Subject) -> float:
    """Mass at the tip that would balance it sideways [kg]; positive: right is heavy."""
    reach = tip(subject)
    return float(subject.mass * subject.balance.place[1] / reach) if reach > 0.0 else 0.0
