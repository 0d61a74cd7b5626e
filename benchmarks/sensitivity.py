"""What decides the first two seconds: how far each unknown moves the largest pitch of a launch with
the sticks let go, told as the shift of the balance that does the same.

    python benchmarks/sensitivity.py [--airframe pantry]

Thrown as planned in still air, from the release to two seconds or the ground. The same launch with
the balance further ahead and aft makes the scale: percent of the mean chord, aft positive. All of
it with the balance a little aft of the file's, where both ways show: further ahead the largest
pitch is that of the throw itself.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from math import radians

import numpy as np

from firstthrow.sim.build.deviated import deviated
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.section import EFFECT
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.pilot import Sticks
from firstthrow.sim.study.subject import Subject

SECONDS = 2.0
AFT = 0.05  # of the file's, in chords
SHIFTS = np.arange(-0.08, 0.1201, 0.01)  # of the balance, in chords
FRAME = 1.0 / 60.0

Change = Callable[[Airframe, Model], tuple[Airframe, Model]]


def largest_pitch(airframe: Airframe, model: Model) -> float:
    """From the release on [deg]."""
    flight = Flight(airframe, STANDARD, "hand", 0, model)
    sticks = Sticks(throttle=airframe.launch.by_hand.throttle)
    flight.advance(1.0, sticks)
    flight.release()
    most = -90.0
    while flight.time < SECONDS and flight.outcome is None:
        flight.advance(FRAME, sticks)
        most = max(most, flight.reading().pitch_deg)
    return most


def off(*keys: tuple[What, str], by: float) -> Change:
    return lambda airframe, model: (
        airframe,
        deviated(model, airframe, {key: by for key in keys}),
    )


def thrown(name: str, by: float) -> Change:
    def change(airframe: Airframe, model: Model) -> tuple[Airframe, Model]:
        value = getattr(airframe.launch.by_hand, name)
        return put(airframe, ("launch", "hand", name), value + by), model

    return change


def reflexed(by: float) -> Change:
    return lambda airframe, model: (
        put(airframe, ("mixing", "reflex"), airframe.mixing.reflex + by),
        model,
    )


def changes(subject: Subject) -> dict[str, tuple[Change, Change]]:
    """By what it is called, the way down and the way up."""
    main = subject.airframe.sheets and next(iter(subject.airframe.sheets))
    bow, effect = (What.BOW, main), (What.EFFECT, "taped hinges")
    slope, neutral = (What.SLOPE, main), (What.NEUTRAL_POINT, "")

    def both(key: tuple[What, str], by: float) -> tuple[Change, Change]:
        return off(key, by=-by), off(key, by=by)

    usual = EFFECT["taped"]

    def turns(share: float) -> Change:
        return off(effect, by=share - usual)

    return {
        "bow 3 mm, hollow down, up": both(bow, 0.003),
        "bow 1 mm, hollow down, up": both(bow, 0.001),
        "effect of surfaces 0.70, 0.80": (turns(0.7), turns(0.8)),
        "effect of surfaces 1.00, 0.94": (
            off(effect, by=1.0 - usual),
            off(effect, by=0.94 - usual),
        ),
        "neutral point 2 % of the chord ahead, aft": both(neutral, 0.02 * subject.chord),
        "lift slope 10 % less, more": both(slope, 0.10),
        "reflex half a degree less, more": (reflexed(-radians(0.5)), reflexed(radians(0.5))),
        "thrust 15 % less, more": both((What.THRUST, ""), 0.15),
        "stream 40 % less, more": both((What.STREAM, ""), 0.40),
        "thrust line 1 deg up, down": tuple(
            off(*((What.THRUST_DOWN, name) for name in subject.airframe.motors), by=by)
            for by in (-radians(1.0), radians(1.0))
        ),
        "throw 1 m/s slower, faster": (thrown("speed", -1.0), thrown("speed", 1.0)),
        "thrown 4 deg lower, higher": (
            thrown("pitch", -radians(4.0)),
            thrown("pitch", radians(4.0)),
        ),
        "drag of parts 30 % less, more": both((What.PART_DRAG, ""), 0.30),
        "drag of sheets 15 % less, more": both((What.SHEET_DRAG, ""), 0.15),
    }


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--airframe", default="pantry")
    chosen = words.parse_args()
    airframe = load_airframe(find("airframes", chosen.airframe))
    subject = Subject(airframe, STANDARD)
    neutral = (What.NEUTRAL_POINT, "")
    # A balance further aft is a neutral point further ahead.
    _, model = off(neutral, by=-AFT * subject.chord)(airframe, subject.model)
    scale = [
        largest_pitch(*off(neutral, by=-shift * subject.chord)(airframe, model)) for shift in SHIFTS
    ]
    plain = largest_pitch(airframe, subject.model)
    print(f"{airframe.name}: largest pitch in {SECONDS:.0f} s hands off {plain:.1f} deg")
    told = ", ".join(f"{100 * s:+.0f} %: {p:.0f}" for s, p in zip(SHIFTS, scale, strict=True))
    print(f"balance {100 * AFT:.0f} % further aft, and moved from there by, deg: {told}")
    rising = np.maximum.accumulate(scale)
    for name, ways in changes(subject).items():
        pitches = [largest_pitch(*way(airframe, model)) for way in ways]
        shifts = [100.0 * float(np.interp(p, rising, SHIFTS)) for p in pitches]
        print(
            f"  {name:<44}{pitches[0]:6.1f}{pitches[1]:7.1f} deg "
            f"{shifts[0]:+6.1f}{shifts[1]:+7.1f} % of the chord"
        )


if __name__ == "__main__":
    main()
