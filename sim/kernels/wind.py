"""Wind at a height in flight."""

from math import exp, log

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import GUST_RATE

FADE = 0.5  # height over which gusts die into the ground by 1/e [m]


@kernel
def profile(height, roughness):
    """Wind at a height over the wind at 10 m: the neutral logarithmic profile.

    Source: EN 1991-1-4, 4.3.2 (the same form); zero below the roughness length.
    """
    if height <= roughness:
        return 0.0
    return log(height / roughness) / log(10.0 / roughness)


@kernel
def fade(height):
    """Share of a gust that is left at a height: it dies into the ground within a metre."""
    return 1.0 - exp(-max(height, 0.0) / FADE)


@kernel
def wind(m, height, gust):
    """Velocity of the air over the ground at a height: north, east, down [m/s]."""
    if m.still > 0.5:
        return 0.0, 0.0, 0.0
    share = profile(height, m.roughness)
    left = fade(height)
    return (
        m.wind_north * share + gust[0] * left,
        m.wind_east * share + gust[1] * left,
        gust[2] * left,
    )


@kernel
def wind_rate(m, height, climb, gust):
    """How fast the air met by an airframe that climbs [m/s] changes: north, east, down [m/s2].

    The steady wind's profile and the fading of gusts over the height that is climbed through,
    and the gust's own change.
    """
    if m.still > 0.5:
        return 0.0, 0.0, 0.0
    shear = 0.0 if height <= m.roughness else climb / (height * log(10.0 / m.roughness))
    left = fade(height)
    grows = 0.0 if height <= 0.0 else climb * (1.0 - left) / FADE
    return (
        m.wind_north * shear + gust[GUST_RATE] * left + gust[0] * grows,
        m.wind_east * shear + gust[GUST_RATE + 1] * left + gust[1] * grows,
        gust[GUST_RATE + 2] * left + gust[2] * grows,
    )
