"""Throws for every stick, where the mix saturates, linkages and servo loads: one answer."""

from __future__ import annotations

from collections.abc import Mapping
from math import degrees, inf, isfinite, sin

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.shape import SurfaceSpan
from firstthrow.sim.build.sticks import Mixer, Stick, Sticks
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import spread_of
from firstthrow.sim.describe import linkage as bars
from firstthrow.sim.study.ratings import Fit, fit
from firstthrow.sim.study.servos import CORNERS, Load, Loads, loads, words
from firstthrow.sim.study.subject import Subject

CURVE = 41  # points of a stick curve
UNEVEN = 3.0  # between up and down at the servo's ends, worth a word [deg]
RATES = {"high": False, "low": True}  # whether the rates are low


@frozen
class Thrown(Answer):
    """One surface at one corner of the sticks; trailing edge up, of an upright one right."""

    angle_up_deg: float
    edge_up_m: float
    cut_off_deg: float  # by the limits


@frozen
class OfSticks(Answer):
    pitch: float
    roll: float
    yaw: float


@frozen
class Curves(Answer):
    """Angle of every surface, by its name, against each stick's place [deg]."""

    stick: list[float]
    roll_high_up_deg: Mapping[str, list[float]]
    roll_low_up_deg: Mapping[str, list[float]]
    pitch_high_up_deg: Mapping[str, list[float]]
    pitch_low_up_deg: Mapping[str, list[float]]
    yaw_high_up_deg: Mapping[str, list[float]]
    yaw_low_up_deg: Mapping[str, list[float]]


@frozen
class LinkageFacts(Answer):
    """The linkage of one surface: what its servo's ends give, and how far a throw is from them.

    Angles trailing edge up for a horn on the upper side; None where it locks.
    """

    arm_m: float
    horn_m: float
    rod_m: float
    rod_given: bool
    ratio_at_neutral: float
    reach_up_deg: float | None
    reach_down_deg: float | None
    servo_travel_deg: float
    throw_asked_deg: float
    servo_for_throw_deg: float | None
    horn_by_sine_rule_m: float | None
    full_travel_holes_m: tuple[float, float] | None
    curve_servo_deg_surface_up_deg: list[tuple[float, float]]

    def cautions(self) -> list[str]:
        """Each a sentence."""
        use, travel, found = self.servo_for_throw_deg, self.servo_travel_deg, []
        if use is None:
            found.append(LOCKS)
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
        up, down = self.reach_up_deg, self.reach_down_deg
        if up is not None and down is not None and abs(up - down) > UNEVEN:
            found.append(
                f"the linkage is uneven: {up:.0f} deg up, {down:.0f} deg down at the servo's ends"
            )
        return found


LOCKS = "the linkage locks before the throw that is asked"


@frozen
class ServoFacts(Answer):
    """What the air asks of a servo, by when: launch, level and dive."""

    hinge_moment_N_m: Mapping[str, float]
    torque_needed_N_m: Mapping[str, float]
    at_corner: Mapping[str, str]
    torque_available_N_m: float
    blows_back_to_half_at_m_s: float | None  # None when never
    buzzes_in_level_flight: bool
    verdict: Fit


@frozen
class SurfaceFacts(Answer):
    name: str
    role: str
    chord_m: float
    linkage: LinkageFacts
    play_at_horn_m: float
    play_deg: float
    effect: float  # what it turns, of thin-aerofoil theory
    effect_spread: float  # one standard deviation
    servo: ServoFacts
    cautions: list[str]


@frozen
class Supply(Answer):
    """Current of all servos together."""

    held_A: float
    stalled_A: float
    limit_A: float
    held_verdict: Fit
    stalled_verdict: Fit


@frozen
class Throws(Answer):
    airframe: str
    rates_deg: Mapping[str, OfSticks]
    expo: OfSticks
    corners: Mapping[str, Mapping[str, Mapping[str, Thrown]]]  # by rates, corner and surface
    saturates_at: Mapping[str, float | None]  # by rates
    curves: Curves
    surfaces: tuple[SurfaceFacts, ...]
    speeds_m_s: Mapping[str, float]
    supply: Supply


def edge_height(angle: float, chord: float) -> float:
    """How far the trailing edge stands off neutral, square to the sheet [m]."""
    return chord * sin(angle)


def corners(subject: Subject, low_rates: bool) -> dict[str, dict[str, Thrown]]:
    """By corner of the sticks and surface."""
    mix, unlimited, found = subject.mixer, subject.mixer.without_limits(), {}
    for name, (roll, pitch, yaw) in CORNERS.items():
        sticks = Sticks(roll, pitch, yaw, 0.0, low_rates)
        angles, free = mix.angles(sticks), unlimited.angles(sticks)
        found[name] = {
            span.name: Thrown(
                degrees(-angles[span.slot]) + 0.0,
                edge_height(-angles[span.slot], span.described.chord) + 0.0,
                abs(degrees(free[span.slot] - angles[span.slot])),
            )
            for span in subject.surfaces
        }
    return found


def saturation(mix: Mixer, low_rates: bool) -> float | None:
    """Share of full pitch and roll stick, both moved alike, at which a surface first meets its
    limit, the worst of the four corners; None when none does."""
    free, shares = mix.without_limits(), np.linspace(0.0, 1.0, 201)
    met = []
    for roll, pitch in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        moved = np.outer(shares, (roll, pitch, 0.0))
        limited, asked = (one.all_angles(moved, low_rates) for one in (mix, free))
        stopped = ~np.isclose(limited, asked).all(axis=1)
        met += shares[stopped][:1].tolist()
    return min(met, default=None)


def curves(subject: Subject) -> Curves:
    sticks = np.linspace(-1.0, 1.0, CURVE)
    found: dict[str, dict[str, list[float]]] = {}
    for axis, only in zip((Stick.ROLL, Stick.PITCH, Stick.YAW), np.eye(3), strict=True):
        for name, low in RATES.items():
            rows = subject.mixer.all_angles(np.outer(sticks, only), low).tolist()
            found[f"{axis}_{name}_up_deg"] = {
                span.name: [degrees(-row[span.slot]) + 0.0 for row in rows]
                for span in subject.surfaces
            }
    return Curves(sticks.tolist(), **found)


def throws(mix: Mixer) -> list[float]:
    """Largest angle asked of each surface over all corners and both rates [rad]."""
    asked = [
        mix.angles(Sticks(*corner, low_rates=low))
        for corner in CORNERS.values()
        for low in (False, True)
    ]
    return np.max(np.abs(asked), axis=0).tolist()


def linkage_facts(subject: Subject, span: SurfaceSpan, throw: float) -> LinkageFacts:
    surface = span.described
    servo = subject.airframe.servos[surface.servo]
    link = bars.linkage(surface)
    ends = bars.reach(link, servo.travel)
    holes = bars.holes(link, servo.travel, throw) if throw > 0.0 else None
    samples = [
        (degrees(t), degrees(link.surface_angle(t)))
        for t in np.linspace(-servo.travel, servo.travel, 13)
        if _reaches(link, t)
    ]
    uses = [_servo_for(link, side * throw) for side in (1.0, -1.0)]
    known = [abs(u) for u in uses if u is not None]
    return LinkageFacts(
        arm_m=surface.arm,
        horn_m=surface.horn,
        rod_m=link.rod,
        rod_given=surface.rod is not None,
        ratio_at_neutral=link.ratio(0.0),
        reach_up_deg=degrees(ends[1]) if isfinite(ends[1]) else None,
        reach_down_deg=degrees(-ends[0]) if isfinite(ends[0]) else None,
        servo_travel_deg=degrees(servo.travel),
        throw_asked_deg=degrees(throw),
        servo_for_throw_deg=degrees(max(known)) if len(known) == len(uses) else None,
        horn_by_sine_rule_m=bars.horn_for(surface.arm, servo.travel, throw) if throw else None,
        full_travel_holes_m=holes,
        curve_servo_deg_surface_up_deg=samples,
    )


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


def study(subject: Subject) -> Throws:
    """The whole answer; ValueError for a rod that does not reach."""
    mixing, worst, found = subject.airframe.mixing, throws(subject.mixer), loads(subject)
    return Throws(
        airframe=subject.airframe.name,
        rates_deg={
            name: OfSticks(*(degrees(angle) for angle in (rate.pitch, rate.roll, rate.yaw)))
            for name, rate in (("high", mixing.high), ("low", mixing.low))
        },
        expo=OfSticks(mixing.expo.pitch, mixing.expo.roll, mixing.expo.yaw),
        corners={name: corners(subject, low) for name, low in RATES.items()},
        saturates_at={name: saturation(subject.mixer, low) for name, low in RATES.items()},
        curves=curves(subject),
        surfaces=tuple(
            _row(subject, span, load, worst[span.slot])
            for span, load in zip(subject.surfaces, found.surfaces, strict=True)
        ),
        speeds_m_s=found.speeds,
        supply=_supply(subject.airframe.controller.supply_limit, found),
    )


def _row(subject: Subject, span: SurfaceSpan, load: Load, throw: float) -> SurfaceFacts:
    facts = linkage_facts(subject, span, throw)
    return SurfaceFacts(
        name=span.name,
        role=span.role,
        chord_m=span.described.chord,
        linkage=facts,
        play_at_horn_m=load.play * span.described.horn,
        play_deg=degrees(load.play),
        effect=float(subject.model.record.surface_effect[span.slot]),
        effect_spread=spread_of(subject.unknowns, What.EFFECT, f"{span.described.gap} hinges"),
        servo=_servo_facts(load),
        cautions=words(load) + facts.cautions(),
    )


def _servo_facts(load: Load) -> ServoFacts:
    return ServoFacts(
        hinge_moment_N_m={when: held.hinge for when, held in load.held.items()},
        torque_needed_N_m={when: held.torque for when, held in load.held.items()},
        at_corner={when: held.corner for when, held in load.held.items()},
        torque_available_N_m=load.available,
        blows_back_to_half_at_m_s=load.blow_back if load.blow_back < inf else None,
        buzzes_in_level_flight=load.buzz,
        verdict=load.verdict,
    )


def _supply(limit: float, found: Loads) -> Supply:
    held, stalled = (fit(amps / limit) for amps in (found.held, found.stalled))
    return Supply(found.held, found.stalled, limit, held, stalled)
