"""What was wrong with a flight: every explanation held against the record, the likeliest first.

Each cause is an airframe; how far it leaves the record's short stretches unexplained
(`stretches`) is weighed by what is not known of any airframe (`believed`): with misses y over
their noise and the change J of them by one spread of each uncertain quantity, y is normal with
covariance 1 + J' J (a linear Gaussian model with its unknowns integrated out, e.g. Bishop,
Pattern Recognition and Machine Learning, 2006, sect. 3.5). With how usual each cause is, that
gives its chance by Bayes' rule. Throw, air and throttle are seen in the record itself: they are
held against the plan and its usual scatter.

Approximate: the chances say how the causes compare with one another, not that nothing else could
have been wrong. `benchmarks/diagnose.py` prints how often the first is the true one.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from firstthrow.sim.answer import Answer
from firstthrow.sim.build.deviated import deviated
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.causes import SOUND, Cause, causes
from firstthrow.sim.learn.circumstances import SLIPS, WIDE, Circumstance, circumstances
from firstthrow.sim.learn.evidence import TEMPER, Fit, fit, tells, unsure_of
from firstthrow.sim.learn.hands_seen import hands_seen
from firstthrow.sim.learn.stretches import CHANNELS, LOOKS, Seen, misses
from firstthrow.sim.once import once_for
from firstthrow.sim.study.band.band import limits_verdict
from firstthrow.sim.study.subject import subject_of
from firstthrow.sim.study.verdict import BalanceVerdict

UNTIL = 6.0  # seconds of a flight that are looked at: its first, where faults show
# A cause is looked at again, with changes about itself, where it explains the record better than
# the description by this log likelihood, and no worse than the best by that, or as one of so many.
GAIN, LATE, LOOKED_AT, MOST_LOOKED_AT = 1.0, 8.0, 3, 8
CLAIM = 1.5  # times as likely as none a fault must be to be claimed
# Share of sound flights of which a fault may be claimed at most: the record must then be so many
# times likelier with the fault than without (Markov's inequality: over sound flights the mean of
# that ratio is one).
FALSELY = 0.03
ALIKE = 3.0  # log likelihood that tells causes apart
OFF = 1.3  # spreads that a quantity lies off its file, to be said
SURE = 3.0  # spreads of what the record leaves open that it lies off
WORTH = 0.1  # chance from which a cause is worth a thought
FAINT = 1e-3  # and below which nothing more is worked out of it
STIRRED = 0.1  # of a stick, from which it asks for something
STICKS = {3: 0, 4: 1, 5: 2}  # of channels, the column of sticks that drives each
# Gain in log likelihood by which a stretch tells for a cause, at the least and of the most.
TOLD, CLEARLY = 2.0, 0.05


@dataclass(frozen=True)
class Off(Answer):
    """A quantity that the record puts elsewhere than the file, SI."""

    name: str
    amount: float
    spread: float


@dataclass(frozen=True)
class Likely(Answer):
    """A cause, with its chance among all that may be wrong with the airframe, or among all that
    throw, air and hands may have done, and where in time it shows.

    `alike`: other causes that no record of such a flight could tell from it; of the airframe as
    described those that are worth a thought. `went`, `stick`: what the channel and its stick did
    there on the whole, SI.
    """

    name: str
    chance: float
    from_s: float | None
    channel: str
    seen: float  # what the channel did beyond what sticks, air and file explain, SI
    alike: tuple[str, ...]
    words: str
    went: float = 0.0
    stick: float = 0.0


@dataclass(frozen=True)
class Diagnosis(Answer):
    """Likeliest first. `off`: what the likeliest airframe still has elsewhere than its file.
    `balance`: where the file itself puts it against the limits of steady flight. `besides`: what
    is claimed together with the likeliest: of throw, air and hands beside a fault of the airframe,
    or the other way round."""

    likely: tuple[Likely, ...]
    off: tuple[Off, ...]
    balance: BalanceVerdict
    looked_at_s: float
    besides: tuple[Likely, ...] = ()

    @property
    def first(self) -> Likely:
        return self.likely[0]


class Examined:
    """One record, and what causes leave of it."""

    def __init__(
        self, record: Record, airframe: Airframe, field: Field, noise: np.ndarray | None
    ) -> None:
        self.subject = subject_of(airframe, field)  # one for all flights of an evening
        self.seen = Seen(record, self.subject, UNTIL, noise)
        self.unknowns, self.shifts, self.ways = unsure_of(self.subject)
        self.unsure = (0.0, 0.0) if noise is None else (float(noise[0, 0]), float(noise[0, 6]))
        self.missed: dict[str, np.ndarray] = {}
        self.slopes: dict[str, np.ndarray] = {}

    def leaves(self, cause: Cause) -> np.ndarray:
        if cause.name not in self.missed:
            self.missed[cause.name] = misses(self.seen, cause.airframe, cause.model, cause.asleep)
        return self.missed[cause.name]

    def leaves_of(self, name: str) -> np.ndarray:
        """Of a cause that has been flown."""
        return self.missed[name]

    def moved(self, cause: Cause) -> np.ndarray:
        """(unknowns, n) change of what is left by one spread of each: flown along `ways`."""
        if cause.name not in self.slopes:
            here = self.leaves(cause)
            changes = []
            for way in self.ways:
                off = {
                    one.key: share * one.spread
                    for one, share in zip(self.unknowns, way, strict=True)
                    if share
                }
                model = deviated(cause.model, cause.airframe, off)
                changes.append(misses(self.seen, cause.airframe, model, cause.asleep) - here)
            self.slopes[cause.name] = self.ways.T @ np.array(changes).reshape(len(changes), -1)
        return self.slopes[cause.name]


@once_for(2)
def examined(
    record: Record, airframe: Airframe, field: Field, noise: np.ndarray | None = None
) -> Examined:
    """A record with airframe and field as described, faults unknown."""
    return Examined(record, airframe, field, noise)


def diagnose(
    record: Record, airframe: Airframe, field: Field, noise: np.ndarray | None = None
) -> Diagnosis | None:
    """The record explained; airframe and field as described, faults unknown.

    None where no stretch of free flight was recorded. A person's, a program's and a log's record
    are alike: only sticks, air, motion and rotor speed are used; noise: of a log, see `Seen`.
    """
    held = examined(record, airframe, field, noise)
    if not held.seen.parts:
        return None
    tried = causes(held.subject, held.seen)
    fits = {c.name: fit(held.leaves(c).ravel(), held.moved(tried[0])) for c in tried}
    _look_again(held, tried, fits)
    weights = {c.name: fits[c.name].log_likelihood + c.besides + log(c.usual) for c in tried}
    seen = [
        *circumstances(record, held.subject, held.unsure),
        *hands_seen(record, UNTIL, held.subject),
    ]
    off = _quantities(held, fits[SOUND])
    weights |= {one.name: weights[SOUND] + one.log_evidence for one in off}
    chances = chances_of(weights, {one.name: one.log_evidence for one in seen})
    claims = _claims(held, tried, chances, {one.name for one in seen})
    likely = _ranked(held, tried, chances, claims, {one.name: one for one in (*seen, *off)})
    return Diagnosis(
        likely=likely,
        off=_off(held, fits[SOUND]),
        balance=limits_verdict(held.subject),
        looked_at_s=float(min(UNTIL, record.column("time_s")[-1])),
        besides=tuple(one for one in likely if one.name in claims[1:]),
    )


def chances_of(weights: dict[str, float], evidence: dict[str, float]) -> dict[str, float]:
    """Of what may be wrong with the airframe, from log weights, and of what throw, air and hands
    did, from log evidence; the one is so whatever the other, and nothing is wrong where neither
    is."""
    airframe = np.array(list(weights.values()))
    found = dict(zip(weights, np.exp(airframe - np.logaddexp.reduce(airframe)), strict=True))
    others = np.array([0.0, *evidence.values()])
    none, *shares = np.exp(others - np.logaddexp.reduce(others))
    found[SOUND] *= none
    found |= dict(zip(evidence, shares, strict=True))
    return {name: float(chance) for name, chance in found.items()}


def _look_again(held: Examined, tried: list[Cause], fits: dict[str, Fit]) -> None:
    """The likeliest causes with changes about themselves, until the first is one of those."""
    sound, looked_at = fits[SOUND].log_likelihood, set[str]()
    while len(looked_at) < MOST_LOOKED_AT:
        ranked = sorted(tried[1:], key=lambda one: -fits[one.name].log_likelihood)
        best = fits[ranked[0].name].log_likelihood
        wanted = [
            cause
            for k, cause in enumerate(ranked)
            for now in [fits[cause.name].log_likelihood]
            if now > sound + GAIN and (k < LOOKED_AT or now > best - LATE)
        ]
        left = [cause for cause in wanted if cause.name not in looked_at]
        if not left or (looked_at and ranked[0].name in looked_at):
            return
        for cause in left:
            looked_at.add(cause.name)
            fits[cause.name] = fit(held.leaves(cause).ravel(), held.moved(cause))


def _ranked(
    held: Examined,
    tried: list[Cause],
    chances: dict[str, float],
    claims: list[str],
    seen: dict[str, Circumstance],
) -> tuple[Likely, ...]:
    by_name = {cause.name: cause for cause in tried}
    faults = sorted((name for name in chances if name != SOUND), key=lambda one: -chances[one])
    if not claims:
        order = [SOUND, *faults]
    else:
        rest = [name for name in chances if name != claims[0]]
        order = [claims[0], *sorted(rest, key=lambda one: -chances[one])]
    found = []
    for name in order:
        chance = chances[name]
        if name in seen:
            one = seen[name]
            found.append(Likely(name, chance, one.at_s, "", one.value, (), one.words))
        else:
            shown = _shows(held, by_name[name])
            least = WORTH if name == SOUND else 0.0
            alike = tuple(
                other.name
                for other in tried
                if other.name not in (name, SOUND)
                and chance > FAINT
                and chances[other.name] >= least
                and _alike(held, by_name[name], other)
            )
            found.append(Likely(name, chance, *shown[:3], alike, "", *shown[3:]))
    return tuple(found)


def _claims(
    held: Examined, tried: list[Cause], chances: dict[str, float], apart: set[str]
) -> list[str]:
    """What is claimed, likeliest first: at most one fault of the airframe, and one thing that
    throw, air or hands did (`apart`)."""
    found = []
    of_airframe = [one for one in chances if one != SOUND and one not in apart]
    for family in (of_airframe, [one for one in chances if one in apart]):
        none = max(0.0, 1.0 - sum(chances[one] for one in family))
        found += [
            name
            for name in sorted(family, key=lambda one: -chances[one])
            if _is_claimed(held, tried, chances, none, name)
        ][:1]
    return sorted(found, key=lambda one: -chances[one])


def _is_claimed(
    held: Examined, tried: list[Cause], chances: dict[str, float], none: float, name: str
) -> bool:
    """Whether a fault is claimed, together with what no record could tell from it. `none`: chance
    that nothing of its kind is wrong."""
    fault = next((one for one in tried if one.name == name), None)
    if fault is None:
        return chances[name] > CLAIM * none
    alike = [one for one in tried[1:] if one is fault or _alike(held, fault, one)]
    claimed, usual = sum(chances[one.name] for one in alike), sum(one.usual for one in alike)
    likelier = claimed * tried[0].usual > none * usual / FALSELY
    return claimed > CLAIM * none and likelier


def _alike(held: Examined, one: Cause, other: Cause) -> bool:
    """Whether this record could not tell two causes apart."""
    apart = (held.leaves(one) - held.leaves(other)).ravel()
    silent = abs(one.besides - other.besides)
    return tells(apart, held.slopes.get(one.name, held.slopes[SOUND])) + silent < ALIKE


NAMES = ("u", "v", "w", "roll rate", "pitch rate", "yaw rate", "roll", "pitch", "yaw", "rotor")


def _shows(held: Examined, cause: Cause) -> tuple[float | None, str, float, float, float]:
    """When a record first tells clearly for a cause and against the description, by which channel,
    by how much that went beyond what the description explains, how it went, and its stick."""
    plain, here = held.missed[SOUND], held.leaves(cause)
    gain = 0.5 * np.sum(plain**2 - here**2, axis=(1, 2)) / TEMPER
    telling = np.flatnonzero(gain > max(TOLD, CLEARLY * float(gain.max(initial=0.0))))
    if cause.name == SOUND or not telling.size:
        return None, "", 0.0, 0.0, 0.0
    part = int(telling[0])
    by_channel = np.sum(plain[part] ** 2 - here[part] ** 2, axis=0)
    channel = int(np.argmax(by_channel[[3, 4, 5, 0, 9]]))
    channel = (3, 4, 5, 0, 9)[channel]
    rows = [k for k, look in enumerate(LOOKS) if look <= held.seen.parts[part].rows]
    value = float(plain[part, rows[-1], channel] * held.seen.noise[part, rows[-1], channel])
    time = held.seen.record.column("time_s")
    first, count = held.seen.parts[part]
    inside = slice(first + 1, first + count + 1)
    if channel not in STICKS:
        return float(time[first]), NAMES[channel], value, 0.0, 0.0
    stick = held.seen.sticks[inside, STICKS[channel]]
    way = held.seen.motion[inside, 4 + channel]
    stirred = np.flatnonzero(np.abs(stick) > STIRRED)
    if not stirred.size:
        return float(time[first]), NAMES[channel], value, float(way.mean()), 0.0
    side = np.sign(stick[stirred[0]])
    begins = int(stirred[0])
    other = np.flatnonzero(side * stick[begins:] < STIRRED)
    push = slice(begins, begins + int(other[0]) if other.size else len(stick))
    start, asked = float(time[first + 1 + begins]), float(stick[push].mean())
    return start, NAMES[channel], value, float(way[push].mean()), asked


def _off(held: Examined, found: Fit) -> tuple[Off, ...]:
    """Quantities that the record puts clearly elsewhere, the furthest first. The balance stands
    for all that moves it against the neutral point."""
    told = []
    for words, along, unit in _directions(held):
        at, usual = float(along @ found.at), float(np.linalg.norm(along))
        left = float(np.sqrt(along @ found.covariance @ along))
        if abs(at) > OFF * usual and abs(at) > SURE * left:
            told.append((abs(at) / usual, Off(words, at * unit, left * unit)))
    return tuple(off for _, off in sorted(told, key=lambda pair: -pair[0]))


def _directions(held: Examined) -> list[tuple[str, np.ndarray, float]]:
    """What may be off, each with its share of every unknown's spread, and its unit of that."""
    rows = [("balance", held.shifts, 1.0)]
    for n, one in enumerate(held.unknowns):
        if not held.shifts[n]:
            rows.append((one.words, np.eye(len(held.unknowns))[n], one.spread))
    return rows


def _quantities(held: Examined, plain: Fit) -> tuple[Circumstance, ...]:
    """Each quantity as a slip: its scatter WIDE times the usual, which is a wider normal still."""
    missed, slopes = held.leaves_of(SOUND).ravel(), held.slopes[SOUND]
    rows, found = _directions(held), []
    for words, along, unit in rows:
        usual = float(np.linalg.norm(along))
        if usual == 0.0:
            continue
        way = along / usual
        wider = np.eye(len(slopes)) + (WIDE - 1.0) * np.outer(way, way)
        slip = fit(missed, wider @ slopes)
        evidence = slip.log_likelihood - plain.log_likelihood + log(SLIPS / len(rows))
        if evidence > 0.0:
            along = wider @ along
            left = float(np.sqrt(along @ slip.covariance @ along))
            off = Off(words, float(along @ slip.at) * unit, left * unit)
            told = off_words(off, held.subject.airframe.units)
            found.append(Circumstance(f"{words} off", evidence, 0.0, off.amount, told))
    return tuple(found)


def off_words(off: Off, units: Units) -> str:
    """Such as 'it balanced 9 ± 2 mm further aft than the file says'."""
    if off.name == "balance":
        way = "aft" if off.amount > 0.0 else "forward"
        amount = f"{units.bare_length(abs(off.amount))} ± {units.length(off.spread)} further {way}"
        return f"it balanced {amount} than the file says"
    return f"the {off.name} is not what the file says"


assert len(NAMES) == CHANNELS
