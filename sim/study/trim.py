"""Everything a builder asks of the trim: what holds it at which speed, and how it behaves there."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import PITCHES, Sticks, mixer
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.modes import Mode, is_pitch_unstable, modes_about, words
from firstthrow.sim.flight.speeds import CRUISE, held_stall_speed, neutral_stall_speed
from firstthrow.sim.flight.trims import (
    Trim,
    balanced_at,
    elevator,
    hands_off,
    speeds,
    surface_word,
    trims,
)
from firstthrow.sim.kernels.layout import ATTITUDE
from firstthrow.sim.kernels.rotation import angles


def trim_study(
    airframe: Airframe,
    speed: float | None = None,
    cg: float | None = None,
    field: Field = STANDARD,
) -> dict:
    """Trims, stall, best glide, modes; SI but for angles in degrees, units in the keys.

    speed: only this one [m/s]; without it the whole range. cg: in the main sheet's mean chords
    from its leading edge; items are moved fore or aft to bring it there. Modes are told about
    level flight if there is one, else the glide, else the climb.
    Raises ValueError when the airframe weighs nothing or has no item to move.
    """
    model = build(airframe, field)
    _, chord, lead = polar.reference(model)
    if cg is not None:
        airframe = balanced_at(airframe, lead + cg * chord)
        model = build(airframe, field)
    stall = held_stall_speed(model, airframe)
    neutral_stall = neutral_stall_speed(model)
    wanted = speeds(model) if speed is None else np.array([speed])
    found = trims(model, airframe, wanted)
    chosen = _usual(found, CRUISE * (stall or neutral_stall))
    modes = modes_about(model, chosen.state, chosen.command) if chosen else []
    margin = 100.0 * (polar.neutral_point(model) - float(model.balance.place[0])) / chord
    no_go = _no_go(chosen, modes, margin)
    neutral = 100.0 * (polar.neutral_point(model) - lead) / chord
    return {
        "airframe": airframe.name,
        "cg_percent_mac": neutral - margin,
        "cg_aft_m": float(model.balance.place[0]),
        "neutral_point_percent_mac": neutral,
        "static_margin_percent": margin,
        "stall_speed_m_s": stall or neutral_stall,
        "stall_speed_neutral_m_s": neutral_stall,
        "pitch_can_be_held": stall is not None,
        "trims": [_row(t) for t in found if not t.reason],
        "no_trims": [
            {"kind": t.kind, "airspeed_m_s": t.airspeed_m_s, "reason": t.reason}
            for t in found
            if t.reason
        ],
        **_glides(airframe, found if speed is None else []),
        "hands_off": _hands_off(hands_off(model, airframe, 0.0)),
        "reflex": _reflex(airframe, -float(np.degrees(elevator(mixer(airframe), Sticks())))),
        "modes_about": {"kind": chosen.kind, "airspeed_m_s": chosen.airspeed_m_s}
        if chosen
        else None,
        "modes": [_mode_row(m) for m in modes],
        "modes_words": words(modes),
        "no_go": no_go,
    }


def _usual(found: list[Trim], speed: float) -> Trim | None:
    for kind in ("level", "glide", "climb"):
        have = [t for t in found if t.kind == kind and not t.reason]
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


def _row(t: Trim) -> dict:
    return {
        "kind": t.kind,
        "airspeed_m_s": t.airspeed_m_s,
        "alpha_deg": float(np.degrees(t.alpha)),
        "elevator_deg": float(np.degrees(t.elevator)),
        "throttle": t.throttle,
        "sink_m_s": t.sink,
        "current_A": t.current,
    }


def _mode_row(m: Mode) -> dict:
    row = {
        "name": m.name,
        "eigenvalue_re_per_s": m.eigenvalue.real,
        "eigenvalue_im_per_s": m.eigenvalue.imag,
        "period_s": m.period,
        "damping_ratio": m.damping_ratio,
    }
    if m.time_to_double:
        row["time_to_double_s"] = m.time_to_double
    elif m.time_to_half:
        row["time_to_half_s"] = m.time_to_half
    return row


def glide_ratio(t: Trim) -> float:
    """Distance over height lost of a trim that sinks."""
    return float(np.sqrt(t.airspeed_m_s**2 - t.sink**2) / t.sink)


def _glides(airframe: Airframe, found: list[Trim]) -> dict:
    """Best glide, least sink, level flight at the least current; None where there are none
    (best of many speeds only)."""
    glides = [t for t in found if t.kind == "glide" and not t.reason and t.sink > 0.0]
    levels = [t for t in found if t.kind == "level" and not t.reason]
    best = max(glides, key=glide_ratio, default=None)
    least = min(glides, key=lambda t: t.sink, default=None)
    easy = min(levels, key=lambda t: t.current, default=None)
    return {
        "best_glide": best
        and {
            "airspeed_m_s": best.airspeed_m_s,
            "glide_ratio": glide_ratio(best),
            "sink_m_s": best.sink,
            **_reflex(airframe, -float(np.degrees(best.elevator))),
        },
        "least_sink": least and {"airspeed_m_s": least.airspeed_m_s, "sink_m_s": least.sink},
        "level": easy
        and {
            "airspeed_m_s": easy.airspeed_m_s,
            "throttle": easy.throttle,
            "current_A": easy.current,
        },
    }


def _hands_off(t: Trim) -> dict | None:
    if t.reason:
        return None
    bank = angles(*t.state[ATTITUDE : ATTITUDE + 4])[0]
    return {"airspeed_m_s": t.airspeed_m_s, "sink_m_s": t.sink, "bank_deg": float(np.degrees(bank))}


def _reflex(airframe: Airframe, up: float) -> dict:
    """Trailing edge up of what takes pitch, in degrees and metres at the trailing edge."""
    chords = [
        s.chord
        for sheet in airframe.sheets.values()
        for s in sheet.surfaces.values()
        if s.role in PITCHES
    ]
    return {
        "surface": surface_word(airframe, PITCHES),
        "trailing_edge_up_deg": up,
        "trailing_edge_up_m": float(max(chords, default=0.0) * np.sin(np.radians(up))),
    }
