"""Drag of what is not a sheet: how much by its size, where it acts, in the stream and sheltered."""

from __future__ import annotations

import numpy as np
from bodies import plate_airframe, shipped
from checks import compare

from firstthrow.sim.build.fittings import SHELTERED, fittings
from firstthrow.sim.build.model import build
from firstthrow.sim.build.moved import altered
from firstthrow.sim.describe.airframe import Corrections, Item, Skid, Wheel
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.drive_at_rest import equilibrium, induced_speed
from firstthrow.sim.flight.evaluate import air_load, rates_of
from firstthrow.sim.kernels.layout import COMMAND_SIZE, COMMAND_THROTTLE, MAX_MOTORS, ROTOR, SIZE

SPEED = 10.0
CUBE = {"shape": "box", "length": "40 mm", "width": "40 mm", "height": "40 mm"}
POLE = {"stiffness": "1 N/mm", "friction": 0.4, "breaks_at": "3 m/s"}


def carrying(**parts):
    """A plate with parts of next to no mass on it."""
    return plate_airframe(3.0).model_copy(update=parts)


def cube(**place) -> Item:
    return Item.model_validate({"mass": "0.001 g", **CUBE, **place})


def drag_load(airframe, flow=(-SPEED, 0.0, 0.0)) -> np.ndarray:
    """Force and moment that the parts of a plate airframe add, about the bare plate's CG."""
    bare = carrying()
    loads = [air_load(build(a, STANDARD), np.array(flow))[0] for a in (airframe, bare)]
    return loads[0] - loads[1]


def pressure() -> float:
    return 0.5 * build(carrying(), STANDARD).record.density * SPEED**2


def test_a_cube_hung_under_the_plate():
    """Below the CG it pitches the nose down, off to the right it swings the nose right."""
    load = drag_load(carrying(items={"cube": cube(up="-200 mm", right="100 mm")}))
    assert load[0] < 0.0
    compare("pitch, yaw N m", [0.2 * load[0], -0.1 * load[0]], load[[4, 5]], relative=1e-3)


def test_a_wire_along_the_stream_has_no_drag():
    """Across it: `wire` of `sim/proof/parts.py`."""
    item = {"mass": "0.001 g", "shape": "rod", "length": "300 mm", "diameter": "2 mm"}
    wire = Item.model_validate({**item, "along": "aft", "up": "-200 mm"})
    assert 0.0 < -drag_load(carrying(items={"wire": wire}))[0] / (pressure() * 6e-4) < 0.01


def test_wheels_and_their_wires():
    """The mirrored one drags as much and cancels the yaw; width and wire add their share."""
    wheel = {**POLE, "aft": "0 mm", "right": "100 mm", "up": "-150 mm", "radius": "30 mm"}
    one = drag_load(carrying(wheels={"main": Wheel.model_validate(wheel)}))
    both = drag_load(carrying(wheels={"main": Wheel.model_validate({**wheel, "mirrored": True})}))
    compare("twice N", 2.0 * one[0], both[0], relative=1e-9)
    assert one[5] > 0.0
    assert abs(both[5]) < 1e-9
    wide = Wheel.model_validate({**wheel, "width": "40 mm"})
    compare("by width", 2.0 * one[0], drag_load(carrying(wheels={"main": wide}))[0], relative=1e-9)
    foot = {**POLE, "up": "-150 mm", "wire": "2 mm"}
    short = drag_load(carrying(skids={"nose": Skid.model_validate(foot)}))
    loop = Skid.model_validate({**foot, "wire_length": "300 mm"})
    assert 0.9 < -short[0] / (pressure() * 3e-4) < 1.25
    compare("twice the wire", 2.0 * short[0], drag_load(carrying(skids={"nose": loop}))[0], 1e-9)


def test_in_or_on_a_sheet_half_of_it_is_felt():
    """On the skin, through the sheet, far above it, and beside it."""
    places = ({"up": "23 mm"}, {}, {"up": "80 mm"}, {"right": "400 mm"})
    areas = [
        fittings(carrying(items={"cube": cube(aft="100 mm", **place)}))[0].area[0]
        for place in places
    ]
    compare("share", [SHELTERED, SHELTERED, 1.0], np.array(areas[:3]) / areas[3], relative=1e-9)


def test_what_has_no_size_has_no_drag():
    lump = Item.model_validate({"mass": "20 g", "up": "-50 mm"})
    assert fittings(carrying(items={"lead": lump})) == []


def test_every_motion_is_slowed():
    """The parts take power out of every way through the air, and mirror left and right."""
    airframe = carrying(items={"cube": cube(up="-200 mm")})
    random = np.random.default_rng(5)
    for flow in random.normal(size=(20, 3)) * 8.0:
        load = drag_load(airframe, flow)
        assert load[:3] @ flow > 0.0
        mirrored = drag_load(airframe, flow * [1.0, -1.0, 1.0])
        compare("N", load[:3] * [1.0, -1.0, 1.0], mirrored[:3], absolute=1e-9)


def test_turning_moves_it_through_the_air():
    """A part 0.2 m below the CG, pitching at 2 rad/s nose up, swings forward at 0.4 m/s."""
    model = build(carrying(items={"cube": cube(up="-200 mm")}), STANDARD)
    bare = build(carrying(), STANDARD)
    flow = np.array([-SPEED, 0.0, 0.0])
    rates = (0.0, 2.0, 0.0)
    turning = air_load(model, flow, rates)[0] - air_load(bare, flow, rates)[0]
    still = air_load(model, flow)[0] - air_load(bare, flow)[0]
    compare("share of drag", (SPEED + 0.4) / SPEED, turning[0] / still[0], relative=2e-3)


def test_in_the_stream_of_a_propeller_at_rest():
    """It meets the induced speed, all of it at the disc and twice far behind (momentum theory)."""
    pusher = {"mass": "0.001 g", **CUBE, "aft": "1.5 m", "up": "0 mm"}
    airframe = shipped()
    carries = airframe.model_copy(
        update={"items": {**airframe.items, "cube": Item.model_validate(pusher)}}
    )
    models = [build(a, STANDARD) for a in (airframe, carries)]
    at, state, command = equilibrium(models[0], 1.0), np.zeros(SIZE), np.zeros(COMMAND_SIZE)
    state[2], state[3], state[ROTOR] = -300.0, 1.0, at.rotor
    command[COMMAND_THROTTLE : COMMAND_THROTTLE + MAX_MOTORS] = 1.0
    pulls = [
        model.record.mass * rates_of(model, state, command)[1][0] for model in models
    ]  # specific force along the nose
    density = models[0].record.density
    far = 2.0 * induced_speed(at.thrust, airframe.motors["motor"].propeller.size[0], 0.0, density)
    area = fittings(carries)[-4].area[0]
    assert fittings(carries)[-4].name == "cube"
    compare("N", 0.5 * density * far**2 * area, pulls[0] - pulls[1], relative=0.1)


def test_the_bench_moves_them_along():
    """Moved on the bench, the record is the one that is built anew."""
    airframe = shipped()
    pack = airframe.items["pack"].model_copy(update={"aft": -0.01, "up": -0.05})
    other = airframe.model_copy(update={"items": {**airframe.items, "pack": pack}})
    moved = altered(build(airframe, STANDARD), (airframe, STANDARD), (other, STANDARD)).record
    fresh = build(other, STANDARD).record
    for name in ("fitting_drag", "fitting_place", "fitting_grown"):
        compare(name, fresh[name][:2], moved[name][:2], absolute=1e-12)


def test_what_flights_taught_of_drag_holds_for_them():
    airframe = carrying(items={"cube": cube(up="-200 mm")})
    more = airframe.model_copy(update={"corrections": Corrections(drag="130 %")})
    found = [build(a, STANDARD).record.fitting_drag[0, 0] for a in (airframe, more)]
    compare("m2", 1.3 * found[0], found[1], relative=1e-9)
