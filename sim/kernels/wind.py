"""Wind at a height in flight."""

from math import exp, log

from firstthrow.sim.kernels.compiled import kernel


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
    return 1.0 - exp(-max(height, 0.0) / 0.5)


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
