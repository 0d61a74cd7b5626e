"""Named faults: what a builder gets wrong, or what breaks, as changes of the descriptions.

A fault changes nothing but what it says; the flight knows of no faults, it flies what it is told.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable
from math import pi, radians
from typing import NamedTuple, TypeVar

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

Pair = tuple[Airframe, Field]
Part = TypeVar("Part", bound=Described)


class Fault(NamedTuple):
    """`line`: how it is known in the air; `cause`: what is wrong, after 'because'; `found`: how
    one finds it on the ground."""

    line: str
    change: Callable[[Airframe, Field], Pair]
    cause: str
    found: str


def apply(name: str, airframe: Airframe, field: Field) -> Pair:
    """The descriptions with the fault. Raises ConfigError for a name that is none, or for an
    airframe that cannot have it."""
    if name not in FAULTS:
        near = difflib.get_close_matches(name, FAULTS, n=1)
        meant = f"did you mean '{near[0]}'? " if near else ""
        raise ConfigError([f"--fault {name}: no such fault; {meant}known: {', '.join(FAULTS)}"])
    return FAULTS[name].change(airframe, field)


def _with(described: Part, **changes) -> Part:
    return described.model_copy(update=changes)


def _refuse(airframe: Airframe, words: str) -> ConfigError:
    return ConfigError([f"{airframe.name}: {words}"])


def _reversed(stick: str):
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


def _swapped(airframe: Airframe, field: Field) -> Pair:
    _find(airframe, ROLLS, "has no elevons or ailerons to swap")
    return put(airframe, ("mixing", "swapped"), not airframe.mixing.swapped), field


def _cg_aft(airframe: Airframe, field: Field) -> Pair:
    """The heaviest item sits further back, by as much as it takes."""
    if not airframe.items:
        raise _refuse(airframe, "has no item to move")
    name, item = max(airframe.items.items(), key=lambda entry: entry[1].mass)
    aft = item.aft + AFT * balance(parts(airframe)).mass / item.mass
    return put(airframe, ("items", name, "aft"), aft), field


def _no_reflex(airframe: Airframe, field: Field) -> Pair:
    if airframe.mixing.reflex == 0.0:
        raise _refuse(airframe, "has no reflex to forget")
    return put(airframe, ("mixing", "reflex"), 0.0), field


def _warped_tip(airframe: Airframe, field: Field) -> Pair:
    name = main_name(airframe)
    if name is None:
        raise _refuse(airframe, "has no flat sheet to warp")
    return put(airframe, ("sheets", name), warped(airframe.sheets[name], 0.0, WARPED, 0.0)), field


def _motors(airframe: Airframe, change: Callable) -> Airframe:
    if not airframe.motors:
        raise _refuse(airframe, "has no motor")
    return _with(airframe, motors={name: change(m) for name, m in airframe.motors.items()})


def _propeller_backwards(airframe: Airframe, field: Field) -> Pair:
    def turned(motor):
        blade = motor.propeller
        return _with(motor, propeller=_with(blade, backwards=not blade.backwards))

    return _motors(airframe, turned), field


def _motor_reversed(airframe: Airframe, field: Field) -> Pair:
    return _motors(airframe, lambda m: _with(m, leads_swapped=not m.leads_swapped)), field


def _weak_pack(airframe: Airframe, field: Field) -> Pair:
    pack = airframe.pack
    weak = _with(pack, resistance=WEAK * pack.resistance, charge=min(pack.charge, WEAK_CHARGE))
    return _with(airframe, pack=weak), field


def _brown_out(airframe: Airframe, field: Field) -> Pair:
    """A supply that carries the servos with the sticks in the middle, and browns out at a part
    of the worst stick in level flight."""
    if not airframe.servos:
        raise _refuse(airframe, "has no servos")
    neutral, worst = level_currents(Subject(airframe, field))
    limit = BROWN_OUT * (neutral + SUPPLY_SHARE * (worst - neutral))
    limit = min(limit, airframe.controller.supply_limit)
    return put(airframe, ("controller", "supply_limit"), limit), field


def _stuck(airframe: Airframe, field: Field) -> Pair:
    sheet, name = _find(airframe, (*ROLLS, *PITCHES), "has no elevon or elevator")
    middle = -mixer(airframe).pitch_sense * airframe.mixing.reflex
    return _surface(airframe, sheet, name, stuck=middle, fault_side="left"), field


def _off(airframe: Airframe, field: Field) -> Pair:
    sheet, name = _find(airframe, (*ROLLS, *PITCHES), "has no elevon or elevator")
    return _surface(airframe, sheet, name, off=True, fault_side="left"), field


def _gust(airframe: Airframe, field: Field) -> Pair:
    across, up = GUST
    from_right = (field.heading + 0.5 * pi) % (2.0 * pi)
    pulse = Pulse.model_construct(
        speed=across, from_bearing=from_right, up=up, start=0.0, lasts=GUST_LASTS
    )
    return airframe, put(field, ("gusts", "pulse"), pulse)


def _slow_throw(airframe: Airframe, field: Field) -> Pair:
    launch = airframe.launch
    if launch.hand is None:
        raise _refuse(airframe, "is not thrown: there is no [launch.hand]")
    return put(airframe, ("launch", "hand", "speed"), SHARE_OF_THROW * launch.hand.speed), field


def _pack_slides(airframe: Airframe, field: Field) -> Pair:
    """As `_cg_aft`, but the item goes all the way that the throw pushes it."""
    if not airframe.items:
        raise _refuse(airframe, "has no item to slide")
    name, item = max(airframe.items.items(), key=lambda entry: entry[1].mass)
    return put(airframe, ("items", name, "aft"), item.aft + SLIDES), field


def _high_rates(airframe: Airframe, field: Field) -> Pair:
    if airframe.mixing.low == airframe.mixing.high:
        raise _refuse(airframe, "has no low rates to be left out")
    return put(airframe, ("mixing", "low"), airframe.mixing.high), field


def _low_throttle(airframe: Airframe, field: Field) -> Pair:
    kind = airframe.launch.kind
    launch = getattr(airframe.launch, kind)
    if launch is None or launch.throttle == 0.0:
        raise _refuse(airframe, "is launched without throttle")
    path = ("launch", kind, "throttle")
    return put(airframe, path, SHARE_OF_THROTTLE * launch.throttle), field


def _loose(airframe: Airframe, field: Field) -> Pair:
    """Both sides: the play is in a kind of linkage that was built twice."""
    sheet, name = _find(airframe, (*ROLLS, *PITCHES), "has no elevon or elevator")
    surface = airframe.sheets[sheet].surfaces[name]
    return _surface(airframe, sheet, name, slop=surface.slop + PLAY * surface.horn), field


def _crease(airframe: Airframe, field: Field) -> Pair:
    name = main_name(airframe)
    if name is None:
        raise _refuse(airframe, "has no flat sheet to fold")
    path = ("sheets", name)
    sheet = airframe.sheets[name]
    crease = Joint.model_construct(along="chord", out=0.0, efficiency=CREASED)
    bare = {**sheet.joints, "crease": crease}
    return put(airframe, path, sheet.model_copy(update={"joints": bare, "spars": {}})), field


def _broken_blades(airframe: Airframe, field: Field) -> Pair:
    def broken(motor):
        diameter, pitch = motor.propeller.size
        size = (diameter * LEFT_OF_BLADES, pitch)
        return _with(motor, propeller=_with(motor.propeller, size=size))

    return _motors(airframe, broken), field


def _differential(airframe: Airframe, field: Field) -> Pair:
    """As large as the file's, or as a usual one where it has none."""
    _find(airframe, ROLLS, "has no elevons or ailerons")
    wrong = -(airframe.mixing.differential or DIFFERENTIAL)
    return put(airframe, ("mixing", "differential"), wrong), field


FAULTS = {
    "reversed-roll": Fault(
        "roll stick right, and it rolls left",
        _reversed("roll"),
        "the roll stick works the wrong way round",
        "stick right: the right elevon or aileron must rise, seen from behind",
    ),
    "reversed-pitch": Fault(
        "stick back, and the nose goes down",
        _reversed("pitch"),
        "the pitch stick works the wrong way round",
        "stick back: the trailing edge must rise",
    ),
    "swapped-elevons": Fault(
        "left and right servo leads exchanged: pitch works, roll is the wrong way",
        _swapped,
        "the left and right servo leads are exchanged",
        "stick right: the right elevon or aileron must rise, seen from behind",
    ),
    "cg-aft": Fault(
        "balances 10 mm too far back: nervous in pitch, or not to be held",
        _cg_aft,
        "it balances further back than the file says",
        "balance it again, ready to fly, on the mark",
    ),
    "no-reflex": Fault(
        "the reflex was forgotten: it dives out of the hand",
        _no_reflex,
        "the elevons stand without their reflex",
        "sticks let go: both trailing edges must stand up by the reflex in the file",
    ),
    "warped-tip": Fault(
        "the left tip is twisted two degrees nose up: it rolls right at every speed",
        _warped_tip,
        "a tip is warped",
        "look from behind along two sticks, one across the root and one across the tip",
    ),
    "propeller-backwards": Fault(
        "propeller on back to front: about half the thrust",
        _propeller_backwards,
        "the propeller is on back to front",
        "the writing on the blades faces forward, the way it flies",
    ),
    "motor-reversed": Fault(
        "two motor leads swapped: it turns the wrong way and pushes back",
        _motor_reversed,
        "the motor turns the wrong way",
        "held fast, a little throttle: the air must blow back over the airframe",
    ),
    "weak-pack": Fault(
        "an old pack, a third full: voltage and thrust sag",
        _weak_pack,
        "the pack is old or nearly empty",
        "measure its voltage at rest and at full throttle, held fast",
    ),
    "brown-out": Fault(
        "the servos' supply fails under load: the receiver restarts for a second",
        _brown_out,
        "the receiver restarted: its supply broke down under the servos",
        "stir all sticks for half a minute and watch the supply's voltage",
    ),
    "elevon-stuck": Fault(
        "the left elevon, aileron or elevator does not leave neutral",
        _stuck,
        "a surface is stuck in the middle",
        "move each stick and see that both sides follow",
    ),
    "elevon-off": Fault(
        "the left elevon, aileron or elevator has come off",
        _off,
        "a surface has come off",
        "pull at each surface before every throw",
    ),
    "gust-at-release": Fault(
        "a gust from the right, blowing down, as it leaves the hand",
        _gust,
        "a gust met it at the release",
        "wait for a lull, and throw into the wind",
    ),
    "slow-throw": Fault(
        "thrown at six tenths of the usual speed",
        _slow_throw,
        "it was thrown too slowly",
        "have somebody film a throw beside a known length",
    ),
    "pack-slides": Fault(
        "the heaviest item slides 60 mm back in the throw: it rears up at once",
        _pack_slides,
        "the heaviest item slid back in the throw",
        "shake it hard, nose up: nothing may move",
    ),
    "high-rates": Fault(
        "the rate switch does nothing: full throws with the switch at low",
        _high_rates,
        "high rates are on with the switch at low",
        "switch to low: the throws must become smaller",
    ),
    "low-throttle": Fault(
        "thrown with half of the planned throttle: it sinks away",
        _low_throttle,
        "the throttle was not advanced for the throw",
        "say the throttle aloud before the throw, and listen to the motor",
    ),
    "loose-linkage": Fault(
        "rods with play: the surfaces follow late and stand where the air puts them",
        _loose,
        "the linkage has play",
        "hold the servo arm and wiggle the trailing edge",
    ),
    "old-crease": Fault(
        "creased at the root in an earlier landing: it folds in the first pull",
        _crease,
        "the board was creased at the root",
        "flex both tips up by hand: it must bend evenly, without a kink",
    ),
    "propeller-damaged": Fault(
        "blades broken short: it runs fast and pulls little",
        _broken_blades,
        "the propeller's blades are broken short",
        "look at both tips, and hold the disc against the size in the file",
    ),
    "differential-reversed": Fault(
        "the down-going surface moves more than the up-going one: it dives as it rolls",
        _differential,
        "the differential is the wrong way round",
        "stick right: the right one must rise further than the left one sinks",
    ),
}
