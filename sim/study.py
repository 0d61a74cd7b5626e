"""Studies of an airframe before it flies: what it weighs and where it balances."""

from __future__ import annotations

from sim import polar
from sim.airframe import Airframe
from sim.field import STANDARD, Field
from sim.model import build
from sim.weights import TO_BODY, parts


def weigh(airframe: Airframe, field: Field = STANDARD) -> dict:
    """Mass, balance and inertia; SI, with the unit in each key.

    Places are aft, right and up from the datum. Percentages are of the mean aerodynamic
    chord of the main flat sheet, from its leading edge. Inertia is about the centre of
    gravity in body axes (x forward, y right, z down).
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
        "stall_speed_m_s": polar.stall_speed(model),
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
