"""The cause of a flight put right, and flown: the same throw again, then many with and without."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from firstthrow.sim.answer import Answer
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.refly import NoSource, described, source
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.learn.diagnose import Diagnosis
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.odds.launches import Plan, run, setup
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.odds.survival import SECONDS
from firstthrow.sim.study.subject import Subject

SURE = 0.5  # chance from which a cause is put right
LAUNCHES = 48


@dataclass(frozen=True)
class Cured(Answer):
    """Launches that survive of `launches` simulated ones by club hands, with the cause (`before`)
    and with it put right (`after`), the same ones; `again`: how the same throw then ended."""

    cause: str
    again: Outcome
    launches: int
    before: int
    after: int

    @property
    def words(self) -> list[str]:
        return [
            f"The same throw with that put right, in club hands: {self.again.text}",
            f"Of {self.launches} launches by club hands {self.after} survive put right, "
            f"{self.before} as it was.",
        ]


def cured(record: Record, found: Diagnosis | None) -> Cured | None:
    """None where nothing is to be put right, or nothing can be thrown again."""
    if found is None or found.first.name not in FAULTS or found.first.chance < SURE:
        return None
    try:
        right, field = described(record), source(record).field
        wrong, gusty = apply(found.first.name, right, field)
    except (NoSource, ConfigError):
        return None
    if record.meta.get("launch", "hand") == "ground" or right.launch.hand is None:
        return None
    plan = Plan(Scatter(), "human", SECONDS, 0)
    setups = [setup(Subject(*pair), plan) for pair in ((wrong, gusty), (right, field))]
    before, after = run(setups, plan, LAUNCHES)
    flight = fly(
        _thrown(record, right, found),
        field,
        Human(right, field),
        SECONDS,
        "hand",
        int(record.meta.get("seed", 0)),
    )
    return Cured(found.first.name, flight.end, LAUNCHES, before.survived, after.survived)


def _thrown(record: Record, airframe: Airframe, found: Diagnosis) -> Airframe:
    """Thrown as the record was, but for what the throw itself did wrong."""
    row = int(np.searchsorted(record.column("time_s"), 1e-6))
    pitch, bank = (np.radians(record.column(f"{angle}_deg")[row]) for angle in ("pitch", "roll"))
    hand = {"pitch": float(pitch), "bank": float(bank)}
    if found.first.name != "slow-throw":
        speed = np.sqrt(sum(float(record.column(f"{axis}_m_s")[row]) ** 2 for axis in "uvw"))
        hand["speed"] = float(speed)
    return put(airframe, ("launch", "hand"), airframe.launch.by_hand.model_copy(update=hand))
