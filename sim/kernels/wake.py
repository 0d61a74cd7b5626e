"""Sheets in the wake of the stalled main sheet, such as its fin.

Two edges of the wake go with the wind from the main sheet's leading and trailing edge, on the
lee side; in between the air moves at a share of its speed.
"""

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import SHARE

# Speed left between the edges. No source: air behind plates across the flow is still or runs
# back with up to 0.3 of the speed (from memory), and mixes near the edges; 0 to 0.5.
SPEED_LEFT = 0.3
# Chords behind the trailing edge at which the wake has filled up; no source, 1 to 4.
FILLED = 2.0


@kernel
def covered(m, i, host, scratch):
    """Share of strip i that lies between the edges of the wake of a strip of the main sheet."""
    u, w, chord = scratch.u[host], scratch.w[host], m.strip_chord[host]
    back = m.strip_behind[i] if u >= 0.0 else chord - m.strip_behind[i]
    if back <= 0.0:
        return 0.0
    height, half = m.strip_above[i] if w >= 0.0 else -m.strip_above[i], m.strip_half[i]
    steep, past = abs(w) / (abs(u) + 1e-6), max(0.0, back - chord)
    inside = min(back * steep, height + half) - max(past * steep, height - half)
    filled = max(0.0, 1.0 - past / (FILLED * chord))
    return filled * max(0.0, min(1.0, 0.5 * inside / half))


@kernel
def shelter(m, scratch):
    """Slow the flow through every strip that lies in the main sheet's wake, by how much of that
    is stalled where it passes (two strips next to it, one either side)."""
    for i in range(m.n_strips):
        loss = 0.0
        for side in range(2):
            host = m.strip_hosts[side, i]
            if host >= 0 and scratch.plate[SHARE, host] > 0.0:
                loss += 0.5 * scratch.plate[SHARE, host] * covered(m, i, host, scratch)
        if loss > 0.0:
            left = 1.0 - (1.0 - SPEED_LEFT) * loss
            scratch.u[i] *= left
            scratch.w[i] *= left
            scratch.side[i] *= left
            scratch.along[i] *= left
            for n in range(3):
                scratch.wash[i, n] *= left
