"""The cause of a flight put right, and flown: the same throw and sticks again, then many launches.

The least that removes the cause: what was wrong with the airframe as described again, the throw as
planned, the balance as far forward or aft as the least margin asks, hands that do not do it. What
costs more launches than it saves, such as ballast that makes it too heavy to throw, is no cure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer
from firstthrow.sim.build.sticks import Stick, Sticks
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import NoSource, described, replay, source
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.flight.skills import SKILLS, Skill
from firstthrow.sim.kernels.batch import HELD_BACK
from firstthrow.sim.learn.causes import SOUND
from firstthrow.sim.learn.diagnose import Diagnosis
from firstthrow.sim.study.alternatives import alternatives
from firstthrow.sim.study.ballast import usual_place
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.odds.launches import Plan, run, setup
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.odds.survival import SECONDS
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.verdict import BalanceVerdict

SURE = 0.5  # chance from which a cause is put right
LAUNCHES = 48
PLAN = Plan(Scatter(), "human", SECONDS, 0)
KEENER = 2.5  # times the crossover of club hands, of those that do too much

OF_THE_THROW = {  # what of a throw is wrong, and is thrown as planned again
    "slow-throw": "speed",
    "steep-throw": "pitch",
    "rolled-throw": "bank",
    "low-throttle": "throttle",
    "high-throttle": "throttle",
    "up-held": "back",
}


@dataclass(frozen=True)
class Cured(Answer):
    """Launches that survive of `launches` simulated ones by club hands, with the cause (`before`)
    and with it put right (`after`), the same ones. `change`: what is done about it. How the same
    throw then ended: `same_sticks` with the sticks as they were, `again` in club hands."""

    cause: str
    change: str
    same_sticks: Outcome
    again: Outcome
    launches: int
    before: int
    after: int

    @property
    def words(self) -> list[str]:
        return [
            f"The same throw and the same sticks with {self.change}: {self.same_sticks.text}",
            f"The same throw in club hands: {self.again.text}",
            f"Of {self.launches} launches by club hands {self.after} survive put right, "
            f"{self.before} as it was.",
        ]


class _Cure(NamedTuple):
    """What was thrown, and what is thrown instead; hands that did it, where it was the hands."""

    change: str
    wrong: tuple[Airframe, Field]
    right: tuple[Airframe, Field]
    hands: Skill | None = None


def cured(record: Record, found: Diagnosis | None) -> Cured | None:
    """None where nothing is to be put right, or nothing can be thrown again."""
    if found is None or found.first.chance < SURE:
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
    plans = PLAN._replace(mine=cure.hands), PLAN
    before, after = (
        run([setup(Subject(*pair), plan)], plan, LAUNCHES)[0]
        for pair, plan in zip((cure.wrong, cure.right), plans, strict=True)
    )
    if after.survived < before.survived:
        return None
    airframe, field = cure.right
    thrown = _thrown(record, airframe, found.first.name)
    flown = float(record.column("time_s")[-1])
    seed = int(record.meta.get("seed", 0))
    sticks = _let_go(replay(record)) if found.first.name == "up-held" else replay(record)
    if OF_THE_THROW.get(found.first.name) == "throttle":
        sticks = _throttled(sticks, airframe.launch.by_hand.throttle)
    same = fly(thrown, field, sticks, max(1.0, flown), "hand", seed)
    again = fly(thrown, field, Human(airframe, field), SECONDS, "hand", seed)
    survived = before.survived, after.survived
    return Cured(found.first.name, cure.change, same.end, again.end, LAUNCHES, *survived)


def _cure(record: Record, found: Diagnosis, airframe: Airframe, field: Field) -> _Cure | None:
    name, right = found.first.name, (airframe, field)
    if name in OF_THE_THROW:
        wrong = _with_hand(airframe, **{OF_THE_THROW[name]: _of_throw(record, name, found)})
        return _Cure(f"its {_WORDS[name]} as planned", (wrong, field), right)
    if name in FAULTS:
        return _Cure("that put right", apply(name, airframe, field), right)
    if name == "balance off":
        known = airframe.corrections
        really = known.model_copy(update={"balance": known.balance + found.first.seen})
        return _balanced(airframe.model_copy(update={"corrections": really}), field)
    if name == SOUND and found.balance is not BalanceVerdict.OK:
        return _balanced(airframe, field)
    hands = _hands(name, found.first.seen)
    return hands and _Cure("hands that do not do it", right, right, hands)


_WORDS = {
    "slow-throw": "speed",
    "steep-throw": "nose",
    "rolled-throw": "wings",
    "low-throttle": "throttle",
    "high-throttle": "throttle",
    "up-held": "pitch stick",
}


def _balanced(airframe: Airframe, field: Field) -> _Cure | None:
    """The pack moved, and ballast where that does not do, until it has the least margin."""
    now, margin = Subject(airframe, field), airframe.least_margin
    ways = alternatives(now, margin, usual_place(now, margin), ["move_pack"])
    way = next((one for one in ways if one.reaches and one.after is not now), None)
    if way is None:
        return None
    words = way.words.replace("move the ", "the ").replace(" forward", " further forward", 1)
    return _Cure(words, (airframe, field), (way.after.airframe, field))


def _hands(name: str, value: float) -> Skill | None:
    """Club hands but for the slip."""
    club = SKILLS["club"]
    if name.endswith("wrong-way"):
        return club._replace(wrong_chance=1.0, wrong_for=SECONDS)
    if name.endswith("too-late"):
        return club._replace(delay=max(club.delay, min(1.0, value)))
    if name.endswith("too-much"):
        return club._replace(crossover=KEENER * club.crossover)
    return None


def _with_hand(airframe: Airframe, **changes: float) -> Airframe:
    hand = airframe.launch.by_hand.model_copy(update=changes)
    return put(airframe, ("launch", "hand"), hand)


def _release(record: Record) -> dict[str, float]:
    """The throw of a record, SI."""
    row = int(np.searchsorted(record.column("time_s"), 1e-6))
    pitch, bank = (np.radians(record.column(f"{angle}_deg")[row]) for angle in ("pitch", "roll"))
    speed = np.sqrt(sum(float(record.column(f"{axis}_m_s")[row]) ** 2 for axis in "uvw"))
    return {"speed": float(speed), "pitch": float(pitch), "bank": float(bank)}


def _of_throw(record: Record, name: str, found: Diagnosis) -> float:
    """What was done instead of what was planned."""
    if OF_THE_THROW[name] in ("throttle", "back"):
        return float(np.clip(found.first.seen, 0.0, 1.0))
    return _release(record)[OF_THE_THROW[name]]


def _thrown(record: Record, airframe: Airframe, name: str) -> Airframe:
    """Thrown as the record was, but for what the throw itself did wrong."""
    was = {k: v for k, v in _release(record).items() if k != OF_THE_THROW.get(name)}
    return _with_hand(airframe, **was)


def _let_go(pilot):
    """The same sticks, but for the one that was held back at the throw."""

    def flies(reading) -> Sticks:
        sticks = pilot(reading)
        return sticks.pushed(Stick.PITCH, 0.0) if reading.time_s < HELD_BACK else sticks

    return flies


def _throttled(pilot, throttle: float):
    """The same sticks, with the throttle as it was planned."""
    return lambda reading: pilot(reading)._replace(throttle=throttle)
