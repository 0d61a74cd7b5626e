"""The same model with what is not known of it off by so much: a new record, in a moment.

Nothing of the air is worked out anew. What that leaves out: a thrust line turns the pull and the
swirl but leaves the stream where it was (by 1 deg some 5 mm), and a heavier part keeps its drag
where it was.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from firstthrow.sim.build import section
from firstthrow.sim.build.model import Model, Plate
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.powertrain import propeller_rows
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.build.strips import Strips
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import Key
from firstthrow.sim.build.warp import fill_turned, turned, warped
from firstthrow.sim.build.weights import Balance, Lumps, parts, stacked
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import WARP
from firstthrow.sim.kernels.drive import THRUST_SHAPE, THRUST_SLOPE, TORQUE_SHAPE, TORQUE_SLOPE
from firstthrow.sim.kernels.layout import HINGE_MOMENT, SHARE
from firstthrow.sim.kernels.mix import NEUTRAL, SIGN
from firstthrow.sim.once import once_for

Off = Mapping[Key, float]  # how far each unknown is off the file, SI
Turned = tuple[np.ndarray, np.ndarray]  # (n,) angle [rad] and (n,) curvature [1/m] of the strips

PLACES = (What.AFT, What.RIGHT, What.UP)
PITCH_STEP = 0.03  # over which a propeller is taken to change evenly with its pitch
LEAST = 0.2  # of a mass or of a factor is left, however far off
LATER = np.radians(np.arange(-6.0, 6.1, 1.5))  # of a stall, between which it is interpolated
MORE = 0.25  # over which a stalled sheet's surfaces are taken to change evenly
WARPS = (What.BOW, What.TWIST_LEFT, What.TWIST_RIGHT)


def _balance(model: Model, airframe: Airframe, off: Off) -> Balance:
    """As the parts weigh and lie, from where the model has its balance, and as the neutral point
    lies against it: aft of the file's is the same as a balance ahead of it."""
    lumps, described = _as_described(airframe)
    share, place = np.ones(len(lumps.names)), lumps.place.copy()
    for k, name in enumerate(lumps.names):
        more = off.get((What.MASS, name))
        if more and lumps.mass[k]:
            share[k] = max(LEAST, 1.0 + more / lumps.mass[k])
        for axis, what in enumerate(PLACES):
            place[k, axis] += off.get((what, name), 0.0)
    inertia = lumps.inertia * share[:, None, None]
    at = lumps._replace(mass=lumps.mass * share, place=place, inertia=inertia).balance()
    aft = np.array([off.get((What.NEUTRAL_POINT, ""), 0.0), 0.0, 0.0])
    return at._replace(place=at.place + (model.balance.place - described.place) - aft)


@once_for(16)
def _as_described(airframe: Airframe) -> tuple[Lumps, Balance]:
    lumps = stacked(parts(airframe))
    return lumps, lumps.balance()


@once_for(16)
def _by_warp(airframe: Airframe, strips: Strips) -> tuple[Turned, dict[Key, Turned]]:
    """Angle and curvature of the strips as described, and by each warp of each sheet: they are
    proportional to it."""
    flat = {
        name: sheet.model_copy(update=dict.fromkeys(WARP, 0.0))
        for name, sheet in airframe.sheets.items()
    }
    slopes = {
        (what, name): turned(
            airframe.model_copy(update={"sheets": flat | {name: warped(sheet, *one)}}), strips
        )
        for name, sheet in flat.items()
        for what, one in zip(WARPS, np.eye(len(WARPS)), strict=True)
    }
    return turned(airframe, strips), slopes


def _fill_warp(record, airframe: Airframe, off: Off, strips: Strips) -> None:
    found, slopes = _by_warp(airframe, strips)
    angle, curve = found
    for key, (by_angle, by_curve) in slopes.items():  # in their order: the same sum in every run
        if key in off:
            angle = angle + off[key] * by_angle
            curve = curve + off[key] * by_curve
    fill_turned(record, strips, angle, curve)


def _fill_surfaces(record, airframe: Airframe, off: Off) -> None:
    for span in surface_spans(airframe):
        k = span.slot
        record.surface_effect[k] += off.get((What.EFFECT, f"{span.described.gap} hinges"), 0.0)
        row = record.mix[record.mix_takes[k]]
        row[NEUTRAL] += row[SIGN] * off.get((What.NEUTRAL, span.name), 0.0)


def _fill_lines(record, airframe: Airframe, off: Off) -> None:
    """The pull's direction: down and to the right, as in the file."""
    for k, name in enumerate(airframe.motors):
        axis = record.motor_axis[k]
        axis[2] += off.get((What.THRUST_DOWN, name), 0.0)
        axis[1] += off.get((What.THRUST_RIGHT, name), 0.0)
        axis /= np.linalg.norm(axis)


def _factor(off: Off, what: What, of: str = "") -> float:
    return max(LEAST, 1.0 + off.get((what, of), 0.0))


def _response(model: Model, airframe: Airframe, off: Off) -> np.ndarray:
    """The lattice's answers with the lift of each sheet's strips off by its own share."""
    slopes = np.array([_factor(off, What.SLOPE, name) for name in airframe.sheets])
    if (slopes == 1.0).all():
        return model.body.response
    return model.body.response * np.repeat(slopes[model.strips.sheet], 4)


@once_for(16)
def _by_pitch(airframe: Airframe) -> np.ndarray:
    """Slopes of the propellers' tables by their pitch, as a share of it."""
    known = airframe.corrections
    ends = [
        np.array([propeller_rows(motor, other) for motor in airframe.motors.values()])
        for way in (-PITCH_STEP, PITCH_STEP)
        for other in [
            known.model_copy(update={"propeller_pitch": known.propeller_pitch * (1.0 + way)})
        ]
    ]
    return (ends[1] - ends[0]) / (2.0 * PITCH_STEP)


def _propellers(model: Model, airframe: Airframe, off: Off) -> np.ndarray:
    found = model.body.propellers
    thrust, torque = _factor(off, What.THRUST), _factor(off, What.TORQUE)
    pitch = off.get((What.PROPELLER_PITCH, ""), 0.0)
    if (thrust, torque, pitch) == (1.0, 1.0, 0.0):
        return found
    found = found + pitch * _by_pitch(airframe) if pitch else found.copy()
    found[..., [THRUST_SHAPE, THRUST_SLOPE]] *= thrust
    found[..., [TORQUE_SHAPE, TORQUE_SLOPE]] *= torque
    return found


@once_for(16)
def _stalls(plates: tuple[Plate, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of the plate tables: separated shares by LATER, the least calm of each by LATER, and the
    slope of each table's loads by what surfaces do more."""
    shares = [[section.table(*plate, later)[..., SHARE] for plate in plates] for later in LATER]
    calm = [[section.calm(*plate, later) for plate in plates] for later in LATER]
    ends = [
        np.array([section.table(*plate, 0.0, more) for plate in plates]) for more in (-MORE, MORE)
    ]
    bent = np.array([plate.slope for plate in plates]) / (2.0 * np.pi)
    low, high = (np.clip(bent + more, 0.0, 1.0) for more in (-MORE, MORE))
    slopes = (ends[1] - ends[0]) / (high - low)[:, None, None, None]
    slopes[..., [SHARE, HINGE_MOMENT]] = 0.0  # whole rows are added faster than columns
    return np.array(shares), np.array(calm), slopes


def _fill_stall(record, off: Off, model: Model) -> np.ndarray:
    """Lags, wake and calm into the record; the plate tables."""
    record.lag_angle *= _factor(off, What.STALL_LAG)
    record.lag_share *= _factor(off, What.SHARE_LAG)
    record.wake_left = min(1.0, max(0.0, record.wake_left + off.get((What.WAKE, ""), 0.0)))
    later, more = (off.get((what, ""), 0.0) for what in (What.STALL, What.STALLED_SURFACES))
    if not (later or more):
        return model.body.plates
    shares, calm, slopes = _stalls(model.plates)
    bent = np.clip(np.array([plate.slope for plate in model.plates]) / (2.0 * np.pi), 0.0, 1.0)
    found = np.clip(more, -bent, 1.0 - bent)[:, None, None, None] * slopes
    found += model.body.plates
    at = float(np.interp(later, LATER, np.arange(LATER.size)))
    k = min(int(at), LATER.size - 2)
    found[..., SHARE] = (1.0 - at + k) * shares[k] + (at - k) * shares[k + 1]
    n = record.n_strips
    record.strip_calm[:n] = calm[k, record.strip_table[:n]]
    return found


def deviated(model: Model, airframe: Airframe, off: Off) -> Model:
    """The model of an airframe that is really so. What is not of the airframe but of its throw is
    passed over."""
    kinds = {what for what, _ in off}
    if kinds & {What.MASS, What.NEUTRAL_POINT, *PLACES}:
        found = rebalanced(model, _balance(model, airframe, off))
    else:
        found = model.with_body(model.record.copy())
    record = found.record
    if kinds & set(WARPS):
        _fill_warp(record, airframe, off, model.strips)
    _fill_surfaces(record, airframe, off)
    _fill_lines(record, airframe, off)
    record.stream_held[:] = np.minimum(1.0, _factor(off, What.STREAM) * record.stream_held)
    record.strip_drag[:] *= _factor(off, What.SHEET_DRAG)
    record.fitting_drag[:] *= _factor(off, What.PART_DRAG)
    record.root_strength *= next(
        (max(LEAST, 1.0 + v) for (what, _), v in off.items() if what is What.STRENGTH), 1.0
    )
    body = found.body._replace(
        response=np.ascontiguousarray(_response(model, airframe, off)),
        propellers=_propellers(model, airframe, off),
        plates=_fill_stall(record, off, model),
    )
    return found._replace(body=body)
