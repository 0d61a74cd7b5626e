"""Full-range plate tables: separated flow, stall and surface effectiveness.

A table spans the whole circle of the local angle of attack and surface deflections of
+-60 degrees. It is built from the lattice's slope for the sheet and from published plate
data; the attached load itself is the lattice's (see `lattice`), and in flight

    load = attached(wash scaled by 1 - s) + side-edge vortex (1 - s) + s * separated.

Angles are laid out by the diamond coordinate d in -2..2 (w / (|u| + |w|), turned round for
flow from behind), which needs no arctangent in flight.
"""

from __future__ import annotations

import numpy as np

from firstthrow.sim.kernels.layout import (
    ANGLES,
    AXIAL,
    CD_90_2D,
    CHANNELS,
    DEFLECTIONS,
    FLAP_REACH,
    FLAP_STEPS,
    HINGE_MOMENT,
    MAX_DEFLECTION,
    MOMENT,
    NORMAL,
    SHARE,
)

# Leading-edge angle, as in two-dimensional flow, where a thin square-edged plate begins to
# stall and where it is fully separated. From memory: thin plates leave the linear slope near
# 5 deg and are fully separated near 11 deg (AR 6 and up, Re 1e5).
STALL_BEGINS = np.radians(5.5)
STALL_COMPLETE = np.radians(11.0)

# Incidence between which the side-edge vortices give way whatever the aspect ratio, and nothing
# stays attached. From memory: square plates bear 1.7 a/40 to 40 deg and 1.15 beyond (Baker,
# J. Wind Eng. Ind. Aerodyn. 95, 2007), 1.45 times the broadside load at 38 deg (Eiffel, 1910).
HELD_BEGINS = np.radians(37.0)
HELD_COMPLETE = np.radians(47.0)

# Aspect ratios up to which those vortices hold the whole sheet, and from which they hold none of
# it. From memory: the lift of plates is curved and stalls late up to 1.0 to 1.25, straight and
# stalls early from 1.5 to 2 (Torres and Mueller, AIAA J. 42(5), 2004); where in between the stall
# begins is known to some 5 deg.
HELD_RATIO = 1.0
FREE_RATIO = 2.0

# Flow within which separation follows the incidence [chords]: first what it sees of it, then itself
# (`kernels.separation`). From memory: 4.5 and 0.5 fit an aerofoil pitched up and down (Goman and
# Khrabrov, J. Aircraft 31(5), 1994), 0.85 and 1.5 others (Leishman and Beddoes, 1989); slender
# wings have times of their own between. How unsure: `unknowns`.
LAG_ANGLE = 4.0
LAG_SHARE = 0.5

# Loss of effectiveness of a 25 % plain flap relative to its slope at 10 deg.
# Source: NACA TN 2080 (1950), aspect ratio 3.1, digitised copy.
_FLAP_DEG = (0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 90.0)
_FLAP_FACTOR = (1.0, 1.0, 0.959, 0.751, 0.628, 0.575, 0.530, 0.42)

# A thick square-edged surface at model Reynolds numbers turns less air than thin-aerofoil theory
# says, less still with an open gap at the hinge: 0.7 to 0.85 of it, from memory of the viscous
# flap charts of the handbooks, no source at hand (how unsure: `unknowns`).
EFFECT = {"taped": 0.82, "open": 0.72}

# What is left of the inviscid hinge moment: handbook ranges 0.5-0.8 and 0.7-0.9 (from memory).
HINGE_FROM_INCIDENCE = 0.65
HINGE_FROM_DEFLECTION = 0.8


def angle_of(d: np.ndarray) -> np.ndarray:
    """Angle of attack [rad] at the diamond coordinate d."""
    folded = np.where(np.abs(d) <= 1.0, d, np.sign(d) * (2.0 - np.abs(d)))
    u = np.where(np.abs(d) <= 1.0, 1.0 - np.abs(folded), np.abs(folded) - 1.0)
    return np.arctan2(folded, u)


def normal_force(alpha: np.ndarray, aspect_ratio: float) -> np.ndarray:
    """CN of a separated plate, any angle of attack [rad].

    Source: Lindenburg, ECN-RX-01-004 (2001), square-edged form, with Cd90 of the
    two-dimensional plate. Valid past stall (about 20 deg at AR 6, 30 deg at AR 1).
    """
    s = np.abs(np.sin(alpha))
    shape = 1.0 / (0.56 + 0.44 * s) - relief(aspect_ratio)
    return np.sign(np.sin(alpha)) * CD_90_2D * shape * s


def relief(aspect_ratio: float) -> float:
    """What a sheet's ends take off a separated load; none in two dimensions (Lindenburg)."""
    return float(0.41 * (1.0 - np.exp(-17.0 / aspect_ratio)))


def centre_of_pressure(alpha: np.ndarray) -> np.ndarray:
    """Centre of pressure / chord of a separated plate, any angle of attack [rad].

    Source: Kirchhoff and Rayleigh's free-streamline plate (Lamb, Hydrodynamics, art. 77).
    """
    return 0.5 - 0.75 * np.cos(alpha) / (4.0 + np.pi * np.abs(np.sin(alpha)))


def flap_factor(deflection: np.ndarray) -> np.ndarray:
    """Effective deflection / deflection for a plain surface (both [rad])."""
    return np.interp(np.abs(deflection), np.radians(_FLAP_DEG), _FLAP_FACTOR)


def flap_table() -> np.ndarray:
    """(FLAP_STEPS + 1,) `flap_factor` at even steps of the surface angle."""
    return flap_factor(np.linspace(0.0, FLAP_REACH, FLAP_STEPS + 1))


# Rectangular plates by aspect ratio: lift slope, side-edge lift, place of the attached load in
# chords. Vortex lattices, extrapolated (P13, P17, F03); pi ratio / 2 and pi for none.
_RECTANGLE_RATIO = (0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
_RECTANGLE = (
    (0.0, 0.7735, 1.4602, 2.4744, 3.1451, 3.6121, 4.2146, 4.5861),
    (np.pi, 2.5741, 2.1358, 1.5508, 1.1968, 0.9668, 0.6922, 0.5366),
    (0.0, 0.1099, 0.1667, 0.2094, 0.2246, 0.2319, 0.2388, 0.2420),
)


def rectangle(aspect_ratio: float) -> tuple[float, float, float]:
    """Lift slope, side-edge lift over sin^2 of the incidence, and how far ahead of mid-chord the
    attached load acts (in chords), of a rectangular plate; those of 8 beyond it."""
    slope, edge, place = (float(np.interp(aspect_ratio, _RECTANGLE_RATIO, v)) for v in _RECTANGLE)
    return slope, edge, 0.5 - place


def leading_edge_share(flap: float) -> float:
    """Change of leading-edge angle per surface angle, thin-aerofoil theory.

    The leading-edge term of Glauert's series is A0 = alpha + delta (pi - theta_h) / pi.
    Source: Glauert, Elements of Aerofoil and Airscrew Theory, ch. 7; R&M 1095.
    """
    return float((np.pi - np.arccos(2.0 * flap - 1.0)) / np.pi) if flap > 0.0 else 0.0


def _eased(x):
    """0 to 1 for x from 0 to 1, level at both ends."""
    x = np.clip(x, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def bent_plate(flap: float) -> tuple[float, float]:
    """Of a separated plate whose rear part turns into the wind: incidence gained per angle of that
    part, and how much further aft than a flat plate's load the gain acts (in chords).

    Small angles, air at rest behind the plate, closed form: the plate's slope over the square root
    of its chord is that of an aerofoil; source: Tulin and Burkart (1955), from memory; flat plate
    at a load of pi alpha / 2 and 5/16 of the chord as Rayleigh's. Against the exact free-streamline
    flow round a bent plate at 15 to 60 degrees, bent by up to 14 either way, a tenth to a third of
    the chord: the gain of the normal force 0.71 to 1.0, its moment about 0.2 chords 0.86 to 1.4 of
    the true ones; 30 degrees into the wind, 0.8 to 1.0 and 1.2 to 1.8.
    """
    if flap <= 0.0:
        return 0.0, 0.0
    hinge = np.arccos(1.0 - 2.0 * np.sqrt(1.0 - flap))
    a = [2.0 * np.sin(n * hinge) / (np.pi * n) for n in (1, 2, 3, 4)]
    a0 = 1.0 - hinge / np.pi
    gain = a0 + a[0] - 0.5 * a[1]
    moment = (5.0 * a0 + 7.0 * a[0] - 7.0 * a[1] + 3.0 * a[2] - 0.5 * a[3]) / 16.0
    return float(gain), float(moment / gain - 5.0 / 16.0)


def stall(aspect_ratio: float, slope: float) -> tuple[float, float]:
    """Incidence at which a sheet begins to stall, and at which it is fully separated [rad].

    A finite sheet reaches the two-dimensional leading-edge angle at an incidence larger by
    2 pi / slope (the induced angle is taken off), so low aspect ratios stall late. On the
    lowest the side-edge vortices hold the flow of the whole sheet down, until they burst.
    """
    reach = slope / (2.0 * np.pi)
    held = _eased((FREE_RATIO - aspect_ratio) / (FREE_RATIO - HELD_RATIO))
    edge = STALL_BEGINS / reach, STALL_COMPLETE / reach
    ends = HELD_BEGINS, HELD_COMPLETE
    begins, complete = (
        min(a, b) * (1.0 - held) + b * held for a, b in zip(edge, ends, strict=True)
    )
    return float(begins), float(complete)


def separated_share(
    alpha, deflection, aspect_ratio: float, slope: float, flap: float, later: float = 0.0
):
    """0 attached to 1 fully separated, by the incidence the leading edge feels (`stall`); later:
    how much later the sheet stalls than that [rad]."""
    begins, complete = (limit + later for limit in stall(aspect_ratio, slope))
    bend = leading_edge_share(flap) * flap_factor(deflection) * deflection
    folded = np.arcsin(np.clip(np.sin(alpha), -1.0, 1.0))
    ahead = np.where(np.abs(alpha) <= 0.5 * np.pi, 1.0, 0.0)
    edge = _eased((np.abs(folded + bend * ahead) - begins) / (complete - begins))
    # Nothing stays attached near broadside, however the surface is set.
    broadside = _eased((np.abs(folded) - HELD_BEGINS) / (HELD_COMPLETE - HELD_BEGINS))
    return np.maximum(edge, broadside)


def calm(aspect_ratio: float, slope: float, flap: float, later: float = 0.0) -> float:
    """Largest wash / chordwise speed at which no strip of the sheet has begun to stall, less
    what a surface's leading-edge share times its angle takes off.

    Below it the table holds zeros and need not be read; a cell of the table is kept clear on
    either axis, so that nothing jumps there.
    """
    begins = stall(aspect_ratio, slope)[0] + later
    cell = np.pi / 2.0 / (ANGLES / 4.0) * 1.6
    lean = leading_edge_share(flap) * 2.0 * MAX_DEFLECTION / DEFLECTIONS
    return float(max(0.0, begins - cell - lean))


def _nodes() -> tuple[np.ndarray, np.ndarray]:
    """(ANGLES + 1, 1) and (1, DEFLECTIONS + 1) incidences and deflections of a table."""
    alpha = angle_of(np.linspace(-2.0, 2.0, ANGLES + 1))
    return alpha[:, None], np.linspace(-MAX_DEFLECTION, MAX_DEFLECTION, DEFLECTIONS + 1)[None, :]


def shares(aspect_ratio: float, slope: float, flap: float, later: float = 0.0) -> np.ndarray:
    """(ANGLES + 1, DEFLECTIONS + 1) of a `table` its separated share alone."""
    return separated_share(*_nodes(), aspect_ratio, slope, flap, later)


def table(
    aspect_ratio: float, slope: float, flap: float, later: float = 0.0, more: float = 0.0
) -> np.ndarray:
    """(ANGLES + 1, DEFLECTIONS + 1, CHANNELS) over d and deflection; later: see
    `separated_share`; more: of what a surface does to a stalled sheet, see below.

    Channels per local dynamic pressure and strip area: share s, force along the normal,
    force aft along the chord, nose-up moment about mid-chord (per chord), trailing-edge-up
    hinge moment (per chord). A deflected surface turns the line from leading to trailing
    edge, and the separated force stays square to that line.

    What else a surface does to a separated plate lies between nothing (the load goes by the line
    from edge to edge alone) and the free-streamline flow round the bent plate (`bent_plate`), which
    at 25 degrees of incidence puts 4 times the force and 7 times the moment on it for a sixth of
    the chord 14 degrees down. The latter is two-dimensional: a finite sheet is given the share of
    it that its lift slope is of 2 pi, 0.39 at aspect ratio 2: 14 degrees down at 25 degrees and
    8 m/s pitch `pantry` by -0.129 N m (bounds -0.043 and -0.28). It fades from 60 degrees to
    broadside and is nothing with the flow from behind. No measurement decides; how unsure:
    `unknowns`.
    """
    alpha, delta = _nodes()
    turn = np.arctan2(flap * np.sin(delta), 1.0 - flap + flap * np.cos(delta))
    gain, lever = bent_plate(flap)
    bent = np.clip(slope / (2.0 * np.pi) + more, 0.0, 1.0) * np.clip(2.0 * np.cos(alpha), 0.0, 1.0)
    felt = alpha + turn + bent * (gain * delta - turn)
    cn = normal_force(felt, aspect_ratio)
    gained = bent * (cn - normal_force(alpha, aspect_ratio))
    found = np.empty((alpha.size, delta.size, CHANNELS))
    found[..., SHARE] = separated_share(alpha, delta, aspect_ratio, slope, flap, later)
    found[..., NORMAL] = cn * np.cos(turn)
    found[..., AXIAL] = cn * np.sin(turn)
    found[..., MOMENT] = cn * (0.5 - centre_of_pressure(felt)) - lever * gained
    found[..., HINGE_MOMENT] = 0.5 * flap**2 * normal_force(alpha + delta, aspect_ratio)
    return found


def profile_drag(reynolds: float, thickness_ratio: float, edge: str) -> float:
    """Drag of a plate along the flow, per plan area.

    Turbulent friction on both sides, 0.074 Re^-0.2 (Prandtl; square edges trip the flow),
    and the blunt edges on their frontal area: 0.8 square, 0.3 rounded
    (long rectangular and round-nosed bars, from memory).
    """
    friction = 2.0 * 0.074 * reynolds**-0.2
    return friction + {"square": 0.8, "rounded": 0.3}[edge] * thickness_ratio
