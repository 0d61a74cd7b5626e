"""What gives a wanted static margin, ballast or another way, as one answer and in words."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar, NamedTuple, TypeVar

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.study.alternatives import Alternative, alternatives
from firstthrow.sim.study.ballast import (
    ROD,
    ROD_DIAMETER,
    Ballast,
    NoBallast,
    along_edge,
    at_place,
    usual_place,
)
from firstthrow.sim.study.places import place_words
from firstthrow.sim.study.subject import Subject

NOTHING = 0.5e-3  # ballast that is none [kg]


@frozen
class Settled(Answer):
    """An airframe as it is, or as it is when changed."""

    all_up_mass_kg: float
    cg_m_aft: float
    neutral_point_m: float
    mean_chord_m: float
    static_margin_percent: float
    stall_speed_m_s: float


Which = TypeVar("Which", bound=Settled)


@frozen
class _Added(Answer):
    left_out_when_none: ClassVar = frozenset({"length_m", "layers", "linear_density_kg_m"})

    where: str
    mass_kg: float  # below zero: to be taken off
    place_m: tuple[float, float, float]
    place: str  # in words, from the datum
    length_m: float | None  # along an edge only, as all below
    layers: int | None
    linear_density_kg_m: float | None


@frozen
class AddedBallast(Settled, _Added):
    """Ballast, and the airframe with it."""


@frozen
class _Way(Answer):
    left_out_when_none: ClassVar = frozenset({"share", "change_m"})

    name: str
    text: str
    share: float | None  # of their mass, for surfaces
    change_m: float | None  # for all others
    ballast_kg: float
    mass_change_kg: float
    reaches: bool
    why_not_alone: str
    leads_away: bool


@frozen
class OtherWay(Settled, _Way):
    """Another way, and the airframe so changed."""


@frozen
class ToMargin(Answer):
    """`ballast` is None and `reason` says why when there is no such ballast."""

    airframe: str
    margin_wanted_percent: float
    now: Settled
    ballast: AddedBallast | None
    reason: str
    alternatives: tuple[OtherWay, ...]

    @property
    def is_reached(self) -> bool:
        return self.ballast is not None or any(way.reaches for way in self.alternatives)

    @property
    def wanted_cg(self) -> float:
        """Where the airframe as it is would have to balance [m]."""
        margin = self.margin_wanted_percent / 100.0
        return self.now.neutral_point_m - margin * self.now.mean_chord_m


class Ways(NamedTuple):
    """Ballast and other ways to a margin, each with the airframe so changed; `reason`: why there
    is no such ballast."""

    ballast: Ballast | None
    reason: str
    others: list[Alternative]


def ways(
    subject: Subject,
    margin: float,
    at: str | None = None,
    along: str | None = None,
    per_length: float = ROD,
) -> Ways:
    """Ballast at a named place or along an edge, and other ways.

    Without `at` and `along` the ballast goes where `usual_place` has it.
    Raises NoSuchPlace.
    """
    where = at or usual_place(subject, margin)
    found, reason = None, ""
    try:
        if along:
            found = along_edge(subject, margin, along, per_length)
        else:
            found = at_place(subject, margin, where)
    except NoBallast as none:
        reason = str(none)
    return Ways(found, reason, alternatives(subject, margin, where))


def told(subject: Subject, margin: float, found: Ways, per_length: float = ROD) -> ToMargin:
    return ToMargin(
        airframe=subject.airframe.name,
        margin_wanted_percent=100.0 * margin,
        now=_settled(Settled, subject),
        ballast=_added(found.ballast, per_length) if found.ballast else None,
        reason=found.reason,
        alternatives=tuple(_way(one) for one in found.others),
    )


def _settled(kind: Callable[..., Which], at: Subject, **more) -> Which:
    return kind(
        all_up_mass_kg=at.mass,
        cg_m_aft=at.cg,
        neutral_point_m=at.neutral_point,
        mean_chord_m=at.chord,
        static_margin_percent=100.0 * at.margin,
        stall_speed_m_s=at.stall_speed,
        **more,
    )


def _added(found: Ballast, per_length: float) -> AddedBallast:
    return _settled(
        AddedBallast,
        found.after,
        where=found.where,
        mass_kg=found.mass,
        place_m=tuple(float(x) for x in found.place),
        place=place_words(found.after.airframe, found.place),
        length_m=found.length,
        layers=found.layers,
        linear_density_kg_m=per_length if found.length is not None else None,
    )


def _way(other: Alternative) -> OtherWay:
    is_share = other.name == "lighter_surfaces"
    return _settled(
        OtherWay,
        other.after,
        name=other.name,
        text=other.words,
        share=other.change if is_share else None,
        change_m=None if is_share else other.change,
        ballast_kg=other.needs,
        mass_change_kg=other.mass_change,
        reaches=other.reaches,
        why_not_alone=other.why_not,
        leads_away=not other.reaches and not other.why_not,
    )


def ballast_words(ballast: AddedBallast, units: Units, strip: str = "") -> str:
    """What to put where, or to take off. `strip`: what is laid along an edge."""
    where, mass = ballast.where.replace("_", " "), ballast.mass_kg
    rod = f"of {units.length(ROD_DIAMETER)} steel rod"
    if ballast.length_m is not None:
        layers = "" if ballast.layers == 1 else f", in {ballast.layers} layers"
        return f"{units.length(ballast.length_m)} {strip or rod} along the {where}{layers}"
    if abs(mass) < NOTHING:
        return "nothing, it balances as it is"
    if mass < 0.0:
        return f"take {units.mass(-mass)} off the {where}"
    return f"put {units.mass(mass)} at the {where}, {ballast.place}"
