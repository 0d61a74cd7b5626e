"""Why a flight went as it did, in plain words: the likeliest cause first, with its evidence."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees, log

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import NoSource, described, source
from firstthrow.sim.learn.causes import SOUND, supposed
from firstthrow.sim.learn.diagnose import WORTH, Diagnosis, Likely, diagnose
from firstthrow.sim.learn.quantities import off_words
from firstthrow.sim.study.faults import FAULTS
from firstthrow.sim.study.subject import Subject, subject_of
from firstthrow.sim.study.verdict import BalanceVerdict
from firstthrow.sim.units import rpm as to_rpm

BESIDES = "Besides, "  # a second thing that was so
DRIVE = ("propeller-backwards", "propeller-damaged", "motor-reversed", "weak-pack")
STEADY = 15  # readings
LEAST_THROTTLE, STILL = 0.2, 0.02  # from which a motor turns steadily; by which it stands
SPIN, IDLE, CLEAR = 0.05, 300.0, 2.0  # share a drive scatters by, our judgement; rpm; spreads
ASKED = 0.15  # of a stick, from which it can be said to have asked for something

_STICKS = {  # below 0, above 0
    "roll rate": ("left", "right"),
    "pitch rate": ("forward", "back"),
    "yaw rate": ("left", "right"),
}
_WAYS = {  # what the airframe did beyond what is explained: below 0, above 0
    "roll rate": ("rolled left", "rolled right"),
    "pitch rate": ("dropped its nose", "raised its nose"),
    "yaw rate": ("swung left", "swung right"),
    "u": ("lost speed", "gained speed"),
    "rotor": ("turned its propeller slower", "turned its propeller faster"),
}


def why(record: Record) -> Diagnosis | None:
    """The record diagnosed; None where it does not say what was flown, or shows no free flight."""
    try:
        airframe, field = described(record), source(record).field
    except NoSource:
        return None
    return diagnose(record, airframe, field)


def unflown(record: Record) -> list[str]:
    """The same of a flight without a stretch through free air: what the drive shows on the roll or
    out of the hand, and what does not show there; nothing where it does not say what was flown."""
    try:
        subject = subject_of(described(record), source(record).field)
    except NoSource:
        return []
    return [
        "Why: it never flew free, and balance, reflex, throws and warps show only in the air.",
        *_drive(record, subject),
    ]


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


def lines(found: Diagnosis, units: Units = METRIC) -> list[str]:
    """The cause in one sentence, what it cannot be told from, how one finds it on the ground, and
    what else it may have been."""
    first = found.first
    told = [_headline(found, units)]
    if found.unexplained is not None:
        return told
    names = [name for name in (first.name, *first.alike) if name in FAULTS]
    others = [FAULTS[name].cause for name in first.alike if name in FAULTS]
    if others:
        told.append(f"This flight cannot tell it from this: {' or '.join(others)}.")
    told += [f"On the ground: {text}." for text in dict.fromkeys(FAULTS[n].found for n in names)]
    if others:
        ways = dict.fromkeys(FAULTS[n].flown for n in names if FAULTS[n].flown)
        told += [f"What a flight would have to show: {text}." for text in ways]
    if first.name != SOUND and found.balance is not BalanceVerdict.OK:
        told.append(f"As its file says, besides, {found.balance.fact}.")
    for one in found.besides:
        told.append(f"{BESIDES}{_sure(one.chance)}: {_cause(one)}{_evidence(one, units)}.")
        if one.name in FAULTS and not one.words:
            told.append(f"On the ground: {FAULTS[one.name].found}.")
    rest = [one for one in found.likely[1:] if _is_another(found, one)]
    return told + [f"{_or(first, one)}, {_sure(one.chance)}: {_cause(one)}." for one in rest]


def _or(first: Likely, one: Likely) -> str:
    """Of another cause: instead of the first, or beside it."""
    return "Or" if first.apart == one.apart or one.name == SOUND else "And perhaps"


def _is_another(found: Diagnosis, one: Likely) -> bool:
    told = {found.first.name, *found.first.alike}
    for besides in found.besides:
        told |= {besides.name, *besides.alike}
    return one.chance >= WORTH and one.name not in told


def _headline(found: Diagnosis, units: Units) -> str:
    first = found.first
    if found.unexplained is not None:
        nearest = "" if first.name == SOUND else f" The nearest is this: {_cause(first)}."
        shows = _evidence(found.unexplained, units)
        return f"Why: no one cause that is looked for explains this flight{shows}.{nearest}"
    if first.name == SOUND and found.balance is not BalanceVerdict.OK:
        return (
            f"Why: as its file says, {found.balance.fact}; nothing else wrong with the airframe "
            f"shows in the first {found.looked_at_s:.1f} s ({_sure(found.sound)})."
        )
    if first.name == SOUND:
        sound = f"nothing wrong with the airframe shows in the first {found.looked_at_s:.1f} s"
        faults = [one for one in found.likely if not (one.apart or one.name == SOUND)]
        if any(one.chance > found.sound for one in faults):
            return f"Why: {sound} for certain."
        elsewhere = "; ".join(off_words(off, units) for off in found.off[:2])
        more = f", but {elsewhere}" if elsewhere else ": it flew as its file says"
        return f"Why: {sound} ({_sure(found.sound)}){more}."
    return f"Why: {_cause(first)} ({_sure(first.chance)}){_evidence(first, units)}."


def _sure(chance: float) -> str:
    return "99 % or more" if chance > 0.99 else f"{chance:.0%}".replace("%", " %")


def _cause(one: Likely) -> str:
    if one.words:
        return one.words
    return "nothing but what is in the file" if one.name == SOUND else FAULTS[one.name].cause


def _evidence(one: Likely, units: Units) -> str:
    """Such as ': from 0.3 s it rolled left by 38 deg/s more than sticks, air and file explain'."""
    if one.channel == "fold":
        return (
            f": at {one.from_s:.1f} s it folded at {one.seen:.0%} of what the file's board bears"
        ).replace("%", " %")
    if one.from_s is None or one.channel not in _WAYS:
        return ""
    way = _WAYS[one.channel][one.seen > 0.0]
    if one.channel in _STICKS and abs(one.stick) > ASKED and one.stick * one.went < 0.0:
        stick, went = (_STICKS[one.channel][one.stick > 0.0], _WAYS[one.channel][one.went > 0.0])
        return f": from {one.from_s:.1f} s it {went} while the stick was {stick}"
    amount = {
        "u": units.speed(abs(one.seen)),
        "rotor": f"{abs(one.seen):.0%}".replace("%", " %"),
    }.get(one.channel, f"{abs(degrees(one.seen)):.0f} deg/s")
    return f": from {one.from_s:.1f} s it {way} by {amount} more than sticks, air and file explain"
