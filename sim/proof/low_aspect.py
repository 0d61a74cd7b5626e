"""Plates of low aspect ratio: flaps, drag by lift, rolling by sideslip."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from firstthrow.sim.build.lattice import response
from firstthrow.sim.build.model import build
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.sheets import Outline
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.polar import polar, reference
from firstthrow.sim.kernels.layout import AHEAD
from firstthrow.sim.proof.bodies import plate_airframe, plate_model, rectangle
from firstthrow.sim.proof.check import Check, Curve, Line, Sure

RINGS = "another vortex-ring lattice, 20 x 30"
FLAP = 0.2  # of the chord
RATIO = "aspect ratio"
CHORD = 0.2  # [m]
SLIP = np.radians(1.0)


@lru_cache
def flapped(ratio: float) -> dict[str, float]:
    """Of a flap along the whole span, over area, chord and span."""
    strips = rectangle(ratio, flap=FLAP)
    n, y = len(strips.chord), strips.middle[:, 1]
    reply = response(strips)[AHEAD].reshape(n, 4, n, 3)

    def load(column: int, wash) -> np.ndarray:
        out = np.einsum("ioj,j->io", reply[..., column], np.broadcast_to(wash, n))
        return 2.0 * out * strips.width[:, None] / ratio

    down, even = load(2, 1.0), load(0, 1.0)
    lift = down[:, 0].sum()
    apart = load(2, np.sign(y))
    return {
        "lift": lift,
        "moment": down[:, 1].sum() - 0.25 * lift,
        "share": lift / even[:, 0].sum(),
        "roll": (apart[:, 0] * y).sum() / ratio,
    }


def of_flaps(quantity: str) -> list[float]:
    return [flapped(ratio)[quantity] for ratio in (1.0, 2.0, 4.0)]


def roll_by_slip(*ratios: float) -> list[float]:
    """Rolling moment by sideslip over the normal force, of bare plates at half a degree."""
    alpha, slip, found = np.radians(0.5), np.radians(2.0), []
    for ratio in ratios:
        loads = []
        for way in (slip, -slip):
            air = -10.0 * np.array([np.cos(alpha) * np.cos(way), np.sin(way), np.sin(alpha)])
            loads.append(air_load(plate_model(ratio), air)[0])
        span = ratio * CHORD
        found.append((loads[0][3] - loads[1][3]) / (2.0 * slip * span * -loads[0][2]))
    return found


def span_efficiency(ratio: float) -> np.ndarray:
    """CL^2 / (pi AR (CD - CD0)) at 4, 6 and 8 degrees."""
    found = polar(plate_model(ratio), np.radians([0.0, 4.0, 6.0, 8.0]))
    return found.lift[1:] ** 2 / (np.pi * ratio * (found.drag[1:] - found.drag[0]))


def cornered(corners) -> Airframe:
    """A bare plate whose right half has corners (aft, out), in chords."""
    plain = plate_airframe(2.0, CHORD)
    outline = Outline.model_validate(
        {"corners": [[f"{CHORD * aft} m", f"{CHORD * out} m"] for aft, out in corners]}
    )
    sheet = plain.sheets["plate"].model_copy(update={"outline": outline})
    return plain.model_copy(update={"sheets": {"plate": sheet}})


def slopes(corners, alpha: float) -> tuple[float, float]:
    """C_L and d C_l / d beta [1/rad] of a bare plate, over area and span, as it flies."""
    model = build(cornered(corners), STANDARD)
    span = 2.0 * CHORD * max(out for _, out in corners)
    pressure = 50.0 * model.record.density * reference(model)[0]
    lift, loads = 0.0, []
    for slip in (SLIP, -SLIP):
        air = -10.0 * np.array([np.cos(alpha) * np.cos(slip), np.sin(slip), np.sin(alpha)])
        load = air_load(model, air)[0]
        loads.append(load[3] * np.cos(alpha) + load[5] * np.sin(alpha))
        lift -= 0.5 * load[2] / pressure
    return lift, float((loads[0] - loads[1]) / (2.0 * SLIP * pressure * span))


def slender_roll(corners, ratio: float) -> float:
    """Roll by slip over - C_L / A."""
    lift, found = slopes(corners, np.radians(0.2))
    return -found * ratio / lift


def slender_rectangle(ratio: float) -> float:
    half = 0.5 * ratio
    return slender_roll(((0, 0), (0, half), (1, half), (1, 0)), ratio)


def slender_delta(ratio: float) -> float:
    return slender_roll(((0, 0), (1, 0.25 * ratio), (1, 0)), ratio)


CHECKS = (
    Check(
        "E01.lift",
        "lift by the angle of a full-span flap of 20 % chord [1/rad]",
        (1.036, 1.542, 2.087),
        lambda: of_flaps("lift"),
        RINGS,
        Sure.DERIVED,
        relative=0.04,
        at=(1, 2, 4),
        of=RATIO,
    ),
    Check(
        "E01.moment",
        "moment about the quarter chord by the angle of the same flap [1/rad]",
        (-0.429, -0.514, -0.569),
        lambda: of_flaps("moment"),
        RINGS,
        Sure.DERIVED,
        relative=0.04,
        at=(1, 2, 4),
        of=RATIO,
    ),
    Check(
        "E02",
        "lift by the angle of the same flap over lift by angle of attack",
        (0.684, 0.604, 0.564),
        lambda: of_flaps("share"),
        RINGS + ", whose own lift slope is 2 % high at aspect ratio 2",
        Sure.DERIVED,
        relative=0.03,
        at=(1, 2, 4),
        of=RATIO,
        missed="3.1 to 3.2 % off, where 3 % was wanted; the other lattice's slope is 2 % high at 2",
        band=(-1.0, 1.2),
    ),
    Check(
        "E03",
        "rolling moment of the same flap, each side the other way [1/rad]",
        (0.145, 0.237, 0.359),
        lambda: of_flaps("roll"),
        RINGS,
        Sure.DERIVED,
        relative=0.04,
        at=(1, 2, 4),
        of=RATIO,
    ),
    Check(
        "Y01",
        "rolling moment by sideslip over normal force, plate without fin or dihedral [1/rad]",
        (-0.79, -0.35, -0.212, -0.146, -0.083),
        lambda: roll_by_slip(1.0, 2.0, 3.0, 4.0, 6.0),
        "another vortex-ring lattice, 10 x 40, wake along the stream",
        Sure.DERIVED,
        relative=0.10,
        at=(1, 2, 3, 4, 6),
        of=RATIO,
        missed="a plate whose wake is not blown aside rolls too much by its lift: 12 % at aspect "
        "ratio 2, a third at 4, half at 6; a slab of 2 rolls a little too readily in a slip",
        band=(-7.0, 0.0),
    ),
    Check(
        "Y02.rectangle",
        "rolling moment by sideslip of a slender rectangle over - C_L / A",
        (1.0, 1.0),
        lambda: [slender_rectangle(ratio) for ratio in (0.05, 0.1)],
        "R. T. Jones, NACA TR 835 (1946): all its lift is at the leading edge; worked out from it",
        Sure.DERIVED,
        relative=0.10,
        at=(0.05, 0.1),
        of=RATIO,
        missed="13 % low at aspect ratio 0.05, a strip 400 times as long as its parts are wide, "
        "with inset ends; no airframe is like that",
        band=(-1.5, 1.0),
    ),
    Check(
        "Y02.delta",
        "rolling moment by sideslip of a slender delta over - C_L / A",
        (0.6667, 0.6667),
        lambda: [slender_delta(ratio) for ratio in (0.2, 0.5)],
        "Ribner, NACA TR 908 (1948); worked out from Jones's loading, too",
        Sure.MEMORY,
        relative=0.1,
        at=(0.2, 0.5),
        of=RATIO,
    ),
    Check(
        "K07",
        "span efficiency of flat plates at 4, 6 and 8 degrees, lift coefficients 0.2 to 0.5",
        (0.39, 0.39, 0.39, 0.34, 0.34, 0.34),
        lambda: np.concatenate([span_efficiency(2.0), span_efficiency(3.0)]),
        "Ananda, Sukumar and Selig, Aerosp. Sci. Technol. 42 (2015), quoted in Applied Sciences "
        "11(6) 2450 (2021)",
        Sure.COPY,
        absolute=0.04,
        at=tuple(f"aspect ratio {r}, {a} deg" for r in (2, 3) for a in (4, 6, 8)),
    ),
)


def _rolls() -> list[Line]:
    ratios = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
    return [Line("as flown", ratios, roll_by_slip(*ratios))]


def _flap_lift() -> list[Line]:
    ratios = (1.0, 1.5, 2.0, 3.0, 4.0)
    return [Line("lattice", ratios, [flapped(ratio)["lift"] for ratio in ratios])]


CURVES = (
    Curve("Rolling by sideslip", RATIO, "over the normal force [1/rad]", ("Y01",), _rolls),
    Curve("Lift of a full-span flap of 20 % chord", RATIO, "[1/rad]", ("E01.lift",), _flap_lift),
)
