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

from dataclasses import replace
from math import log

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.flown_by import is_own
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.causes import SOUND, Cause, causes
from firstthrow.sim.learn.circumstances import Circumstance, circumstances
from firstthrow.sim.learn.claims import alike, claims
from firstthrow.sim.learn.evidence import TEMPER, UNTIL, Examined, Fit, examined
from firstthrow.sim.learn.hands_seen import hands_seen
from firstthrow.sim.learn.quantities import Off, off_file, slips
from firstthrow.sim.learn.stretches import CHANNELS, LOOKS
from firstthrow.sim.study.band.band import limits_verdict
from firstthrow.sim.study.verdict import BalanceVerdict

# A cause is looked at again, with changes about itself, where it explains the record better than
# the description by this log likelihood, and no worse than the best by that, or as one of so many.
GAIN, LATE, LOOKED_AT, MOST_LOOKED_AT = 1.0, 8.0, 3, 8
NEARLY = 15.0  # log likelihood below the best from which a cause is flown where it fits best
WORTH = 0.1  # chance from which a cause is worth a thought
STIRRED = 0.1  # of a stick, from which it asks for something
LEFT = 1.5  # times the noise, squared, that may be left of a flight: sound ones leave up to 0.9
EXPLAINS = 0.1  # of that: what a cause that is the true one leaves at most
TELLING = (3, 4, 5, 0, 9)  # channels in which a cause is shown
OF_ANOTHER = np.zeros((len(LOOKS), CHANNELS))  # noise of its own that such a record has
STICKS = {3: 0, 4: 1, 5: 2}  # of channels, the column of sticks that drives each
# Gain in log likelihood by which a stretch tells for a cause, at the least and of the most.
TOLD, CLEARLY = 2.0, 0.05


@frozen
class Likely(Answer):
    """A cause, with its chance among all that may be wrong with the airframe, or among all that
    throw, air and hands may have done, and where in time it shows.

    `alike`: other causes that no record of such a flight could tell from it, where it is worth a
    thought; of the airframe as described those that are. `went`, `stick`: what the channel and its
    stick did there on the whole, SI.
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
    apart: bool = False  # of throw, air or hands: so whatever the airframe was


@frozen
class Diagnosis(Answer):
    """Likeliest first. `off`: what the likeliest airframe still has elsewhere than its file.
    `balance`: where the file itself puts it against the limits of steady flight. `besides`: what
    is claimed together with the likeliest: of throw, air and hands beside a fault of the airframe,
    or the other way round. `sound`: chance that nothing is wrong with the airframe, whatever throw,
    air and hands did. `unexplained`: what went most beyond even the likeliest, where that leaves
    more than noise does."""

    likely: tuple[Likely, ...]
    off: tuple[Off, ...]
    balance: BalanceVerdict
    looked_at_s: float
    besides: tuple[Likely, ...] = ()
    sound: float = 1.0
    unexplained: Likely | None = None

    @property
    def first(self) -> Likely:
        return self.likely[0]


def diagnose(
    record: Record, airframe: Airframe, field: Field, noise: np.ndarray | None = None
) -> Diagnosis | None:
    """The record explained; airframe and field as described, faults unknown.

    None where no stretch of free flight was recorded. A person's, a program's and a log's record
    are alike: only sticks, air, motion and rotor speed are used; noise: of a log, see `Seen`. Of a
    record that other physics flew, the model is trusted no further than of a log.
    """
    if noise is None and not is_own(record.meta):
        noise = OF_ANOTHER
    held = examined(record, airframe, field, noise)
    if not held.seen.parts:
        return None
    tried = causes(held.subject, held.seen)
    fits = _fits(held, tried)
    _look_again(held, tried, fits)
    weights = {c.name: fits[c.name].log_likelihood + c.besides + log(c.usual) for c in tried}
    seen = [
        *circumstances(record, held.subject, held.unsure),
        *hands_seen(record, UNTIL, held.subject),
    ]
    off = slips(held, fits[SOUND])
    weights |= {one.name: weights[SOUND] + one.log_evidence for one in off}
    chances = chances_of(weights, {one.name: one.log_evidence for one in seen})
    apart = {one.name for one in seen}
    claimed = claims(held, tried, chances, apart)
    likely = _ranked(held, tried, chances, claimed, {one.name: one for one in (*seen, *off)})
    likely = tuple(replace(one, apart=one.name in apart) for one in likely)
    return Diagnosis(
        likely=likely,
        off=off_file(held, fits[SOUND]),
        balance=limits_verdict(held.subject),
        looked_at_s=float(min(UNTIL, record.column("time_s")[-1])),
        besides=tuple(one for one in likely if one.name in claimed[1:]),
        unexplained=_unexplained(held, tried, weights, fits | {c.name: f for c, f in off.items()}),
        sound=max(0.0, 1.0 - sum(chances[name] for name in weights if name != SOUND)),
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


def _fits(held: Examined, tried: list[Cause]) -> dict[str, Fit]:
    """All causes by the changes about the description; the likely ones where they fit best."""
    fits = {cause.name: held.fitted(cause, tried[0], 0) for cause in tried}
    likely = max(one.log_likelihood for one in fits.values()) - NEARLY
    plain = held.leaves(tried[0])
    for cause in tried:
        if fits[cause.name].log_likelihood < likely:
            continue
        same = cause is not tried[0] and np.array_equal(held.leaves(cause), plain)
        fits[cause.name] = fits[SOUND] if same else held.fitted(cause, tried[0])
    return fits


def _look_again(held: Examined, tried: list[Cause], fits: dict[str, Fit]) -> None:
    """The likeliest causes with changes about themselves, until all of the likeliest are."""
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
        if not left:
            return
        for cause in left:
            looked_at.add(cause.name)
            fits[cause.name] = held.fitted(cause, cause)


def _ranked(
    held: Examined,
    tried: list[Cause],
    chances: dict[str, float],
    claimed: list[str],
    seen: dict[str, Circumstance],
) -> tuple[Likely, ...]:
    by_name = {cause.name: cause for cause in tried}
    faults = sorted((name for name in chances if name != SOUND), key=lambda one: -chances[one])
    if not claimed:
        order = [SOUND, *faults]
    else:
        rest = [name for name in chances if name != claimed[0]]
        order = [claimed[0], *sorted(rest, key=lambda one: -chances[one])]
    found = []
    for name in order:
        chance = chances[name]
        if name in seen:
            one = seen[name]
            found.append(Likely(name, chance, one.at_s, "", one.value, (), one.words))
        else:
            shown = _shows(held, by_name[name])
            least = WORTH if name == SOUND else 0.0
            like = tuple(
                other.name
                for other in tried
                if other.name not in (name, SOUND)
                and chance >= WORTH
                and chances[other.name] >= least
                and alike(held, by_name[name], other)
            )
            found.append(Likely(name, chance, *shown[:3], like, "", *shown[3:]))
    return tuple(found)


def _unexplained(
    held: Examined, tried: list[Cause], weights: dict[str, float], fits: dict[str, Fit]
) -> Likely | None:
    """Where the likeliest airframe leaves most; None where it leaves no more than noise does, and
    quantities lie no further off than luck puts them; or only a small share of what the described
    one leaves: a flight that tumbles is told no better."""
    name = max(weights, key=lambda one: weights[one])
    values = CHANNELS * int(held.seen.valid.sum())
    if not (fits[name].strains or fits[name].left > LEFT * values):
        return None
    if fits[name].misfit < EXPLAINS * fits[SOUND].misfit:
        return None
    missed = fits[name].missed.reshape(held.leaves(tried[0]).shape)
    part = int(np.argmax(np.sum(missed**2, axis=(1, 2))))
    return Likely(
        name, 0.0, *_beyond(held, missed, part, np.sum(missed[part] ** 2, axis=0)), (), ""
    )


def _beyond(
    held: Examined, missed: np.ndarray, part: int, by_channel: np.ndarray
) -> tuple[float, str, float]:
    """When a stretch begins, its channel that tells most, and by how much that went beyond what
    is explained at most [SI]."""
    channel = max(TELLING, key=lambda one: by_channel[one])
    rows = [k for k, look in enumerate(LOOKS) if look <= held.seen.parts[part].rows]
    row = max(rows, key=lambda one: abs(missed[part, one, channel]))
    value = float(missed[part, row, channel] * held.seen.noise[part, row, channel])
    return (
        float(held.seen.record.column("time_s")[held.seen.parts[part].first]),
        NAMES[channel],
        value,
    )


NAMES = ("u", "v", "w", "roll rate", "pitch rate", "yaw rate", "roll", "pitch", "yaw", "rotor")


def _shows(held: Examined, cause: Cause) -> tuple[float | None, str, float, float, float]:
    """When a record first tells clearly for a cause and against the description, by which channel,
    by how much that went beyond what the description explains, how it went, and its stick."""
    if cause.folded_at:
        return float(held.seen.record.column("time_s")[-1]), "fold", cause.folded_at, 0.0, 0.0
    plain, here = held.missed[SOUND], held.leaves(cause)
    gain = 0.5 * np.sum(plain**2 - here**2, axis=(1, 2)) / TEMPER
    telling = np.flatnonzero(gain > max(TOLD, CLEARLY * float(gain.max(initial=0.0))))
    if cause.name == SOUND or not telling.size:
        return None, "", 0.0, 0.0, 0.0
    part = int(telling[0])
    by_channel = np.sum(plain[part] ** 2 - here[part] ** 2, axis=0)
    begins_s, name, value = _beyond(held, plain, part, by_channel)
    time, channel = held.seen.record.column("time_s"), NAMES.index(name)
    first, count = held.seen.parts[part]
    inside = slice(first + 1, first + count + 1)
    if channel not in STICKS:
        return begins_s, name, value, 0.0, 0.0
    stick = held.seen.sticks[inside, STICKS[channel]]
    way = held.seen.motion[inside, 4 + channel]
    stirred = np.flatnonzero(np.abs(stick) > STIRRED)
    if not stirred.size:
        return begins_s, name, value, float(way.mean()), 0.0
    side = np.sign(stick[stirred[0]])
    begins = int(stirred[0])
    other = np.flatnonzero(side * stick[begins:] < STIRRED)
    push = slice(begins, begins + int(other[0]) if other.size else len(stick))
    start, asked = float(time[first + 1 + begins]), float(stick[push].mean())
    return start, name, value, float(way[push].mean()), asked


assert len(NAMES) == CHANNELS
