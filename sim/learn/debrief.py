"""A flight record in plain words: what happened, how close to which limit, and when.

Each rule below reads columns of a record and the limits in its sidecar, and returns findings
that a builder can act on. The thresholds are this program's judgement, not published values.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from firstthrow.sim.flight.flown import Flown, spans
from firstthrow.sim.flight.flown import flown as flown_part
from firstthrow.sim.flight.record import Record

STALLED = 0.5  # of the wing separated
STALL_MARGIN = 1.10  # times the stall speed
BLOWN_BACK = 3.0  # deg between asked and actual angle
STEEP_BANK = 60.0  # deg
PITCH_UP = 15.0  # deg above the launch attitude
BENDING = 0.8  # of the root's strength
NEUTRAL = 0.04  # stick within this is let go
JUST_RELEASED = 4.0  # s after the release that belong to the launch


class Finding(NamedTuple):
    """One sentence about a flight; `value` and `limit` in the unit the text uses."""

    text: str
    severity: str  # "note", "caution" or "danger"
    start_s: float
    end_s: float
    value: float
    limit: float


def findings(record: Record) -> list[Finding]:
    """Everything worth saying about a flight: the outcome first, then in order of time."""
    return [finding for _, finding in named_findings(record)]


def named_findings(record: Record) -> list[tuple[str, Finding]]:
    """The same with the name of the rule that found each: outcome, stalled, ran_out, ..."""
    flown = flown_part(record)
    first = ("outcome", _outcome(record, flown))
    if flown.time.size < 2:
        return [first]
    rest = [(rule.__name__[1:], finding) for rule in _RULES for finding in rule(flown)]
    rest.sort(key=lambda named: named[1].start_s)
    return [first, *rest]


GOOD = ("landed", "time-up", "stopped")  # outcomes


def _outcome(record: Record, flown: Flown) -> Finding:
    end = float(flown.time[-1]) if flown.time.size else 0.0
    outcome = record.meta.get("outcome")
    if outcome is None:
        text = f"The recording ends at {end:.1f} s without an outcome: the program was cut off."
        return Finding(text, "caution", 0.0, end, end, end)
    severity = "note" if outcome["word"] in GOOD else "danger"
    return Finding(outcome["text"], severity, 0.0, end, end, end)


def _height_lost(flown: Flown) -> Iterator[Finding]:
    """How far it sank below the hand before it climbed, or until it hit the ground."""
    if flown.record.meta.get("launch") == "ground":
        return
    height = flown.column("height_m")
    launch = flown.time <= JUST_RELEASED
    lowest = int(np.argmin(height[launch]))
    lost = float(height[0] - height[lowest])
    if lost < 0.3:
        return
    touched = not flown.airborne[lowest]
    how = "down to the ground" if touched else f"down to {height[lowest]:.1f} m"
    text = f"It lost {lost:.1f} m of height after the release, {how}."
    severity = "danger" if touched or height[lowest] < 0.5 * height[0] else "caution"
    yield Finding(text, severity, 0.0, float(flown.time[lowest]), lost, float(height[0]))


def _pitched_up(flown: Flown) -> Iterator[Finding]:
    """Nose rising by itself after the release: the sign of a balance too far aft."""
    early = (flown.time <= JUST_RELEASED) & flown.airborne
    let_go = np.abs(flown.column("stick_pitch")) < NEUTRAL
    moved = np.flatnonzero(~(early & let_go))
    until = int(moved[0]) if moved.size else flown.time.size
    if until < 2:
        return
    rise = flown.column("pitch_deg")[:until] - flown.column("pitch_deg")[0]
    top = int(np.argmax(rise))
    if rise[top] > PITCH_UP:
        text = (
            f"With the pitch stick let go it raised its nose by {rise[top]:.0f} deg "
            f"in {flown.time[top]:.1f} s after the release."
        )
        end = float(flown.time[top])
        yield Finding(text, "danger", 0.0, end, float(rise[top]), PITCH_UP)


def _stalled(flown: Flown) -> Iterator[Finding]:
    separated = flown.column("separated_fraction")
    run = flown.worst((separated > STALLED) & flown.airborne, separated, 0.1)
    if run is None:
        return
    at = run.worst
    alpha, height = flown.column("alpha_deg")[at], flown.column("height_m")[run.where.start]
    text = (
        f"{run} stalled, {100 * separated[at]:.0f} % of the wing separated at "
        f"{alpha:.0f} deg angle of attack, {height:.1f} m up{run.times}."
    )
    # A mush onto the grass at the end of a flare is how such a slab lands.
    severity = "note" if flown.ends_low(run) else "danger"
    yield Finding(text, severity, run.start, run.end, float(separated[at]), STALLED)


def _slow(flown: Flown) -> Iterator[Finding]:
    speed, stall = flown.column("airspeed_m_s"), flown.column("stall_speed_m_s")
    ratio = speed / np.maximum(stall, 0.1)
    attached = flown.column("separated_fraction") <= STALLED
    mask = (ratio < STALL_MARGIN) & flown.airborne & attached
    run = flown.worst(mask, -ratio, 0.3)
    if run is None:
        return
    at = run.worst
    margin = 100.0 * (ratio[at] - 1.0)
    side = "over" if margin >= 0.0 else "under"
    text = (
        f"{run} slow, {speed[at]:.1f} m/s is {abs(margin):.0f} % {side} "
        f"the stall speed of {stall[at]:.1f} m/s{run.times}."
    )
    severity = "note" if flown.ends_low(run) else "caution"
    yield Finding(text, severity, run.start, run.end, margin, 10.0)


_WAYS = {  # which way a surface goes with a negative and a positive angle
    "elevon": ("up", "down"),
    "elevator": ("up", "down"),
    "aileron": ("up", "down"),
    "flaperon": ("up", "down"),
    "ruddervator": ("up", "down"),
    "rudder": ("right", "left"),
}


def _ran_out(flown: Flown) -> Iterator[Finding]:
    """Asked for all the travel there is; the stick had nothing left to give."""
    roles = flown.limit("roles", {})
    for name, travel in flown.limit("travel_deg", {}).items():
        asked = flown.column(f"surface_{name}_asked_deg")
        for way, along in zip(_WAYS[roles[name]], (-asked, asked), strict=True):
            run = flown.worst((along > travel - 0.2) & flown.airborne, along, 0.3)
            if run is None:
                continue
            at = run.worst
            text = (
                f"{run} ran out of {way} {_plain(name)}, asked for its whole "
                f"travel of {travel:.0f} deg{run.times}."
            )
            yield Finding(text, "caution", run.start, run.end, float(along[at]), travel)


def _full_stick(flown: Flown) -> Iterator[Finding]:
    """Full back stick held: no more nose up to be had, whatever the surfaces could still do."""
    stick = flown.column("stick_pitch")
    asked = [
        f"surface_{n}_asked_deg"
        for n, role in flown.limit("roles", {}).items()
        if role in ("elevon", "elevator")
    ]
    surface = "elevator" if "elevator" in flown.limit("roles", {}).values() else "elevon"
    for way, where, along in (("up", "back", stick), ("down", "forward", -stick)):
        run = flown.worst((along > 0.99) & flown.airborne, along, 0.5)
        if run is None:
            continue
        at = run.worst
        angle = max([abs(float(flown.column(name)[at])) for name in asked], default=0.0)
        text = (
            f"{run} the stick was fully {where}, asking {angle:.0f} deg: no "
            f"{way} {surface} was left{run.times}."
        )
        yield Finding(text, "caution", run.start, run.end, float(along[at]), 1.0)


def _blown_back(flown: Flown) -> Iterator[Finding]:
    """The servo does not bring the surface to the angle asked for."""
    for name in flown.limit("travel_deg", {}):
        asked = flown.column(f"surface_{name}_asked_deg")
        gap = np.abs(asked - flown.column(f"surface_{name}_deg"))
        load = np.abs(flown.column(f"servo_{name}_load"))
        run = flown.worst(gap > BLOWN_BACK, gap, 0.2)
        if run is None:
            continue
        at = run.worst
        why = (
            "the air held it back"
            if load[run.where].max() > 0.9
            else "the servo is slower than the stick"
        )
        text = (
            f"{run} the {_plain(name)} stood {gap[at]:.0f} deg short of the "
            f"{asked[at]:.0f} deg asked; {why}{run.times}."
        )
        yield Finding(text, "caution", run.start, run.end, float(gap[at]), BLOWN_BACK)


def _steep(flown: Flown) -> Iterator[Finding]:
    bank = np.abs(flown.column("roll_deg"))
    run = flown.worst((bank > STEEP_BANK) & flown.airborne, bank, 0.1)
    if run is None:
        return
    at = run.worst
    side = "right" if flown.column("roll_deg")[at] > 0 else "left"
    how = "upside down" if bank[at] > 120 else f"{bank[at]:.0f} deg of bank to the {side}"
    text = f"{run} {how}{run.times}."
    severity = "danger" if bank[at] > 90 else "caution"
    yield Finding(text, severity, run.start, run.end, float(bank[at]), STEEP_BANK)


def _sagged(flown: Flown) -> Iterator[Finding]:
    cutoff, supply = flown.limit("cutoff_V", 0.0), flown.limit("supply_V", 0.0)
    rules = (
        ("pack_V", cutoff, "the pack sagged to {:.1f} V, under the cut-off of {:.1f} V"),
        ("supply_V", 0.9 * supply, "the servo supply sagged to {:.2f} V; {:.2f} V is the least"),
    )
    for column, limit, words in rules:
        volts = flown.column(column)
        run = flown.worst(volts < limit, -volts, 0.1)
        if run is not None:
            at = run.worst
            text = f"{run} {words.format(volts[at], limit)}{run.times}."
            yield Finding(text, "danger", run.start, run.end, float(volts[at]), limit)


def _over_current(flown: Flown) -> Iterator[Finding]:
    ratings = [("the pack", "pack_A", flown.limit("pack_A", np.inf))]
    for name, limit in flown.limit("motor_A", {}).items():
        ratings.append((_motor(name), f"motor_{name}_A", limit))
        controller = flown.limit("controller_A", np.inf)
        ratings.append((f"the controller of {_motor(name)}", f"motor_{name}_A", controller))
    for what, column, limit in ratings:
        amps = flown.column(column)
        run = flown.worst(amps > limit, amps, 0.1)
        if run is not None:
            at = run.worst
            text = (
                f"{run} {amps[at]:.1f} A through {what}, which is rated {limit:.0f} A{run.times}."
            )
            yield Finding(text, "danger", run.start, run.end, float(amps[at]), limit)


def _bent(flown: Flown) -> Iterator[Finding]:
    bending = flown.column("bending_fraction")
    run = flown.worst(bending > BENDING, bending, 0.0)
    if run is not None:
        at = run.worst
        text = (
            f"At {flown.time[at]:.1f} s the root carried {100 * bending[at]:.0f} % of its "
            f"bending strength at {flown.column('load_factor')[at]:.1f} g{run.times}."
        )
        severity = "danger" if bending[at] > 1.0 else "caution"
        yield Finding(text, severity, run.start, run.end, float(bending[at]), BENDING)


def _let_go(flown: Flown) -> Iterator[Finding]:
    """What it does by itself, over the longest stretch without a hand on the sticks."""
    still = np.ones(flown.time.size, dtype=bool)
    for stick in ("stick_roll", "stick_pitch", "stick_yaw"):
        still &= np.abs(flown.column(stick)) < NEUTRAL
    run = flown.worst(still & flown.airborne, _lasting(flown.time, still & flown.airborne), 1.0)
    if run is None:
        return

    def change(name: str) -> float:
        values = flown.column(name)[run.where]
        return float(values[-1] - values[0])

    pitch, climb = change("pitch_deg"), change("height_m")
    roll = float(np.ptp(np.unwrap(flown.column("roll_deg")[run.where], period=360.0)))
    nose = f"its nose went {'up' if pitch > 0 else 'down'} {abs(pitch):.0f} deg"
    held = "it held its attitude" if abs(pitch) < 5 and roll < 10 else nose
    text = (
        f"Hands off from {run.start:.1f} to {run.end:.1f} s: {held}, its bank wandered "
        f"{roll:.0f} deg, and it {'gained' if climb > 0 else 'lost'} {abs(climb):.1f} m."
    )
    yield Finding(text, "note", run.start, run.end, pitch, 5.0)


def _lasting(time: np.ndarray, mask: np.ndarray) -> np.ndarray:
    """How long the run each reading belongs to has lasted [s]; 0 outside the runs."""
    lasting = np.zeros_like(time)
    for run in spans(time, mask):
        lasting[run] = time[run] - time[run.start]
    return lasting


def _unlimited(flown: Flown) -> Iterator[Finding]:
    if not flown.record.meta.get("limits"):
        text = "The record's sidecar is missing: currents, voltages and throws were not checked."
        yield Finding(text, "caution", 0.0, 0.0, 0.0, 0.0)


def _plain(name: str) -> str:
    """elevon_left -> left elevon"""
    stem, _, side = name.rpartition("_")
    return f"{side} {stem.replace('_', ' ')}" if side in ("left", "right") else name


def _motor(name: str) -> str:
    return "the motor" if name in ("main", "motor") else f"the {name} motor"


_RULES: tuple[Callable[[Flown], Iterator[Finding]], ...] = (
    _unlimited,
    _height_lost,
    _pitched_up,
    _stalled,
    _slow,
    _ran_out,
    _full_stick,
    _blown_back,
    _steep,
    _sagged,
    _over_current,
    _bent,
    _let_go,
)
