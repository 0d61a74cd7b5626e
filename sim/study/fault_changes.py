"""What a builder gets wrong, or what breaks, as changes of the descriptions: those of `faults`."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, radians
from typing import TypeVar

from firstthrow.sim.build.shape import main_name
from firstthrow.sim.build.sticks import PITCHES, ROLLS, mixer
from firstthrow.sim.build.warp import warped
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.described import Described
from firstthrow.sim.describe.edit import get, put
from firstthrow.sim.describe.field import Field, Pulse
from firstthrow.sim.describe.sheets import Joint
from firstthrow.sim.kernels.integrate import BROWN_OUT
from firstthrow.sim.study.servos import level_currents
from firstthrow.sim.study.subject import Subject

AFT = 0.010  # how far the centre of gravity moves [m]
SHARE_OF_THROW = 0.6
WARPED = radians(2.0)  # the left tip, nose up
WEAK = 2.5  # times the cells' resistance
WEAK_CHARGE = 0.3
SUPPLY_SHARE = 0.3  # of the way from sticks in the middle to the worst stick, where it fails
GUST = (3.5, -1.5)  # m/s across from the right, m/s up
GUST_LASTS = 1.0  # s
SLIDES = 0.060  # of the heaviest item in the throw [m]
SHARE_OF_THROTTLE = 0.5
PLAY = 0.15  # of the horn's length: some nine degrees
CREASED = 0.2  # of the board's strength is left at a crease, the spars cracked with it
DIFFERENTIAL = 0.3  # a usual one, common practice, no source
LEFT_OF_BLADES = 0.75  # of the diameter
TORN = 0.5  # of the hinge, from its outer end
SLIPPED = 0.5  # of what is asked is left
# From the pilot [m]: some 1 km less 40 dB in free space, of an aerial cut at its root; from memory.
DEAF_BEYOND = 10.0

Pair = tuple[Airframe, Field]
Part = TypeVar("Part", bound=Described)


def _with(described: Part, **changes) -> Part:
    return described.model_copy(update=changes)


def _refuse(airframe: Airframe, words: str) -> ConfigError:
    return ConfigError([f"{airframe.name}: {words}"])


def turned_round(stick: str):
    def change(airframe: Airframe, field: Field) -> Pair:
        now = set(airframe.mixing.reversed) ^ {stick}
        return put(airframe, ("mixing", "reversed"), tuple(sorted(now))), field

    return change


def _find(airframe: Airframe, roles: tuple[str, ...], words: str) -> tuple[str, str]:
    """Sheet and surface of the first surface that has one of the roles."""
    for sheet_name, sheet in airframe.sheets.items():
        for name, surface in sheet.surfaces.items():
            if surface.role in roles:
                return sheet_name, name
    raise _refuse(airframe, words)


def _surface(airframe: Airframe, sheet: str, name: str, **changes) -> Airframe:
    path = ("sheets", sheet, "surfaces", name)
    return put(airframe, path, _with(get(airframe, path), **changes))


def swapped(airframe: Airframe, field: Field) -> Pair:
    _find(airframe, ROLLS, "has no elevons or ailerons to swap")
    return put(airframe, ("mixing", "swapped"), not airframe.mixing.swapped), field


def cg_aft(airframe: Airframe, field: Field) -> Pair:
    """The heaviest item sits further back, by as much as it takes."""
    if not airframe.items:
        raise _refuse(airframe, "has no item to move")
    name, item = max(airframe.items.items(), key=lambda entry: entry[1].mass)
    aft = item.aft + AFT * balance(parts(airframe)).mass / item.mass
    return put(airframe, ("items", name, "aft"), aft), field


def no_reflex(airframe: Airframe, field: Field) -> Pair:
    if airframe.mixing.reflex == 0.0:
        raise _refuse(airframe, "has no reflex to forget")
    return put(airframe, ("mixing", "reflex"), 0.0), field


def warped_tip(airframe: Airframe, field: Field) -> Pair:
    name = main_name(airframe)
    if name is None:
        raise _refuse(airframe, "has no flat sheet to warp")
    return put(airframe, ("sheets", name), warped(airframe.sheets[name], 0.0, WARPED, 0.0)), field


def _motors(airframe: Airframe, change: Callable) -> Airframe:
    if not airframe.motors:
        raise _refuse(airframe, "has no motor")
    return _with(airframe, motors={name: change(m) for name, m in airframe.motors.items()})


def propeller_backwards(airframe: Airframe, field: Field) -> Pair:
    def turned(motor):
        blade = motor.propeller
        return _with(motor, propeller=_with(blade, backwards=not blade.backwards))

    return _motors(airframe, turned), field


def motor_reversed(airframe: Airframe, field: Field) -> Pair:
    return _motors(airframe, lambda m: _with(m, leads_swapped=not m.leads_swapped)), field


def weak_pack(airframe: Airframe, field: Field) -> Pair:
    pack = airframe.pack
    weak = _with(pack, resistance=WEAK * pack.resistance, charge=min(pack.charge, WEAK_CHARGE))
    return _with(airframe, pack=weak), field


def brown_out(airframe: Airframe, field: Field) -> Pair:
    """A supply that carries the servos with the sticks in the middle, and browns out at a part
    of the worst stick in level flight."""
    if not airframe.servos:
        raise _refuse(airframe, "has no servos")
    neutral, worst = level_currents(Subject(airframe, field))
    limit = BROWN_OUT * (neutral + SUPPLY_SHARE * (worst - neutral))
    limit = min(limit, airframe.controller.supply_limit)
    return put(airframe, ("controller", "supply_limit"), limit), field


def stuck(airframe: Airframe, field: Field) -> Pair:
    sheet, name = _find(airframe, (*ROLLS, *PITCHES), "has no elevon or elevator")
    middle = -mixer(airframe).pitch_sense * airframe.mixing.reflex
    return _surface(airframe, sheet, name, stuck=middle, fault_side="left"), field


def came_off(airframe: Airframe, field: Field) -> Pair:
    sheet, name = _find(airframe, (*ROLLS, *PITCHES), "has no elevon or elevator")
    return _surface(airframe, sheet, name, off=True, fault_side="left"), field


def gust(airframe: Airframe, field: Field) -> Pair:
    across, up = GUST
    from_right = (field.heading + 0.5 * pi) % (2.0 * pi)
    pulse = Pulse.model_construct(
        speed=across, from_bearing=from_right, up=up, start=0.0, lasts=GUST_LASTS
    )
    return airframe, put(field, ("gusts", "pulse"), pulse)


def slow_throw(airframe: Airframe, field: Field) -> Pair:
    launch = airframe.launch
    if launch.hand is None:
        raise _refuse(airframe, "is not thrown: there is no [launch.hand]")
    return put(airframe, ("launch", "hand", "speed"), SHARE_OF_THROW * launch.hand.speed), field


def pack_slides(airframe: Airframe, field: Field) -> Pair:
    """As `cg_aft`, but the item goes all the way that the throw pushes it."""
    if not airframe.items:
        raise _refuse(airframe, "has no item to slide")
    name, item = max(airframe.items.items(), key=lambda entry: entry[1].mass)
    return put(airframe, ("items", name, "aft"), item.aft + SLIDES), field


def high_rates(airframe: Airframe, field: Field) -> Pair:
    if airframe.mixing.low == airframe.mixing.high:
        raise _refuse(airframe, "has no low rates to be left out")
    return put(airframe, ("mixing", "low"), airframe.mixing.high), field


def low_throttle(airframe: Airframe, field: Field) -> Pair:
    kind = airframe.launch.kind
    launch = getattr(airframe.launch, kind)
    if launch is None or launch.throttle == 0.0:
        raise _refuse(airframe, "is launched without throttle")
    path = ("launch", kind, "throttle")
    return put(airframe, path, SHARE_OF_THROTTLE * launch.throttle), field


def loose(airframe: Airframe, field: Field) -> Pair:
    """Both sides: the play is in a kind of linkage that was built twice."""
    sheet, name = _find(airframe, (*ROLLS, *PITCHES), "has no elevon or elevator")
    surface = airframe.sheets[sheet].surfaces[name]
    return _surface(airframe, sheet, name, slop=surface.slop + PLAY * surface.horn), field


def crease(airframe: Airframe, field: Field) -> Pair:
    name = main_name(airframe)
    if name is None:
        raise _refuse(airframe, "has no flat sheet to fold")
    path = ("sheets", name)
    sheet = airframe.sheets[name]
    crease = Joint.model_construct(along="chord", out=0.0, efficiency=CREASED)
    bare = {**sheet.joints, "crease": crease}
    return put(airframe, path, sheet.model_copy(update={"joints": bare, "spars": {}})), field


def broken_blades(airframe: Airframe, field: Field) -> Pair:
    def broken(motor):
        diameter, pitch = motor.propeller.size
        size = (diameter * LEFT_OF_BLADES, pitch)
        return _with(motor, propeller=_with(motor.propeller, size=size))

    return _motors(airframe, broken), field


def differential(airframe: Airframe, field: Field) -> Pair:
    """As large as the file's, or as a usual one where it has none."""
    _find(airframe, ROLLS, "has no elevons or ailerons")
    wrong = -(airframe.mixing.differential or DIFFERENTIAL)
    return put(airframe, ("mixing", "differential"), wrong), field


def up_held(airframe: Airframe, field: Field) -> Pair:
    if airframe.launch.hand is None:
        raise _refuse(airframe, "is not thrown: there is no [launch.hand]")
    return put(airframe, ("launch", "hand", "back"), 1.0), field


def one_side(**changes):
    """Of the left elevon, aileron or elevator."""

    def change(airframe: Airframe, field: Field) -> Pair:
        sheet, name = _find(airframe, (*ROLLS, *PITCHES), "has no elevon or elevator")
        return _surface(airframe, sheet, name, **changes, fault_side="left"), field

    return change


def deaf(airframe: Airframe, field: Field) -> Pair:
    return put(airframe, ("receiver", "reach"), DEAF_BEYOND), field
