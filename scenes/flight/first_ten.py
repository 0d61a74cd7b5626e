"""The launch drill: the first ten seconds of five throws, each less even than the one before.

Scored in plain numbers, kept in the user's folder for data. No window, no drawing.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import NamedTuple

import platformdirs

from firstthrow.scenes.flight import kept_list
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.flight.outcome import Outcome

GROWTH = (0.0, 0.5, 1.0, 1.5, 2.0)  # times the thrower's scatter, launch by launch
SECONDS = 10.0
SETTLED = 0.6  # [s] after the throw from which the stall margin counts


class Score(NamedTuple):
    """Of one launch; JSON has the same names."""

    growth: float
    seconds: float
    height_lost_m: float  # from the hand down to the lowest point
    bank_peak_deg: float
    stall_margin_m_s: float  # least airspeed over the stall speed
    alive: bool
    ending: str  # the outcome's word, "flying" while there is none


class Watch:
    """Looks at the readings of one launch, from the release on."""

    def __init__(self, growth: float):
        self.growth = growth
        self.start: float | None = None  # [m] height of the release
        self.done = False  # all ten seconds have gone by
        self.lowest, self.bank, self.margin, self.seconds = math.inf, 0.0, math.inf, 0.0

    def see(self, reading) -> None:
        """A reading later than the last; those from the hand, or past the ten seconds, don't
        count."""
        self.done = self.done or reading.time_s >= SECONDS
        if not 0.0 < reading.time_s <= SECONDS + 1e-6:
            return
        if self.start is None:
            self.start = reading.height_m
        self.seconds = reading.time_s
        self.lowest = min(self.lowest, reading.height_m)
        self.bank = max(self.bank, abs(reading.roll_deg))
        if reading.time_s > SETTLED:
            self.margin = min(self.margin, reading.airspeed_m_s - reading.stall_speed_m_s)

    def score(self, outcome: Outcome | None) -> Score:
        """`outcome` within the ten seconds, or None for one that still flies."""
        outcome = None if self.done else outcome
        lost = max(0.0, self.start - self.lowest) if self.start is not None else 0.0
        margin = self.margin if math.isfinite(self.margin) else 0.0
        word = outcome.word if outcome is not None else "flying"
        return Score(
            self.growth,
            round(self.seconds, 2),
            round(lost, 2),
            round(self.bank, 1),
            round(margin, 2),
            outcome is None or outcome.word.survived,
            word,
        )


def words(score: Score, u: Units = METRIC) -> str:
    """One launch in a line."""
    margin = score.stall_margin_m_s
    side = f"at least {u.speed(abs(margin))} {'above' if margin >= 0.0 else 'BELOW'} its stall"
    end = "airframe alive" if score.alive else f"LOST: {score.ending.replace('-', ' ')}"
    if not score.alive:
        end += f" at {score.seconds:.1f} s"
    lost = u.distance(score.height_lost_m, 1)
    return f"{lost} lost, bank to {score.bank_peak_deg:.0f}°, {side}, {end}"


def total(scores: list[Score], u: Units = METRIC) -> str:
    """Five launches in a line."""
    alive = sum(score.alive for score in scores)
    lost = max(score.height_lost_m for score in scores)
    bank = max(score.bank_peak_deg for score in scores)
    least = min(score.stall_margin_m_s for score in scores)
    side = "above" if least >= 0.0 else "below"
    return (
        f"{alive} of {len(scores)} alive; worst: {u.distance(lost, 1)} lost, bank {bank:.0f}°, "
        f"{u.speed(abs(least))} {side} its stall"
    )


def path() -> Path:
    """Where the history is; it need not exist."""
    return platformdirs.user_data_path("firstthrow", appauthor=False) / "launch-drill.json"


def history() -> list[dict]:
    """All drills so far, the oldest first. Raises ValueError for a file that is none."""
    return kept_list.read(path())


def keep(airframe: str, field: str, seed: int, scores: list[Score]) -> Path:
    """Adds a drill to the history. Raises OSError."""
    launches = [score._asdict() for score in scores]
    told = {"airframe": airframe, "field": field, "seed": seed, "launches": launches}
    return kept_list.add(path(), told)


def earlier(airframe: str, most: int = 3, u: Units = METRIC) -> list[str]:
    """The last drills with this airframe, a line each, the latest first; empty when none can be
    read."""
    try:
        kept = [one for one in history() if one.get("airframe") == airframe]
        told = []
        for one in kept[::-1][:most]:
            scores = [Score(**score) for score in one["launches"]]
            told.append(f"{one['when'][:16].replace('T', ' ')}: {total(scores, u)}")
        return told
    except (OSError, ValueError, TypeError, KeyError):
        return []
