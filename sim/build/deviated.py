"""The same model with what is not known of it off by so much: a new record, in a moment.

Nothing of the air is worked out anew. What that leaves out: a thrust line turns the pull and the
swirl but leaves the stream where it was (by 1 deg some 5 mm), and a heavier part keeps its drag
where it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build import section
from firstthrow.sim.build.model import Model, Plate, remembered
from firstthrow.sim.build.moved import rebalance
from firstthrow.sim.build.powertrain import propeller_rows
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.build.strips import Strips
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import Key
from firstthrow.sim.build.warp import fill_turned, turned, warped
from firstthrow.sim.build.weights import Balance, Lumps, parts, stacked
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import WARP
from firstthrow.sim.kernels.batch import CHANGE, Common, change
from firstthrow.sim.kernels.layout import HINGE_MOMENT, SHARE
from firstthrow.sim.kernels.mix import NEUTRAL, SIGN
from firstthrow.sim.kernels.parameters import Body
from firstthrow.sim.once import once_for

Off = Mapping[Key, float]  # how far each unknown is off the file, SI
Offs = Mapping[Key, np.ndarray]  # the same of many, (n,) each
Turned = tuple[np.ndarray, np.ndarray]  # (n,) angle [rad] and (n,) curvature [1/m] of the strips

PLACES = (What.AFT, What.RIGHT, What.UP)
PITCH_STEP = 0.03  # over which a propeller is taken to change evenly with its pitch
LEAST = 0.2  # of a mass or of a factor is left, however far off
LATER = np.radians(np.arange(-6.0, 6.1, 1.5))  # of a stall, between which it is interpolated
MORE = 0.25  # over which a stalled sheet's surfaces are taken to change evenly
WARPS = (What.BOW, What.TWIST_LEFT, What.TWIST_RIGHT)


def _of(offs: Offs, what: What, of: str = "") -> np.ndarray | float:
    return offs.get((what, of), 0.0)


def _balances(model: Model, airframe: Airframe, offs: Offs, count: int) -> Balance:
    """(count, ...) as the parts weigh and lie, from where the model has its balance, and as the
    neutral point lies against it: aft of the file's is the same as a balance ahead of it."""
    lumps, described = _as_described(airframe)
    share = np.ones((count, len(lumps.names)))
    place = np.repeat(lumps.place[None], count, axis=0)
    for k, name in enumerate(lumps.names):
        if lumps.mass[k]:
            share[:, k] = np.maximum(LEAST, 1.0 + _of(offs, What.MASS, name) / lumps.mass[k])
        for axis, what in enumerate(PLACES):
            place[:, k, axis] += _of(offs, what, name)
    mass = lumps.mass * share
    total = mass.sum(axis=1)
    centre = (mass[..., None] * place).sum(axis=1) / total[:, None]
    apart = place - centre[:, None]
    second = ((mass[..., None] * apart)[..., None] * apart[:, :, None]).sum(axis=1)
    inertia = (share[..., None, None] * lumps.inertia).sum(axis=1) - second
    inertia += np.trace(second, axis1=1, axis2=2)[:, None, None] * np.eye(3)
    centre += model.balance.place - described.place
    centre[:, 0] -= _of(offs, What.NEUTRAL_POINT)
    return Balance(total, centre, inertia)


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


def _fill_warp(records, airframe: Airframe, offs: Offs, strips: Strips) -> None:
    found, slopes = _by_warp(airframe, strips)
    angle, curve = (np.repeat(one[None], len(records), axis=0) for one in found)
    for key, (by_angle, by_curve) in slopes.items():  # in their order: the same sum in every run
        if key in offs:
            angle += offs[key][:, None] * by_angle
            curve += offs[key][:, None] * by_curve
    fill_turned(records, strips, angle, curve)


def _fill_surfaces(records, airframe: Airframe, offs: Offs) -> None:
    for span in surface_spans(airframe):
        k = span.slot
        records["surface_effect"][:, k] += _of(offs, What.EFFECT, f"{span.described.gap} hinges")
        rows = records["mix"][:, records["mix_takes"][0, k]]
        rows[:, NEUTRAL] += rows[:, SIGN] * _of(offs, What.NEUTRAL, span.name)


def _fill_lines(records, airframe: Airframe, offs: Offs) -> None:
    """The pull's direction: down and to the right, as in the file."""
    for k, name in enumerate(airframe.motors):
        axis = records["motor_axis"][:, k]
        axis[:, 2] += _of(offs, What.THRUST_DOWN, name)
        axis[:, 1] += _of(offs, What.THRUST_RIGHT, name)
        axis /= np.linalg.norm(axis, axis=1)[:, None]


def _factor(offs: Offs, what: What, of: str = "") -> np.ndarray | float:
    return np.maximum(LEAST, 1.0 + _of(offs, what, of))


@once_for(16)
def _by_pitch(airframe: Airframe) -> np.ndarray:
    """Slopes of the propellers' tables by their pitch, as a share of it."""
    known, motors = airframe.corrections, list(airframe.motors.values())

    def ends() -> np.ndarray:
        shares = known.propeller_pitch * (1.0 + PITCH_STEP * np.array([-1.0, 1.0]))
        others = [known.model_copy(update={"propeller_pitch": float(one)}) for one in shares]
        low, high = (np.array([propeller_rows(motor, one) for motor in motors]) for one in others)
        return (high - low) / (2.0 * PITCH_STEP)

    key = (known.model_dump_json(), *(motor.model_dump_json() for motor in motors))
    return remembered("pitch", key, ends)


@once_for(16)
def _stalls(plates: tuple[Plate, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of the plate tables: separated shares by LATER, the least calm of each by LATER, and the
    slope of each table's loads by what surfaces do more."""
    shares = [[section.shares(*plate, later) for plate in plates] for later in LATER]
    calm = [[section.calm(*plate, later) for plate in plates] for later in LATER]
    ends = [
        np.array([section.table(*plate, 0.0, more) for plate in plates]) for more in (-MORE, MORE)
    ]
    bent = np.array([plate.slope for plate in plates]) / (2.0 * np.pi)
    low, high = (np.clip(bent + more, 0.0, 1.0) for more in (-MORE, MORE))
    slopes = (ends[1] - ends[0]) / (high - low)[:, None, None, None]
    slopes[..., [SHARE, HINGE_MOMENT]] = 0.0  # whole rows are added faster than columns
    return np.array(shares), np.array(calm), slopes


@once_for(16)
def common(model: Model, airframe: Airframe) -> Common:
    """What the tables of all deviated models are made from."""
    body, motors = model.body, airframe.motors
    bent = np.clip(np.array([plate.slope for plate in model.plates]) / (2.0 * np.pi), 0.0, 1.0)
    shares, _, by_more = _stalls(model.plates)
    by_pitch = _by_pitch(airframe) if motors else np.zeros_like(body.propellers)
    bends = np.any(by_more != 0.0, axis=(2, 3))
    waits = np.any(shares != body.plates[..., SHARE], axis=(0, 3))
    return Common(body, by_pitch, by_more, bent, bends, shares, waits)


def _fill_stall(records, changes, offs: Offs, model: Model) -> None:
    """Lags, wake and calm into the records; the rest into the changes."""
    records["lag_angle"] *= _factor(offs, What.STALL_LAG)
    records["lag_share"] *= _factor(offs, What.SHARE_LAG)
    wake = records["wake_left"] + _of(offs, What.WAKE)
    records["wake_left"] = np.minimum(1.0, np.maximum(0.0, wake))
    later, changes["more"] = _of(offs, What.STALL), _of(offs, What.STALLED_SURFACES)
    changes["stalls"] = (changes["more"] != 0.0) | (later != 0.0)
    at = np.interp(later, LATER, np.arange(LATER.size))
    row = np.minimum(np.floor(at).astype(int), LATER.size - 2)
    changes["row"], changes["next"] = row, at - row
    n = model.record.n_strips
    calm = _stalls(model.plates)[1][changes["row"]][:, model.record.strip_table[:n]]
    told = records["strip_calm"][:, :n]
    told[:] = np.where(changes["stalls"][:, None], calm, told)


class Deviated(NamedTuple):
    """Many models of an airframe, each really so: what is each one's own."""

    records: np.ndarray  # (n,) RECORD
    changes: np.ndarray  # (n,) CHANGE, of the tables in common
    balances: Balance | None  # (n, ...), where they moved


def all_deviated(model: Model, airframe: Airframe, offs: Offs, count: int) -> Deviated:
    """So many models of an airframe that is really so; each off by its own: (count,). What is not
    of the airframe but of its throw is passed over."""
    kinds = {what for what, _ in offs}
    records, changes = np.repeat(model.body.record, count), np.zeros(count, CHANGE)
    balances = None
    if kinds & {What.MASS, What.NEUTRAL_POINT, *PLACES}:
        balances = _balances(model, airframe, offs, count)
        rebalance(records, model, balances)
    if kinds & set(WARPS):
        _fill_warp(records, airframe, offs, model.strips)
    _fill_surfaces(records, airframe, offs)
    _fill_lines(records, airframe, offs)
    held = np.reshape(_factor(offs, What.STREAM), (-1, 1, 1, 1)) * records["stream_held"]
    records["stream_held"] = np.minimum(1.0, held)
    records["strip_drag"] *= np.reshape(_factor(offs, What.SHEET_DRAG), (-1, 1))
    records["fitting_drag"] *= np.reshape(_factor(offs, What.PART_DRAG), (-1, 1, 1))
    strong = next((off for (what, _), off in offs.items() if what is What.STRENGTH), 0.0)
    records["root_strength"] *= np.maximum(LEAST, 1.0 + strong)
    for k, name in enumerate(airframe.sheets):
        mine = np.flatnonzero(model.strips.sheet == k)
        changes["slopes"][:, mine] = np.reshape(_factor(offs, What.SLOPE, name), (-1, 1))
    changes["thrust"], changes["torque"] = _factor(offs, What.THRUST), _factor(offs, What.TORQUE)
    changes["pitch"] = _of(offs, What.PROPELLER_PITCH)
    _fill_stall(records, changes, offs, model)
    return Deviated(records, changes, balances)


def room(body: Body) -> Body:
    """A body with the same record, and tables of its own to be written over."""
    return body._replace(
        response=np.empty_like(body.response),
        plates=body.plates.copy(),
        propellers=np.empty_like(body.propellers),
    )


def deviated(model: Model, airframe: Airframe, off: Off) -> Model:
    """The model of an airframe that is really so. What is not of the airframe but of its throw is
    passed over."""
    return next(each_deviated(model, airframe, [off]))


def each_deviated(model: Model, airframe: Airframe, offs: Sequence[Off]) -> Iterator[Model]:
    """The same of many, one after the other, whose records are changed all at once."""
    keys = dict.fromkeys(key for off in offs for key in off)
    each = {key: np.array([off.get(key, 0.0) for off in offs]) for key in keys}
    records, changes, balances = all_deviated(model, airframe, each, len(offs))
    alike = common(model, airframe)
    for k in range(len(offs)):
        body = room(model.body)._replace(record=records[k : k + 1])
        change(alike, changes[k], body)
        found = model._replace(body=body)
        if balances is not None:
            mass = float(np.broadcast_to(balances.mass, len(offs))[k])
            at = Balance(mass, balances.place[k], balances.inertia[k])
            found = found._replace(balance=at)
        yield found
