"""The static margin where it flies: at the throw, in cruise and at the slowest safe speed."""

from __future__ import annotations

from math import degrees

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.flight.polar import neutral_point_about
from firstthrow.sim.flight.trims import Kind, Trim, steady_ones, trims
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.unsure.margin_spread import margin_spreads


@frozen
class FlownMargin(Answer):
    """About a steady flight with power (level; where there is none, the glide)."""

    where: str  # launch, cruise or slowest
    kind: str  # level or glide
    airspeed_m_s: float
    alpha_deg: float
    neutral_point_m: float
    static_margin_percent: float
    static_margin_spread_percent: float  # one standard deviation, from the table of unknowns


def flown_margins(subject: Subject) -> tuple[FlownMargin, ...]:
    """At the speeds that can be trimmed, the launch first; none where nothing can."""
    speeds = {
        "launch": subject.launch_speed,
        "cruise": subject.cruise,
        "slowest": subject.slowest_safe,
    }
    kinds = (Kind.GLIDE, Kind.LEVEL)
    found = trims(subject.model, subject.airframe, list(speeds.values()), kinds)
    # Level flights come last and stay.
    by_speed = {trim.airspeed_m_s: trim for trim in steady_ones(found)}
    ones = [(where, by_speed[v]) for where, v in speeds.items() if v in by_speed]
    spreads = margin_spreads(subject, [trim for _, trim in ones])
    return tuple(
        _about(subject, where, trim, spread)
        for (where, trim), spread in zip(ones, spreads, strict=True)
    )


def _about(subject: Subject, where: str, trim: Trim, spread: float) -> FlownMargin:
    neutral = neutral_point_about(subject.model, trim.state, trim.command)
    return FlownMargin(
        where=where,
        kind=trim.kind,
        airspeed_m_s=trim.airspeed_m_s,
        alpha_deg=degrees(trim.alpha),
        neutral_point_m=neutral,
        static_margin_percent=100.0 * (neutral - subject.cg) / subject.chord,
        static_margin_spread_percent=100.0 * spread,
    )
