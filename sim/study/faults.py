"""Named faults: what a builder gets wrong, or what breaks, as changes of the descriptions.

A fault changes nothing but what it says; the flight knows of no faults, it flies what it is told.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable
from typing import NamedTuple

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.field import Field
from firstthrow.sim.study import fault_changes as changes


class Fault(NamedTuple):
    """`line`: how it is known in the air; `cause`: what is wrong, after 'because'; `found`: how
    one finds it on the ground; `flown`: how one flies, with height in hand, so that a record
    tells, where most first flights do not."""

    line: str
    change: Callable[[Airframe, Field], changes.Pair]
    cause: str
    found: str
    flown: str = ""


def apply(name: str, airframe: Airframe, field: Field) -> changes.Pair:
    """The descriptions with the fault. Raises ConfigError for a name that is none, or for an
    airframe that cannot have it."""
    if name not in FAULTS:
        near = difflib.get_close_matches(name, FAULTS, n=1)
        meant = f"did you mean '{near[0]}'? " if near else ""
        raise ConfigError([f"--fault {name}: no such fault; {meant}known: {', '.join(FAULTS)}"])
    return FAULTS[name].change(airframe, field)


FAULTS = {
    "reversed-roll": Fault(
        "roll stick right, and it rolls left",
        changes.turned_round("roll"),
        "the roll stick works the wrong way round",
        "stick right: the right elevon or aileron must rise, seen from behind (a rudder that takes "
        "roll: swing right)",
    ),
    "reversed-pitch": Fault(
        "stick back, and the nose goes down",
        changes.turned_round("pitch"),
        "the pitch stick works the wrong way round",
        "stick back: the trailing edge must rise (that of an elevator ahead of the wing: sink)",
    ),
    "swapped-elevons": Fault(
        "left and right servo leads exchanged: pitch works, roll is the wrong way",
        changes.swapped,
        "the left and right servo leads are exchanged",
        "stick right: the right elevon or aileron must rise, seen from behind",
    ),
    "cg-aft": Fault(
        "balances 10 mm too far back: nervous in pitch, or not to be held",
        changes.cg_aft,
        "it balances further back than the file says",
        "balance it again, ready to fly, on the mark",
        "let go in a shallow dive: what is too far back does not come out of it by itself",
    ),
    "no-reflex": Fault(
        "the reflex was forgotten: it dives out of the hand",
        changes.no_reflex,
        "the elevons stand without their reflex",
        "sticks let go: both trailing edges must stand up by the reflex in the file",
        "none: a bowed board does the same at every speed",
    ),
    "warped-tip": Fault(
        "the left tip is twisted two degrees nose up: it rolls right at every speed",
        changes.warped_tip,
        "a tip is warped",
        "look from behind along two sticks, one across the root and one across the tip",
        "none: elevons that stand unevenly do the same at every speed",
    ),
    "propeller-backwards": Fault(
        "propeller on back to front: about half the thrust",
        changes.propeller_backwards,
        "the propeller is on back to front",
        "the writing on the blades faces forward, the way it flies",
    ),
    "motor-reversed": Fault(
        "two motor leads swapped: it turns the wrong way and pushes back",
        changes.motor_reversed,
        "the motor turns the wrong way",
        "held fast, a little throttle: the air must blow back over the airframe",
    ),
    "weak-pack": Fault(
        "an old pack, a third full: voltage and thrust sag",
        changes.weak_pack,
        "the pack is old or nearly empty",
        "measure its voltage at rest and at full throttle, held fast",
    ),
    "brown-out": Fault(
        "the servos' supply fails under load: the receiver restarts for a second",
        changes.brown_out,
        "the receiver restarted: its supply broke down under the servos",
        "stir all sticks for half a minute and watch the supply's voltage",
    ),
    "elevon-stuck": Fault(
        "the left elevon, aileron or elevator does not leave neutral",
        changes.stuck,
        "a surface is stuck in the middle",
        "move each stick and see that both sides follow",
    ),
    "elevon-off": Fault(
        "the left elevon, aileron or elevator has come off",
        changes.came_off,
        "a surface has come off",
        "pull at each surface before every throw",
    ),
    "gust-at-release": Fault(
        "a gust from the right, blowing down, as it leaves the hand",
        changes.gust,
        "a gust met it at the release",
        "wait for a lull, and throw into the wind",
    ),
    "slow-throw": Fault(
        "thrown at six tenths of the usual speed",
        changes.slow_throw,
        "it was thrown too slowly",
        "have somebody film a throw beside a known length",
    ),
    "pack-slides": Fault(
        "the heaviest item slides 60 mm back in the throw: it rears up at once",
        changes.pack_slides,
        "the heaviest item slid back in the throw",
        "shake it hard, nose up: nothing may move",
    ),
    "high-rates": Fault(
        "the rate switch does nothing: full throws with the switch at low",
        changes.high_rates,
        "high rates are on with the switch at low",
        "switch to low: the throws must become smaller",
        "the same full stick with the switch at high and at low",
    ),
    "low-throttle": Fault(
        "thrown with half of the planned throttle: it sinks away",
        changes.low_throttle,
        "the throttle was not advanced for the throw",
        "say the throttle aloud before the throw, and listen to the motor",
    ),
    "loose-linkage": Fault(
        "rods with play: surfaces follow late, lie where the air puts them, flutter",
        changes.loose,
        "the linkage has play",
        "hold the servo arm and wiggle the trailing edge",
    ),
    "old-crease": Fault(
        "creased at the root in an earlier landing: it folds in the first pull",
        changes.crease,
        "the board was creased at the root",
        "flex both tips up by hand: it must bend evenly, without a kink",
        "none: only a pull shows it, by folding",
    ),
    "propeller-damaged": Fault(
        "blades broken short: it runs fast and pulls little",
        changes.broken_blades,
        "the propeller's blades are broken short",
        "look at both tips, and hold the disc against the size in the file",
    ),
    "differential-reversed": Fault(
        "the down-going surface moves more than the up-going one: it dives as it rolls",
        changes.differential,
        "the differential is the wrong way round",
        "stick right: the right one must rise further than the left one sinks",
        "full roll stick one way, then the other: the nose drops with both",
    ),
    "up-held": Fault(
        "full up held at the throw for half a second: it rears up, slows, drops a tip",
        changes.up_held,
        "the pitch stick was held back at the throw",
        "throw with the thumb off the stick, or have somebody else throw",
    ),
    "hinge-torn": Fault(
        "half of a hinge tore in a landing: half an elevon hangs in the wind",
        changes.one_side(torn=changes.TORN),
        "a hinge is torn over half its length",
        "pull at the outer end of each surface and look along its hinge",
    ),
    "rod-slipped": Fault(
        "the left rod has slipped: its surface moves half as far",
        changes.one_side(follows=changes.SLIPPED),
        "a rod has slipped: one surface moves half as far as the other",
        "stick right back: both trailing edges must move equally far",
    ),
    "antenna-damaged": Fault(
        "the receiver's aerial is cut: ten metres away it hears nothing",
        changes.deaf,
        "the receiver no longer heard: its aerial is damaged",
        "walk twenty steps away with the motor off and stir the sticks",
    ),
}
