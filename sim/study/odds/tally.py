"""Launches told together: how many ended in which way, medians, and how the results spread.

A tally takes launches as they come down, in any order, and keeps of each a row of what is told
of it: the first of them in memory, all of them in a temporary file once they are many. That is
read in blocks, so that a million launches take no more memory than some ten thousand, and the
answer is the same as if all of them were in memory.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from os import SEEK_END
from tempfile import SpooledTemporaryFile, gettempdir
from weakref import finalize

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.describe.replace import naming
from firstthrow.sim.flight.outcome import SURVIVING
from firstthrow.sim.study.odds.launches import causes, wilson, words
from firstthrow.sim.study.odds.ranks import median_and_tenth

# Of a result: its field, and where its worst tenth begins; 0.1: low is bad.
TOLD = {"height_lost": 0.9, "stall_margin": 0.1, "load": 0.9}
ROW = np.dtype([("word", "i8"), *((field, "f8") for field in TOLD)])
BLOCK = 1 << 14  # launches that are read at once
ROOM = 2 * BLOCK * ROW.itemsize  # that is kept in memory [bytes]
BARS = 30
NONE = 1e8  # larger results stand for none


@frozen
class Numbers(Answer):
    """What is told of the launches of one set-up.

    flown: how many. survived_fraction: the share that landed in one piece or still flew in hand
    at the end, with its 95 % interval, survived_low to survived_high. causes: how many were lost
    by each, most frequent first.

    Of each result the median, and what the worst tenth goes beyond. height_lost: how far it sank
    below the throw [m], more is worse. stall_margin: the slowest airspeed less the stall speed,
    as a share of the stall speed, less is worse; None where no flight lasted long enough.
    load_factor: the largest along body z, in weights, more is worse. All None without flights.
    """

    flown: int
    survived_fraction: float
    survived_low: float
    survived_high: float
    causes: dict[str, int]
    height_lost_median_m: float | None
    height_lost_worst_tenth_m: float | None
    stall_margin_median: float | None
    stall_margin_worst_tenth: float | None
    load_factor_median: float | None
    load_factor_worst_tenth: float | None

    @property
    def causes_text(self) -> str:
        return ", ".join(f"{cause} {n}" for cause, n in self.causes.items())


class Tally:
    """Launches of one set-up; none at first."""

    def __init__(self) -> None:
        self._rows = SpooledTemporaryFile(ROOM)  # noqa: SIM115 closed with the tally
        finalize(self, self._rows.close)

    def add(self, results: np.ndarray) -> None:
        """More launches, (n,) RESULT of `batch`. Raises OSError where the disk is full."""
        rows = np.empty(len(results), ROW)
        rows["word"] = words(results)
        for field in TOLD:
            rows[field] = results[field]
        self._rows.seek(0, SEEK_END)
        with naming(gettempdir()):
            self._rows.write(rows.tobytes())

    def _blocks(self) -> Iterator[np.ndarray]:
        self._rows.seek(0)
        while block := self._rows.read(BLOCK * ROW.itemsize):
            yield np.frombuffer(block, ROW)

    def _values(self, field: str) -> Callable[[], Iterator[np.ndarray]]:
        """Of the flights that lasted long enough to have it, in blocks, as often as wanted."""
        return lambda: (rows[field][rows[field] < NONE] for rows in self._blocks())

    @property
    def flown(self) -> int:
        return self._rows.seek(0, SEEK_END) // ROW.itemsize

    def numbers(self) -> Numbers:
        flown, ends = self.flown, Counter[int]()
        for rows in self._blocks():
            ends.update(rows["word"].tolist())
        survived = sum(ends[word] for word in SURVIVING)
        low, high = wilson(survived, flown)
        lost, lost_worst = self._typical("height_lost")
        margin, margin_worst = self._typical("stall_margin")
        load, load_worst = self._typical("load")
        return Numbers(
            flown=flown,
            survived_fraction=survived / max(flown, 1),
            survived_low=low,
            survived_high=high,
            causes=causes(ends),
            height_lost_median_m=lost,
            height_lost_worst_tenth_m=lost_worst,
            stall_margin_median=margin,
            stall_margin_worst_tenth=margin_worst,
            load_factor_median=load,
            load_factor_worst_tenth=load_worst,
        )

    def _typical(self, field: str) -> tuple[float | None, float | None]:
        """Median of a result and what the worst tenth goes beyond."""
        values = self._values(field)
        count = sum(len(block) for block in values())
        return median_and_tenth(values, count, TOLD[field]) if count else (None, None)

    def spread(self, field: str, factor: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
        """(BARS,) how many, by a result times a factor; (BARS + 1,) where the bars end."""
        values = self._values(field)
        low = min((factor * block.min() for block in values() if len(block)), default=0.0)
        high = max((factor * block.max() for block in values() if len(block)), default=1.0)
        counts = np.zeros(BARS, int)
        for block in values():
            counts += np.histogram(factor * block, BARS, (low, high))[0]
        return counts, np.histogram_bin_edges([], BARS, (low, high))
