"""Throws for every stick, where the mix saturates, linkages and servo loads: one answer."""

from __future__ import annotations

from math import degrees, inf, isfinite, sin

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.build.sticks import Mixer, Sticks, mixer
from firstthrow.sim.describe import linkage as bars
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.study.power import margin
from firstthrow.sim.study.servos import CORNERS, Loads, loads, words

CURVE = 41  # points of a stick curve
UNEVEN = 3.0  # between up and down at the servo's ends, worth a word [deg]


def edge_height(angle: float, chord: float) -> float:
    """How far the trailing edge stands off neutral, square to the sheet [m]."""
    return chord * sin(angle)


def corners(airframe: Airframe, mix: Mixer, low_rates: bool) -> dict[str, dict]:
    """By corner of the sticks and surface: angle (trailing edge up, on rudders right), edge, and
    what the limits cut off."""
    spans, found = surface_spans(airframe), {}
    for name, (roll, pitch, yaw) in CORNERS.items():
        sticks = Sticks(roll, pitch, yaw, 0.0, low_rates)
        angles, free = mix.angles(sticks), mix.angles(sticks, limited=False)
        found[name] = {
            span.name: {
                "angle_up_deg": degrees(-angles[span.slot]) + 0.0,
                "edge_up_m": edge_height(-angles[span.slot], _surface(airframe, span).chord) + 0.0,
                "cut_off_deg": abs(degrees(free[span.slot] - angles[span.slot])),
            }
            for span in spans
        }
    return found


def saturation(mix: Mixer, low_rates: bool) -> float | None:
    """Share of full pitch and roll stick, both moved alike, at which a surface first meets its
    limit, the worst of the four corners; None when none does."""
    worst = None
    for roll, pitch in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        for share in np.linspace(0.0, 1.0, 201):
            sticks = Sticks(share * roll, share * pitch, low_rates=low_rates)
            if not np.allclose(mix.angles(sticks), mix.angles(sticks, limited=False)):
                worst = share if worst is None else min(worst, share)
                break
    return None if worst is None else float(worst)


def curves(airframe: Airframe) -> dict[str, dict]:
    """Angle of every surface against each stick, high and low rates."""
    mix, spans = mixer(airframe), surface_spans(airframe)
    sticks = np.linspace(-1.0, 1.0, CURVE)
    found: dict[str, dict] = {"stick": sticks.tolist()}
    for axis in ("roll", "pitch", "yaw"):
        for low, name in ((False, "high"), (True, "low")):
            rows = [mix.angles(Sticks(**{axis: float(x)}, low_rates=low)) for x in sticks]
            found[f"{axis}_{name}_up_deg"] = {
                span.name: [degrees(-row[span.slot]) + 0.0 for row in rows] for span in spans
            }
    return found


def throws(airframe: Airframe, mix: Mixer) -> list[float]:
    """Largest angle asked of each surface over all corners and both rates [rad]."""
    asked = [
        mix.angles(Sticks(*corner, low_rates=low))
        for corner in CORNERS.values()
        for low in (False, True)
    ]
    return np.max(np.abs(asked), axis=0).tolist()


def linkage_facts(airframe: Airframe, span, throw: float) -> dict:
    """The linkage of one surface: what its servo's ends give, and how far a throw is from them.

    Angles trailing edge up for a horn on the upper side.
    """
    surface = _surface(airframe, span)
    servo = airframe.servos[surface.servo]
    link = bars.linkage(surface)
    ends = bars.reach(link, servo.travel)
    fit = bars.holes(link, servo.travel, throw) if throw > 0.0 else None
    samples = [
        (degrees(t), degrees(link.surface_angle(t)))
        for t in np.linspace(-servo.travel, servo.travel, 13)
        if _reaches(link, t)
    ]
    uses = [_servo_for(link, side * throw) for side in (1.0, -1.0)]
    most = max((abs(u) for u in uses if u is not None), default=None)
    return {
        "arm_m": surface.arm,
        "horn_m": surface.horn,
        "rod_m": link.rod,
        "rod_given": surface.rod is not None,
        "ratio_at_neutral": link.ratio(0.0),
        "reach_up_deg": degrees(ends[1]) if isfinite(ends[1]) else None,
        "reach_down_deg": degrees(-ends[0]) if isfinite(ends[0]) else None,
        "servo_travel_deg": degrees(servo.travel),
        "throw_asked_deg": degrees(throw),
        "servo_for_throw_deg": None if None in uses else degrees(most),
        "horn_by_sine_rule_m": bars.horn_for(surface.arm, servo.travel, throw) if throw else None,
        "full_travel_holes_m": None if fit is None else list(fit),
        "curve_servo_deg_surface_up_deg": samples,
    }


def _reaches(link: bars.Linkage, servo: float) -> bool:
    return _tried(link.surface_angle, servo) is not None


def _servo_for(link: bars.Linkage, surface: float) -> float | None:
    return _tried(link.servo_angle, surface)


def _tried(function, angle: float) -> float | None:
    """Where the linkage locks there is no angle."""
    try:
        return function(angle)
    except ValueError:
        return None


def _surface(airframe: Airframe, span):
    return airframe.sheets[span.sheet].surfaces[span.surface]


def study(model: Model, airframe: Airframe) -> dict:
    """The whole answer, SI with the unit in each key; angles in degrees."""
    mix, spans = mixer(airframe), surface_spans(airframe)
    mixing, worst = airframe.mixing, throws(airframe, mix)
    found = loads(model, airframe)
    return {
        "airframe": airframe.name,
        "rates_deg": {
            name: {axis: degrees(getattr(rate, axis)) for axis in ("pitch", "roll", "yaw")}
            for name, rate in (("high", mixing.high), ("low", mixing.low))
        },
        "expo": {axis: getattr(mixing.expo, axis) for axis in ("pitch", "roll", "yaw")},
        "corners": {
            name: corners(airframe, mix, low) for name, low in (("high", False), ("low", True))
        },
        "saturates_at": {"high": saturation(mix, False), "low": saturation(mix, True)},
        "curves": curves(airframe),
        "surfaces": [
            _row(airframe, span, load, worst[span.slot])
            for span, load in zip(spans, found.surfaces, strict=True)
        ],
        "speeds_m_s": found.speeds,
        "supply": _supply(airframe, found),
    }


def _row(airframe: Airframe, span, load, throw: float) -> dict:
    surface, facts = _surface(airframe, span), linkage_facts(airframe, span, throw)
    return {
        "name": span.name,
        "role": surface.role,
        "chord_m": surface.chord,
        "linkage": facts,
        "play_at_horn_m": load.play * surface.horn,
        "play_deg": degrees(load.play),
        "servo": _servo_rows(load),
        "cautions": words(load) + _linkage_words(facts),
    }


def _servo_rows(load) -> dict:
    return {
        "hinge_moment_N_m": {when: held.hinge for when, held in load.held.items()},
        "torque_needed_N_m": {when: held.torque for when, held in load.held.items()},
        "at_corner": {when: held.corner for when, held in load.held.items()},
        "torque_available_N_m": load.available,
        "blows_back_to_half_at_m_s": load.blow_back if load.blow_back < inf else None,
        "buzzes_in_level_flight": load.buzz,
        "verdict": load.word,
    }


def _linkage_words(facts: dict) -> list[str]:
    """Cautions about a linkage, each a sentence."""
    use, travel, found = facts["servo_for_throw_deg"], facts["servo_travel_deg"], []
    if use is None:
        found.append("the linkage locks before the throw that is asked")
    elif use > travel + 0.05:
        found.append(
            f"the servo would have to turn {use:.0f} deg of its {travel:.0f}: "
            "longer arm or shorter horn"
        )
    elif 0.0 < use < 0.5 * travel:
        found.append(
            f"only {use:.0f} of the servo's {travel:.0f} deg are used: a longer horn "
            "gives more torque and less play"
        )
    up, down = facts["reach_up_deg"], facts["reach_down_deg"]
    if None not in (up, down) and abs(up - down) > UNEVEN:
        found.append(
            f"the linkage is uneven: {up:.0f} deg up, {down:.0f} deg down at the servo's ends"
        )
    return found


def _supply(airframe: Airframe, found: Loads) -> dict:
    limit = airframe.controller.supply_limit
    return {
        "held_A": found.held,
        "stalled_A": found.stalled,
        "limit_A": limit,
        "held_verdict": margin("held", found.held, limit).word,
        "stalled_verdict": margin("stalled", found.stalled, limit).word,
    }
