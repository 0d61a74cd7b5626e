"""Turbulence and single gusts on top of the steady wind.

Dryden turbulence by the low-altitude model of MIL-F-8785C (1980), sect. 3.7: scale lengths
and intensities by height and the wind at 20 ft, the lateral scale equal to the longitudinal
one (MIL-HDBK-1797 halves it). The longitudinal gust lies along the mean wind, the lateral
one across it. Each step is the exact discrete form of the shaping filters, so the statistics
do not depend on the step. The roll gust stands for the gradient across the span.
A pulse is one 1-cosine gust, 0 at both ends.
"""

from math import cos, exp, pi, sqrt

import numpy as np

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import GUST_RATE, GUST_SIZE, ROLL_GUST

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
def _second_order(gust, at, decay, noise):
    """Advance (1 + sqrt3 T s)/(1 + T s)^2 of white noise by `decay` = step / T; unit variance.

    States x1 = 1/(1 + T s) and x2 = x1/(1 + T s), stationary covariance [[1/2, 1/4],
    [1/4, 1/4]]. The noise of a step is what keeps it so; the part of x2's that is not
    shared with x1's is of the order decay^3 and left out.
    """
    e = exp(-decay)
    own = sqrt(0.5 - 0.5 * e * e)
    shared = 0.25 - e * e * (0.25 + 0.5 * decay)
    x1 = gust[at]
    gust[at] = e * x1 + own * noise
    gust[at + 1] = e * (decay * x1 + gust[at + 1]) + shared / own * noise
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
def update(m, height, airspeed, time, noise, h, gust):
    """Advance the gusts at the airframe by a step h; time since the release [s].

    GUST_RATE keeps how fast they change over the step, for what the air's own acceleration does.
    """
    north, east, sinks = gust[0], gust[1], gust[2]
    if m.gust_wind > 0.0:
        horizontal, vertical = scale_lengths(height)
        strong, weak = intensities(height, m.gust_wind)
        speed = max(airspeed, 0.5)
        a = exp(-speed * h / horizontal)
        gust[STATES] = a * gust[STATES] + sqrt(1.0 - a * a) * noise[ALONG]
        along = strong * gust[STATES]
        across = strong * _second_order(gust, STATES + 1, speed * h / horizontal, noise[ACROSS])
        down = weak * _second_order(gust, STATES + 3, speed * h / vertical, noise[VERTICAL])
        b = exp(-speed * h * pi / (4.0 * m.span))
        gust[STATES + 5] = b * gust[STATES + 5] + sqrt(1.0 - b * b) * noise[ROLLING]
        gust[ROLL_GUST] = weak * rolling(m.span, vertical) * gust[STATES + 5]
        gust[0] = along * m.wind_from_cos - across * m.wind_from_sin
        gust[1] = along * m.wind_from_sin + across * m.wind_from_cos
        gust[2] = down
    else:
        gust[0] = gust[1] = gust[2] = gust[ROLL_GUST] = 0.0
    phase = (time - m.pulse_start) / m.pulse_lasts
    if 0.0 < phase < 1.0:
        swell = 0.5 * (1.0 - cos(2.0 * pi * phase))
        gust[0] += swell * m.pulse[0]
        gust[1] += swell * m.pulse[1]
        gust[2] += swell * m.pulse[2]
    if m.gust_wind > 0.0 and north == 0.0 and east == 0.0 and sinks == 0.0:
        return  # the turbulence has been blowing for long, it has not come up in this step
    gust[GUST_RATE] = (gust[0] - north) / h
    gust[GUST_RATE + 1] = (gust[1] - east) / h
    gust[GUST_RATE + 2] = (gust[2] - sinks) / h


@kernel
def series(m, height, airspeed, noise, h, found):
    """The gusts of many steps of a flight at one height and airspeed, from still air on.

    noise: (n, NOISE_SIZE) normal deviates; found: (n, 4) takes gusts north, east, down, rolling.
    """
    gust = np.zeros(GUST_SIZE)
    for k in range(len(noise)):
        update(m, height, airspeed, 0.0, noise[k], h, gust)
        for n in range(ROLL_GUST + 1):
            found[k, n] = gust[n]
