"""The cause of a flight put right, and flown: the same throw and sticks again, then many launches.

The least that removes the cause: what was wrong with the airframe as described again, the throw as
planned, the balance as far forward or aft as the least margin asks, hands that do not do it. What
costs more launches than it saves, such as ballast that makes it too heavy to throw, is no cure.
Hands that go too far or come too late keep their habits, and meet gentler throws (`gentler`).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.sticks import Stick, Sticks
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import NoSource, described, replay, source
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.flight.skills import Skill
from firstthrow.sim.kernels.batch import HELD_BACK
from firstthrow.sim.learn.causes import SOUND
from firstthrow.sim.learn.diagnose import Diagnosis, Likely
from firstthrow.sim.learn.gentler import PLAN, gentler, slip_of
from firstthrow.sim.study.advice.changes import Change, ballasted
from firstthrow.sim.study.band.band import limits_verdict
from firstthrow.sim.study.band.limits import limits
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.odds.launches import run, setup
from firstthrow.sim.study.odds.survival import SECONDS
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

SAME_HANDS = "hands that do the same"
SURE = 0.5  # chance from which a cause is put right
LAUNCHES = 48
SPARE = 0.01  # of the chord ahead of the rear limit
BALANCED = (BalanceVerdict.TOO_FAR_AFT, BalanceVerdict.BEHIND_NEUTRAL_POINT)

OF_THE_THROW = {  # what of a throw is wrong, and is thrown as planned again
    "slow-throw": "speed",
    "steep-throw": "pitch",
    "rolled-throw": "bank",
    "low-throttle": "throttle",
    "high-throttle": "throttle",
    "up-held": "back",
}


@frozen
class Cured(Answer):
    """Launches that survive of `launches` simulated ones by some `hands`, with the cause (`before`)
    and with it put right (`after`), the same ones. `change`: what is done about it. How the same
    throw then ended: `same_sticks` with the sticks as they were, `again` in those hands."""

    cause: str
    change: str
    hands: str
    same_sticks: Outcome
    again: Outcome
    launches: int
    before: int
    after: int
    by_hands: bool = False  # what was wrong were the hands: their sticks are what went wrong

    @property
    def words(self) -> list[str]:
        sticks = f"The same throw with the sticks as they were: {self.same_sticks.text}"
        if not (self.same_sticks.word.survived or self.by_hands):
            sticks += " They answered what is no longer wrong, and nobody answered to the change."
        return [
            f"The same throw in {self.hands}, with {self.change}: {self.again.text}",
            sticks,
            f"Of {self.launches} launches by {self.hands} {self.after} survive put right, "
            f"{self.before} as it was.",
        ]


class _Cure(NamedTuple):
    """What was thrown, and what is thrown instead; hands that did it, where it was the hands;
    `keeps`: they do it still. `righted`: what of the throw and the sticks goes back to the plan."""

    change: str
    wrong: tuple[Airframe, Field]
    right: tuple[Airframe, Field]
    hands: Skill | None = None
    keeps: bool = False
    righted: tuple[Likely, ...] = ()


def cured(record: Record, found: Diagnosis | None) -> Cured | None:
    """None where nothing is to be put right, no cause fits, or nothing can be thrown again."""
    if found is None or found.unexplained is not None or found.first.chance < SURE:
        return None
    if record.meta.get("launch", "hand") == "ground":
        return None
    try:
        airframe, field = described(record), source(record).field
        cure = None if airframe.launch.hand is None else _cure(record, found, airframe, field)
    except (NoSource, ConfigError):
        return None
    if cure is None:
        return None
    slip = PLAN._replace(mine=cure.hands)
    then = slip if cure.keeps else PLAN
    wrong, right = setup(Subject(*cure.wrong), slip), setup(Subject(*cure.right), then)
    if cure.keeps:
        right = right._replace(hands=wrong.hands)
    before, after = run([wrong], slip, LAUNCHES)[0], run([right], then, LAUNCHES)[0]
    if after.survived < before.survived:
        return None
    airframe, field = cure.right
    names = [one.name for one in cure.righted]
    thrown = _thrown(record, airframe, names)
    flown = float(record.column("time_s")[-1])
    seed = int(record.meta.get("seed", 0))
    sticks = _let_go(replay(record)) if "up-held" in names else replay(record)
    if any(OF_THE_THROW.get(name) == "throttle" for name in names):
        sticks = _throttled(sticks, airframe.launch.by_hand.throttle)
    same = fly(thrown, field, sticks, max(1.0, flown), "hand", seed)
    human = Human(*cure.wrong, cure.hands) if cure.keeps and cure.hands else Human(airframe, field)
    again = fly(thrown, field, human, SECONDS, "hand", seed)
    survived = before.survived, after.survived
    hands = SAME_HANDS if cure.keeps else "club hands"
    told = found.first.name, cure.change, hands, same.end, again.end, LAUNCHES, *survived
    return Cured(*told, cure.hands is not None)


def _cure(record: Record, found: Diagnosis, airframe: Airframe, field: Field) -> _Cure | None:
    name, right = found.first.name, (airframe, field)
    claimed = (found.first, *found.besides)
    cards = [one.name for one in claimed if one.name in FAULTS and one.name not in OF_THE_THROW]
    thrown = [one for one in claimed if one.name in OF_THE_THROW]
    if name in (*cards, *(one.name for one in thrown)):
        wrong = right
        for card in cards:
            wrong = apply(card, *wrong)
        done = {OF_THE_THROW[one.name]: _of_throw(record, one) for one in thrown}
        if done:
            wrong = (_with_hand(wrong[0], **done), wrong[1])
        words = ["that put right"] if cards else []
        words += [f"its {_WORDS[one.name]} as planned" for one in thrown]
        slips = (slip_of(one.name, one.seen) for one in claimed)
        hands = next((slip for slip in slips if slip is not None), None)
        words += ["hands that do not do it"] if hands is not None else []
        return _Cure(" and ".join(words), wrong, right, hands, righted=claimed)
    if name == "balance off":
        known = airframe.corrections
        really = known.model_copy(update={"balance": known.balance + found.first.seen})
        return _balanced(airframe.model_copy(update={"corrections": really}), field)
    if name == SOUND and found.balance in BALANCED:
        return _balanced(airframe, field)
    hands = slip_of(name, found.first.seen)
    if hands is None:
        return None
    soft = gentler(Subject(airframe, field), name, hands)
    if soft is not None:
        return _Cure(soft.words, right, (soft.airframe, field), hands, keeps=True)
    return _Cure("hands that do not do it", right, right, hands)


_WORDS = {
    "slow-throw": "speed",
    "steep-throw": "nose",
    "rolled-throw": "wings",
    "low-throttle": "throttle",
    "high-throttle": "throttle",
    "up-held": "pitch stick",
}


def balanced(subject: Subject) -> Change | None:
    """As little as brings the balance within the limits of steady flight, by what weighs least: the
    pack moved, else ballast; where that is not to be had, the margin that was wanted."""
    rear = (subject.neutral_point - limits(subject).rear.aft) / subject.chord
    wanted = subject.airframe.margin
    for margin in sorted({min(wanted, rear + SPARE), wanted}):
        ways = [
            way
            for way in ballasted(subject, margin)
            if limits_verdict(subject.changed(way.airframe)) is BalanceVerdict.OK
        ]
        if ways:
            return min(ways, key=lambda way: balance(parts(way.airframe)).mass)
    return None


def _balanced(airframe: Airframe, field: Field) -> _Cure | None:
    way = balanced(Subject(airframe, field))
    if way is None:
        return None
    words = way.text.replace("move the ", "the ").replace(" forward", " further forward", 1)
    words = words.removeprefix("put ").replace("take off ", "without ")
    return _Cure(words, (airframe, field), (way.airframe, field))


def _with_hand(airframe: Airframe, **changes: float) -> Airframe:
    hand = airframe.launch.by_hand.model_copy(update=changes)
    return put(airframe, ("launch", "hand"), hand)


def _release(record: Record) -> dict[str, float]:
    """The throw of a record, SI."""
    row = int(np.searchsorted(record.column("time_s"), 1e-6))
    pitch, bank = (np.radians(record.column(f"{angle}_deg")[row]) for angle in ("pitch", "roll"))
    speed = np.sqrt(sum(float(record.column(f"{axis}_m_s")[row]) ** 2 for axis in "uvw"))
    return {"speed": float(speed), "pitch": float(pitch), "bank": float(bank)}


def _of_throw(record: Record, one: Likely) -> float:
    """What was done instead of what was planned."""
    what = OF_THE_THROW[one.name]
    if what in ("throttle", "back"):
        return float(np.clip(one.seen, 0.0, 1.0))
    return _release(record)[what]


def _thrown(record: Record, airframe: Airframe, names: list[str]) -> Airframe:
    """Thrown as the record was, but for what the throw itself did wrong."""
    wrong = {OF_THE_THROW.get(name) for name in names}
    return _with_hand(airframe, **{k: v for k, v in _release(record).items() if k not in wrong})


def _let_go(pilot):
    """The same sticks, but for the one that was held back at the throw."""

    def flies(reading) -> Sticks:
        sticks = pilot(reading)
        return sticks.pushed(Stick.PITCH, 0.0) if reading.time_s < HELD_BACK else sticks

    return flies


def _throttled(pilot, throttle: float):
    """The same sticks, with the throttle as it was planned."""
    return lambda reading: pilot(reading)._replace(throttle=throttle)
