"""The air: standard atmosphere at set-up; wind at a height in flight."""

from math import exp, log

from sim.compiled import kernel

GRAVITY = 9.80665  # m/s2, standard
_R = 287.05287  # J/(kg K)
_LAPSE = 0.0065  # K/m
_T0, _P0 = 288.15, 101325.0


def pressure(height: float) -> float:
    """Pressure [Pa] at a geopotential height [m] below 11 km. Source: ISO 2533:1975."""
    return _P0 * (1.0 - _LAPSE * height / _T0) ** (GRAVITY / (_R * _LAPSE))


def standard_temperature(height: float) -> float:
    """Temperature [K] at a geopotential height [m]. Source: ISO 2533:1975."""
    return _T0 - _LAPSE * height


def density(height: float, temperature: float | None = None) -> float:
    """Density [kg/m3] at a height [m]; the standard temperature unless one is given [K]."""
    warmth = standard_temperature(height) if temperature is None else temperature
    return pressure(height) / (_R * warmth)


def viscosity(temperature: float) -> float:
    """Dynamic viscosity [Pa s] of air at a temperature [K]. Source: ISO 2533 (Sutherland)."""
    return 1.458e-6 * temperature**1.5 / (temperature + 110.4)


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
