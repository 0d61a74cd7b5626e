"""The verdict on a flight in one sentence: what happened, what ran out, how often, how long."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.flight.flown import Flown, flown, spans
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.skills import SKILLS
from firstthrow.sim.flight.speeds import SLOW, margin_percent
from firstthrow.sim.learn.debrief import AT_ITS_END, HELD, JUST_RELEASED, findings
from firstthrow.sim.learn.finding import Kind, worst_first
from firstthrow.sim.learn.measures import lasted

CLAUSES = 4  # the worst of what happened; the findings tell the rest
_TIMES = {1: "once", 2: "twice", 3: "three times", 4: "four times"}


def verdict(record: Record) -> str:
    """Such as 'Landed in one piece: you ran out of up-elevon twice; the stall margin was under
    10 % for 3 s after the release.' Only what a finding tells is in it."""
    flight = flown(record)
    left = len(record.rows)
    short = (
        f" (its record has lost {record.lost} of {left + record.lost} rows)" if record.lost else ""
    )
    if flight.time.size < 2:
        return f"Nothing was flown{short}."
    kinds = dict.fromkeys(
        Kind.RAN_OUT if finding.kind is Kind.FULL_STICK else finding.kind
        for finding in worst_first(findings(record)[1:])
        if finding.is_trouble and finding.kind is not Kind.UNLIMITED
    )
    clauses = [text for kind in kinds for text in [_clause(kind, flight)] if text][:CLAUSES]
    outcome = record.outcome
    ended = (outcome.word.sentence if outcome else "The record was cut off") + short
    if not clauses:
        unharmed = outcome is not None and outcome.word.survived
        return f"{ended}{', and nothing came near a limit' if unharmed else ''}."
    return f"{ended}: {'; '.join(clauses)}."


def who(record: Record) -> str:
    """The one at the sticks, as the subject of a sentence."""
    pilot = record.meta.get("pilot") or "thumbs"
    skill = pilot.partition(":")[2]
    if pilot == "thumbs":
        return "you"
    if pilot == "hands-off":
        return "nobody"
    if pilot.partition(":")[0] == "human":
        return f"the {skill if skill in SKILLS else 'club'} pilot"
    return "the steady pilot" if pilot == "steady" else "the timeline"


def _clause(kind: Kind, flight: Flown) -> str:
    writers = {
        Kind.STALLED: _stalled,
        Kind.SLOW: _slow,
        Kind.RAN_OUT: _ran_out,
        Kind.HELD_OVER: _held_over,
        Kind.PITCHED_UP: _pitched_up,
        Kind.HEIGHT_LOST: _height_lost,
        Kind.STEEP: _steep,
    }
    plain = {
        Kind.BLOWN_BACK: "a surface lagged behind what was asked",
        Kind.SAGGED: "a voltage sagged under its limit",
        Kind.OVER_CURRENT: "a current went over its rating",
        Kind.CUT_OUT: "a controller burnt or cut out",
        Kind.BENT: "the root came near its strength",
    }
    return writers[kind](flight) if kind in writers else plain.get(kind, "")


def often(count: int) -> str:
    return _TIMES.get(count, f"{count} times")


def _when(flight: Flown, mask: np.ndarray, shortest: float) -> tuple[int, float, str]:
    """How many runs, how long in all [s], and where: 'after the release' or 'at 12.4 s'."""
    runs = list(spans(flight.time, mask, shortest))
    longest = max(runs, key=lambda run: flight.time[run.stop - 1] - flight.time[run.start])
    start = float(flight.time[longest.start])
    where = "after the release" if start < JUST_RELEASED else f"from {start:.0f} s on"
    return (
        len(runs),
        sum(lasted(flight.time[run], np.ones(run.stop - run.start, bool)) for run in runs),
        where,
    )


def _stalled(flight: Flown) -> str:
    count, _, where = _when(flight, flight.stalled, 0.1)
    return f"it stalled {often(count)}{'' if count > 1 else ' ' + where}"


def _slow(flight: Flown) -> str:
    _, seconds, where = _when(flight, flight.slow & flight.attached, 0.3)
    lasted_s = f"{seconds:.{0 if seconds >= 1.0 else 1}f} s"
    return f"the stall margin was under {margin_percent(SLOW):.0f} % for {lasted_s} {where}"


def _ran_out(flight: Flown) -> str:
    """Travel or stick at its end, up before down, both sides of a surface as one."""
    roles = flight.limit("roles", {})
    told = []
    for way, sign in (("up", -1.0), ("down", 1.0)):
        at_end = np.zeros(flight.time.size, dtype=bool)
        surface = "elevator"
        for name, travel in flight.limit("travel_deg", {}).items():
            if roles.get(name) in PITCHES:
                surface = roles[name]
                asked = sign * flight.column(f"surface_{name}_asked_deg")
                at_end |= asked > travel - 0.2
        at_end |= -sign * flight.column("stick_pitch") > 0.99
        at_end &= flight.airborne
        if any(spans(flight.time, at_end, 0.3)):
            count, _, _ = _when(flight, at_end, 0.3)
            told.append(f"{who(flight.record)} ran out of {way}-{surface} {often(count)}")
    return " and ".join(told)


def _held_over(flight: Flown) -> str:
    found = []
    for axis in ("roll", "yaw"):
        stick = flight.column(f"stick_{axis}")
        for way, sign in (("right", 1.0), ("left", -1.0)):
            held = (sign * stick > AT_ITS_END) & flight.airborne
            if any(spans(flight.time, held, HELD)):
                _, seconds, _ = _when(flight, held, HELD)
                found.append(f"{who(flight.record)} held full {way} {axis} for {seconds:.1f} s")
    return "; ".join(found)


def _pitched_up(flight: Flown) -> str:
    return "it raised its nose by itself after the release"


def _height_lost(flight: Flown) -> str:
    height = flight.column("height_m")
    lost = height[0] - height[flight.time <= JUST_RELEASED].min()
    return f"it sank {flight.record.units.distance(lost, 1)} below the hand"


def _steep(flight: Flown) -> str:
    bank = np.abs(flight.column("roll_deg"))[flight.airborne].max()
    return "it went upside down" if bank > 120.0 else f"it banked {bank:.0f} deg"
