"""What stands at a rank among many numbers: exact, found by passes over blocks of them.

A number is found by its digits, 16 of its 64 bits with every pass, the highest first, so that a
pass keeps no more than how many numbers have each digit (radix selection; Knuth, The Art of
Computer Programming 3, 5.2.5, from memory). Medians and quantiles are those of numpy, to the bit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import floor

import numpy as np

DIGIT = 16  # bits
DIGITS = 1 << DIGIT
FEW = 1 << 13  # numbers that are sorted at once

Blocks = Callable[[], Iterable[np.ndarray]]  # the same numbers whenever it is called, in parts


def at_ranks(blocks: Blocks, count: int, ranks: Sequence[int]) -> list[float]:
    """What so many of `count` numbers come before, for each of `ranks`. None may be NaN."""
    if count <= FEW:
        every = np.sort(np.concatenate(list(blocks())))
        return [float(every[rank]) for rank in ranks]
    # Of each that is sought the digits so far, and its rank among those that begin alike.
    sought = [(0, rank) for rank in ranks]
    for shift in range(64 - DIGIT, -1, -DIGIT):
        counts = {start: np.zeros(DIGITS, np.int64) for start, _ in sought}
        for block in blocks():
            keys = _keys(block) >> np.uint64(shift)
            starts, digits = keys >> np.uint64(DIGIT), keys & np.uint64(DIGITS - 1)
            for start, found in counts.items():
                alike = digits[starts == start].astype(np.int64)
                found += np.bincount(alike, minlength=DIGITS)
        sought = [_longer(start, rank, np.cumsum(counts[start])) for start, rank in sought]
    return [_number(key) for key, _ in sought]


def _longer(start: int, rank: int, so_far: np.ndarray) -> tuple[int, int]:
    """With one digit more, and the rank among what begins so."""
    digit = int(np.searchsorted(so_far, rank, side="right"))
    return start << DIGIT | digit, rank - (int(so_far[digit - 1]) if digit else 0)


def _keys(numbers: np.ndarray) -> np.ndarray:
    """Whole numbers that stand in the order of these: the bits, those of a negative one turned."""
    bits = (numbers + 0.0).view(np.int64)  # there is one zero
    return (bits ^ (bits >> 63 | np.int64(-1 << 63))).view(np.uint64)


def _number(key: int) -> float:
    bits = key ^ (1 << 63) if key >> 63 else key ^ (1 << 64) - 1
    return float(np.array(bits, np.uint64).view(np.float64))


def median_and_tenth(blocks: Blocks, count: int, worst: float) -> tuple[float, float]:
    """Median of numbers, and what lies at the share `worst` of them, between two in proportion."""
    at = worst * (count - 1)
    low = floor(at)
    ranks = ((count - 1) // 2, count // 2, low, min(low + 1, count - 1))
    first, second, below, above = at_ranks(blocks, count, ranks)
    return float(np.median([first, second])), float(np.quantile([below, above], at - low))
