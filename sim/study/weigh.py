"""Studies of an airframe before it flies: what it weighs, where it balances, what it bears."""

from __future__ import annotations

from math import degrees

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.weights import TO_BODY, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.speeds import stall_speed
from firstthrow.sim.study.alternatives import alternatives
from firstthrow.sim.study.balance import (
    Limit,
    band,
    cg_spread,
    front_limits,
    guesses,
    has_pitch,
    imbalance,
    neutral_spread,
    tip,
    weigh_first,
)
from firstthrow.sim.study.ballast import (
    ROD,
    Ballast,
    NoBallast,
    Weighed,
    along_edge,
    at_place,
    weighed,
)
from firstthrow.sim.study.loads import load_limits


def weigh(airframe: Airframe, field: Field = STANDARD) -> dict:
    """Mass, balance, its limits, strength and inertia; SI, with the unit in each key.

    Places are aft, right and up from the datum. Percentages are of the mean aerodynamic
    chord of the main flat sheet, from its leading edge. Spreads are standard deviations.
    Inertia is about the centre of gravity in body axes (x forward, y right, z down).
    Raises ValueError when the airframe weighs nothing.
    """
    model = build(airframe, field)
    at = model.balance
    area, chord, lead = polar.reference(model)
    neutral = polar.neutral_point(model)
    cg_percent = 100.0 * float(at.place[0] - lead) / chord
    neutral_percent = 100.0 * (neutral - lead) / chord
    return {
        "airframe": airframe.name,
        "mass_kg": float(at.mass),
        "cg_m": [float(x) for x in at.place],
        "cg_percent_mac": cg_percent,
        "mean_chord_m": chord,
        "mean_chord_lead_m": lead,
        "neutral_point_percent_mac": neutral_percent,
        "neutral_point_m": neutral,
        "static_margin_percent": neutral_percent - cg_percent,
        "inertia_kg_m2": (TO_BODY @ at.inertia @ TO_BODY).tolist(),
        "wing_area_m2": area,
        "wing_loading_kg_m2": float(at.mass / area),
        "stall_speed_m_s": stall_speed(model, airframe),
        **_imbalance(airframe),
        **_spreads(airframe, chord),
        **_band(airframe, model, neutral, chord),
        "strength": _strength(airframe, model),
        "parts": [
            {
                "name": part.name,
                "mass_kg": float(part.mass),
                "place_m": [float(x) for x in part.place],
                "source": part.source,
            }
            for part in parts(airframe)
        ],
    }


def _imbalance(airframe: Airframe) -> dict:
    """Positive: the right side is heavy."""
    return {"imbalance_at_tip_kg": imbalance(airframe), "tip_m": tip(airframe)}


def _spreads(airframe: Airframe, chord: float) -> dict:
    ranked, aft = guesses(airframe), cg_spread(airframe)
    neutral = neutral_spread(airframe, chord)
    return {
        "cg_spread_m": [float(x) for x in aft],
        "cg_spread_percent_mac": 100.0 * float(aft[0]) / chord,
        "neutral_point_spread_m": neutral.total,
        "neutral_point_spread_percent_mac": 100.0 * neutral.total / chord,
        "neutral_point_spread_from": {
            "lattice_m": neutral.lattice,
            "slope_scatter_m": neutral.slope,
            "edge_and_propeller_m": neutral.unknown,
        },
        "guesses": [
            {
                "name": guess.name,
                "source": guess.source,
                "mass_spread_kg": guess.mass_spread,
                "place_spread_m": guess.place_spread,
                "moves_cg_m": guess.moves,
            }
            for guess in ranked
        ],
        "weigh_first": weigh_first(ranked),
    }


def _band(airframe: Airframe, model: Model, neutral: float, chord: float) -> dict:
    front, rear = band(airframe, model, neutral, chord)
    flare, launch = front_limits(airframe, model)
    place = float(model.balance.place[0])
    return {
        "cg_front_limit_m": front.aft,
        "cg_rear_limit_m": rear.aft,
        "cg_limits_why": {"front": front.why, "rear": rear.why},
        "cg_flare_limit_m": flare.aft,
        "cg_launch_limit_m": launch.aft,
        "pitch_control": has_pitch(airframe),
        "verdict": verdict(place, neutral, front, rear),
    }


def verdict(cg: float, neutral: float, front: Limit, rear: Limit) -> str:
    """One of: no-pitch-control, no-band, behind-neutral-point, too-far-aft, too-far-forward, ok."""
    if front.aft is None:
        return "no-pitch-control"
    if cg >= neutral:
        return "behind-neutral-point"
    if front.aft > rear.aft:
        return "no-band"
    if cg > rear.aft:
        return "too-far-aft"
    return "too-far-forward" if cg < front.aft else "ok"


def _strength(airframe: Airframe, model: Model) -> dict | None:
    limits = load_limits(airframe, model)
    if limits is None:
        return None
    source = MATERIALS[limits.material].source
    return {
        "root_bending_N_m": limits.root_strength,
        "breaks_first": limits.breaks_first,
        "breaks_at_m": limits.weakest_out,
        "material": limits.material,
        "material_source": source,
        "limit_load_factor": limits.load_factor,
        "full_elevator_speed_m_s": limits.full_elevator_speed,
        "full_elevator_load_factor": limits.full_elevator_load_factor,
        "turn_bank_deg": None if limits.turn_bank is None else degrees(limits.turn_bank),
    }


def ballast(
    airframe: Airframe,
    margin: float,
    at: str | None = None,
    along: str | None = None,
    per_length: float = ROD,
    field: Field = STANDARD,
) -> dict:
    """What gives a static margin: ballast at a named place or along an edge, and other ways.

    Without `at` and `along` the ballast goes to the item named ballast, or into the nose.
    `ballast` is None and `reason` says why when there is no such ballast.
    Raises NoSuchPlace.
    """
    now = weighed(airframe, field)
    where = at or ("ballast" if "ballast" in airframe.items else "nose")
    found, reason = None, ""
    try:
        if along:
            found = along_edge(airframe, margin, along, now, per_length, field)
        else:
            found = at_place(airframe, margin, where, now, field)
    except NoBallast as none:
        reason = str(none)
    others = alternatives(airframe, margin, where, now, field)
    return {
        "airframe": airframe.name,
        "margin_wanted_percent": 100.0 * margin,
        "now": _after(now),
        "ballast": _ballast(found, per_length) if found else None,
        "reason": reason,
        "alternatives": [
            {
                "name": other.name,
                "text": other.words,
                ("share" if other.name == "lighter_surfaces" else "change_m"): other.change,
                "ballast_kg": other.needs,
                "mass_change_kg": other.mass_change,
                "reaches": other.reaches,
                "why_not_alone": other.why_not,
                "leads_away": not other.reaches and not other.why_not,
                **_after(other.after),
            }
            for other in others
        ],
    }


def _ballast(found: Ballast, per_length: float) -> dict:
    along = {"length_m": found.length, "layers": found.layers, "linear_density_kg_m": per_length}
    return {
        "where": found.where,
        "mass_kg": found.mass,
        "place_m": [float(x) for x in found.place],
        **(along if found.length is not None else {}),
        **_after(found.after),
    }


def _after(at: Weighed) -> dict:
    return {
        "all_up_mass_kg": at.mass,
        "cg_m_aft": at.cg,
        "neutral_point_m": at.neutral,
        "mean_chord_m": at.chord,
        "static_margin_percent": 100.0 * at.margin,
        "stall_speed_m_s": at.stall_speed,
    }
