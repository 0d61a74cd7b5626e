"""A picture made by code and what is left of it from further and further away. Pure."""

from __future__ import annotations

import numpy as np

Levels = tuple[np.ndarray, ...]  # (tall, wide, channels) bytes each, the finest first


def levels(values: np.ndarray) -> Levels:
    """Of (tall, wide, channels) values 0..1, both sides powers of two: each level takes the means
    of four of the one before it, until one is left."""
    found = [values]
    while max(values.shape[:2]) > 1:
        tall, wide = (max(1, side // 2) for side in values.shape[:2])
        values = values.reshape(tall, -1, wide, values.shape[1] // wide, values.shape[2])
        values = values.mean(axis=(1, 3))
        found.append(values)
    return tuple(np.round(255.0 * one).astype(np.uint8) for one in found)
