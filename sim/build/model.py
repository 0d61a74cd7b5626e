"""Airframe and field -> Model: one fixed-capacity record and its tables, all that kernels see.

Everything here is set-up: the record is the same type for every airframe, so the kernels are
compiled once. Vectors are in body axes about the centre of gravity, SI throughout.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache
from pathlib import Path
from typing import NamedTuple, TypeVar

import numpy as np

from firstthrow.sim.build import section
from firstthrow.sim.build.apparent import mass_matrix
from firstthrow.sim.build.contacts import fill_contacts
from firstthrow.sim.build.fittings import fill_fittings
from firstthrow.sim.build.lattice import collapse, response, side_edges_of
from firstthrow.sim.build.powertrain import fill_electrics, fill_motors, fill_swinging
from firstthrow.sim.build.shape import corners, is_mirrored, main_name, surface_spans
from firstthrow.sim.build.sheltered import fill_hosts
from firstthrow.sim.build.span_loading import weakest
from firstthrow.sim.build.sticks import mixer
from firstthrow.sim.build.strips import Strips, cut, fine
from firstthrow.sim.build.warp import fill_warp
from firstthrow.sim.build.weights import TO_BODY, Balance, balance, body_place, parts
from firstthrow.sim.describe import atmosphere
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.describe.sheets import WARP, Sheet, Surface
from firstthrow.sim.kernels.compiled import CACHE
from firstthrow.sim.kernels.layout import AHEAD, BEHIND, GROUND_HEIGHTS
from firstthrow.sim.kernels.machine import numbers
from firstthrow.sim.kernels.parameters import RECORD, Body, pad
from firstthrow.sim.once import once_for
from firstthrow.sim.units import GRAVITY

MOST = 32  # of one name that are kept between runs
OWN, VARIANT = "model", "variant"  # names of models: as the file says, and those a study tries
DAMAGED = "A model kept here is damaged: working it out anew."
Made = TypeVar("Made")
USUAL_SPEED = 10.0  # at which friction and blade Reynolds numbers are taken [m/s]


class Plate(NamedTuple):
    """What a plate table is made from, see `section.table`."""

    aspect_ratio: float
    slope: float
    flap: float


class Model(NamedTuple):
    body: Body  # all that kernels see
    strips: Strips
    balance: Balance
    apparent: np.ndarray  # (6, 6) apparent mass about the datum, builder's frame
    contact_names: tuple[str, ...]
    plates: tuple[Plate, ...] = ()  # of each plate table

    @property
    def record(self) -> np.record:
        return self.body.record[0]

    def with_body(self, record: np.record, propellers: np.ndarray | None = None) -> Model:
        """The same with another record, and other propellers if given."""
        tables = {} if propellers is None else {"propellers": propellers}
        alone = np.array([record], RECORD)
        return self._replace(body=self.body._replace(record=alone, **tables))


def _plates(airframe: Airframe, strips: Strips, reply: np.ndarray, record) -> tuple[Plate, ...]:
    """One for every (sheet, surface chord) in use; which one each strip reads, up to what wash it
    need not, and how far its sheet spans go into the record."""
    n = len(strips.chord)
    own = reply[0].reshape(n, 4, n, 3)[:, 0, :, 0]
    plates: list[Plate] = []
    reaches: list[float] = []
    reliefs: list[float] = []
    keys: dict[tuple[int, float], int] = {}
    index = np.zeros(n, dtype=int)
    for i in range(n):
        key = (strips.sheet[i], round(float(strips.flap[i]), 4))
        if key not in keys:
            sheet = list(airframe.sheets.values())[key[0]]
            mine = strips.sheet == key[0]
            size = strips.area[mine].sum()
            slope = 2.0 * strips.width[mine] @ own[np.ix_(mine, mine)].sum(axis=1) / size
            reach, ratio = _extent(sheet, strips, mine)
            if sheet.stance == "upright" or not is_mirrored(sheet):
                # A fin standing on a sheet sees itself mirrored in it.
                sides = len(np.unique(strips.side[mine]))
                ratio *= 2.0 if strips.tip[mine].sum() == sides else 1.0
            keys[key] = len(plates)
            reaches.append(reach)
            plates.append(Plate(float(ratio), float(slope), key[1]))
            reliefs.append(section.relief(ratio))
        index[i] = keys[key]
    pad(index, record.strip_table)
    pad(np.array([section.calm(*plate) for plate in plates])[index], record.strip_calm)
    pad(np.array(reaches)[index], record.strip_reach)
    pad(np.array(reliefs)[index], record.strip_relief)
    pad(np.array([section.leading_edge_share(f) for f in strips.flap]), record.strip_bend)
    for k, sheet in enumerate(airframe.sheets.values()):
        mine = np.flatnonzero(strips.sheet == k)
        ratio = 1.0 / _extent(sheet, strips, mine)[1]
        plate = section.rectangle(ratio)
        record.strip_across[:, mine] = np.array(plate)[:, None]
        record.strip_across_table[mine] = len(plates)
        plates.append(Plate(float(ratio), float(plate[0]), 0.0))
    return tuple(plates)


def _extent(sheet: Sheet, strips: Strips, mine: np.ndarray) -> tuple[float, float]:
    """Reach of a sheet from end to end along its span [m], and its aspect ratio."""
    size, reach = strips.area[mine].sum(), float(np.ptp(corners(sheet)[:, 1]))
    if sheet.stance == "flat" and is_mirrored(sheet):
        return 2.0 * reach, (2.0 * reach) ** 2 / size
    return reach, reach**2 * len(np.unique(strips.side[mine])) / size


def _fill_strips(
    record, airframe: Airframe, strips: Strips, lattice: Strips, at: Balance, field_air
) -> None:
    n = len(strips.chord)
    record.n_strips = n
    density, viscosity = field_air
    sheets = list(airframe.sheets.values())
    pad(body_place(strips.middle, at), record.strip_place.T)
    pad(strips.aft @ TO_BODY, record.strip_aft.T)
    pad(strips.span @ TO_BODY, record.strip_span.T)
    pad(strips.normal @ TO_BODY, record.strip_normal.T)
    pad(strips.chord, record.strip_chord)
    pad(strips.width, record.strip_width)
    pad(strips.area, record.strip_area)
    pad(strips.surface, record.strip_surface)
    pad(strips.cover, record.strip_cover)
    pad(side_edges_of(strips, lattice), record.strip_edge)
    record.strip_lean[:, :n] = _lean(strips)
    drag = [
        section.profile_drag(
            density * USUAL_SPEED * chord / viscosity, thickness / chord, sheets[sheet].edge
        )
        for chord, thickness, sheet in zip(
            strips.chord, strips.thickness, strips.sheet, strict=True
        )
    ]
    pad(airframe.corrections.drag * np.array(drag), record.strip_drag)
    main = _main(airframe)
    fill_hosts(record, strips, main)
    if main is None:
        return
    arm = np.where(strips.sheet == main, strips.middle[:, 1], 0.0)
    pad(arm, record.strip_arm)
    area = np.where(strips.sheet == main, strips.area, 0.0)
    pad(area / area.sum(), record.strip_main)
    fill_halves(record, airframe)
    # Air dragged along by one half, spread over the span as an ellipse: its middle lies
    # 4/(3 pi) of the half span out.
    heave, reach = _heave(lattice, main)
    record.half_apparent = 0.5 * density * heave * 4.0 / (3.0 * np.pi) * reach


@once_for(32)
def _heave(lattice: Strips, sheet: int) -> tuple[float, float]:
    """Air that a sheet of its own drags along as it heaves, where air weighs 1 kg/m3 [kg]; its
    half span."""
    own = Strips(*(column[lattice.sheet == sheet] for column in lattice))
    return float(mass_matrix(own, np.zeros(3), 1.0)[2, 2]), float(np.abs(own.quad[..., 1]).max())


def _main(airframe: Airframe) -> int | None:
    """Which of the sheets is the main one."""
    name = main_name(airframe)
    return None if name is None else list(airframe.sheets).index(name)


def _lean(strips: Strips) -> np.ndarray:
    """(2, n) sweep of leading and trailing edge: way aft per way along `span`."""
    a, b = strips.quad[:, [0, 3]], strips.quad[:, [1, 2]]  # (n, edge, 3)
    return np.einsum("nei,ni->en", b - a, strips.aft) / strips.width


def fill_halves(record, airframe: Airframe) -> None:
    """Mass moment of the main sheet's halves, over the one that was there."""
    main = main_name(airframe)
    if main is not None:
        record.half_moment = _half_moment(airframe, main)


def _half_moment(airframe: Airframe, name: str) -> float:
    """Mass moment about the centreline of one half of a sheet with its surfaces [kg m]."""
    mine = {name} | {s.name for s in surface_spans(airframe) if s.sheet == name}
    spars = airframe.sheets[name].spars
    mine |= set(spars) | {f"{spar}_left" for spar in spars}
    mine -= set(airframe.items)  # an item may bear the same name
    total = 0.0
    for part in parts(airframe):
        if part.name not in mine:
            continue
        if abs(part.place[1]) > 1e-6:  # one side only
            total += 0.5 * part.mass * abs(part.place[1])
        else:  # both sides: an even spread over the half span that its inertia shows
            total += 0.5 * part.mass * np.sqrt(3.0 * part.inertia[0, 0] / part.mass) * 0.5
    return total


def fill_mixing(record, airframe: Airframe) -> None:
    """What pilots in the kernels mix by; a `Flight` mixes for itself, by the same table."""
    table = mixer(airframe).tables[0]
    for name in table.dtype.names:
        record[name] = table[name]


def fill_mass(record, at: Balance, apparent: np.ndarray) -> None:
    """Mass, inertia, apparent mass and the inverse of it all about the centre of gravity, of one
    record or of many, each about its own.

    apparent: (6, 6) about the datum in the builder's frame (`apparent.mass_matrix`); a motion
    about the centre of gravity moves the datum by v - w x place.
    """
    x, y, z = np.moveaxis(at.place, -1, 0)
    shift = np.zeros((*at.place.shape[:-1], 6, 6))
    shift[...] = np.eye(6)
    shift[..., 0, 4], shift[..., 0, 5], shift[..., 1, 5] = -z, y, -x
    shift[..., 1, 3], shift[..., 2, 3], shift[..., 2, 4] = z, -y, x
    turn = np.kron(np.eye(2), TO_BODY)
    record["mass"] = at.mass
    record["inertia"] = TO_BODY @ at.inertia @ TO_BODY
    record["apparent"] = turn @ np.swapaxes(shift, -1, -2) @ apparent @ shift @ turn
    own = np.zeros_like(shift)
    own[..., :3, :3] = np.asarray(at.mass)[..., None, None] * np.eye(3)
    own[..., 3:, 3:] = record["inertia"]
    record["mass_inverse"] = np.linalg.inv(own + record["apparent"])


def fill_air(record, field: Field) -> None:
    """Wind and gusts of a field, over those that were there."""
    bearing = field.wind.from_bearing
    record.roughness = field.wind.roughness
    record.wind_from_cos, record.wind_from_sin = np.cos(bearing), np.sin(bearing)
    record.wind_north = -field.wind.speed * np.cos(bearing)
    record.wind_east = -field.wind.speed * np.sin(bearing)
    gusts = field.gusts
    calm = field.wind.speed == 0.0 and gusts.wind_at_6_m == 0.0 and gusts.pulse is None
    record.still = float(calm)
    record.gust_wind = gusts.wind_at_6_m
    record.pulse_start, record.pulse_lasts = 0.0, 1.0
    if gusts.pulse is not None:
        pulse = gusts.pulse
        record.pulse[:] = (
            -pulse.speed * np.cos(pulse.from_bearing),
            -pulse.speed * np.sin(pulse.from_bearing),
            -pulse.up,
        )
        record.pulse_start, record.pulse_lasts = pulse.start, pulse.lasts


# What of a sheet and its surfaces decides neither where strips lie nor what they do to each other.
_NO_SHAPE = {*WARP, "mass", "material", "spars", "joints"}
_NO_SURFACE_SHAPE = {
    *("servo", "joined", "gap", "mass", "arm", "horn", "rod", "servo_up", "horn_ahead"),
    *("arm_lean", "slop", "travel", "most_up", "most_down", "reversed", "reversed_left"),
    *("reversed_right", "stuck", "known", "follows"),
}


def _sides_alike(surface: Surface) -> set[str]:
    return set() if surface.off or surface.torn else {"fault_side"}


class _Sheets:
    """An airframe, equal to every other whose sheets are as large, bow and twist apart."""

    def __init__(self, airframe: Airframe) -> None:
        self.airframe = airframe
        left_out = dict.fromkeys(_NO_SHAPE, True)
        self.key = tuple(
            (
                name,
                sheet.model_dump_json(
                    exclude={
                        **left_out,
                        "surfaces": {
                            n: _NO_SURFACE_SHAPE | _sides_alike(one)
                            for n, one in sheet.surfaces.items()
                        },
                    }
                ),
            )
            for name, sheet in airframe.sheets.items()
        )

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other) -> bool:
        return self.key == other.key


@lru_cache(maxsize=32)
def _attached(sheets: _Sheets) -> tuple:
    """Strips, lattice, response, and the mass of the air dragged along where it weighs 1 kg/m3:
    what does not change with the balance, the drive or the boards' strength."""
    strips, lattice = cut(sheets.airframe), fine(sheets.airframe)
    span = float(np.ptp(strips.quad[..., 1]))
    # Heights are the datum's: no sheet may come nearer to its own image than the least of them.
    heights = np.array(GROUND_HEIGHTS) * span + max(0.0, -float(lattice.quad[..., 2].min()))
    reply = collapse(strips, lattice, response(lattice, ground_heights=heights))
    return strips, lattice, reply, heights, span, mass_matrix(lattice, np.zeros(3), 1.0)


def _bears(airframe: Airframe, lattice: Strips) -> float:
    """Moment at the root that breaks the main sheet wherever it is weakest [N m]."""
    every, main = list(airframe.sheets.values()), _main(airframe)
    return np.inf if main is None else weakest(lattice, every, every[main])[1]


def build(airframe: Airframe, field: Field) -> Model:
    """Raises ValueError for an airframe that weighs nothing or has too many sheets."""
    whole = np.zeros(1, RECORD)
    record = whole[0]
    at = balance(parts(airframe))
    strips, lattice, reply, heights, span, dragged = _attached(_Sheets(airframe))
    reply = reply.copy()
    warmth = field.temperature or atmosphere.standard_temperature(field.ground.elevation)
    density = atmosphere.density(field.ground.elevation, warmth)
    record.density, record.gravity = density, GRAVITY
    apparent = density * dragged
    fill_mass(record, at, apparent)
    record.datum[:] = body_place(np.zeros(3), at)
    record.ground_heights[:] = heights
    record.span, record.root_strength = span, _bears(airframe, lattice)
    fill_air(record, field)
    record.field_radius = field.ground.radius
    record.flap_factor[:] = section.flap_table()
    record.lag_angle, record.lag_share = section.LAG_ANGLE, section.LAG_SHARE
    fluid = (density, atmosphere.viscosity(warmth))
    _fill_strips(record, airframe, strips, lattice, at, fluid)
    plates = _plates(airframe, strips, reply, record)
    tables = np.array([section.table(*plate) for plate in plates])
    propellers = fill_motors(record, airframe, strips, reply, at)
    fill_fittings(record, airframe, at)
    fill_electrics(record, airframe)
    fill_swinging(record, airframe, strips)
    fill_mixing(record, airframe)
    fill_warp(record, airframe, strips)
    names = fill_contacts(record, airframe, field, at)
    # Real hinge moments fall short of the inviscid ones (see `section`).
    n = len(strips.chord)
    hinge = reply.reshape(len(reply), n, 4, n, 3)[:, :, 3]
    hinge[..., :2] *= section.HINGE_FROM_INCIDENCE
    hinge[..., 2] *= section.HINGE_FROM_DEFLECTION
    same = strips.surface[:, None] == strips.surface[None, :]
    for way in (AHEAD, BEHIND):
        pad((hinge[way, :, :, 2] * same).sum(axis=1), record.strip_press[way])
    body = Body(
        whole,
        np.ascontiguousarray(reply.transpose(0, 2, 1)),
        np.ascontiguousarray(tables),
        np.ascontiguousarray(propellers),
    )
    return Model(body, strips, at, apparent, names, plates)


@cache
def _sources() -> bytes:
    """All that decides on a model beside its key; kernels decide on the folder it is kept in."""
    root = Path(__file__).parent.parent
    return numbers.sources([root, root / "build", root / "describe"])


def remembered(name: str, key: tuple, make: Callable[[], Made], *kinds: type) -> Made:
    """What was kept between runs of a name for a `key`, to the bit, or else what `make` makes, to
    be kept: see `numbers`. Its arrays are not to be written to."""
    if CACHE is None:
        return make()
    path = numbers.place(CACHE, name, _sources(), key, "model")
    found = numbers.at_hand(path, DAMAGED, *kinds)
    if found is None:
        found = make()
        numbers.keep(path, found, MOST)
    return found


def built(airframe: Airframe, field: Field, name: str = OWN) -> Model:
    """The same as `build`, of which it is kept between runs: in a hundredth of the time. A study
    may try more variants than are kept: under their name they take no place of what is flown."""

    def plain() -> Model:
        found = build(airframe, field)
        return found._replace(body=found.body._replace(record=found.body.record.view(np.uint8)))

    # As it is told, in its order: by that go strips, slots and contacts.
    key = airframe.model_dump_json(exclude={"units"}), field.model_dump_json(exclude={"light"})
    found = remembered(name, key, plain, Model, Body, Strips, Balance, Plate)
    return found.with_body(found.body.record.view(RECORD)[0])
