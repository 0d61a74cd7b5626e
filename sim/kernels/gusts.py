"""Turbulence and single gusts on top of the steady wind.

Dryden turbulence by the low-altitude model of MIL-F-8785C (1980), sect. 3.7: scale lengths
and intensities by height and the wind at 20 ft, the lateral scale equal to the longitudinal
one (MIL-HDBK-1797 halves it). The longitudinal gust lies along the mean wind, the lateral
one across it. Each tick is the exact discrete form of the shaping filters, so the statistics
do not depend on its length. The roll gust stands for the gradient across the span.
A pulse is one 1-cosine gust, 0 at both ends.
"""

from math import cos, exp, pi, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import GUST_LAST, GUST_RATE, ROLL_GUST

FOOT = 0.3048
ALONG, ACROSS, VERTICAL, ROLLING = 0, 1, 2, 3  # columns of the noise, normal deviates
NOISE_SIZE = 4
STATES = ROLL_GUST + 1  # in the gust array: the filters' memory


@kernel
def scale_lengths(height):
    """Longitudinal (and lateral) and vertical scale length [m] at a height [m]."""
    h = max(10.0, min(1000.0, height / FOOT))
    return h / (0.177 + 0.000823 * h) ** 1.2 * FOOT, h * FOOT


@kernel
def intensities(height, wind):
    """Horizontal and vertical rms gust [m/s] at a height [m] for the wind at 20 ft [m/s]."""
    h = max(10.0, min(1000.0, height / FOOT))
    vertical = 0.1 * wind
    return vertical / (0.177 + 0.000823 * h) ** 0.4, vertical


@kernel
def rolling(span, vertical):
    """Rms roll gust over the rms vertical one [1/m]; its scale length [m].

    The roll filter's variance: sigma_w^2 0.8 (pi/4b)^(1/3) pi^2 / (8 b Lw^(2/3)).
    """
    share = 0.8 * (pi / (4.0 * span)) ** (1.0 / 3.0) * pi * pi / (8.0 * span)
    return sqrt(share) * vertical ** (-1.0 / 3.0)


@kernel
def _terms(decay):
    """What a tick of `decay` = its length / T leaves of the memory of `_second_order`, and what its
    noise adds.

    The filter (1 + sqrt3 T s)/(1 + T s)^2 of white noise, of unit variance, has the states
    x1 = 1/(1 + T s) and x2 = x1/(1 + T s), with the stationary covariance [[1/2, 1/4], [1/4, 1/4]].
    The noise of a tick is what keeps it so; the part of x2's that is not shared with x1's is of
    the order decay^3 and left out.
    """
    e = exp(-decay)
    own = sqrt(0.5 - 0.5 * e * e)
    return e, e * decay, own, (0.25 - e * e * (0.25 + 0.5 * decay)) / own


@kernel
def _second_order(gust, at, terms, noise):
    """Advance a filter of `_terms` by a tick."""
    e, across, own, shared = terms
    x1 = gust[at]
    gust[at] = e * x1 + own * noise
    gust[at + 1] = across * x1 + e * gust[at + 1] + shared * noise
    return sqrt(3.0) * gust[at] + (1.0 - sqrt(3.0)) * gust[at + 1]


@kernel
def start(noise, gust):
    """Turbulence that has long been blowing: the filters' memory from its stationary spread.

    noise: (2, NOISE_SIZE) normal deviates. Second-order pairs have the covariance of
    `_second_order`, hence x2 = x1 / 2 + sqrt(1/8) of its own.
    """
    gust[STATES] = noise[0, ALONG]
    for k in range(2):
        x1 = sqrt(0.5) * noise[k, ACROSS]
        gust[STATES + 1 + 2 * k] = x1
        gust[STATES + 2 + 2 * k] = 0.5 * x1 + sqrt(0.125) * noise[k, VERTICAL]
    gust[STATES + 5] = noise[0, ROLLING]


@kernel
def update(m, height, speed, time, noise, h, gust):
    """Advance the gusts at the airframe by so many ticks of h, which make one step.

    height, speed: those at the step's start, the speed through the steady wind, so that what the
    gust itself does to it leaves the gust as it is; time: since the release [s]; noise: (ticks,
    NOISE_SIZE) normal deviates. The step meets the mean of what its ticks would meet. GUST_RATE
    keeps how fast they change, for what the air's own acceleration does.
    """
    north, east, sinks = gust[GUST_LAST], gust[GUST_LAST + 1], gust[GUST_LAST + 2]
    for k in range(3):
        gust[k] = gust[GUST_LAST + k] = 0.0
    gust[ROLL_GUST] = 0.0
    ticks = noise.shape[0]
    if m.gust_wind > 0.0:
        turbulence(m, height, speed, noise, h, gust)
    for n in range(ticks):
        phase = (time + n * h - m.pulse_start) / m.pulse_lasts
        if 0.0 < phase < 1.0:
            swell = 0.5 * (1.0 - cos(2.0 * pi * phase))
            for k in range(3):
                gust[k] += swell * m.pulse[k] / ticks
                if n == ticks - 1:
                    gust[GUST_LAST + k] += swell * m.pulse[k]
    if m.gust_wind > 0.0 and north == 0.0 and east == 0.0 and sinks == 0.0:
        return  # the turbulence has been blowing for long, it has not come up in this step
    gust[GUST_RATE] = (gust[GUST_LAST] - north) / (ticks * h)
    gust[GUST_RATE + 1] = (gust[GUST_LAST + 1] - east) / (ticks * h)
    gust[GUST_RATE + 2] = (gust[GUST_LAST + 2] - sinks) / (ticks * h)


@kernel
def turbulence(m, height, speed, noise, h, gust):
    """Add the mean over the ticks of the noise, and what there is in the last of them."""
    horizontal, vertical = scale_lengths(height)
    strong, weak = intensities(height, m.gust_wind)
    rolls = weak * rolling(m.span, vertical)
    way = max(speed, 0.5) * h
    a, b = exp(-way / horizontal), exp(-way * pi / (4.0 * m.span))
    fresh, fresh_roll = sqrt(1.0 - a * a), sqrt(1.0 - b * b)
    sideways, heaving = _terms(way / horizontal), _terms(way / vertical)
    ticks = noise.shape[0]
    for n in range(ticks):
        gust[STATES] = a * gust[STATES] + fresh * noise[n, ALONG]
        gust[STATES + 5] = b * gust[STATES + 5] + fresh_roll * noise[n, ROLLING]
        along = strong * gust[STATES]
        across = strong * _second_order(gust, STATES + 1, sideways, noise[n, ACROSS])
        gust[GUST_LAST] = along * m.wind_from_cos - across * m.wind_from_sin
        gust[GUST_LAST + 1] = along * m.wind_from_sin + across * m.wind_from_cos
        gust[GUST_LAST + 2] = weak * _second_order(gust, STATES + 3, heaving, noise[n, VERTICAL])
        for k in range(3):
            gust[k] += gust[GUST_LAST + k] / ticks
        gust[ROLL_GUST] += rolls * gust[STATES + 5] / ticks


@kernel
def series(m, height, speed, noise, h, gust, found):
    """The gusts of many steps of a flight at one height and speed, from those in `gust` on.

    noise: (n, NOISE_SIZE) normal deviates; found: (n, 4) takes gusts north, east, down, rolling.
    """
    for k in range(len(noise)):
        update(m, height, speed, 0.0, noise[k : k + 1], h, gust)
        for n in range(ROLL_GUST + 1):
            found[k, n] = gust[n]
