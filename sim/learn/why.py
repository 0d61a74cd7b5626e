"""Why a flight went as it did, in plain words: the likeliest cause first, with its evidence."""

from __future__ import annotations

from math import degrees

from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import NoSource, described, source
from firstthrow.sim.learn.causes import SOUND
from firstthrow.sim.learn.diagnose import WORTH, Diagnosis, Likely, diagnose
from firstthrow.sim.learn.quantities import off_words
from firstthrow.sim.study.faults import FAULTS
from firstthrow.sim.study.verdict import BalanceVerdict

BESIDES = "Besides, "  # a second thing that was so
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
