"""Separated flow: how its share of a strip lags behind the incidence, and the wake that the stalled
main sheet leaves for other sheets, such as its fin.

The share is that of the steady table at an incidence that follows the true one within `lag_angle`
chords of flow, and follows it in turn within `lag_share` chords: two first-order lags, advanced
exactly over a step. Chain of lags: Leishman and Beddoes, J. Am. Helicopter Soc. 34(3), 1989; times:
Goman and Khrabrov, J. Aircraft 31(5), 1994 (both from memory). Goman and Khrabrov take the table
at alpha - T dalpha/dt instead, which is the lag to first order in T: in a steady pitch-up both are
late by the same. Where the rate jumps theirs jumps too, by T times the rate (31 degrees in a
pitch-up of 180 deg/s at 8 m/s, on a chord of 350 mm), and any turbulence of short scale would
stall the sheet; a lag does neither. What a surface does to the leading edge is not late.

Two edges of the wake go with the wind from the main sheet's leading and trailing edge, on the
lee side; in between the air moves at a share of its speed.
"""

from math import exp, pi, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import (
    ALONG,
    ANGLES,
    CD_90_2D,
    CHANNELS,
    DEFLECTIONS,
    LATE_SHARE,
    MAX_DEFLECTION,
    NORMAL,
    SHARE,
    UPWARD,
)

GAUSS_PLACE = 0.5 * sqrt(0.6)  # of three places along a chord, the outer two from its middle
GAUSS_WEIGHT = 5.0 / 18.0  # of either

SLOWEST = 1.0  # slower than this a lag takes no longer [m/s]

STIRRED = 0.01  # of the speed is left at least: air that stands still has no direction
# Chords behind the trailing edge at which the wake has filled up; no source, 1 to 4.
FILLED = 2.0


@kernel
def lanes(count):
    """So many strips, filled up to whole vectors of four; those beyond have no size."""
    return (count + 3) & -4


@kernel
def cell(u, w, deflection):
    """Where to read a plate table (see `section`): row, share of the next, column, share of the
    next."""
    size = abs(u) + abs(w)
    d = w / max(size, 1e-9)
    if u < 0.0:
        d = 2.0 - d if w >= 0.0 else -2.0 - d
    x = max(0.0, min(float(ANGLES), (d + 2.0) * (ANGLES / 4.0)))
    k = min(int(x), ANGLES - 1)
    y = (deflection + MAX_DEFLECTION) * (DEFLECTIONS / (2.0 * MAX_DEFLECTION))
    y = max(0.0, min(float(DEFLECTIONS), y))
    j = min(int(y), DEFLECTIONS - 1)
    return k, x - k, j, y - j


@kernel
def _share(plates, kind, along, w, bent):
    k, f, j, g = cell(along, w, bent)
    return (
        (1.0 - f) * (1.0 - g) * plates[kind, k, j, SHARE]
        + f * (1.0 - g) * plates[kind, k + 1, j, SHARE]
        + (1.0 - f) * g * plates[kind, k, j + 1, SHARE]
        + f * g * plates[kind, k + 1, j + 1, SHARE]
    )


@kernel
def steady_share(body, i, along, w, scratch):
    """Separated share of strip i once air has long come from one direction: `along` in its plane,
    `w` along its normal, in any unit."""
    m, bent, sideways = body.record[0], scratch.bent[i], scratch.sideways[i]
    if sideways == 0.0:
        if abs(w) + abs(along) * m.strip_bend[i] * abs(bent) < along * m.strip_calm[i]:
            return 0.0
        return _share(body.plates, m.strip_table[i], along, w, bent)
    across = _share(body.plates, m.strip_across_table[i], along, w, 0.0)
    own = _share(body.plates, m.strip_table[i], along, w, bent)
    return (1.0 - sideways) * own + sideways * across


@kernel
def look_up(plates, kind, u, w, deflection, i, scratch):
    """Interpolate the plate table of strip i's sheet into `scratch.plate` (see `section`), but for
    the share, which is not the table's alone."""
    k, f, j, g = cell(u, w, deflection)
    a, b, c, e = (1.0 - f) * (1.0 - g), f * (1.0 - g), (1.0 - f) * g, f * g
    for channel in range(NORMAL, CHANNELS):
        scratch.plate[channel, i] = (
            a * plates[kind, k, j, channel]
            + b * plates[kind, k + 1, j, channel]
            + c * plates[kind, k, j + 1, channel]
            + e * plates[kind, k + 1, j + 1, channel]
        )


@kernel
def spin_share(chord, turn, along, w):
    """Separated share of a plate by its spin alone: its edges move across the air as fast as
    the plate moves through it. Between half and all of that, no source."""
    edge, speed = 0.5 * chord * abs(turn), sqrt(along * along + w * w)
    x = max(0.0, min(1.0, 2.0 * edge / (speed + 1e-9) - 1.0))
    return x * x * (3.0 - 2.0 * x)


@kernel
def broad(along, w, relief):
    """Separated load over density / 2, area and CD_90_2D: `section.normal_force` times the
    square of the speed."""
    speed = sqrt(along * along + w * w) + 1e-9
    return w * speed * (1.0 / (0.56 + 0.44 * abs(w) / speed) - relief)


@kernel
def turning(m, i, scratch):
    """Force along the normal and moment nose up of a separated strip that turns, beside those
    of one that does not, for a share of 1.

    Crossflow: every part of the chord meets its own normal speed; three places and weights of
    Gauss's rule (the moment of a pure spin comes out at 1.03 of the integral). Rotational lift:
    a load that acts ahead of mid-chord feeds a rotation, and as much is lost to the motion along
    the normal, so that together they do no work. Steady attached flow has the same balance: the
    load of the wash at the quarter chord, the rotational lift pi/4 density u c^2 turn at
    mid-chord. Rotational lift and quadratic damping of falling plates: Andersen, Pesavento and
    Wang, J. Fluid Mech. 541, 2005 (from memory; their lift coefficient is three times this one,
    for a plate that keeps the whole of the attached load's).
    """
    along, w, relief, turn = scratch.along[i], scratch.w[i], m.strip_relief[i], scratch.turn[i]
    scale = 0.5 * m.density * m.strip_area[i] * CD_90_2D
    place = GAUSS_PLACE * m.strip_chord[i]
    fore, rear = broad(along, w - place * turn, relief), broad(along, w + place * turn, relief)
    speed = sqrt(along * along + w * w) + 1e-9
    steep = abs(w) / speed
    shape = (1.0 / (0.56 + 0.44 * steep) - relief) * 0.75 / (4.0 + pi * steep)
    ahead = scratch.u[i] * m.strip_chord[i] * turn
    ahead -= scratch.side[i] * m.strip_reach[i] * scratch.roll[i]
    force = GAUSS_WEIGHT * (fore + rear - 2.0 * broad(along, w, relief)) + shape * ahead
    return scale * force, -scale * GAUSS_WEIGHT * place * (rear - fore)


@kernel
def recall(m, late, scratch):
    """Tell the strips what is separated as it lags; nothing where the flow has no past yet."""
    scratch.lagging = 1.0 if late[ALONG, 0] != 0.0 or late[UPWARD, 0] != 0.0 else 0.0
    for i in range(lanes(m.n_strips)):
        scratch.share[i] = late[LATE_SHARE, i]


@kernel
def fallen(x):
    """e^-x for x from 0 on, within 3e-13: by its series at a sixteenth of x, to the power of 16.
    Unlike the C library's it leaves a loop over strips in lanes."""
    y = -0.0625 * min(x, 40.0)
    e = 1.0 + y * (1.0 / 9.0) * (1.0 + y * (1.0 / 10.0))
    e = 1.0 + y * (1.0 / 6.0) * (1.0 + y * (1.0 / 7.0) * (1.0 + y * (1.0 / 8.0) * e))
    e = 1.0 + y * (1.0 / 3.0) * (1.0 + y * (1.0 / 4.0) * (1.0 + y * (1.0 / 5.0) * e))
    e = 1.0 + y * (1.0 + y * 0.5 * e)
    e *= e
    e *= e
    e *= e
    return e * e


@kernel
def lag(body, h, scratch, late):
    """Let what is separated follow the present flow for h seconds. late: (3, MAX_STRIPS); where it
    is zero the flow has no past: it is taken to have been like this for long.

    The direction follows as a vector of length 1, so that it may turn all the way round.
    Returns the most that the share of a strip has changed.
    """
    m = body.record[0]
    new = late[ALONG, 0] == 0.0 and late[UPWARD, 0] == 0.0
    slow, uneasy = 0.0 if new else 1.0, 0.0
    for i in range(lanes(m.n_strips)):
        along, w = scratch.along[i], scratch.w[i]
        speed = sqrt(along * along + w * w) + 1e-9
        along, w = along / speed, w / speed
        # Of those that are no strips the chord is nothing.
        chords = h * max(speed, SLOWEST) / max(m.strip_chord[i], 1e-9)
        kept = slow * fallen(chords / m.lag_angle)
        along += kept * (late[ALONG, i] - along)
        w += kept * (late[UPWARD, i] - w)
        late[ALONG, i], late[UPWARD, i] = along, w
        over = abs(w) + abs(along) * m.strip_bend[i] * abs(scratch.bent[i])
        uneasy += m.strip_chord[i] if over >= along * m.strip_calm[i] else 0.0
        uneasy += scratch.sideways[i] + late[LATE_SHARE, i]
    return lag_shares(body, h, new, scratch, late) if uneasy > 0.0 else 0.0


@kernel
def lag_shares(body, h, new, scratch, late):
    """The same of the shares, once the directions have followed."""
    m, most = body.record[0], 0.0
    for i in range(m.n_strips):
        share, left = steady_share(body, i, late[ALONG, i], late[UPWARD, i], scratch), 0.0
        if not new and share != late[LATE_SHARE, i]:
            along, w = scratch.along[i], scratch.w[i]
            speed = max(sqrt(along * along + w * w), SLOWEST)
            left = (late[LATE_SHARE, i] - share) * exp(-h * speed / m.strip_chord[i] / m.lag_share)
        most = max(most, abs(share + left - late[LATE_SHARE, i]))
        late[LATE_SHARE, i] = share + left
    return most


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
            left = max(STIRRED, 1.0 - (1.0 - m.wake_left) * loss)
            scratch.u[i] *= left
            scratch.w[i] *= left
            scratch.side[i] *= left
            scratch.along[i] *= left
            for n in range(3):
                scratch.wash[n, i] *= left
