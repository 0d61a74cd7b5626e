"""What a flight shows that never flew free: on the roll, or out of the hand."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, isfinite, log, nan

import numpy as np

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.flight import READINGS, Flight
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import NoSource, described, replay, source
from firstthrow.sim.learn.causes import supposed
from firstthrow.sim.study.faults import FAULTS
from firstthrow.sim.study.subject import Subject, subject_of
from firstthrow.sim.units import rpm as to_rpm

DRIVE = ("propeller-backwards", "propeller-damaged", "motor-reversed", "weak-pack")
STEADY = 15  # readings
LEAST_THROTTLE, STILL = 0.2, 0.02  # from which a motor turns steadily; by which it stands
SPIN, IDLE, CLEAR = 0.05, 300.0, 2.0  # share a drive scatters by, our judgement; rpm; spreads
FAST, LONG = 1.15, 0.5  # times the stall speed, and how long, from which it ought to lift [s]
LIFTED, AFTER = 0.5, 5.0  # above where it stood [m]; watched so long after it was first fast [s]
HEAVY = 0.10  # of the chord that a nose-heavy one is further forward by than its file says
NOSE_HEAVY = "it balances further forward than the file says"


def unflown(record: Record) -> list[str]:
    """In sentences; nothing where the record does not say what was flown."""
    try:
        subject = subject_of(described(record), source(record).field)
    except NoSource:
        return []
    return list(_stayed(record, subject)) or [
        "Why: it never flew free, and balance, reflex, throws and warps show only in the air.",
        *_drive(record, subject),
    ]


def _stayed(record: Record, subject: Subject) -> Iterator[str]:
    """Why it stayed on its wheels though it ran fast enough: whether these sticks lift it as it is
    described, and with each thing that may be wrong."""
    time, speed = record.column("time_s"), record.column("airspeed_m_s")
    stall = record.column("stall_speed_m_s")
    fast = (time > 0.0) & (speed > FAST * stall)
    if record.meta.get("launch") != "ground" or fast.sum() < LONG * READINGS:
        return
    end = min(float(time[-1]), float(time[fast][0]) + AFTER)
    row = int(np.argmax(np.where(time <= end, speed / stall, 0.0)))
    told = (
        f"Why: it rolled at {subject.airframe.units.speed(float(speed[row]))}, "
        f"{100 * (speed[row] / stall[row] - 1.0):.0f} % over its stall speed, and did not lift"
    )
    lifts = _lifts(record, subject.airframe, subject.model, subject, end)
    if not isfinite(lifts):
        yield f"{told}; nor does it by its file with these sticks."
        return
    stays = [
        one.name
        for one in supposed(subject)
        if one.name not in DRIVE and _lifts(record, one.airframe, one.model, subject, end) == inf
    ]
    shift = subject.airframe.corrections.balance - HEAVY * subject.chord
    heavy = put(subject.airframe, ("corrections", "balance"), shift)
    causes = [FAULTS[name].cause for name in stays]
    if _lifts(record, heavy, build(heavy, subject.field), subject, end) == inf:
        causes.append(NOSE_HEAVY)
    so = (
        f"; not so with this: {' or '.join(causes)}"
        if causes
        else ", and so they do with every fault looked for"
    )
    yield f"{told}; by its file these sticks lift it after {lifts:.1f} s{so}."
    yield from (f"On the ground: {FAULTS[name].found}." for name in stays)
    if NOSE_HEAVY in causes:
        yield f"On the ground: {FAULTS['cg-aft'].found}."


def _lifts(record: Record, airframe: Airframe, model: Model, subject: Subject, end: float) -> float:
    """When the record's sticks lift an airframe off its wheels [s]: inf where they do not, NaN
    where it ends otherwise before."""
    seed = int(record.meta.get("seed", 0))
    flight, pilot = Flight(airframe, subject.field, "ground", seed, model), replay(record)
    reading = flight.reading()
    stood = reading.height_m
    while flight.outcome is None and reading.time_s < end:
        flight.advance(1.0 / READINGS, pilot(reading))
        reading = flight.reading()
        if reading.height_m > stood + LIFTED:
            return reading.time_s
    return inf if flight.outcome is None else nan


def _drive(record: Record, subject: Subject) -> Iterator[str]:
    """The rotor's speed when it, and the throttle, last stood for a quarter of a second, against
    what the described drive does there, and one with each fault."""
    throttle, names = record.column("throttle"), tuple(subject.airframe.motors)
    if not names:
        return
    turns = np.max([np.abs(record.column(f"motor_{name}_rpm")) for name in names], axis=0)
    steady = [
        row - 1
        for row in range(STEADY, len(throttle) + 1)
        for part in [slice(row - STEADY, row)]
        if throttle[part].min() > LEAST_THROTTLE
        and np.ptp(throttle[part]) < STILL
        and np.ptp(turns[part]) < STILL * turns[row - 1]
    ]
    if not steady:
        yield "Nor did the motor run evenly for long enough to tell of the drive."
        return
    row = steady[-1]
    seen = float(turns[row])
    speed = float(record.column("airspeed_m_s")[row])

    def off(model: Model) -> float:
        """Spreads by which it turned otherwise."""
        wanted = to_rpm(abs(equilibrium(model, float(throttle[row]), speed).rotor))
        return abs(log((seen + IDLE) / (wanted + IDLE))) / SPIN

    where = "On the roll" if record.meta.get("launch") == "ground" else "Out of the hand"
    told = f"{where}, at {100 * throttle[row]:.0f} % throttle, it turned {seen:.0f} rpm"
    like = [one.name for one in supposed(subject) if one.name in DRIVE and off(one.model) < CLEAR]
    causes = " or ".join(FAULTS[name].cause for name in like)
    if off(subject.model) < CLEAR:
        others = f"; but so it would with this: {causes}" if like else ""
        yield f"{told}, as its file says{others}."
    else:
        so = f"; so it does with this: {causes}" if causes else ", and nothing looked for does so"
        yield f"{told}, not as its file says{so}."
    yield from (f"On the ground: {FAULTS[name].found}." for name in like)
