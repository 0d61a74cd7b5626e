"""Everything a builder asks of the trim: what holds it at which speed, and how it behaves there."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.sticks import PITCHES, Sticks
from firstthrow.sim.flight.modes import Mode, is_pitch_unstable, modes_about, words
from firstthrow.sim.flight.trims import (
    Kind,
    Trim,
    Untrimmed,
    elevator,
    hands_off,
    speeds,
    steady_ones,
    surface_word,
    trims,
)
from firstthrow.sim.kernels.layout import ATTITUDE
from firstthrow.sim.kernels.rotation import angles
from firstthrow.sim.study.power import level_flight
from firstthrow.sim.study.subject import Subject


@frozen
class TrimRow(Answer):
    """One steady flight; the elevator's trailing edge down is positive."""

    kind: Kind
    airspeed_m_s: float
    alpha_deg: float
    elevator_deg: float
    throttle: float
    sink_m_s: float
    current_A: float


@frozen
class NoTrim(Answer):
    kind: Kind
    airspeed_m_s: float
    reason: str


@frozen
class BestGlide(Answer):
    airspeed_m_s: float
    glide_ratio: float
    sink_m_s: float
    surface: str
    trailing_edge_up_deg: float
    trailing_edge_up_m: float


@frozen
class LeastSink(Answer):
    airspeed_m_s: float
    sink_m_s: float


@frozen
class EasyLevel(Answer):
    """Level flight at the least current."""

    airspeed_m_s: float
    throttle: float
    current_A: float


@frozen
class HandsOff(Answer):
    airspeed_m_s: float
    sink_m_s: float
    bank_deg: float


@frozen
class Reflex(Answer):
    """Trailing edge up of what takes pitch; the word for it is empty where nothing does."""

    surface: str
    trailing_edge_up_deg: float
    trailing_edge_up_m: float


@frozen
class ModesAbout(Answer):
    kind: Kind
    airspeed_m_s: float


@frozen
class ModeRow(Answer):
    """No period for what does not swing; the time to half or to double, or neither."""

    left_out_when_none: ClassVar = frozenset({"time_to_double_s", "time_to_half_s"})

    name: str
    eigenvalue_re_per_s: float
    eigenvalue_im_per_s: float
    period_s: float | None
    damping_ratio: float | None
    time_to_double_s: float | None
    time_to_half_s: float | None


@frozen
class TrimStudy(Answer):
    """Best glide, least sink and level flight: None where there are none, or for one speed."""

    airframe: str
    cg_percent_mac: float
    cg_aft_m: float
    neutral_point_percent_mac: float
    static_margin_percent: float
    stall_speed_m_s: float
    stall_speed_neutral_m_s: float
    pitch_can_be_held: bool
    trims: tuple[TrimRow, ...]
    no_trims: tuple[NoTrim, ...]
    best_glide: BestGlide | None
    least_sink: LeastSink | None
    level: EasyLevel | None
    cruise: TrimRow | None  # level flight at the cruise, as every report quotes it
    hands_off: HandsOff | None
    reflex: Reflex
    modes_about: ModesAbout | None
    modes: tuple[ModeRow, ...]
    modes_words: str
    no_go: tuple[str, ...]  # why not to fly it


def trim_study(subject: Subject, speed: float | None = None, cg: float | None = None) -> TrimStudy:
    """Trims, stall, best glide, modes.

    speed: only this one [m/s]; without it the whole range. cg: in the main sheet's mean chords
    from its leading edge; items are moved fore or aft to bring it there. Modes are told about
    level flight if there is one, else the glide, else the climb.
    Raises ValueError when the airframe weighs nothing or has no item to move.
    """
    if cg is not None:
        subject = subject.balanced_at(subject.at_percent(100.0 * cg))
    model, airframe = subject.model, subject.airframe
    found = trims(model, airframe, speeds(model) if speed is None else [speed])
    held, missing = steady_ones(found), [t for t in found if isinstance(t, Untrimmed)]
    chosen = _usual(held, subject.cruise)
    modes = modes_about(model, chosen.state, chosen.command) if chosen else []
    best = held if speed is None else []
    return TrimStudy(
        airframe=airframe.name,
        cg_percent_mac=subject.percent(subject.cg),
        cg_aft_m=subject.cg,
        neutral_point_percent_mac=subject.percent(subject.neutral_point),
        static_margin_percent=100.0 * subject.margin,
        stall_speed_m_s=subject.stall_speed,
        stall_speed_neutral_m_s=subject.neutral_stall_speed,
        pitch_can_be_held=subject.held_stall_speed is not None,
        trims=tuple(_row(t) for t in held),
        no_trims=tuple(NoTrim(t.kind, t.airspeed_m_s, t.words(airframe.units)) for t in missing),
        best_glide=_best_glide(subject, best),
        least_sink=_least_sink(best),
        level=_level(subject) if speed is None else None,
        cruise=_row(subject.level) if isinstance(subject.level, Trim) else None,
        hands_off=_hands_off(hands_off(model, airframe, 0.0)),
        reflex=_reflex(subject, elevator(subject.mixer, Sticks())),
        modes_about=chosen and ModesAbout(chosen.kind, chosen.airspeed_m_s),
        modes=tuple(_mode_row(m) for m in modes),
        modes_words=words(modes),
        no_go=tuple(_no_go(chosen, modes, 100.0 * subject.margin)),
    )


def _usual(held: list[Trim], speed: float) -> Trim | None:
    for kind in (Kind.LEVEL, Kind.GLIDE, Kind.CLIMB):
        have = [t for t in held if t.kind is kind]
        if have:
            return min(have, key=lambda t: abs(t.airspeed_m_s - speed))
    return None


def _no_go(chosen: Trim | None, modes: list[Mode], margin: float) -> list[str]:
    """Sentences that say why not to fly it, none when it may."""
    said = []
    if chosen is None:
        said.append("it cannot be trimmed at any of these speeds")
    if margin < 0.0:
        said.append(
            f"the CG is {-margin:.1f} % of the mean chord behind the neutral point: "
            "it does not fly by itself, balance further forward"
        )
    if is_pitch_unstable(modes):
        said.append("the pitch is unstable: the nose, once moved, goes on moving away")
    return said


def _row(t: Trim) -> TrimRow:
    return TrimRow(
        kind=t.kind,
        airspeed_m_s=t.airspeed_m_s,
        alpha_deg=float(np.degrees(t.alpha)),
        elevator_deg=float(np.degrees(t.elevator)),
        throttle=t.throttle,
        sink_m_s=t.sink,
        current_A=t.current,
    )


def _mode_row(m: Mode) -> ModeRow:
    return ModeRow(
        name=m.name,
        eigenvalue_re_per_s=m.eigenvalue.real,
        eigenvalue_im_per_s=m.eigenvalue.imag,
        period_s=m.period,
        damping_ratio=m.damping_ratio,
        time_to_double_s=m.time_to_double,
        time_to_half_s=m.time_to_half,
    )


def glide_ratio(t: Trim) -> float:
    """Distance over height lost of a trim that sinks."""
    return float(np.sqrt(t.airspeed_m_s**2 - t.sink**2) / t.sink)


def _sinking(held: list[Trim]) -> list[Trim]:
    return [t for t in held if t.kind is Kind.GLIDE and t.sink > 0.0]


def _best_glide(subject: Subject, held: list[Trim]) -> BestGlide | None:
    best = max(_sinking(held), key=glide_ratio, default=None)
    if best is None:
        return None
    reflex = _reflex(subject, best.elevator)
    return BestGlide(
        airspeed_m_s=best.airspeed_m_s,
        glide_ratio=glide_ratio(best),
        sink_m_s=best.sink,
        surface=reflex.surface,
        trailing_edge_up_deg=reflex.trailing_edge_up_deg,
        trailing_edge_up_m=reflex.trailing_edge_up_m,
    )


def _least_sink(held: list[Trim]) -> LeastSink | None:
    least = min(_sinking(held), key=lambda t: t.sink, default=None)
    return least and LeastSink(least.airspeed_m_s, least.sink)


def _level(subject: Subject) -> EasyLevel | None:
    """As `power` says it."""
    easy = level_flight(subject)
    return None if isinstance(easy, str) else EasyLevel(easy.speed, easy.throttle, easy.current)


def _hands_off(t: Trim | None) -> HandsOff | None:
    if t is None:
        return None
    bank = angles(*t.state[ATTITUDE : ATTITUDE + 4])[0]
    return HandsOff(t.airspeed_m_s, t.sink, float(np.degrees(bank)))


def _reflex(subject: Subject, down: float) -> Reflex:
    """`down`: trailing edge of what takes pitch [rad]."""
    chords = [span.described.chord for span in subject.surfaces if span.role in PITCHES]
    return Reflex(
        surface=surface_word(subject.airframe, PITCHES),
        trailing_edge_up_deg=-float(np.degrees(down)),
        trailing_edge_up_m=float(max(chords, default=0.0) * np.sin(-down)),
    )
