"""Which launches are there, by their numbers: kept as runs of neighbours.

Launches come down nearly in order, so that a million are a run or a few; in no order at all they
are as many runs as launches, and still the right ones.
"""

from __future__ import annotations

import numpy as np

NEVER = np.iinfo(np.int64).min


class There:
    """Whole numbers; none at first."""

    def __init__(self) -> None:
        # Of each run, rising: its first number, and the one after its last.
        self.firsts = np.zeros(0, np.int64)
        self.ends = np.zeros(0, np.int64)

    def take(self, numbers: np.ndarray) -> np.ndarray:
        """Which of `numbers` are met for the first time; all are there from now on."""
        is_new = np.zeros(len(numbers), bool)
        each, at = np.unique(numbers, return_index=True)
        begun = np.searchsorted(self.firsts, each, side="right")  # runs at or before each
        fresh = each >= np.concatenate([[NEVER], self.ends])[begun]
        is_new[at[fresh]] = True
        if fresh.any():
            self._join(each[fresh])
        return is_new

    def _join(self, fresh: np.ndarray) -> None:
        """Numbers that were not there, rising."""
        firsts = np.sort(np.concatenate([self.firsts, fresh]))
        ends = np.sort(np.concatenate([self.ends, fresh + 1]))
        apart = firsts[1:] != ends[:-1]
        self.firsts = firsts[np.concatenate([[True], apart])]
        self.ends = ends[np.concatenate([apart, [True]])]

    def missing(self, among: range) -> list[range]:
        """Runs of the numbers of a range that are not there."""
        starts = [among.start, *self.ends.tolist()]
        stops = [*self.firsts.tolist(), among.stop]
        runs = (
            range(max(start, among.start), min(stop, among.stop))
            for start, stop in zip(starts, stops, strict=True)
        )
        return [run for run in runs if run]
