"""Which strips may lie in the wake of the main sheet once it stalls, and where in it."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.strips import Strips
from firstthrow.sim.kernels.parameters import pad

# Of the air's speed, between the edges of the wake. No source: air behind plates across the flow is
# still or runs back with up to 0.3 of the speed (from memory), and mixes near the edges; 0 to 0.5.
SPEED_LEFT = 0.3


def fill_hosts(record, strips: Strips, main: int | None) -> None:
    """Into the record, for strips of sheets beside the main one: its two strips nearest by
    span, one either side of a fin on the centreline."""
    n = len(strips.chord)
    record.strip_hosts[:] = -1
    record.wake_left = SPEED_LEFT
    if main is None:
        return
    hosts = np.flatnonzero(strips.sheet == main)
    behind, above, half = np.zeros(n), np.zeros(n), np.ones(n)
    for i in np.flatnonzero(strips.sheet != main):
        across = np.abs(strips.middle[i, 1] - strips.middle[hosts, 1])
        # By whole micrometres, so that left and right decide alike.
        pair = hosts[np.argsort(np.round(1e6 * across), kind="stable")[:2]]
        away = strips.middle[i] - strips.middle[pair]
        if across.min() > strips.width[pair[0]]:
            continue  # it stands out beside the main sheet
        chord = strips.chord[pair]
        behind[i] = np.mean((away * strips.aft[pair]).sum(axis=1) + 0.5 * chord)
        above[i] = np.mean((away * strips.normal[pair]).sum(axis=1))
        tall = 0.5 * strips.width[i] * abs(strips.span[i] @ strips.normal[pair[0]])
        half[i] = max(tall, 0.05 * chord.mean())
        record.strip_hosts[: len(pair), i] = pair
    pad(behind, record.strip_behind)
    pad(above, record.strip_above)
    pad(half, record.strip_half)
