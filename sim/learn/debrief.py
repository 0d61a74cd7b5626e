"""A flight record in plain words: what happened, how close to which limit, and when.

Each rule below reads columns of a record and the limits in its sidecar, and returns findings
that a builder can act on. The thresholds are this program's judgement, not published values.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import spoken
from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.describe.sheets import Role
from firstthrow.sim.flight.flown import Flown, spans
from firstthrow.sim.flight.flown import flown as flown_part
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.speeds import SLOW, STALLED, margin_percent
from firstthrow.sim.learn.finding import Finding, Kind, Severity

BLOWN_BACK = 3.0  # deg between asked and actual angle
AT_REST = 0.5  # deg: what stirs less in that time does not follow
STEEP_BANK = 60.0  # deg
PITCH_UP = 15.0  # deg above the launch attitude
BENDING = 0.8  # of the root's strength
LOW_SUPPLY = 0.9  # of what the supply gives unloaded
STARTED = 0.3  # a current over its rating for less is a motor spinning up [s], our assumption
NEARLY = 0.8  # of what a controller bears, for a reading 60 times a second
NEUTRAL = 0.04  # stick within this is let go
AT_ITS_END, HELD = 0.97, 0.5  # of a stick; for so long that it was no passing correction [s]
JUST_RELEASED = 4.0  # s after the release that belong to the launch


class Said(NamedTuple):
    """What a rule has to say: a `Finding` that does not know yet which rule found it."""

    text: str
    severity: Severity
    start_s: float
    end_s: float
    value: float
    limit: float


Rule = Callable[[Flown], Iterator[Said]]


def findings(record: Record) -> list[Finding]:
    """Everything worth saying about a flight: the outcome first, then in order of time."""
    flown = flown_part(record)
    first = Finding(Kind.OUTCOME, *_outcome(record, flown))
    if flown.time.size < 2:
        return [first]
    rest = [Finding(kind, *said) for kind, rule in RULES.items() for said in rule(flown)]
    rest.sort(key=lambda finding: finding.start_s)
    return [first, *rest]


def _outcome(record: Record, flown: Flown) -> Said:
    end = float(flown.time[-1]) if flown.time.size else 0.0
    outcome = record.outcome
    if outcome is None:
        text = f"The recording ends at {end:.1f} s without an outcome: the program was cut off."
        return Said(text, Severity.CAUTION, 0.0, end, end, end)
    severity = Severity.NOTE if outcome.word.survived else Severity.DANGER
    return Said(outcome.text, severity, 0.0, end, end, end)


def _height_lost(flown: Flown) -> Iterator[Said]:
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
    u = flown.record.units
    how = "down to the ground" if touched else f"down to {u.distance(height[lowest], 1)}"
    text = f"It lost {u.distance(lost, 1)} of height after the release, {how}."
    severity = Severity.DANGER if touched or height[lowest] < 0.5 * height[0] else Severity.CAUTION
    yield Said(text, severity, 0.0, float(flown.time[lowest]), lost, float(height[0]))


def _pitched_up(flown: Flown) -> Iterator[Said]:
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
        yield Said(text, Severity.DANGER, 0.0, end, float(rise[top]), PITCH_UP)


def _stalled(flown: Flown) -> Iterator[Said]:
    separated = flown.column("separated_fraction")
    run = flown.worst(flown.stalled, separated, 0.1)
    if run is None:
        return
    at = run.worst
    alpha, height = flown.column("alpha_deg")[at], flown.column("height_m")[run.where.start]
    text = (
        f"{run} stalled, {100 * separated[at]:.0f} % of the wing separated at "
        f"{alpha:.0f} deg angle of attack, {flown.record.units.distance(height, 1)} up{run.times}."
    )
    # A mush onto the grass at the end of a flare is how such a slab lands.
    severity = Severity.NOTE if flown.ends_low(run) else Severity.DANGER
    yield Said(text, severity, run.start, run.end, float(separated[at]), STALLED)


def _slow(flown: Flown) -> Iterator[Said]:
    speed, stall = flown.column("airspeed_m_s"), flown.column("stall_speed_m_s")
    run = flown.worst(flown.slow & flown.attached, -flown.over_stall, 0.3)
    if run is None:
        return
    at = run.worst
    margin = 100.0 * float(flown.over_stall[at] - 1.0)
    side, u = "over" if margin >= 0.0 else "under", flown.record.units
    text = (
        f"{run} slow, {u.speed(speed[at])} is {abs(margin):.0f} % {side} "
        f"the stall speed of {u.speed(stall[at])}{run.times}."
    )
    severity = Severity.NOTE if flown.ends_low(run) else Severity.CAUTION
    yield Said(text, severity, run.start, run.end, margin, margin_percent(SLOW))


_WAYS = {  # which way a surface goes with a negative and a positive angle
    role: ("right", "left") if role == Role.RUDDER else ("up", "down") for role in Role
}


def _ran_out(flown: Flown) -> Iterator[Said]:
    """Asked for all the travel there is; the stick had nothing left to give."""
    travels = flown.limit("travel_deg", {})
    for name, role in flown.limit("roles", {}).items():
        travel = travels.get(name)
        if travel is None:
            continue
        asked = flown.column(f"surface_{name}_asked_deg")
        for way, along in zip(_WAYS[role], (-asked, asked), strict=True):
            run = flown.worst((along > travel - 0.2) & flown.airborne, along, 0.3)
            if run is None:
                continue
            at = run.worst
            text = (
                f"{run} ran out of {way} {spoken(name)}, asked for its whole "
                f"travel of {travel:.0f} deg{run.times}."
            )
            yield Said(text, Severity.CAUTION, run.start, run.end, float(along[at]), travel)


def _full_stick(flown: Flown) -> Iterator[Said]:
    """Full back stick held: no more nose up to be had, whatever the surfaces could still do."""
    stick = flown.column("stick_pitch")
    asked = [
        f"surface_{n}_asked_deg" for n, role in flown.limit("roles", {}).items() if role in PITCHES
    ]
    roles = set(flown.limit("roles", {}).values())
    surface = next((one for one in (Role.ELEVATOR, *PITCHES) if one in roles), Role.ELEVATOR)
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
        yield Said(text, Severity.CAUTION, run.start, run.end, float(along[at]), 1.0)


def _held_over(flown: Flown) -> Iterator[Said]:
    """A stick of roll or yaw that stood at its end for long: nothing was left against a gust."""
    for axis in ("roll", "yaw"):
        stick = flown.column(f"stick_{axis}")
        for way, along in (("right", stick), ("left", -stick)):
            run = flown.worst((along > AT_ITS_END) & flown.airborne, along, HELD)
            if run is None:
                continue
            text = f"{run} the {axis} stick was fully {way}: no more {axis} was left{run.times}."
            most = float(along[run.worst])
            yield Said(text, Severity.CAUTION, run.start, run.end, most, AT_ITS_END)


def _blown_back(flown: Flown) -> Iterator[Said]:
    """The servo does not bring the surface to the angle asked for."""
    for name in flown.limit("travel_deg", {}):
        asked = flown.column(f"surface_{name}_asked_deg")
        gap = np.abs(asked - flown.column(f"surface_{name}_deg"))
        load = np.abs(flown.column(f"servo_{name}_load"))
        run = flown.worst(gap > BLOWN_BACK, gap, 0.2)
        if run is None:
            continue
        at = run.worst
        moved = np.ptp(flown.column(f"surface_{name}_deg")[run.where])
        if load[run.where].max() > 0.9:
            why = "the air held it back"
        elif moved < AT_REST:
            why = "it did not move"
        else:
            why = "the servo is slower than the stick"
        text = (
            f"{run} the {spoken(name)} stood {gap[at]:.0f} deg short of the "
            f"{asked[at]:.0f} deg asked; {why}{run.times}."
        )
        yield Said(text, Severity.CAUTION, run.start, run.end, float(gap[at]), BLOWN_BACK)


def _steep(flown: Flown) -> Iterator[Said]:
    bank = np.abs(flown.column("roll_deg"))
    run = flown.worst((bank > STEEP_BANK) & flown.airborne, bank, 0.1)
    if run is None:
        return
    at = run.worst
    side = "right" if flown.column("roll_deg")[at] > 0 else "left"
    how = "upside down" if bank[at] > 120 else f"{bank[at]:.0f} deg of bank to the {side}"
    text = f"{run} {how}{run.times}."
    severity = Severity.DANGER if bank[at] > 90 else Severity.CAUTION
    yield Said(text, severity, run.start, run.end, float(bank[at]), STEEP_BANK)


def _sagged(flown: Flown) -> Iterator[Said]:
    cutoff, least = flown.limit("cutoff_V", 0.0), LOW_SUPPLY * flown.limit("supply_V", 0.0)
    rules = (
        ("pack_V", cutoff, "the pack sagged to {:.1f} V, under the cut-off of {:.1f} V"),
        ("supply_V", least, "the servo supply sagged to {:.2f} V; {:.2f} V is the least"),
    )
    for column, limit, words in rules:
        volts = flown.column(column)
        run = flown.worst(volts < limit, -volts, 0.1)
        if run is not None:
            at = run.worst
            text = f"{run} {words.format(volts[at], limit)}{run.times}."
            yield Said(text, Severity.DANGER, run.start, run.end, float(volts[at]), limit)


def _over_current(flown: Flown) -> Iterator[Said]:
    ratings = [("the pack", "pack_A", flown.limit("pack_A", np.inf))]
    for name, limit in flown.limit("motor_A", {}).items():
        ratings.append((_motor(name), f"motor_{name}_A", limit))
        if not flown.limit("controller_limits", False):  # one that limits is never over
            controller = flown.limit("controller_A", np.inf)
            ratings.append((f"the controller of {_motor(name)}", f"motor_{name}_A", controller))
    for what, column, limit in ratings:
        amps = flown.column(column)
        run = flown.worst(amps > limit, amps, STARTED)
        if run is not None:
            at = run.worst
            text = (
                f"{run} {amps[at]:.1f} A through {what}, which is rated {limit:.0f} A"
                f"{run.times}{_bears(flown, amps[at]) if 'controller' in what else ''}."
            )
            yield Said(text, Severity.DANGER, run.start, run.end, float(amps[at]), limit)


def _bears(flown: Flown, amps: float) -> str:
    """How long a cool controller bears a current."""
    rating, bears = flown.limit("controller_A", np.inf), flown.limit("controller_bears_s", np.inf)
    if not np.isfinite(bears):
        return ""
    seconds = bears / ((amps / rating) ** 2 - 1.0)
    return f"; it burns or cuts out after about {seconds:.0f} s of that"


def _overload(time: np.ndarray, amps: np.ndarray, rating: float) -> np.ndarray:
    """What a controller has taken over its rating by each reading [s], see `kernels.drive`."""
    found, so_far = np.zeros_like(time), 0.0
    for n, step in enumerate(np.diff(time)):
        so_far = max(0.0, so_far + ((amps[n + 1] / rating) ** 2 - 1.0) * step)
        found[n + 1] = so_far
    return found


def _cut_out(flown: Flown) -> Iterator[Said]:
    """A controller that bore no more: its current ends in the middle of an overload."""
    rating, bears = flown.limit("controller_A", np.inf), flown.limit("controller_bears_s", np.inf)
    if flown.limit("controller_limits", False):
        return
    time, throttle = flown.record.column("time_s"), flown.record.column("throttle")
    for name in flown.limit("motor_A", {}):
        amps = flown.record.column(f"motor_{name}_A")
        last = int(np.max(np.flatnonzero(amps > 0.0), initial=-1))
        if last < 0 or last + 1 == time.size or throttle[last + 1] < NEUTRAL:
            continue
        borne = _overload(time, amps, rating)[last]
        if borne > NEARLY * bears:
            at, most = max(0.0, float(time[last + 1])), float(amps[amps > rating].mean())
            text = (
                f"At {at:.1f} s the controller of {_motor(name)} burnt or cut out after "
                f"{most:.0f} A on a rating of {rating:.0f} A: no thrust from there on."
            )
            yield Said(text, Severity.DANGER, at, float(time[-1]), most, rating)


def _bent(flown: Flown) -> Iterator[Said]:
    bending = flown.column("bending_fraction")
    run = flown.worst(bending > BENDING, bending, 0.0)
    if run is not None:
        at = run.worst
        factor = flown.column("load_factor")[at]
        text = (
            f"At {flown.time[at]:.1f} s the root carried {100 * bending[at]:.0f} % of its "
            f"bending strength at {factor:.1f} times the weight{run.times}."
        )
        severity = Severity.DANGER if bending[at] > 1.0 else Severity.CAUTION
        yield Said(text, severity, run.start, run.end, float(bending[at]), BENDING)


def _let_go(flown: Flown) -> Iterator[Said]:
    """What it does by itself, over the longest stretch without a hand on the sticks.

    Simulated hands and scripts never let go: their sticks only rest near the middle.
    """
    if flown.record.meta.get("pilot", "").partition(":")[0] in ("human", "steady"):
        return
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
        f"{roll:.0f} deg, and it {'gained' if climb > 0 else 'lost'} "
        f"{flown.record.units.distance(abs(climb), 1)}."
    )
    yield Said(text, Severity.NOTE, run.start, run.end, pitch, 5.0)


def _lasting(time: np.ndarray, mask: np.ndarray) -> np.ndarray:
    """How long the run each reading belongs to has lasted [s]; 0 outside the runs."""
    lasting = np.zeros_like(time)
    for run in spans(time, mask):
        lasting[run] = time[run] - time[run.start]
    return lasting


def _unlimited(flown: Flown) -> Iterator[Said]:
    if not flown.record.meta.get("limits"):
        text = "The record's sidecar is missing: currents, voltages and throws were not checked."
        yield Said(text, Severity.CAUTION, 0.0, 0.0, 0.0, 0.0)


def _motor(name: str) -> str:
    return "the motor" if name in ("main", "motor") else f"the {name} motor"


RULES: dict[Kind, Rule] = {
    Kind.UNLIMITED: _unlimited,
    Kind.HEIGHT_LOST: _height_lost,
    Kind.PITCHED_UP: _pitched_up,
    Kind.STALLED: _stalled,
    Kind.SLOW: _slow,
    Kind.RAN_OUT: _ran_out,
    Kind.FULL_STICK: _full_stick,
    Kind.HELD_OVER: _held_over,
    Kind.BLOWN_BACK: _blown_back,
    Kind.STEEP: _steep,
    Kind.SAGGED: _sagged,
    Kind.OVER_CURRENT: _over_current,
    Kind.CUT_OUT: _cut_out,
    Kind.BENT: _bent,
    Kind.LET_GO: _let_go,
}
